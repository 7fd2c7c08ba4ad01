const word = 'x'.repeat(400);
/** Everything that a card must not trip over: markup, quotes, endless words, 300 holes, right-to-left text, empty steps. */
export const hostileText = `procedure p-1 "</title><script>alert(1)</script>& <b>\\"q\\" ' ${word}"
  applies to A1, A2
  code plate "<img src=x onerror=alert(2)>"
part b300 x300 "Ring bolt" thread M8 class 8.8 torque 25 N·m holes big
part b40 x40 "Forty" thread M8 class 8.8 torque 25 N·m holes mid
part b32 x32 "Thirty-two" thread M8 class 8.8 torque 25 N·m holes c32
part grid x300 "Grid bolt" thread M6 class 8.8 torque 9 N·m holes raster
part same x5 "Same spot" thread M6 class 8.8 torque 9 N·m holes heap
part odd x6 "Odd" torque 40 N·m then 90° thread M10 class 8.8 holes hub
part ${'w'.repeat(120)} "${'W'.repeat(300)}" torque 10 N·m
part rtl "\u0645\u0636\u062e\u0629 \u0627\u0644\u0632\u064a\u062a" 
part evil "\u202Egnorts\u202C ok\u0007"
tool wrench "Wrench" range 5..100 N·m
pattern big circle 300 diameter 2 m
pattern mid circle 40 diameter 2 m
pattern c32 circle 32 diameter 2 m
pattern raster points ${Array.from({ length: 300 }, (_, i) => `(${i % 20}, ${Math.floor(i / 20)})`).join(' ')} mm
pattern heap points (0, 0) (0, 0) (1, 1) (1, 1) (5, 0.01) mm
pattern hub circle angles 0°, 60°, 120°, 180°, 240°, 297° diameter 70 mm
teardown
  step empty "Nothing in it"
  step a "<svg onload=alert(3)>" takes 3 min
    remove evil "${word}" keep in "<u>tray</u>"
    remove rtl "\u05e9\u05dc\u05d5\u05dd (abc) 12" keep in "\u05e9\u05dc\u05d5\u05dd 3" see "a > b"
    remvoe thing
    warning "${'Long warning text. '.repeat(40)}"
    do "${'Y'.repeat(900)}"
    either "<i>one</i>"
      do "x"
    or "two"
    end
    if "if only"
    else
      do "otherwise"
    end
reassembly
  step t "Tighten"
    tighten b300 order star using wrench extension 60 mm on 400 mm
    tighten b40 in stages 10 N·m, 25 N·m using wrench extension 60 mm on 400 mm at 45°
    tighten b32
    tighten grid order spiral
    tighten same
    tighten odd
    tighten odd at holes 1, 4
    fit ${'w'.repeat(120)}
  step many "${'Many '.repeat(30)}"
${Array.from({ length: 80 }, (_, i) => `    do "Statement ${i}"`).join('\n')}
`;
