// Rules in the words of the people who meet them.

const rules: Record<string, string> = {
  "bath-temperature": "bath too warm or too cool",
  "reading-missing": "no reading of the bath",
  "step-overrun": "step too long",
  "step-short": "step too short",
  "step-skipped": "step left out",
  "wrong-time-set": "wrong time set",
  "rotation-stopped": "film does not turn",
  "phase-overdue": "a phase takes too long",
  "run-aborted": "run stopped with film wet",
  "waste-nearly-full": "waste nearly full",
  "waste-will-not-fit": "waste will not fit",
  "wash-water-short": "too little wash water",
  "chemistry-short": "too little chemistry",
  "level-disagrees": "level and pumped volume disagree",
  "drain-not-arriving": "drain does not arrive",
  "strip-out": "control strip out",
  "power-lost": "power lost",
  "battery-low": "battery low",
  "power-resumed": "power came back in a run",
  "unit-silent": "unit silent",
  "dryer-temperature": "dryer too hot",
  "roll-mismatch": "a roll wants another process",
  "clock-off": "clock off",
  "telemetry-refused": "messages refused",
  "page-failing": "pages do not arrive",
  "records-not-sealed": "runs are not sealed",
  "nobody-on-duty": "nobody on duty",
  "no-sheet": "no process sheet",
};

export const ruleWord = (rule: string): string => rules[rule] ?? rule.replaceAll("-", " ");
