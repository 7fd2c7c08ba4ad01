import type { Statement } from '../../../grammar/syntax.ts';
import { appliesTo } from '../ledger/start.ts';
import type { Model } from '../model/model.ts';
import { mostOf } from '../model/quantity.ts';
import { referencesOf } from '../model/references.ts';
import { conditionOf } from './alternatives.ts';

/** Something with a lead time that statements need. */
export interface Order {
  readonly name: string;
  readonly title: string;
  /** Seconds from order to delivery. */
  readonly lead: number;
  /** What makes it needed, where only an alternative does; empty where it is needed whatever comes. */
  readonly inCase: readonly string[];
}

/** What has to be there for these statements, of what states a lead time: new parts, tools, and supplies that are used. */
export function ordersOf(
  model: Model,
  statements: readonly Statement[],
  code: string | undefined,
): ReadonlyMap<string, Order> {
  const orders = new Map<string, Order>();
  for (const statement of statements) {
    if (!appliesTo(statement, code)) continue;
    const { kind, branches = [] } = statement;
    for (const order of needed(model, statement)) add(orders, order);
    const ways = branches.map((branch) => ordersOf(model, branch.statements, code));
    if (kind === 'for') {
      for (const way of ways) for (const order of way.values()) add(orders, order);
      continue;
    }
    const isOpen = kind === 'if' && ways.length === 1;
    for (const name of new Set(ways.flatMap((way) => [...way.keys()]))) {
      const found = ways.map((way) => way.get(name));
      const order = found.find((each) => each !== undefined)!;
      const isSure = !isOpen && found.every((each) => each?.inCase.length === 0);
      const inCase = found.flatMap((each, i) =>
        each === undefined ? [] : each.inCase.length === 0 ? [conditionOf(statement, i)] : each.inCase,
      );
      add(orders, { ...order, inCase: isSure ? [] : inCase });
    }
  }
  return orders;
}

/** Once it is needed whatever comes, no condition counts. */
export function add(orders: Map<string, Order>, order: Order): void {
  const known = orders.get(order.name);
  const isSure = order.inCase.length === 0 || known?.inCase.length === 0;
  orders.set(order.name, {
    ...order,
    inCase: isSure ? [] : [...new Set([...(known?.inCase ?? []), ...order.inCase])],
  });
}

function* needed(model: Model, statement: Statement): Generator<Order> {
  const fresh = statement.fresh !== undefined || statement.kind === 'replace';
  const used = statement.kind === 'fill' || statement.kind === 'apply';
  for (const { name, kind } of referencesOf(statement)) {
    const target = statement.kind === 'swap' && statement.targets?.[0] === name;
    const declaration =
      kind === 'tool'
        ? model.tools.get(name.text)
        : kind === 'supply'
          ? used
            ? model.supplies.get(name.text)
            : undefined
          : fresh || target
            ? model.parts.get(name.text)
            : undefined;
    const lead = mostOf(declaration?.lead, 'time');
    if (lead !== undefined && lead > 0)
      yield { name: name.text, title: declaration?.title?.value ?? name.text, lead, inCase: [] };
  }
}
