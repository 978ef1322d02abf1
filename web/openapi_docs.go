package web

import "wetside/internal/lab"

// fieldDoc is what a field means and, where it is one of a few, its values.
type fieldDoc struct {
	text string
	enum []any
}

func text(s string) fieldDoc                 { return fieldDoc{text: s} }
func oneOf(s string, values ...any) fieldDoc { return fieldDoc{s, values} }

var typeDocs = map[string]string{
	"Unit":               "A processor as it stands now.",
	"UnitFault":          "A fault of wetside's own by which a unit is not judged, or shown only as it last could be.",
	"UnitRun":            "The run a unit is in.",
	"PlanStep":           "One step of a run's plan, past or to come.",
	"Bath":               "The liquid on the film against its limits.",
	"Light":              "Whether the tank may be opened.",
	"PowerNow":           "Where the unit's electricity comes from.",
	"Container":          "A tank or bottle and what it holds.",
	"Job":                "Where a person is needed.",
	"Alert":              "Something that is wrong or was, with what follows from it and what to do.",
	"AlertDetail":        "An alert with its history.",
	"AlertHistory":       "One entry of an alert's history.",
	"Run":                "One batch through a processor, and how it went.",
	"RunStep":            "What was planned and what happened in one step.",
	"Outage":             "One loss of power in a run.",
	"Gap":                "Messages that were not heard.",
	"Roll":               "A roll of film.",
	"Decision":           "What a person decided about a run.",
	"SealBrief":          "Where the sealed record of a run stands.",
	"LevelPoint":         "What the containers held at one moment.",
	"TracePoint":         "Readings taken together; what was not measured is left out.",
	"RefusedList":        "What was refused from a unit, newest first.",
	"RefusedEntry":       "What the embedded broker did not let in; alike ones together.",
	"RefusedMessage":     "A message of the unit in quarantine; GET /quarantine has its payload.",
	"QuarantinedMessage": "A message that was refused, as it was received.",
	"House":              "What holds for the whole lab.",
	"SheetView":          "What one process should be.",
	"SheetStep":          "What one step should be.",
	"SheetPush":          "The time for one push.",
	"SheetFactor":        "How many times faster development goes for ten degrees more.",
	"SheetSource":        "Where a figure comes from.",
	"SheetChange":        "One change of a process sheet.",
	"UnitCheck":          "Where one check of a unit stands.",
	"UnitCheckDone":      "When a check was last done, and what came of it.",
	"WallLink":           "A view-only link for a screen.",
	"Preferences":        "How one person wants the pages.",
	"SettingChange":      "One change of a setting, and who made it.",
	"AlertFigures":       "How the alerting of a period did.",
	"Gauge":              "A figure beside what is acceptable.",
	"Share":              "The part of the alerts that one priority had.",
	"RuleFigures":        "How one rule did.",
	"PersonFigures":      "How often one person was called.",
	"HandOver":           "What the next shift must know.",
	"Outlook":            "What to do with film that stands in a bath in trouble.",
	"Session":            "Who is signed in.",
	"ErrorModel":         "What went wrong, by RFC 9457.",
}

var (
	priorities = []any{"urgent", "high", "low"}
	phases     = func() (v []any) {
		for _, p := range lab.Phases {
			v = append(v, string(p))
		}
		return v
	}()
	roles = []any{"viewer", "operator", "lead"}
)

