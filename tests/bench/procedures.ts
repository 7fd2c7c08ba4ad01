/**
 * Realistic procedures of any length, the same for the same seed: units of a dozen parts each, taken apart and put back,
 * clean under every check. All invented.
 */
export interface Size {
  /** Lines wanted; the text comes out within one unit of it. */
  readonly lines: number;
  readonly seed?: number;
}

const unitLines = 49;

export function procedureOf({ lines, seed = 1 }: Size): string {
  const units = Math.max(1, Math.round((lines - 12) / unitLines));
  let state = seed >>> 0 || 1;
  const random = (below: number): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state % below;
  };
  const declarations: string[] = [];
  const teardown: string[] = [];
  const reassembly: string[] = [];
  for (let u = 1; u <= units; u++) {
    const n = 6 + random(4);
    const bolt = `cover-bolt-${u}`;
    declarations.push(
      `part ${bolt} x${n} "Cover bolt ${u}" thread M8x1.25 class 8.8 length 40 mm torque 25 N·m (18 lbf·ft) holes ring-${u}`,
      `part cover-${u} "Cover ${u}" held by ${bolt}`,
      `part gasket-${u} "Gasket ${u}" renew lead 2 d behind cover-${u}`,
      `part shaft-${u} "Shaft ${u}" index behind cover-${u}`,
      `part gear-${u} "Gear ${u}" carried by shaft-${u} held by ring-clip-${u}`,
      `part ring-clip-${u} "Ring clip ${u}" renew carried by shaft-${u}`,
      `part bearing-${u} "Bearing ${u}" bore 50 mm H7/k6 limit 120 °C carried by shaft-${u} behind gear-${u}`,
      `supply sealant-${u} "Sealant ${u}" cure 60 min`,
      `supply oil-${u} "Gear oil ${u}" 1.8 L spec "Mineral 220"`,
      `pattern ring-${u} circle ${n} diameter 180 mm`,
    );
    teardown.push(
      `  step open-${u} "Open cover ${u}" takes 30 min`,
      `    drain oil-${u} 1.8 L`,
      `    remove ${bolt} x${n} keep in "tray ${u}"`,
      `    remove cover-${u}`,
      `    remove gasket-${u}`,
      `    discard gasket-${u}`,
      `    mark shaft-${u} "One punch mark on the end"`,
      `    remove shaft-${u}`,
      '',
      `  step strip-${u} "Strip shaft ${u}" takes 20 min`,
      `    # The clip is single-use.`,
      `    remove ring-clip-${u}`,
      `    remove gear-${u}`,
      `    remove bearing-${u}`,
      `    clean shaft-${u} "Bare metal, no burrs"`,
      '',
    );
    reassembly.push(
      `  step build-${u} "Build shaft ${u}" takes 40 min`,
      `    warning "Hot parts burn skin. Wear heat-proof gloves."`,
      `    heat bearing-${u} to 100 °C`,
      `    fit bearing-${u}`,
      `    fit gear-${u}`,
      `    fit new ring-clip-${u}`,
      `    measure float-${u} limit 0.10..0.30 mm`,
      `    fit shaft-${u} "Mark outwards"`,
      '',
      `  step close-${u} "Close cover ${u}" takes 25 min`,
      `    fit new gasket-${u}`,
      `    apply sealant-${u} to cover-${u}`,
      `    fit cover-${u}`,
      `    fit ${bolt} x${n}`,
      `    tighten ${bolt} in stages 12 N·m (8.9 lbf·ft), 25 N·m (18 lbf·ft) order star using torque-wrench`,
      `    if "the cover sits proud"`,
      `      do "Stop and ask the foreman."`,
      `    else`,
      `      check "The shaft turns by hand."`,
      `    end`,
      `    wait 60 min "The sealant cures."`,
      `    fill oil-${u} 1.8 L`,
      '',
    );
  }
  return [
    'procedure big-unit "Overhaul the big unit"',
    '  applies to BU-1',
    '  measures metric',
    'tool torque-wrench "Torque wrench" range 5..100 N·m',
    ...declarations,
    '',
    'teardown',
    '  step know "Know the unit" takes 5 min',
    '    identify "Read the code on the plate."',
    '',
    ...teardown,
    'reassembly',
    ...reassembly,
  ].join('\n');
}

/** Steps for {@link procedureOf} to take in. */
export const sharedSteps = `# fettle-shared
tool pin-punch "Pin punch"
part guard-pin "Guard pin" held by guard-nut
part guard-nut "Guard nut"

teardown
  step lock-out "Lock out" takes 10 min
    warning "Lock out the drive before you open it."
    identify "Read the code on the plate."
    remove guard-nut
    remove guard-pin using pin-punch

reassembly
  step guard "Put the guard back" takes 10 min
    fit guard-pin
    fit guard-nut
`;

/** A procedure that takes them in, in both of its phases. */
export const taking = (text: string): string => text.replace(/^(teardown|reassembly)$/gm, '$1\n  use "shared.fettle"');

/** Every part is touched in every step: parts × steps statements. */
export function adversarial(parts: number, steps: number): string {
  const lines = ['procedure worst "Worst case"'];
  for (let p = 0; p < parts; p++) lines.push(`part p${p} "Part ${p}"${p > 0 ? ` behind p${p - 1}` : ''}`);
  lines.push('teardown');
  for (let s = 0; s < steps; s++) {
    lines.push(`  step s${s}`);
    for (let p = 0; p < parts; p++) lines.push(`    ${s % 2 === 0 ? `remove p${p}` : `fit p${parts - 1 - p}`}`);
  }
  return lines.join('\n');
}
