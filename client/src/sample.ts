/** What `fettle.openSample` opens: a teardown of an invented unit with one wrong figure, and a reassembly to be drafted. */
export const sample = `# A first procedure, with faults put in on purpose.
# The unit is invented: never work from this page. On a real unit the
# maker's data, local codes and licensed practice prevail.
#
# 1. Rest the pointer on what is underlined: it says what is wrong.
# 2. Put the cursor into 6.0 lbf·ft, press Ctrl+. or Cmd+., and mend it.
# 3. Press F1 and run 'Fettle: Draft the reassembly'.
# 4. Press F1 and run 'Fettle: Open the job card beside'.

procedure bilge-pump "Renew the shaft seal of the bilge pump"
  measures metric

part screw x4 "Cover screw" thread M6 class 8.8 torque 9 N·m (6.0 lbf·ft) holes rim
part cover "Cover" held by screw
part impeller "Impeller" behind cover
part seal "Shaft seal" renew behind impeller
pattern rim circle 4 diameter 80 mm

teardown
  step open "Open the pump" takes 10 min
    danger "The pump can start by itself. Lock its supply off and prove that it is dead."
    remove screw
    remove cover
    remove impeller
    remove seal
    discard seal
`;
