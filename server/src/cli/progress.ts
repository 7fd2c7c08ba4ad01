interface Terminal {
  readonly isTTY?: boolean;
  write(text: string): unknown;
}

const patience = 500;
const pause = 100;

/** Says on a terminal how far long work has come, on one line that is taken away again. */
export class Progress {
  private readonly total: number;
  private readonly terminal: Terminal | undefined;
  private readonly now: () => number;
  private readonly start: number;
  private last = Number.NEGATIVE_INFINITY;
  private shown = false;

  constructor(total: number, terminal: Terminal = process.stderr, now: () => number = () => performance.now()) {
    this.total = total;
    this.terminal = terminal.isTTY === true && process.env['TERM'] !== 'dumb' ? terminal : undefined;
    this.now = now;
    this.start = now();
  }

  /** Short work says nothing. */
  at(done: number): void {
    const now = this.now();
    if (this.terminal === undefined || now - this.start < patience || now - this.last < pause) return;
    this.last = now;
    this.shown = true;
    this.terminal.write(`\r\u001b[2K${done} of ${this.total} files`);
  }

  /** Before anything else is written. */
  clear(): void {
    if (this.shown) this.terminal?.write('\r\u001b[2K');
    this.shown = false;
  }
}
