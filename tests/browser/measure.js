/** Measures of a page, for tests: `measure` is put into every page that `show` opens. Lengths in CSS pixels. */
globalThis.measure = {
  /** Type sizes by class or element, the drawings' as they come out. */
  typeSizes() {
    const sizes = new Map();
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      const parent = node.parentElement;
      if (node.textContent.trim() === '' || ['title', 'desc'].includes(parent.tagName)) continue;
      const svg = parent.closest('svg');
      const scale = svg === null ? 1 : svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
      const where = parent.getAttribute('class') ?? parent.tagName;
      const size = Number.parseFloat(getComputedStyle(parent).fontSize) * scale;
      sizes.set(where, Math.min(size, sizes.get(where) ?? size));
    }
    return [...sizes];
  },

  /** Colours that are no grey. */
  colours() {
    const found = new Set();
    for (const element of document.body.querySelectorAll('*')) {
      const style = getComputedStyle(element);
      for (const value of [style.color, style.backgroundColor, style.borderTopColor, style.fill, style.stroke]) {
        const [r, g, b] = value.match(/[\d.]+/g) ?? [];
        if (r !== undefined && (r !== g || g !== b)) found.add(`${element.tagName} ${value}`);
      }
    }
    return [...found];
  },

  /** Width and height of each tick box. */
  boxes() {
    return [...document.querySelectorAll('input[type=checkbox]')]
      .map((box) => box.getBoundingClientRect())
      .map(({ width, height }) => ({ width, height }));
  },

  /** How far the page scrolls sideways. */
  sideways() {
    const { scrollWidth, clientWidth } = document.documentElement;
    return scrollWidth - clientWidth;
  },

  /** What sticks out of the page, is cut off by a box, or lies on its neighbour. */
  layout(groups) {
    const width = document.documentElement.clientWidth;
    const name = (element) =>
      `${element.tagName}.${element.getAttribute('class')}: ${element.textContent.slice(0, 50)}`;
    const outside = [];
    const clipped = [];
    for (const element of document.querySelectorAll('.job-card *')) {
      if (element.closest('svg') !== null && element.tagName !== 'svg') continue;
      const { left, right } = element.getBoundingClientRect();
      if (left < -0.5 || right > width + 0.5) outside.push(name(element));
      const hidden = getComputedStyle(element).overflowX !== 'visible';
      if (hidden && element.tagName !== 'INPUT' && element.scrollWidth > element.clientWidth + 1)
        clipped.push(name(element));
    }
    const meets = (a, b) =>
      a.left < b.right - 0.5 && b.left < a.right - 0.5 && a.top < b.bottom - 0.5 && b.top < a.bottom - 0.5;
    const overlaps = [];
    for (const group of groups) {
      const items = [...document.querySelectorAll(group)];
      const rects = items.map((item) => item.getBoundingClientRect());
      for (let i = 0; i < rects.length; i++)
        for (let j = i + 1; j < Math.min(rects.length, i + 12); j++)
          if (meets(rects[i], rects[j])) overlaps.push(`${name(items[i])} on ${name(items[j])}`);
    }
    return { outside, clipped, overlaps };
  },

  /** Each drawing with the boxes of its words and rings, in its own units. */
  drawings() {
    const box = (element) => {
      const { x, y, width, height } = element.getBBox();
      return { left: x, right: x + width, top: y, bottom: y + height };
    };
    return [...document.querySelectorAll('svg')].map((svg) => {
      const { x, y, width, height } = svg.viewBox.baseVal;
      return {
        title: svg.querySelector('title').textContent,
        circle: svg.querySelector('circle[fill=none]') !== null,
        view: { left: x, right: x + width, top: y, bottom: y + height },
        words: [...svg.querySelectorAll('text')].map((text) => ({ text: text.textContent, box: box(text) })),
        rings: [...svg.querySelectorAll('.hole')].map((hole) => ({
          hole: Number(hole.getAttribute('data-hole')),
          box: box(hole.querySelector('circle')),
          words: box(hole.querySelector('text')),
        })),
      };
    });
  },

  /**
   * Puts a small word at the beginning and the end of every element that `selector` finds, out in the margin, `left` pixels
   * from its edge: `q`, `tag`, its number, then `qa` or `qz`. Gives each element's height by its word without the last letter.
   */
  mark(selector, tag, left) {
    const heights = {};
    for (const [i, element] of [...document.querySelectorAll(selector)].entries()) {
      const id = `q${tag}${i}q`;
      heights[id] = element.getBoundingClientRect().height;
      for (const [edge, letter] of [
        ['top', 'a'],
        ['bottom', 'z'],
      ]) {
        const word = document.createElement('span');
        word.textContent = id + letter;
        word.style.cssText = `position:absolute;${edge}:0;left:${left}px;margin:0;font:4px/4px sans-serif;text-indent:0`;
        element.style.position = 'relative';
        element.append(word);
      }
    }
    return heights;
  },

  /** The lines of each element that `selector` finds, as they are seen from left to right. */
  leftToRight(selector) {
    const range = document.createRange();
    return [...document.querySelectorAll(selector)].flatMap((element) => {
      const lines = [];
      const walker = document.createTreeWalker(element, NodeFilter.SHOW_TEXT);
      for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
        for (let at = 0; at < node.length; at++) {
          range.setStart(node, at);
          range.setEnd(node, at + 1);
          const { left, width, top, bottom } = range.getBoundingClientRect();
          if (width === 0) continue;
          const middle = (top + bottom) / 2;
          const line = lines.find((each) => Math.abs(each.middle - middle) < 8);
          const sign = { left, text: node.data[at] };
          if (line === undefined) lines.push({ middle, signs: [sign] });
          else line.signs.push(sign);
        }
      }
      return lines.map(({ signs }) =>
        signs
          .sort((a, b) => a.left - b.left)
          .map(({ text }) => text)
          .join('')
          .trim(),
      );
    });
  },

  /** All text that is meant to be seen on paper. */
  text() {
    const copy = document.body.cloneNode(true);
    for (const unseen of copy.querySelectorAll('.unseen, title, desc')) unseen.remove();
    return copy.textContent;
  },
};
