import type {
  CallHierarchyIncomingCall,
  CallHierarchyIncomingCallsParams,
  CallHierarchyItem,
  CallHierarchyOutgoingCall,
  CallHierarchyOutgoingCallsParams,
  CallHierarchyPrepareParams,
} from 'vscode-languageserver';
import type { Declaration, Name } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { isolated } from '../outputs/directed-text.ts';
import type { Snapshot } from '../snapshot.ts';
import { namingAt } from './at.ts';
import { symbolKinds } from './document-symbol.ts';
import { feature, wideFeature } from './feature.ts';

/** The file whose view is asked for, and the part. */
interface From {
  readonly uri: string;
  readonly part: string;
}

function itemOf(snapshot: Snapshot, part: Declaration): CallHierarchyItem {
  const { uri, range } = snapshot.locationOf(part);
  return {
    name: part.name!.text,
    detail: part.title && isolated(part.title.value),
    kind: symbolKinds.part,
    uri,
    range,
    selectionRange: snapshot.locationOf(part.name!).range,
    data: { uri: snapshot.file.uri, part: part.name!.text } satisfies From,
  };
}

/** Names of what must be off or loose before the part comes away; while its carrier is on, also of what covers that. */
function obstaclesOf(model: Model, part: Declaration): Name[] {
  const names = [...part.heldBy, ...part.behind];
  const visited = new Set([part]);
  for (
    let carrier = carrierOf(model, part);
    carrier !== undefined && !visited.has(carrier);
    carrier = carrierOf(model, carrier)
  ) {
    visited.add(carrier);
    names.push(...carrier.behind);
  }
  return names;
}
const carrierOf = (model: Model, part: Declaration): Declaration | undefined =>
  model.parts.get(part.carriedBy?.text ?? '');

/** What must come off before the part. */
export const before = ({ model }: Snapshot, part: Declaration): Declaration[] => [
  ...new Set(
    obstaclesOf(model, part).flatMap(({ text }) => {
      const other = model.parts.get(text);
      return other?.name === undefined || other === part ? [] : [other];
    }),
  ),
];

/** What can come off only after the part. */
export const after = (snapshot: Snapshot, part: Declaration): Declaration[] =>
  [...snapshot.model.parts.values()].filter((other) => before(snapshot, other).includes(part));

export const prepareCallHierarchy = feature<CallHierarchyPrepareParams, CallHierarchyItem[]>(
  'textDocument/prepareCallHierarchy',
  { callHierarchyProvider: true },
  (snapshot, { position }) => {
    const naming = namingAt(snapshot, snapshot.offsetAt(position));
    const part = naming?.kind === 'part' ? (naming.definition as Declaration | undefined) : undefined;
    return part?.name === undefined ? null : [itemOf(snapshot, part)];
  },
);

const ranges = (snapshot: Snapshot, names: readonly Name[]) => names.map((name) => snapshot.locationOf(name).range);

/** What must come off before it. */
export const incomingCalls = wideFeature<CallHierarchyIncomingCallsParams, CallHierarchyIncomingCall[]>(
  'callHierarchy/incomingCalls',
  {},
  async ({ item }, { workspace }) => {
    const from = item.data as From;
    const snapshot = await workspace.snapshot(from.uri);
    const part = snapshot?.model.parts.get(from.part);
    if (snapshot === undefined || part === undefined) return null;
    // The protocol counts these ranges in the caller's file: its own name stands for it there.
    return before(snapshot, part).map((other) => ({
      from: itemOf(snapshot, other),
      fromRanges: ranges(snapshot, [other.name!]),
    }));
  },
);

/** What can come off only after it. */
export const outgoingCalls = wideFeature<CallHierarchyOutgoingCallsParams, CallHierarchyOutgoingCall[]>(
  'callHierarchy/outgoingCalls',
  {},
  async ({ item }, { workspace }) => {
    const from = item.data as From;
    const snapshot = await workspace.snapshot(from.uri);
    const part = snapshot?.model.parts.get(from.part);
    if (snapshot === undefined || part === undefined) return null;
    return after(snapshot, part).map((other) => ({
      to: itemOf(snapshot, other),
      fromRanges: ranges(snapshot, [part.name!]),
    }));
  },
);
