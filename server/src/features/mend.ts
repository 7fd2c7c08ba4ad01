import { repairsFor } from '../checks/all.ts';
import type { Finding, Repair } from '../checks/check.ts';
import type { Snapshot } from '../snapshot.ts';

export { mended } from '../checks/mend.ts';

export const repairsOf = (snapshot: Snapshot, finding: Finding): Repair[] => repairsFor(finding, snapshot.context);
