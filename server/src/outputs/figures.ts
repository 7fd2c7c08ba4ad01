import {
  type Declaration,
  lineFinder,
  offsetsOf,
  type Quantity,
  type Span,
  spanText,
} from '../../../grammar/syntax.ts';
import { unitOf } from '../../../grammar/units.ts';
import type { Settings } from '../checks/check.ts';
import { angleUse, clampOf, fastenerOf, holesOf, torqueEnds, torquesOf } from '../checks/fastening.ts';
import { holesAtWork, patternOf } from '../checks/holes.ts';
import { mountingBy } from '../checks/mounting.ts';
import { shimmingOf } from '../checks/shimming.ts';
import { wrenchUse } from '../checks/wrenches.ts';
import type { Ledger } from '../ledger/ledger.ts';
import {
  bearingFace,
  chooseShims,
  countHoles,
  EXPANSION,
  HOLE_TOLERANCE,
  orderAmong,
  orderImbalance,
  orderWithin,
  rangeUse,
  rotationalSymmetry,
  STEEL_MODULUS,
  threadGeometry,
  worstReading,
  wrenchTolerance,
} from '../mechanics/index.ts';
import { type Model, placeIn } from '../model/model.ts';
import { siValueOf } from '../model/quantity.ts';
import { statementsIn, statementsOf } from '../model/statements.ts';
import { shimTable } from './card-shims.ts';

type Value = string | number | boolean | null | readonly Value[];

/** One computed figure with everything that went into it; the unit stands at the end of each key. */
export interface Figure {
  readonly figure: 'clamp load' | 'angle' | 'wrench' | 'order' | 'mounting' | 'shims' | 'cure';
  readonly subject: string;
  /** 1-based line of the text that asks for it. */
  readonly line: number;
  /** That text. */
  readonly text: string;
  readonly inputs: Readonly<Record<string, Value>>;
  readonly results: Readonly<Record<string, Value>>;
  /** How to compute it again by hand. */
  readonly formula: string;
}

