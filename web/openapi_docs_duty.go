package web

import "maps"

func init() {
	maps.Copy(typeDocs, dutyTypeDocs)
	maps.Copy(fieldDocs, dutyFieldDocs)
}

var dutyTypeDocs = map[string]string{
	"DutyNow":          "Who is on duty, and the plan behind it.",
	"DutyPlan":         "Who is called when, and how hard.",
	"DutyHours":        "Who is on duty in some hours of some days.",
	"QuietHours":       "Hours that hold back what is not urgent.",
	"DutyStep":         "One step of an escalation.",
	"DutyFlood":        "How often one phone may ring.",
	"WeeklyTest":       "When every way to every person is tried.",
	"DutySwap":         "One person in place of another for a day.",
	"DutyDark":         "A phone that stays dark: its owner works in the dark.",
	"DutyGap":          "A stretch in which nobody is on duty.",
	"DutyPerson":       "Somebody who can be called, or should be.",
	"DutyStatus":       "Whether an alert would reach a person now.",
	"OnCall":           "Somebody who is on call now or soon, and whether a page would reach them.",
	"DutyFault":        "Something wrong with paging itself.",
	"WayFault":         "A way to a person that keeps failing.",
	"Available":        "Whether something is there, and why not.",
	"HeartbeatNow":     "How the heartbeat goes.",
	"DutyEntry":        "One line of the record of who changed what.",
	"ContactsView":     "How a person is reached.",
	"PushSubscription": "A browser that takes pages.",
	"AlertPages":       "All pages about one alert.",
	"PageView":         "One page to one person, and what became of it.",
	"Try":              "One try of a message by one way.",
	"NextPage":         "When the escalation goes on.",
	"PageTest":         "One test of one way to one person.",
	"PushKey":          "What a browser subscribes with.",
}

var (
	wayNames  = []any{"push", "webhook", "mail"}
	dutyWords = "Wall clock of the lab, such as 08:00."
)

var dutyFieldDocs = map[string]fieldDoc{
	"DutyNow.set":         text("False: this is the built-in plan, which names nobody."),
	"DutyNow.version":     text("Rises with every change; give it back when changing the plan."),
	"DutyNow.on":          text("Who is on duty now, who is called first in front."),
	"DutyNow.gaps":        text("Stretches of the next 7 days in which nobody is on duty."),
	"DutyNow.quiet_until": text("Quiet hours hold until then; null outside of them."),
	"DutyNow.warnings":    text("What is wrong with the plan, in words."),

	"DutyPlan.time_zone":       text("IANA name of the lab's time zone."),
	"DutyPlan.urgent":          text("Steps for what is urgent; the last repeats."),
	"DutyPlan.high":            text("Steps for what is high; the last repeats."),
	"DutyPlan.repeat_urgent_s": text("After how long the last step repeats, seconds."),
	"DutyPlan.repeat_high_s":   text("After how long the last step repeats, seconds."),
	"DutyPlan.retries_s":       text("Waits before each try of a message, seconds; the last repeats."),
	"DutyPlan.link_hours":      text("How long the link in a page works, hours."),
	"DutyPlan.address":         text("Where a phone reaches the board, such as https://board.example."),
	"DutyHours.days":           text("Days on which the hours begin: mon to sun."),
	"DutyHours.from":           text(dutyWords),
	"DutyHours.to":             text(dutyWords + " At or before from: the next day."),
	"DutyHours.people":         text("Who is on duty, who is called first in front."),
	"QuietHours.days":          text("Days on which the hours begin: mon to sun."),
	"QuietHours.from":          text(dutyWords),
	"QuietHours.to":            text(dutyWords + " At or before from: the next day."),
	"DutyStep.who":             oneOf("Whom it calls.", "first", "second", "everybody", "named"),
	"DutyStep.person":          text("Whom, where named."),
	"DutyStep.after_s":         text("After the step before without an acknowledgement, seconds. The second step comes at a quarter of the time to respond at the latest."),
	"DutyFlood.pages":          text("At most so many messages in in_s; 0: no bound."),
	"DutyFlood.in_s":           text("In so long, seconds."),
	"DutyFlood.gather_s":       text("How long the second message waits for others to join it, seconds."),
	"DutySwap.day":             text("The day on which the hours begin, by the lab's clock."),
	"DutySwap.on":              text("Who stands in; empty: nobody."),
	"DutyPerson.role":          oneOf("What they may do.", roles...),
	"DutyPerson.ways":          text("Ways that can be tried now, in order."),
	"DutyPerson.on":            text("The place among those on duty, from 1; 0: not on duty."),

	"DutyStatus.on_call":          text("Who is on call now, who is called first in front, then who goes on call in the next 12 hours."),
	"OnCall.place":                text("The place among those on call then, from 1: who is called first."),
	"OnCall.from":                 text("When they go on call; null: they are on call now."),
	"OnCall.ways":                 text("Contact methods that can be tried, in order."),
	"OnCall.reachable":            text("At least one contact method works, as far as is known."),
	"OnCall.why":                  text("Why no page reaches them; empty where one does."),
	"DutyStatus.waiting":          text("Messages that should have gone out and did not yet."),
	"DutyStatus.oldest_waiting_s": text("How long the oldest of them has waited, seconds; null where none does."),
	"DutyFault.code": oneOf("What it is.", "nobody-on-duty", "nobody-reachable", "on-call-unreachable", "no-plan", "pages-not-going-out", "way-failing",
		"all-dark", "no-address", "heartbeat-failing", "records-not-sealed",
		"unit-not-judged", "rules-stand-still", "broker-away", "database-away", "disk-space-low"),
	"DutyFault.since":      text("Since when; null where that is not known."),
	"WayFault.way":         oneOf("By what.", wayNames...),
	"HeartbeatNow.last_at": text("When the other end last took one."),
	"DutyEntry.what":       text("plan, swap, swap-ended, dark, contacts, subscribed, unsubscribed, switched-off, page-test or weekly-test."),

	"ContactsView.ways":           text("In the order they are tried."),
	"ContactsView.webhook_off":    text("When its other end said that it is gone (410); null while it is used."),
	"ContactsView.webhook_secret": text("The key that signs the webhook; in the answer that made it only."),
	"AlertPages.next":             text("When the escalation goes on; null: nobody else is called."),
	"PageView.step":               text("The step of the escalation, from 0, repeats included."),
	"PageView.priority":           oneOf("That it was paged at.", priorities...),
	"PageView.state":              oneOf("Where it stands.", "held", "waiting", "sent", "dropped"),
	"PageView.held_until":         text("The person works in the dark until then."),
	"PageView.sent_by":            text("The way by which the other end took it."),
	"PageView.opened_at":          text("When its link was first opened."),
	"NextPage.step":               text("The step of the escalation, from 0."),
	"NextPage.people":             text("Whom it pages as things stand; empty: nobody can be paged then."),
	"Try.way":                     oneOf("By what.", wayNames...),
	"Try.outcome":                 oneOf("How it went.", "sent", "failed", "gone", "unavailable"),
	"PageTest.way":                oneOf("By what.", wayNames...),
	"PageTest.state":              oneOf("Where it stands.", "waiting", "sent", "dropped", "held"),
	"PushKey.why":                 text("Why it is not available; empty where it is."),
	"PushKey.key":                 text("applicationServerKey of the Push API."),
	"SwapRequest.on":              text("Who stands in; empty: nobody."),
}
