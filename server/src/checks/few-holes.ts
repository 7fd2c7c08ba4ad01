import type { Declaration } from '../../../grammar/syntax.ts';
import { countOf } from '../model/model.ts';
import { type Check, named, type Raw, related } from './check.ts';
import { holeCount, patternOf, sidesOf } from './holes.ts';

const hasHoles = ({ kind, holes }: Declaration): boolean => kind === 'pattern' || holes !== undefined;

export const fewHoles: Check = {
  code: 'few-holes',
  severity: 'warning',
  section: 'Tightening',
  local: true,
  fires:
    'a pattern says no number of holes, says another than it gives angles of, or has fewer than a part that goes into it has pieces and is not filled by them several times over.',
  why: 'An order over holes that are not there orders nothing. Fewer pieces than holes are well: several parts may share a pattern. So are twice as many: they go into two like covers.',
  bad: `pattern rim circle 8 diameter 90 mm
part bolt x10 "Bolt" thread M8 class 8.8 torque 25 N·m holes rim`,
  good: `pattern rim circle 8 diameter 90 mm
part bolt x6 "Bolt" thread M8 class 8.8 torque 25 N·m holes rim
part dowel-screw x2 "Dowel screw" thread M8 class 8.8 torque 25 N·m holes rim`,
  *run({ model }): Generator<Raw> {
    for (const declaration of model.ownDeclarations.filter(hasHoles)) {
      const { kind, name, broken } = declaration;
      if (name === undefined || broken) continue;
      if (kind === 'pattern' && holeCount(declaration) === undefined) {
        const stated = declaration.pattern?.count;
        yield {
          span: stated ?? name,
          message: `the pattern ${named(name.text)} ${stated === undefined ? 'does not say how many holes it has' : `cannot have ${stated.image} holes`}: write \`circle\` and their number, their \`angles\`, or their \`points\`.`,
          related: [],
          data: { subject: name.text },
        };
      }
      const { count: said, angles } = declaration.pattern ?? {};
      if (said !== undefined && angles !== undefined && said.value !== angles.length) {
        yield {
          span: said,
          message: `the pattern ${named(name.text)} says ${said.value === 1 ? 'one hole' : `${said.image} holes`} and gives the angles of ${angles.length}: correct the number or the angles.`,
          related: [],
          data: { subject: name.text },
        };
      }
      if (kind !== 'part') continue;
      const pattern = patternOf(model, declaration);
      const holes = holeCount(pattern);
      const pieces = countOf(declaration);
      if (holes === undefined || pieces <= holes || sidesOf(pieces, holes) > 1) continue;
      yield {
        span: declaration.count ?? name,
        message: `${pieces} ${named(name.text)} do not go into the ${holes === 1 ? 'one hole' : `${holes} holes`} of ${named(declaration.holes!.text)}: correct the count or the pattern.`,
        related: related(
          pattern?.pattern?.count ?? pattern?.name,
          `${holes === 1 ? 'one hole' : `${holes} holes`} by this declaration`,
        ),
        data: { subject: name.text },
      };
    }
  },
};