/** Every figure that the mechanics give for a procedure, in the order of the text. */
export function figuresOf(model: Model, ledger: Ledger, settings: Settings): Figure[] {
  const figures: { at: number; figure: Figure }[] = [];
  const indexAt = lineFinder(model.tree.text);
  const lineAt = (offset: number): number => indexAt(offset) + 1;
  const add = (span: Span, figure: Omit<Figure, 'line' | 'text'>): void => {
    const place = placeIn(model, span);
    if (place === undefined) return;
    const at = offsetsOf(model.tree, place).start;
    const { figure: name, subject, ...rest } = figure;
    figures.push({ at, figure: { figure: name, subject, line: lineAt(at), text: spanText(span), ...rest } });
  };
  clampLoads(model, settings, add);
  angles(model, settings, add);
  for (const statement of model.steps.flatMap(({ step }) => statementsIn(step))) {
    const use = wrenchUse(model, statement);
    if (use !== undefined && (use.wrenches.length > 0 || use.adapted)) {
      const last = use.torques.at(-1)!;
      const setting = use.setting(last.high);
      add(statement.extension ?? use.wrenches[0]!.name, {
        figure: 'wrench',
        subject: statement.name!.text,
        inputs: {
          torque_Nm: last.high,
          stages_Nm: use.torques.map(({ high }) => high),
          wrench_mm: millimetres(statement.extension?.on),
          extension_mm: millimetres(statement.extension?.length),
          angle_deg: degrees(statement.extension?.at),
          ranges_Nm: use.wrenches.map(({ low, high }) => [low, high]),
        },
        results: {
          setting_Nm: setting,
          stage_settings_Nm: use.torques.map(({ high }) => use.setting(high)),
          share_of_upper_end: use.wrenches.map(({ low, high }) => rangeUse(setting, low, high)?.share ?? null),
          permitted_deviation: use.wrenches.map(({ high }) => wrenchTolerance(high) ?? null),
        },
        formula:
          'setting = T·L/(L + E·cos θ); share = setting / upper end of the range; deviation of the reading, as a share of it, by ISO 6789:2003 at 20, 60 and 100 % of the upper end: 6 % where that is 10 N·m or less, 4 % above',
      });
    }
    if (statement.kind === 'tighten' && statement.name !== undefined) {
      const holes = holesOf(patternOf(model, model.parts.get(statement.name.text)));
      const at = holesAtWork(model, statement);
      const style = statement.order?.form === 'spiral' ? 'spiral' : 'star';
      const order =
        statement.order?.form === 'list'
          ? statement.order.holes.map(({ value }) => value).filter((hole) => at?.includes(hole) ?? true)
          : holes && orderAmong(holes, at, style);
      if (holes !== undefined && order !== undefined) {
        const within = orderWithin(order, holes, at);
        add(statement.order ?? statement.name, {
          figure: 'order',
          subject: statement.name.text,
          inputs: {
            pattern: holes.kind,
            holes: countHoles(holes),
            angles_deg: holes.kind === 'angles' ? holes.angles : null,
            points: holes.kind === 'points' ? holes.points.map(({ x, y }) => [x, y]) : null,
            at_holes: at ?? null,
            order: statement.order?.form ?? 'star',
          },
          results: {
            order,
            imbalance: (within && orderImbalance(within.order, within.holes)) ?? null,
            positions_it_fits_in: rotationalSymmetry(holes) ?? null,
          },
          formula: `imbalance: longest stray of the summed arrows from the middle to the holes done so far from their even course, the longest arrow being 1, those at_holes alone where they are named; positions: turns within ${HOLE_TOLERANCE}° that lay the holes on themselves`,
        });
      }
    }
    if ((statement.kind === 'heat' || statement.kind === 'cool') && statement.to !== undefined) {
      const mounting = mountingBy(statement, model, settings.ambient);
      if (mounting !== undefined) {
        const { joint, temperature, verdict } = mounting;
        add(statement.to, {
          figure: 'mounting',
          subject: statement.name!.text,
          inputs: {
            diameter_mm: joint.diameter,
            interference_um: [joint.min, joint.max],
            temperature_C: temperature,
            ambient_C: settings.ambient,
            expansion_per_K: EXPANSION['bearing steel'],
          },
          results: {
            opens: verdict.opens,
            gained_um: verdict.gained,
            needed_K: verdict.kelvin,
            needed_C: verdict.temperature,
          },
          formula: 'growth = d·α·ΔT; it opens where growth reaches the greatest interference',
        });
      }
    }
    const shimming = shimmingOf(model, statement);
    if (shimming !== undefined) {
      const worst =
        shimming.limits === undefined ? undefined : worstReading(shimming.limits, shimming.target, shimming.shims);
      const readings =
        shimming.limits === undefined
          ? []
          : [shimming.limits.low, (shimming.limits.low + shimming.limits.high) / 2, shimming.limits.high];
      add(statement.gap ?? statement.keyword, {
        figure: 'shims',
        subject: statement.name?.text ?? '',
        inputs: {
          reading_um: shimming.limits === undefined ? null : [shimming.limits.low, shimming.limits.high],
          target: shimming.target.kind,
          target_um: [shimming.target.low, shimming.target.high],
          shims_um: shimming.shims.map(({ thickness, count }) => [thickness, count ?? null]),
        },
        results: {
          choices: readings.map((reading) => {
            const choice = chooseShims(reading, shimming.target, shimming.shims);
            return 'problem' in choice
              ? [reading, choice.problem]
              : [reading, [...choice.stack.pieces], choice.stack.result, choice.reached];
          }),
          table_um:
            shimTable(shimming, statement.aim?.quantity?.inUnit ?? unitOf('mm')!)?.map(
              ({ from, to, pieces, total }) => [from, to, pieces ?? null, total ?? null],
            ) ?? null,
          reading_without_a_stack_um: worst === undefined ? null : 'problem' in worst ? worst.problem : worst.reading,
        },
        formula: `${shimming.target.kind === 'endplay' ? 'end play = reading − stack' : 'preload = stack − reading'}; a choice is reading, pieces, result, whether it is in the target: of fewest pieces, then nearest to the middle of the target; a row of the card's table is from, up to, pieces, stack: in the target for all readings between`,
      });
    }
  }
  for (const variant of ledger.variants) {
    for (const { applied, supply, loading, cure, elapsed } of variant.earlyLoads) {
      add(loading.name ?? loading.keyword, {
        figure: 'cure',
        subject: supply,
        inputs: {
          cure_min: cure / 60,
          applied_line: lineAt(offsetsOf(model.tree, placeIn(model, applied) ?? applied).start),
          code: variant.code ?? null,
        },
        results: { elapsed_min: elapsed / 60, missing_min: (cure - elapsed) / 60 },
        formula: 'waits in the applying and the loading step, waits and `takes` of whole steps between them',
      });
    }
  }
  return figures.sort((a, b) => a.at - b.at).map(({ figure }) => figure);
}

