/** The example of the language contract, in its normal layout. */
export const contract = `procedure winch-reducer "Overhaul the deck winch reducer"
  applies to DW-40, DW-40B            # codes stamped on the unit
  code plate "On the rib beside the filler plug"
  measures metric                     # or imperial
use "common/fasteners.fettle"         # declarations shared by several procedures

part housing-bolt x10 "Housing bolt" thread M8x1.25 class 8.8 length 40 mm torque 25 N·m holes rim
part bore-plug "Bore plug" renew lead 2 d            # renew: single-use, never refitted
part top-housing "Top housing" held by housing-bolt, bore-plug
part idler-gear "Idler gear" behind top-housing       # behind: reached only once that is off
part brake-wheel "Brake wheel" carried by old-drum held by brake-bolt
part race "Bearing cup" bore 62 mm interference 10..45 µm limit 120 °C   # or: bore 62 mm H7/k6
tool torque-wrench "Torque wrench" range 5..100 N·m
tool pin-bit "Five-pin bit"
supply gear-oil "Gear oil" 1.8 L spec "API GL-4 75W-90"
supply sealant "Flange sealant" cure 60 min
pattern rim circle 10 diameter 180 mm                 # equal spacing, hole 1 at 12 o'clock, clockwise
pattern hub circle angles 0°, 60°, 120°, 180°, 240°, 297° diameter 70 mm
pattern lid points (0, 0) (60, 0) (120, 0) (0, 80) (60, 80) (120, 80) mm

teardown
  step drain "Drain the oil" takes 15 min
    identify "Read the code on the plate and compare it with the codes above"
    caution "Warm oil burns."
    drain gear-oil 1.8 L
  step split "Split the housing" takes 30 min
    remove bore-plug
    discard bore-plug
    remove housing-bolt x8 keep in "bag A"
    remove housing-bolt x2 "The other two sit under the name plate" using pin-bit
    remove top-housing
reassembly
  step close "Close the housing" takes 40 min
    clean top-housing "Old sealant off both faces"
    apply sealant to top-housing
    fit top-housing
    fit housing-bolt x10
    tighten housing-bolt in stages 12 N·m, 25 N·m order star using torque-wrench
    fit new bore-plug
    wait 60 min "Sealant cures"
    fill gear-oil 1.8 L
`;

/** Every clause of every statement, property of every declaration, and block, once at least. */
export const everything = `procedure all "All of it"
  code plate "On the rib"
  applies to 40B, 6206-C3, DW-40/2
  measures imperial
use "a/b.fettle"
part m x4 "Bolt" thread M8 grade 5 dry torque 40 N·m (30 lbf·ft) then 90° index hazard heat, pressure number "6206-C3"
part plate thread 1/4-20 class 8.8 oiled greased sealed head socket prevailing 1..6 N·m
part in thread 10-32 threadlock diameter 80 mm behind m, plate carried by on held by to, index renew lead 2 d
part x1y bore 62 mm H7/k6 interference 10..45 µm limit 120 °C length 40 ± 2 mm holes rim at 1, 5 7
tool using x2 "Wrench" range 5..100 N·m lead 3 d number "T-1" hazard spring
supply oil "Oil" 1.8 L (1.9 qt) spec "SAE 80" cure 60 min hazard chemical lead 1 d number "O-1"
pattern rim circle 10 diameter 180 mm
pattern hub "Hub" circle angles 0°, 60°, 120° diameter 70 mm
pattern lid points (0, 0) (-60, 0) (120.5, 80) mm
teardown
  step drain "Drain" takes 15 min after drain, check, step
    remove m x2 spoiled with plate x2, in using using, w keep in "bag" "Text" see "Fig. 4" extension 60 mm at 90° on 400 mm
    disconnect plate
    discard m x1
    replace m x1
    swap m for plate "New"
    transfer m x2 from plate to in
    omit m x1 "Not needed"
    try m on plate
    loosen m x1 order 3 2 1
    drain oil 1.8 L
    heat m to 120 °C using w
    cool m to -20 °C
    press m max 20 kN
    mark m
    support m
    inspect m "Look"
    measure gap limit 0.1..0.2 mm
    measure gap max 0.2 mm
    measure gap min 0.1 mm
    shim m gap gap endplay 0.05..0.1 mm from 0.1 mm x2, 0.2 mm x4
    shim m gap gap preload 0.05 ± 0.01 mm from 0.1 mm
inspection
  step x
    sign "Foreman"
    check "Turns"
    do "Clean"
    danger "D"
    warning "W"
    caution "C"
    notice "N"
    identify "Code"
reassembly
  step y takes 1 h
    either "Heat it on"
      heat m to 100 °C
      if "chipped"
        replace m x1
      else
        clean m
      end
    or "Press it on"
      press m
    or
      fit m
    end
    for DW-40B, 40B
      fit plate
    end
    if "worn"
      fit new m x1
    end
    connect plate
    fit m x2 with plate
    apply oil to m, plate
    tighten m x4 to 40 N·m then 90° order spiral at holes 1, 5 using w
    tighten m in stages 10 N·m (7 lbf·ft), 20 N·m order star
    tighten m by hand
    tighten m order 1 5 3
    wait 10 min
    fill oil 1.8 L
proving
  step z after y
    check "It turns"
`;