// fieldDocs by type and field; "*" holds for every type without its own.
var fieldDocs = map[string]fieldDoc{
	"*.unit":       text("The unit, lab/unit."),
	"*.run":        text("The id of the run."),
	"*.process":    text("The process id, such as c41."),
	"*.push":       text("Push in stops asked for: + pushed, - pulled."),
	"*.step":       text("The step's id, such as developer."),
	"*.n":          text("The number of the step in its run, from 1."),
	"*.of":         text("How many steps the run has."),
	"*.started_at": text("When it began, by the unit's clock."),
	"*.ended_at":   text("When it ended, by the unit's clock; null while it goes on."),
	"*.low_c":      text("Lower limit, degrees Celsius."),
	"*.high_c":     text("Upper limit, degrees Celsius."),
	"*.set_s":      text("The time the unit was set to, seconds."),
	"*.kind":       oneOf("What runs: only film carries customers' pictures.", "film", "strip", "flush", "water", "prime"),

	"Unit.id":             text("lab/unit."),
	"Unit.name":           text("What people call it."),
	"Unit.standing":       oneOf("What people decided: new until accepted.", "new", "accepted", "out-of-service", "retired"),
	"Unit.link":           oneOf("Whether it is heard.", "online", "silent", "offline"),
	"Unit.activity":       oneOf("What it does.", "idle", "running", "waiting", "drying"),
	"Unit.run":            text("The run it is in; null when idle."),
	"Unit.clock_offset_s": text("How far its clock is behind ours, seconds."),
	"Unit.last_heard_at":  text("When the last message arrived, by our clock."),
	"Unit.open_alerts":    text("Ids of its open alerts, the most pressing first."),
	"Unit.room_c":         text("Room temperature, degrees Celsius."),
	"Unit.rpm":            text("Rotation that agitates the film, revolutions a minute."),

	"SheetView.dry_max_c":     text("The hottest that the dryer may be, degrees Celsius; null: no limit."),
	"SheetView.light_safe":    text("From when on light does no harm, in words."),
	"SheetView.text":          text("The lab's own change in force, in the form of a sheet's file; empty where there is none."),
	"SheetStep.kind":          oneOf("dev: time and temperature change the picture; exact: both ways count; min: a least time.", "dev", "exact", "min"),
	"SheetStep.aim_s":         text("What the step is usually set to, seconds; null where the unit's own time counts."),
	"SheetStep.least_s":       text("What must not be undercut, seconds."),
	"SheetStep.aim_c":         text("The temperature aimed at, degrees Celsius."),
	"SheetPush.time_s":        text("The time for this push, seconds; null where it is a factor."),
	"SheetPush.times":         text("How many times the normal time."),
	"SheetSource.memory":      text("Written down from memory: to be confirmed from the lab's own manual."),
	"LevelPoint.levels_l":     text("What each container held, litres."),
	"UnitCheck.is":            oneOf("Where it stands.", "never", "fine", "due-soon", "overdue", "fault"),
	"UnitCheck.days":          text("How often it is due, days."),
	"House.check_days":        text("How often each check of a unit is due, days, by its id; 0: never."),
	"Preferences.theme":       oneOf("Light or dark.", "system", "light", "dark"),
	"Preferences.temperature": oneOf("Celsius or Fahrenheit, as shown.", "c", "f"),
	"Preferences.volume":      oneOf("Litres or US gallons, as shown.", "l", "gal"),
	"Preferences.sound":       oneOf("Which alerts sound on an open board.", "on", "urgent", "off"),
	"Preferences.spoken":      text("Alerts are read aloud too."),

	"House.time_zone":    text("IANA name, such as Europe/Dublin."),
	"House.hours":        text("Opening hours by weekday, monday to sunday, each a list such as 09:00-18:00. With no day named the lab is always open."),
	"House.closed":       text("A person closed the lab."),
	"House.closed_until": text("When it opens by itself; null: when somebody opens it."),
	"House.circuits":     text("Which units hang on one fuse, by its name."),
	"House.networks":     text("Which units hang on one network, by its name."),

	"RuleFigures.in_time":      text("Acknowledged within the time to respond."),
	"RuleFigures.late":         text("Acknowledged later than that."),
	"RuleFigures.never":        text("Over, and never acknowledged."),
	"RuleFigures.median_ack_s": text("The middle of the times from noticing to acknowledgement, seconds."),
	"Gauge.limit":              text("Acceptable up to here, or from here on where at_least is true; null: a figure without a limit."),
	"Share.part":               text("0 to 1."),
	"Share.usual":              text("What the guides on alarms give, 0 to 1."),

	"Outlook.why":             oneOf("What the trouble is.", "battery", "silent", "resumed", "temperature"),
	"Outlook.push_stops":      text("Where the push error will end if that is done, stops."),
	"Outlook.push_low_stops":  text("The least that it may be, stops."),
	"Outlook.push_high_stops": text("The most that it may be, stops."),
	"Outlook.now_stops":       text("What it would be if the film were drained now, stops."),

	"UnitRun.run":         text("The run's name by the unit."),
	"UnitRun.phase":       oneOf("What the unit is doing.", phases...),
	"UnitRun.waits_for":   text("What a waiting unit waits for: to-dryer, empty-waste, top-up-wash or chemistry."),
	"UnitRun.elapsed_s":   text("Time in this step so far, seconds."),
	"UnitRun.step_left_s": text("Time left in this step, seconds."),
	"UnitRun.remaining_s": text("Time until a person is needed next, seconds."),
	"UnitRun.ends_at":     text("When the reels can go to the dryer."),
	"UnitRun.plan":        text("The steps of the run, past and to come."),

	"PlanStep.label": text("What people call the step."),
	"PlanStep.kind":  oneOf("How its time counts; empty where there is no sheet.", "dev", "exact", "min", ""),
	"PlanStep.aim_s": text("How long it is set, should be or was, seconds."),
	"PlanStep.aim_c": text("Its aim temperature, degrees Celsius."),
	"PlanStep.state": oneOf("Where the run stands with it.", "past", "now", "ahead", "skipped", "unheard"),

	"Bath.c":        text("Temperature, degrees Celsius; null where it was not measured."),
	"Bath.standing": oneOf("How it stands against its limits.", "within", "outside", "settling", "unknown"),
	"Bath.at":       text("When it was measured."),

	"Light.state": oneOf("dark: film that light would spoil is in the tank. safe: it may be opened. none: no film is wet in it.", "dark", "safe", "none"),
	"Light.since": text("Since when."),

	"PowerNow.source":      oneOf("Where it comes from.", "mains", "battery", "unknown"),
	"PowerNow.battery_pct": text("Charge of the battery, percent."),

	"Container.role":         oneOf("What it is for.", "waste", "wash", "recovery", "bottle"),
	"Container.litres":       text("What it holds, litres; null where that was never heard."),
	"Container.capacity_l":   text("What it can hold, litres."),
	"Container.fraction":     text("How full it is, 0 to 1."),
	"Container.runs_left":    text("How many more runs like the last it will serve after this one."),
	"Container.float_closed": text("Its float switch is closed."),
	"Container.owed_l":       text("What this run will still drain into it or draw from it, litres."),
	"Container.next_run_l":   text("What the next run like this one will, litres."),
	"Container.at":           text("When its level was heard."),

	"Job.what":   text("What is to be done."),
	"Job.due_at": text("When."),

	"Alert.rule":             text("The rule that raised it."),
	"Alert.subject":          text("What it is about, such as a container."),
	"Alert.priority":         oneOf("urgent: within minutes. high: within the hour. low: on the board only.", priorities...),
	"Alert.state":            oneOf("Where it stands. Open means not closed.", "unacknowledged", "acknowledged", "cleared-unacknowledged", "closed"),
	"Alert.occurrence":       text("How often the condition has come, from 1."),
	"Alert.raised_at":        text("When the condition held, by the unit's clock."),
	"Alert.noticed_at":       text("When wetside saw it, by our clock."),
	"Alert.found_afterwards": text("It had ended when it was noticed: shown, not paged."),
	"Alert.cleared_at":       text("When it returned to normal; null while it lasts."),
	"Alert.acknowledged_at":  text("When somebody said that they had seen it."),
	"Alert.shelved_until":    text("Until when it is put aside."),
	"Alert.withdrawn":        text("Later evidence took it back."),
	"Alert.message":          text("What is wrong."),
	"Alert.consequence":      text("What follows from it."),
	"Alert.response":         text("What to do."),
	"Alert.facts":            text("The figures behind it."),

	"AlertHistory.at":   text("When wetside recorded it."),
	"AlertHistory.what": text("What happened: raised, returned, cleared, acknowledged, shelved, unshelved, withdrawn, closed, priority."),
	"AlertHistory.by":   text("Who did it."),

	"Run.run":              text("The run's name by the unit."),
	"Run.outcome":          oneOf("How it ended.", "running", "done", "aborted", "lost"),
	"Run.verdict":          oneOf("Whether it went as the sheet wants; null while it runs.", "in-control", "inspect", "out-of-control"),
	"Run.push_error_stops": text("What the errors amount to in the step with push times, stops: + pushed, - pulled."),
	"Run.reasons":          text("What the verdict rests on, most likely first."),
	"Run.alerts":           text("Ids of its alerts."),

	"RunStep.fills":                 text("How often it was filled."),
	"RunStep.sheet_s":               text("The sheet's time, seconds."),
	"RunStep.time_s":                text("The time it took, seconds."),
	"RunStep.mean_c":                text("Mean temperature, degrees Celsius."),
	"RunStep.min_c":                 text("Lowest temperature, degrees Celsius."),
	"RunStep.max_c":                 text("Highest temperature, degrees Celsius."),
	"RunStep.outside_s":             text("Time outside the limits, seconds."),
	"RunStep.equivalent_s":          text("The time at the sheet's temperature that would have developed as much, seconds."),
	"RunStep.push_error_stops":      text("What that amounts to against the push asked for, stops."),
	"RunStep.push_error_low_stops":  text("The least it may be, by what is not known, stops."),
	"RunStep.push_error_high_stops": text("The most it may be, by what is not known, stops."),

	"Outage.kind":                oneOf("battery: the controller ran on. restart: it went down.", "battery", "restart"),
	"Outage.outage_s":            text("How long it lasted, seconds."),
	"Outage.advice":              text("continue, shorten, extend, repeat or discard."),
	"Outage.advised_remaining_s": text("How long the step should still take, seconds."),

	"TracePoint.at":        text("When, by the unit's clock."),
	"TracePoint.bath_c":    text("The liquid on the film, degrees Celsius."),
	"TracePoint.preheat_c": text("The next bath in its bottle, degrees Celsius."),
	"TracePoint.wash_c":    text("The water in the wash tank, degrees Celsius."),
	"TracePoint.dryer_c":   text("The dryer, degrees Celsius."),
	"TracePoint.room_c":    text("The room, degrees Celsius."),

	"RefusedList.refused":            text("Connections and publishes that were not let in."),
	"RefusedList.messages":           text("Messages in quarantine."),
	"RefusedEntry.what":              text("connection, publish, or slowed: taken, but no faster than the unit's share."),
	"RefusedEntry.reason":            text("What was wrong."),
	"RefusedEntry.from":              text("The address that it came from."),
	"RefusedEntry.first_at":          text("When it was refused the first time."),
	"RefusedEntry.last_at":           text("When it was refused the last time."),
	"RefusedEntry.count":             text("How often; a flood counts once a minute and connection."),
	"RefusedMessage.received_at":     text("When it arrived."),
	"RefusedMessage.topic":           text("Where it was published."),
	"RefusedMessage.reason":          text("A short code, then what exactly was wrong."),
	"QuarantinedMessage.received_at": text("When it arrived."),
	"QuarantinedMessage.topic":       text("Where it was published."),
	"QuarantinedMessage.reason":      text("A short code, then what exactly was wrong."),
	"QuarantinedMessage.payload_b64": text("What was published, in base64."),

	"Session.name":         text("Who; null where nobody is signed in."),
	"Session.role":         oneOf("What they may do; null where nobody is signed in.", roles...),
	"Session.by":           oneOf("How they are known; null where nobody is signed in.", "session", "token"),
	"Session.setup_needed": text("Nobody has set a password yet: see POST /setup."),
	"Person.role":          oneOf("What they may do.", roles...),
}
