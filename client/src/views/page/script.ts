/**
 * The only script of a view: shows what the extension sends, marks the place of the cursor, and says which line was
 * clicked. Bundled by itself into dist/page.js.
 */
import type { FromPage, PageState, ToPage } from './messages.ts';

/** The little of the document model that is used here; the project is compiled without it. */
interface Element {
  readonly dataset: Record<string, string | undefined>;
  readonly style: { width: string; height: string };
  readonly classList: { toggle(name: string, on: boolean): void };
  readonly attributes: { getNamedItem(name: string): { readonly value: string } | null };
  innerHTML: string;
  textContent: string | null;
  hidden: boolean;
  checked: boolean;
  value: string;
  tabIndex: number;
  closest(selector: string): Element | null;
  getClientRects(): { readonly length: number };
  querySelector(selector: string): Element | null;
  querySelectorAll(selector: string): Iterable<Element>;
  setAttribute(name: string, value: string): void;
  removeAttribute(name: string): void;
  scrollLeft: number;
  getBoundingClientRect(): {
    readonly top: number;
    readonly bottom: number;
    readonly left: number;
    readonly right: number;
    readonly width: number;
  };
  scrollIntoView(options: { block: 'center' | 'nearest'; inline: 'center' }): void;
}
interface Happening {
  readonly target: Element;
  readonly key: string;
  readonly data: ToPage;
  preventDefault(): void;
}
type Listen = (type: string, listener: (event: Happening) => void, options?: { passive: boolean }) => void;
declare const document: { readonly getElementById: (id: string) => Element | null; readonly addEventListener: Listen };
declare const window: {
  readonly innerHeight: number;
  readonly scrollY: number;
  readonly scrollTo: (x: number, y: number) => void;
  readonly getSelection: () => { readonly isCollapsed: boolean } | null;
  readonly addEventListener: Listen;
};
type Kept = PageState & { readonly scroll?: number };
declare function acquireVsCodeApi(): {
  postMessage(message: FromPage): void;
  getState(): Kept | undefined;
  setState(state: Kept): void;
};

const host = acquireVsCodeApi();
const page = document.getElementById('page')!;
const style = document.getElementById('style')!;
const tools = document.getElementById('tools')!;
let cursor = -1;
/**
 * As the user has it. Until then a drawing is no wider than the pane as long as its words can be read, and has its own size
 * beyond that; where it is `data-zooms="fit"`, it is as small as they allow.
 */
let zoom: number | undefined;
const mostZoom = 4;
/** Words of a drawing that is fitted by itself stay large enough to read. */
const leastFitted = 0.65;
let shown = false;

window.addEventListener('message', ({ data }) => {
  if (data.type === 'content') show(data.style, data.body, data.state);
  else if (data.type === 'trouble') page.textContent = data.text;
  else if (data.type === 'cursor' && (data.reveal === true || data.line !== cursor)) {
    cursor = data.line;
    mark(true);
  }
});

function show(sheet: string, body: string, state: PageState): void {
  const scroll = shown ? window.scrollY : (host.getState()?.scroll ?? 0);
  const across = frame()?.scrollLeft;
  const written = answers();
  style.textContent = sheet;
  page.innerHTML = body;
  for (const [key, input] of inputs()) {
    const answer = written.get(key);
    if (answer !== undefined) Object.assign(input, answer);
  }
  // By keyboard, too: Enter goes to the line from whatever has the focus in it.
  for (const place of page.querySelectorAll('[data-line], [data-finding-line]'))
    if (place.querySelector('input, [data-line]') === null && place.closest('svg') === null) place.tabIndex = 0;
  for (const heading of page.querySelectorAll('.step > header')) heading.tabIndex = 0;
  const drawn = frame();
  tools.hidden = drawn === null;
  enlarge();
  if (drawn !== null && across !== undefined) drawn.scrollLeft = across;
  // The first part may be far from the corner.
  else drawn?.querySelector('.part')?.scrollIntoView({ block: 'nearest', inline: 'center' });
  mark(!shown && scroll === 0);
  if (scroll > 0) window.scrollTo(0, scroll);
  shown = true;
  host.setState({ ...state, scroll });
}

// --- what was ticked and filled in stays while the text around it changes -----------------------------------------------

