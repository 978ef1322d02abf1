package web

import "maps"

func init() {
	maps.Copy(typeDocs, stripTypeDocs)
	maps.Copy(fieldDocs, stripFieldDocs)
}

var stripTypeDocs = map[string]string{
	"StripView":       "A control strip that was read, with what it was judged by then.",
	"StripAnswer":     "What became of a strip that was read in.",
	"StripPlot":       "One figure of a strip beside its aim and its limits, in density.",
	"RGB":             "Densities of one step of a strip; a color that was not read is absent.",
	"Gate":            "Whether customers' film may go into this chemistry. wetside advises; it stops no unit.",
	"Opening":         "Who opened a gate, when and why.",
	"StripSettings":   "What the lab's control strips are judged by.",
	"StripReference":  "One box of strips. Its aims are the densities of its reference strip and the correction factors, added.",
	"StripLimit":      "A lab's own limit of one plot, in place of the published one.",
	"StripAim":        "An aim and spread that the lab's own strips have set.",
	"StripChart":      "The chart of one unit, process and mix.",
	"StripChartPlot":  "One figure over time, oldest first.",
	"StripChartPoint": "One strip's figure, with the signals that it completes.",
	"StripSignal":     "A mark on the chart. Only control-limit and action-limit move the gate.",
	"LikelyCause":     "Something that may have moved the last strip.",
	"StripEvent":      "Something that may have moved the plots.",
	"Field":           "One density of a strip.",
	"Explanation":     "Whether the run of the last strip accounts for where it stands.",
	"StripGate":       "The gate of a unit's chemistry, as the board shows it.",
	"StripSince":      "What ran since the last strip that was in.",
	"StripSinceRun":   "One run with customers' film.",
	"StripOrder":      "A customer's order with its rolls among them.",
	"StripTable":      "What became of a table of densities.",
	"FalseRate":       "How often a process in control would call, by simulation: strips between two calls, all plots of the chart together.",
}

var gateText = oneOf("in: the last strip was in. watch: film may run, find the cause. stop: no customers' film. none: no strips are asked for, and none was read.", "in", "watch", "stop", "none")

var standingText = oneOf("in: within the action limits. action: beyond an action limit. out: beyond a control limit. unjudged: there is nothing yet to judge it by.", "in", "action", "out", "unjudged")