function clampLoads(
  model: Model,
  settings: Settings,
  add: (span: Span, figure: Omit<Figure, 'line' | 'text'>) => void,
): void {
  for (const { torque, angle, part } of torquesOf(model)) {
    const fastener = fastenerOf(part, settings);
    const { thread, strength, loads, friction, condition, head, prevailing } = fastener;
    const ends = torqueEnds(torque);
    const band = ends === undefined ? undefined : clampOf(fastener, ends.high);
    const geometry = thread === undefined ? undefined : threadGeometry(thread);
    if (band === undefined || thread === undefined || geometry === undefined) continue;
    add(torque, {
      figure: 'clamp load',
      subject: part.name?.text ?? '',
      inputs: {
        torque_Nm: ends!.high,
        then_deg: degrees(angle),
        thread: thread.designation,
        diameter_mm: thread.diameter,
        pitch_mm: thread.pitch,
        pitch_diameter_mm: geometry.pitchDiameter,
        stress_area_mm2: geometry.stressArea,
        head,
        mean_bearing_diameter_mm: bearingFace(thread, head)?.mean ?? null,
        prevailing_Nm: prevailing === undefined ? null : [prevailing.low, prevailing.high],
        condition,
        friction: [friction.low, friction.mid, friction.high],
        class_or_grade: part.propertyClass?.image ?? part.grade?.image ?? null,
        proof_MPa: strength?.proof ?? null,
        yield_MPa: strength?.yield ?? null,
        strength_standard_covers_size: strength?.covered ?? null,
      },
      results: {
        clamp_N: [band.low.clamp, band.mid.clamp, band.high.clamp],
        proof_load_N: loads?.proof ?? null,
        share_of_proof:
          loads === undefined
            ? null
            : [band.low.proofShare ?? null, band.mid.proofShare ?? null, band.high.proofShare ?? null],
        equivalent_stress_MPa: [band.low.equivalentStress, band.mid.equivalentStress, band.high.equivalentStress],
      },
      formula:
        'T = F·(P/2π + 0.577·µ·d2 + ½·µ·DKm) + prevailing torque, at the high, middle and low end of the friction band (VDI 2230, long form)',
    });
  }
}

/** Angles behind a declared torque, and those in tightenings that say something else. */
function angles(
  model: Model,
  settings: Settings,
  add: (span: Span, figure: Omit<Figure, 'line' | 'text'>) => void,
): void {
  const tell = (part: Declaration, angle: Quantity): void => {
    const { thread, loads } = fastenerOf(part, settings);
    const turned = angleUse(part, angle, settings);
    if (thread === undefined || turned === undefined) return;
    add(angle, {
      figure: 'angle',
      subject: part.name?.text ?? '',
      inputs: {
        angle_deg: turned.degrees,
        thread: thread.designation,
        diameter_mm: thread.diameter,
        pitch_mm: thread.pitch,
        stress_area_mm2: threadGeometry(thread)?.stressArea ?? null,
        length_mm: millimetres(part.length),
        grip_mm: turned.grip ?? null,
        modulus_MPa: turned.grip === undefined ? null : STEEL_MODULUS,
      },
      results: {
        travel_mm: turned.travel,
        stiffness_of_bolt_N_per_mm: turned.stiffness?.bolt ?? null,
        stiffness_of_parts_N_per_mm: turned.stiffness?.parts ?? null,
        elastic_gain_N: turned.clamp ?? null,
        yield_load_N: loads?.yield ?? null,
      },
      formula:
        'travel = angle/360°·P; gain = travel/(1/kB + 1/kP), kB = E·As/l, kP = 0.5774·π·E·d/(2·ln[5·(0.5774·l + 0.5·d)/(0.5774·l + 2.5·d)]) (Shigley, ch. 8). An estimate: steel on steel, the grip l is the length less one diameter in the thread, threaded up to the head; past the yield load the gain is less',
    });
  };
  for (const part of model.ownDeclarations)
    if (part.kind === 'part' && part.angle !== undefined) tell(part, part.angle);
  for (const { name, angle } of statementsOf(model, 'tighten')) {
    const part = model.parts.get(name?.text ?? '');
    if (part !== undefined && angle !== undefined && degrees(angle) !== degrees(part.angle)) tell(part, angle);
  }
}

const millimetres = (quantity: Parameters<typeof siValueOf>[0]): number | null => {
  const metres = siValueOf(quantity, 'length');
  return metres === undefined ? null : metres * 1000;
};
const degrees = (quantity: Parameters<typeof siValueOf>[0]): number | null => {
  const radians = siValueOf(quantity, 'angle');
  return radians === undefined ? null : (radians * 180) / Math.PI;
};
