/**
 * Random teardowns of units that could exist: every part comes off only after what holds and covers it, some pieces go to
 * scrap, some parts are swapped, some only loosened, some only in one code, some stay on what carried them. Invented.
 */
export function teardownOf(parts: number, seed: number): string {
  return new Unit(parts, seed).text();
}

/** Mulberry32: a small generator of even spread. */
export function random(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

interface Part {
  readonly name: string;
  readonly count: number;
  clauses: string[];
  /** Parts that were off when it came off, as an index into `off`. */
  reach: number;
  code: string | undefined;
  carrier: boolean;
  fastener: boolean;
  settled: boolean;
}

const threads = [
  ['M6', '9'],
  ['M8', '25'],
  ['M10', '48'],
  ['M12', '80'],
  ['M16', '200'],
] as const;
const hazards = ['heat', 'pressure', 'spring', 'charge', 'chemical', 'weight'];

class Unit {
  private readonly next: () => number;
  private readonly wanted: number;
  private readonly declared: Part[] = [];
  private readonly patterns: string[] = [];
  private readonly codes: string[];
  private readonly steps: { title: string; lines: string[] }[] = [];
  private readonly inspection: string[] = [];
  private lines: string[] = [];
  /** Fully off, in the order in which they came off. */
  private readonly off: Part[] = [];
  private later: { due: number; line: string; part: Part }[] = [];
  private readonly supplies: string[] = [];

  constructor(parts: number, seed: number) {
    this.next = random(seed);
    this.wanted = parts;
    this.codes = this.chance(0.4) ? ['K-1', 'K-2', '3B'].slice(0, 1 + this.below(3)) : [];
  }

  private below(n: number): number {
    return Math.floor(this.next() * n);
  }
  private chance(share: number): boolean {
    return this.next() < share;
  }
  private pick<T>(list: readonly T[]): T {
    return list[this.below(list.length)]!;
  }
  private some<T>(list: readonly T[], most: number): T[] {
    const found = new Set<T>();
    for (let n = this.below(most + 1); n > 0 && list.length > 0; n--) found.add(this.pick(list));
    return [...found];
  }

  private part(count = 1, code?: string): Part {
    const part: Part = {
      name: `part-${this.declared.length + 1}`,
      count,
      clauses: [],
      reach: this.off.length,
      code,
      carrier: false,
      fastener: false,
      settled: false,
    };
    if (this.chance(0.15)) part.clauses.push(`hazard ${this.some(hazards, 2).concat(this.pick(hazards))[0]}`);
    this.declared.push(part);
    return part;
  }

  /** What may hold or cover a part that comes off now, or that came off when `reach` others were off. */
  private blockers(code: string | undefined, reach = this.off.length): Part[] {
    return this.off
      .slice(Math.max(0, reach - 8), reach)
      .filter((part) => part.code === undefined || part.code === code);
  }
  private hold(part: Part, reach = this.off.length): void {
    const held = this.some(this.blockers(part.code, reach), 3);
    const behind = this.some(this.blockers(part.code, reach), 2).filter((each) => !held.includes(each));
    if (held.length > 0) part.clauses.push(`held by ${held.map((each) => each.name).join(', ')}`);
    if (behind.length > 0) part.clauses.push(`behind ${behind.map((each) => each.name).join(', ')}`);
  }

  private say(line: string, code?: string): void {
    this.lines.push(...(code === undefined ? [line] : [`for ${code}`, `  ${line}`, 'end']));
  }

  private fastener(part: Part): void {
    part.fastener = true;
    const [thread, torque] = this.pick(threads);
    if (this.chance(0.9)) part.clauses.push(`thread ${thread} class 8.8`);
    if (this.chance(0.15)) part.clauses.push('threadlock');
    if (this.chance(0.85)) {
      const angle = this.chance(0.15) ? ' then 90°' : '';
      part.clauses.push(`torque ${this.chance(0.1) ? `${torque} ± 2` : torque} N·m${angle}`);
    }
    if (part.count >= 3 && this.chance(0.5)) {
      const name = `pattern-${this.patterns.length + 1}`;
      const points = Array.from({ length: part.count }, (_, i) => `(${(i % 4) * 40}, ${Math.floor(i / 4) * 50})`);
      this.patterns.push(
        this.chance(0.6)
          ? `pattern ${name} circle ${part.count} diameter 120 mm`
          : `pattern ${name} points ${points.join(' ')} mm`,
      );
      part.clauses.push(`holes ${name}`);
    }
  }

  private free(part: Part): void {
    this.off.push(part);
  }

  private takeOff(): void {
    const kind = this.next();
    const code = this.codes.length > 1 && this.chance(0.15) ? this.pick(this.codes) : undefined;
    const several = this.chance(0.35) ? 2 + this.below(11) : 1;
    if (kind < 0.3) this.removeFastener(several, code);
    else if (kind < 0.38) this.loosenOnly(several, code);
    else if (kind < 0.45) this.disconnect(code);
    else if (kind < 0.53) this.assembly();
    else if (kind < 0.6) this.captive();
    else if (kind < 0.66) this.scrapWithRider();
    else if (kind < 0.72) this.inBranches();
    else if (kind < 0.75) this.closedAgain();
    else this.removePlain(several, code);
  }

  private removeFastener(count: number, code: string | undefined): void {
    const part = this.part(count, code);
    this.fastener(part);
    this.hold(part);
    if (this.chance(0.3)) this.say(`loosen ${part.name}`, code);
    if (count > 2 && code === undefined && this.chance(0.3)) {
      const first = 1 + this.below(count - 1);
      this.say(`remove ${part.name} x${first}`);
      this.later.push({
        due: this.declared.length + this.below(4),
        line: `remove ${part.name} x${count - first}`,
        part,
      });
      return;
    }
    this.say(`remove ${part.name}${this.chance(0.3) ? ' keep in "tray A"' : ''}`, code);
    this.free(part);
    if (code === undefined && this.chance(0.1)) {
      const scrapped = 1 + this.below(count);
      this.say(`discard ${part.name}${scrapped === count ? '' : ` x${scrapped}`}`);
    }
  }

  private loosenOnly(count: number, code: string | undefined): void {
    const part = this.part(count, code);
    this.fastener(part);
    const behind = this.some(this.blockers(code), 2);
    if (behind.length > 0) part.clauses.push(`behind ${behind.map((each) => each.name).join(', ')}`);
    const some = count > 1 && this.chance(0.3) ? ` x${1 + this.below(count)}` : '';
    this.say(`loosen ${part.name}${some}`, code);
    if (code !== undefined || !this.chance(0.3)) return;
    // What locks it comes off only now: in the mirrored order it would go back before the tightening.
    const lock = this.part();
    part.clauses.push(`held by ${lock.name}`);
    this.say(`remove ${lock.name}`);
    this.free(lock);
  }

  private disconnect(code: string | undefined): void {
    const part = this.part(1, code);
    this.hold(part);
    this.say(`disconnect ${part.name}`, code);
    this.free(part);
  }

  /** Lifted out with what stays on it; some of that is stripped from it later. */
  private assembly(): void {
    const part = this.part();
    const riders = Array.from({ length: 1 + this.below(3) }, () => this.part());
    this.hold(part);
    if (this.chance(0.4)) {
      const own = riders[0]!.name;
      part.clauses = part.clauses.map((clause) => (clause.startsWith('held by') ? `${clause}, ${own}` : clause));
    }
    if (this.chance(0.4)) this.say(`support ${part.name}`);
    this.say(`remove ${part.name} with ${riders.map((each) => each.name).join(', ')}`);
    part.carrier = true;
    this.free(part);
    for (const rider of riders) {
      if (!this.chance(0.3)) continue;
      this.say(`remove ${rider.name}`);
      this.free(rider);
    }
  }

  /** Bolts that stay in the cover that they hold. */
  private captive(): void {
    const cover = this.part();
    const bolt = this.part(1 + this.below(8));
    this.fastener(bolt);
    bolt.clauses.push(`carried by ${cover.name}`);
    this.hold(cover);
    const clause = cover.clauses.findIndex((each) => each.startsWith('held by'));
    if (clause < 0) cover.clauses.push(`held by ${bolt.name}`);
    else cover.clauses[clause] += `, ${bolt.name}`;
    this.say(`loosen ${bolt.name}`);
    this.say(`remove ${cover.name}`);
    this.free(cover);
  }

  private scrapWithRider(): void {
    const part = this.part();
    const rider = this.part(1 + this.below(2));
    rider.clauses.push(`carried by ${part.name}`);
    this.hold(part);
    this.say(`remove ${part.name}`);
    this.free(part);
    this.say(`discard ${part.name}`);
  }

  private inBranches(): void {
    const part = this.part();
    this.hold(part);
    this.lines.push(
      'either "By hand"',
      `  remove ${part.name}`,
      'or "With the puller"',
      `  do "Set the puller"`,
      `  remove ${part.name}`,
      'end',
    );
    this.free(part);
    if (this.chance(0.5)) this.inspection.push(`if "it is worn"`, `  replace ${part.name}`, 'end');
  }

  /** A cover that is put back at once, to keep the dirt out; what sits behind it stays off. */
  private closedAgain(): void {
    const screw = this.part(1 + this.below(6));
    this.fastener(screw);
    const cover = this.part();
    cover.clauses.push(`held by ${screw.name}`);
    this.say(`remove ${screw.name}`);
    this.say(`remove ${cover.name}`);
    const behind = this.part();
    behind.clauses.push(`behind ${cover.name}`);
    this.say(`remove ${behind.name}`);
    this.say(`fit ${cover.name}`);
    if (!this.chance(0.5)) return;
    this.say(`fit ${screw.name}`);
    if (this.chance(0.5)) this.say(`tighten ${screw.name} by hand`);
  }

  private removePlain(count: number, code: string | undefined): void {
    const part = this.part(count, code);
    const carried = this.chance(0.25);
    const carriers = this.off.filter((each) => each.carrier && each.code === undefined);
    if (carried && carriers.length > 0 && code === undefined)
      part.clauses.push(`carried by ${this.pick(carriers).name}`);
    this.hold(part);
    const marked = this.chance(0.15);
    if (marked) part.clauses.push('index');
    if (marked) this.say(`mark ${part.name}${this.chance(0.5) ? ' "A dot on the front"' : ''}`, code);
    if (this.chance(0.15)) this.say(`support ${part.name}${this.chance(0.5) ? ' using hoist' : ''}`, code);
    const renew = !marked && this.chance(0.25);
    const spoiled = !marked && !renew && this.chance(0.1);
    if (renew) part.clauses.push('renew');
    this.say(`remove ${part.name}${spoiled ? ' spoiled' : ''}${this.chance(0.1) ? ' using hoist' : ''}`, code);
    this.free(part);
    if ((renew || spoiled) && this.chance(0.7)) this.say(`discard ${part.name}`, code);
    if (renew || spoiled || code !== undefined) return;
    const fate = this.next();
    if (fate < 0.04) this.say(`omit ${part.name} "Not needed in this service"`);
    else if (fate < 0.1 && count > 2) this.say(`discard ${part.name} x${1 + this.below(count - 1)}`);
    else if (fate < 0.16) this.inspection.push(`replace ${part.name}${count > 1 ? ' x1' : ''}`);
    else if (fate < 0.22)
      this.inspection.push('if "it is worn"', `  replace ${part.name}`, 'else', `  inspect ${part.name}`, 'end');
    else if (fate < 0.4 && count === 1) this.swapLater(part);
    else if (fate < 0.6 && count === 1) part.carrier = true;
    else if (fate < 0.65) this.inspection.push(`clean ${part.name} "Old sealant off"`);
  }

  /** The carrier goes to scrap: some of what it carries is moved by the author, some not, some thrown away with it. */
  private swapLater(old: Part): void {
    const fresh = this.part();
    const swap: string[] = [];
    for (let n = this.below(4); n > 0; n--) {
      const rider = this.part(this.chance(0.2) ? 2 : 1);
      rider.clauses.push(`carried by ${old.name}`);
      const fate = this.next();
      if (fate < 0.4) {
        this.say(`remove ${rider.name}`);
        this.free(rider);
      } else if (fate < 0.5) this.inspection.push(`discard ${rider.name}`);
      if (fate < 0.2 || (fate >= 0.5 && fate < 0.7))
        swap.push(`transfer ${rider.name} from ${old.name} to ${fresh.name}`);
    }
    const at = this.below(2);
    this.inspection.push(...(at === 0 ? swap : []), `swap ${old.name} for ${fresh.name}`, ...(at === 1 ? swap : []));
  }

  private drain(): void {
    const name = `oil-${this.supplies.length + 1}`;
    const declared = this.chance(0.5) ? ' 1.8 L' : '';
    this.supplies.push(`supply ${name} "Oil"${declared}${this.chance(0.3) ? ' hazard heat' : ''}`);
    this.say(`drain ${name}${declared === '' || this.chance(0.5) ? ' 1.8 L' : ''}`);
  }

  text(): string {
    let steps = 0;
    const close = (): void => {
      if (this.lines.length > 0) this.steps.push({ title: `Step ${++steps}`, lines: this.lines });
      this.lines = [];
    };
    const due = (): void => {
      this.later = this.later.filter((each) => {
        if (each.due > this.declared.length) return true;
        this.say(each.line);
        this.free(each.part);
        return false;
      });
    };
    while (this.declared.length < this.wanted) {
      if (this.chance(0.04)) this.drain();
      this.takeOff();
      due();
      if (this.chance(0.3)) close();
    }
    for (const each of this.later) each.due = 0;
    due();
    close();
    const curing = [
      ...(this.chance(0.5) ? ['supply sealant "Flange sealant" cure 60 min hazard chemical'] : []),
      ...(this.chance(0.5) ? ['supply lock "Thread locker" cure 12 h'] : []),
    ];
    const wrenches = [
      'tool small "Small wrench" range 4..20 N·m',
      'tool middle "Wrench" range 10..60 N·m',
      'tool large "Large wrench" range 40..300 N·m',
    ].filter(() => this.chance(0.7));
    const warned = ['warning "This can hurt. Take care."'];
    const step = (name: string, title: string, lines: readonly string[]): string[] => [
      `  step ${name} "${title}"${this.chance(0.7) ? ` takes ${5 + this.below(40)} min` : ''}`,
      ...lines.map((line) => `    ${line}`),
      '',
    ];
    const proving = this.chance(0.6) ? ['proving', ...step('prove', 'Prove it', [...warned, 'check "It runs"'])] : [];
    return `${[
      'procedure unit "Overhaul the unit"',
      ...(this.codes.length > 0 ? [`  applies to ${this.codes.join(', ')}`] : []),
      ...(this.chance(0.5) ? ['  measures metric'] : []),
      '',
      ...this.declared.map(
        ({ name, count, clauses }) =>
          `part ${name}${count > 1 || this.chance(0.05) ? ` x${count}` : ''} "Part"${clauses.map((each) => ` ${each}`).join('')}`,
      ),
      ...this.patterns,
      ...this.supplies,
      ...curing,
      'tool hoist "Hoist"',
      ...wrenches,
      '',
      'teardown',
      ...step('read', 'Read the code', ['identify "The code"']),
      ...this.steps.flatMap(({ title, lines }, i) => step(`step-${i + 1}`, title, [...warned, ...lines])),
      'inspection',
      ...step('look', 'Look', [...warned, 'sign "Seen"', ...this.inspection]),
      ...(this.chance(0.6) ? ['reassembly', ''] : []),
      ...proving,
    ]
      .join('\n')
      .trimEnd()}\n`;
  }
}