var stripFieldDocs = map[string]fieldDoc{
	"*.mix":       text("The mix of chemistry; empty where it is not known."),
	"*.densities": text("Densities by step of the strip: dmin, ld, hd, yellow, dmax, speed."),
	"*.plot":      text("The figure's name, such as ld.r: LD red."),
	"*.strips":    text("Control strips, newest first."),
	"*.steps":     text("The steps."),

	"RGB.r": text("Red density."), "RGB.g": text("Green density; on black-and-white film, the density."), "RGB.b": text("Blue density."),

	"StripView.code": text("Code number of the box of strips."), "StripView.read_at": text("When it was read."),
	"StripView.by": text("Who read it."), "StripView.plots": text("Its figures as they were judged."),
	"StripView.standing": standingText, "StripView.note": text("What else is to be known."),
	"StripView.run":     text("The id of the run that it went through; null where it is not known."),
	"StripAnswer.strip": text("The strip as it is saved."), "StripAnswer.gate": text("The gate after it."),
	"StripAnswer.notes": text("What a person should know of how it was judged."),

	"StripPlot.label": text("What people call it."), "StripPlot.value": text("Density, or a difference of two."),
	"StripPlot.aim": text("What it is to be; null: not known."), "StripPlot.deviation": text("Value less aim; null without an aim."),
	"StripPlot.action": text("Action limit, half width; null: none."), "StripPlot.control": text("Control limit, half width; null: none."),
	"StripPlot.side":     oneOf("On which side of the aim the limits stand.", "both", "high", "low"),
	"StripPlot.standing": standingText,
	"StripPlot.aim_from": oneOf("Whose aim: the box's reference strip with its correction factors, the lab's own that a lead took over, or its first strips; absent without an aim.", "reference", "own", "first-strips"),
	"StripPlot.limits":   oneOf("Whose limits: published, the lab's own, worked out of its first strips (provisional), or none.", "published", "own", "provisional", "none"),

	"Gate.gate": gateText, "Gate.reasons": text("Why, and what to do."),
	"Gate.last_in_at": text("When the last strip was read that was in; null: none yet."),
	"Gate.out_since":  text("When the first of the strips was read that are out now; absent where none is."),
	"Gate.opened":     text("A lead opened it in spite of the strips."),
	"Opening.at":      text("When."), "Opening.reason": text("Why."),

	"StripSettings.asked":      text("Processes for which a strip must be read each day before customers' film."),
	"StripSettings.references": text("Boxes of strips, by code number."),
	"StripSettings.limits":     text("The lab's own limits."), "StripSettings.aims": text("Aims that a lead took over from the lab's own strips."),
	"StripReference.code":        text("The code number of the box."),
	"StripReference.corrections": text("Correction factors printed with the box, by step."),
	"StripReference.box":         text("Batch number of the box."), "StripReference.stored_c": text("How cold it is stored, degrees Celsius."),
	"StripReference.opened_at": text("When it was opened."), "StripReference.used_up_at": text("When the last strip of it was used."),
	"StripLimit.unit": text("The unit, lab/unit; absent: all."), "StripLimit.action": text("Action limit, half width in density."),
	"StripLimit.control": text("Control limit, half width in density."), "StripLimit.side": oneOf("On which side of the aim; absent: both.", "both", "high", "low"),
	"StripLimit.reason": text("Why it is not the published one."),
	"StripAim.aim":      text("The aim, in density."), "StripAim.sigma": text("The spread of one strip, in density."),
	"StripAim.strips": text("How many strips it comes from."), "StripAim.at": text("When it was taken over."), "StripAim.by": text("Who took it over."),

	"StripChart.process_name": text("What people call the process."), "StripChart.mixes": text("Mixes that strips were read of, the last first."),
	"StripChart.mix":    text("The mix shown; null: all."),
	"StripChart.source": text("Where the figures that are plotted and their limits are from."), "StripChart.gate": text("The gate now."),
	"StripChart.plots": text("A series for each figure."), "StripChart.events": text("What may have moved them, oldest first."),
	"StripChart.causes":      text("What may have moved the last strip, what telemetry speaks for first."),
	"StripChart.explanation": text("Whether the strip's own run explains it."),
	"StripChart.fields":      text("Densities of a strip in the order in which they are read."),
	"Field.step":             text("The step of the strip."), "Field.color": oneOf("r: red, g: green, b: blue.", "r", "g", "b"), "Field.label": text("What people call it."),
	"Explanation.text": text("In words; empty where the run is not known or nothing is off."), "Explanation.explained": text("Figures that the push error of its run accounts for."),
	"Explanation.unexplained": text("Figures that it does not account for: the chemistry."),
	"StripChart.offer":        text("Aims and spreads that the last 20 strips have set, for a lead to take over."),
	"StripChart.false_rate":   text("How often the rules call falsely."), "StripChart.steps": text("Steps of a strip in the order in which they are read."),
	"StripChartPlot.label": text("What people call the figure."), "StripChartPlot.points": text("Its points, oldest first."),
	"StripChartPoint.figure": text("The figure."), "StripChartPoint.signals": text("The signals that it completes."),
	"StripSignal.signal": oneOf("Which.", "control-limit", "action-limit", "we-1", "we-2", "we-3", "we-4", "nelson-3", "ewma", "cusum"),
	"StripSignal.detail": text("What was found."), "StripSignal.do": text("What to do."),
	"StripEvent.what": text("mix, code, probe, house-aim, developer, note, strip-gate or sheet."), "StripEvent.text": text("In words."),
	"LikelyCause.plots": text("The figures that it fits."), "LikelyCause.evidence": text("What telemetry shows for it; empty where it can show nothing."),
	"LikelyCause.fits": text("Telemetry speaks for it."), "LikelyCause.source": text("Where it is from."),
	"LikelyCause.standing": oneOf("How far it can be relied on.", "published", "quoted elsewhere", "unconfirmed"),
	"FalseRate.plots":      text("How many figures are plotted."), "FalseRate.rules": text("Strips between two false calls, all rules together."),
	"FalseRate.signals": text("Strips between two false calls of each signal alone; 0: never in the simulation."),
	"FalseRate.stops":   text("Strips between two false stops of the gate: two in a row beyond a control limit at three sigma; 0: never in the simulation."),

	"Unit.gates":     text("Gates of its control strips, by process; those that say something. Absent where none does."),
	"StripGate.gate": oneOf("in: the last strip was in. watch: film may run, find the cause. stop: no customers' film.", "in", "watch", "stop"),
	"StripGate.text": text("The first reason."), "StripGate.needs": text("What to run now: strip (none was read today) or second-strip (one is beyond a control limit)."),
	"Gate.needs":      text("What to run now: strip (none was read today) or second-strip (one is beyond a control limit); absent where nothing is asked for."),
	"StripGate.since": text("When the first of the strips was read that are out now."), "StripGate.last_in_at": text("When the last strip was read that was in; null: none in three months."),

	"StripSince.since": text("Since when: the start of the strip's own run where that is known, else its reading; null: no strip was in yet."),
	"StripSince.strip": text("The last strip that was in; null: none yet."), "StripSince.runs": text("Runs with customers' film since, oldest first."),
	"StripSince.orders": text("Their rolls by customers' orders, the order that is due first before the others; rolls without an order last."),
	"StripSince.more":   text("There are more runs than are listed."),
	"StripSinceRun.id":  text("The id of the run."), "StripSinceRun.run": text("The unit's own name of it."),
	"StripOrder.order": text("The order; empty: none was given."), "StripOrder.due_at": text("When it is due; null: not known."), "StripOrder.rolls": text("Twin checks."),
	"StripTable.taken": text("How many strips were taken in."), "StripTable.known": text("How many were there already."),
	"StripTable.ignored": text("Columns that were not used."), "StripTable.notes": text("What a person should know of how they were judged, the first 20."),

	"FalseRate.control_only": text("Strips between two false calls of control limits at three sigma."),
}