function* inputs(): Generator<[key: string, input: Element]> {
  const seen = new Map<string, number>();
  for (const input of page.querySelectorAll('input')) {
    const words = (input.closest('[data-line], li, p') ?? page).textContent ?? '';
    const nth = seen.get(words) ?? 0;
    seen.set(words, nth + 1);
    yield [`${nth} ${words}`, input];
  }
}

const answers = (): Map<string, { checked: boolean; value: string }> =>
  new Map([...inputs()].map(([key, { checked, value }]) => [key, { checked, value }]));

// --- the cursor -----------------------------------------------------------------------------------------------------------

/** Marks what stands for the cursor's line, or for the nearest line above it; in a drawing for that line only. */
function mark(follow: boolean): void {
  const places = [...page.querySelectorAll('[data-line]')];
  const lineOf = (place: Element): number => Number(place.dataset['line']);
  const nearest = Math.max(
    ...places.filter((place) => lineOf(place) <= cursor && place.closest('.step') !== null).map(lineOf),
    places.some((place) => lineOf(place) === cursor) ? cursor : -1,
  );
  for (const place of places) {
    const here = lineOf(place) === nearest;
    place.classList.toggle('here', here);
    if (here) place.setAttribute('aria-current', 'true');
    else place.removeAttribute('aria-current');
  }
  // One of two forms of a drawing is not shown.
  const first = places.find((place) => lineOf(place) === nearest && place.getClientRects().length > 0);
  // A chart of the whole is looked at as a whole, from its scale on.
  if (first === undefined || !follow || first.closest('[data-zooms="fit"]') !== null) return;
  const { top, bottom, left, right } = first.getBoundingClientRect();
  const room = first.closest('[data-zooms]')?.getBoundingClientRect();
  const isAside = room !== undefined && (left < room.left || right > room.right);
  if (top < 0 || bottom > window.innerHeight || isAside) first.scrollIntoView({ block: 'center', inline: 'center' });
}

function go({ target }: Happening): boolean {
  const place = target.closest('[data-line], [data-finding-line]');
  const line = place?.dataset['line'] ?? place?.dataset['findingLine'];
  if (line === undefined) return false;
  cursor = Number(line);
  mark(false);
  host.postMessage({ type: 'go', line: cursor });
  return true;
}

document.addEventListener('click', (event) => {
  const { target } = event;
  const factor = target.closest('[data-zoom]')?.dataset['zoom'];
  if (factor !== undefined) {
    zoom = factor === 'fit' ? fitting() : Math.min(mostZoom, Math.max(0.1, size() * Number(factor)));
    enlarge();
  } else if (target.closest('input, a, button') === null && window.getSelection()?.isCollapsed !== false) {
    // A click on the words goes to their line; the box beside them is ticked by itself.
    if (go(event)) event.preventDefault();
  }
});
document.addEventListener('keydown', (event) => {
  if (event.key === 'Enter' && event.target.closest('button, a') === null && go(event)) event.preventDefault();
});

let later: ReturnType<typeof setTimeout> | undefined;
window.addEventListener(
  'scroll',
  () => {
    clearTimeout(later);
    later = setTimeout(() => {
      const state = host.getState();
      if (state !== undefined) host.setState({ ...state, scroll: window.scrollY });
    }, 200);
  },
  { passive: true },
);

// --- drawings -------------------------------------------------------------------------------------------------------------

const frame = (): Element | null => page.querySelector('[data-zooms]');
/** Of one thing there may be a drawing for wide and one for narrow panes; the pane shows one of them. */
const drawings = (): Element[] => [...page.querySelectorAll('[data-zooms] > svg')];
const natural = (svg: Element, side: string): number => Number(svg.attributes.getNamedItem(side)?.value);

function fitting(): number {
  const svg = drawings().find((each) => each.getBoundingClientRect().width > 0);
  const room = frame()?.getBoundingClientRect().width;
  return svg === undefined || room === undefined ? 1 : Math.min(mostZoom, (room - 4) / natural(svg, 'width'));
}

function size(): number {
  if (zoom !== undefined) return zoom;
  const whole = fitting();
  if (whole >= leastFitted) return Math.min(1, whole);
  return frame()?.dataset['zooms'] === 'fit' ? leastFitted : 1;
}

function enlarge(): void {
  const times = size();
  for (const svg of drawings()) {
    svg.style.width = `${natural(svg, 'width') * times}px`;
    svg.style.height = `${natural(svg, 'height') * times}px`;
  }
}
window.addEventListener('resize', enlarge);

host.postMessage({ type: 'ready' });
