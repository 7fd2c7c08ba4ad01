/** What is used of the library, which has no types of its own. */
declare module 'railroad-diagrams' {
  export interface Drawn {
    readonly width: number;
  }
  type Make = (...items: Drawn[]) => Drawn;
  interface Railroad {
    /** The whole drawing; its text is SVG. */
    Diagram(...items: Drawn[]): { toString(): string };
    Sequence: Make;
    /** `usual`: place of the item that is drawn straight on. */
    Choice(usual: number, ...items: Drawn[]): Drawn;
    Optional(item: Drawn): Drawn;
    OneOrMore(item: Drawn, between?: Drawn): Drawn;
    ZeroOrMore(item: Drawn, between?: Drawn): Drawn;
    Terminal(text: string): Drawn;
    NonTerminal(text: string): Drawn;
  }
  const railroad: Railroad;
  export default railroad;
}
