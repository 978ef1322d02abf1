package escalate

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
)

func sayAgain(m lab.PageMessage, _ []lab.PageCase) lab.PageBody {
	m.Body.Title = "again: " + m.ID
	return m.Body
}

func compose(pages []lab.CasePage, _ []lab.PageCase) lab.PageMessage {
	m := lab.PageMessage{ID: "m"}
	for _, p := range pages {
		m.PageIDs = append(m.PageIDs, p.ID)
	}
	return m
}

// queue has n pages of cases of their own, all waiting.
func queue(n int) lab.PersonQueue {
	q := lab.PersonQueue{Cases: map[int64]lab.PageCase{}}
	for i := range int64(n) {
		q.Pages = append(q.Pages, lab.CasePage{ID: i + 1, CaseID: i + 1, Person: "Wren", Priority: lab.High, NotBefore: nine})
		a := alert(fmt.Sprint("a", i), fmt.Sprintf("tern-street/unit-%d", i), lab.High)
		q.Cases[i+1] = lab.PageCase{ID: i + 1, Members: []lab.PageMember{{AlertID: a.ID, Occurrence: 1, Since: nine, Alert: a}}}
	}
	return q
}

// A plan that gathers no floods sends each page at once, however many went
// before it.
func TestWithoutGathering(t *testing.T) {
	d := duty()
	d.Plan.Flood.Pages = 0
	q := queue(1)
	for i := range 5 {
		q.Recent = append(q.Recent, lab.RecentPage{At: nine.Add(time.Duration(i-5) * time.Second), Priority: lab.High})
	}
	if got := Queue(q, d, "Wren", nine, compose, sayAgain); got.New == nil {
		t.Errorf("%+v; want the page sent", got)
	}
}

// A flood rings a phone twice in the first minute: at once, and with all the
// rest a little later.
func TestFlood(t *testing.T) {
	var sent []time.Time
	var recent []lab.RecentPage
	told := 0
	q := queue(0)
	for after := time.Duration(0); after < 61*time.Second; after += 100 * time.Millisecond {
		now := nine.Add(after)
		if n := len(q.Cases); n < 6 && after >= time.Duration(n)*300*time.Millisecond { // six units within two seconds
			one := queue(n + 1)
			q.Pages = append(q.Pages, one.Pages[n])
			q.Cases = one.Cases
		}
		q.Recent = recent
		if d := Queue(q, duty(), "Wren", now, compose, sayAgain); d.New != nil {
			sent = append(sent, now)
			recent = append(recent, lab.RecentPage{At: now, Priority: lab.High})
			told += len(d.New.PageIDs)
			q.Pages = slices.DeleteFunc(q.Pages, func(p lab.CasePage) bool { return slices.Contains(d.New.PageIDs, p.ID) })
		}
	}
	if len(sent) != 2 || told != 6 || sent[0] != nine || sent[1].Sub(nine) > 6*time.Second {
		t.Errorf("%d messages about %d alerts, at %v; want 2 about 6, the first at once, the second within 6 s", len(sent), told, sent)
	}
}

// What is urgent does not wait because two pages that were less pressing went
// out in the last minute; a third urgent one does.
func TestUrgentIsNotHeldBack(t *testing.T) {
	q := queue(1)
	q.Recent = []lab.RecentPage{{At: nine.Add(-20 * time.Second), Priority: lab.High}, {At: nine.Add(-10 * time.Second), Priority: lab.High}}
	if d := Queue(q, duty(), "Wren", nine, compose, sayAgain); d.New != nil || !d.Wait.Equal(nine.Add(40*time.Second)) {
		t.Errorf("a third that is high: %+v; want it to wait until the minute is over", d)
	}
	q.Pages[0].Priority = lab.Urgent
	if d := Queue(q, duty(), "Wren", nine, compose, sayAgain); d.New == nil {
		t.Errorf("the first that is urgent waits until %s", d.Wait)
	}
	q.Recent[0].Priority, q.Recent[1].Priority = lab.Urgent, lab.Urgent
	if d := Queue(q, duty(), "Wren", nine, compose, sayAgain); d.New != nil {
		t.Error("a third that is urgent rings the phone within the same minute")
	}
}

// Retries go by the plan, the last wait repeats; nothing is given up while it
// is needed, and dropped as soon as it is not.
func TestRetries(t *testing.T) {
	d := duty()
	q := queue(1)
	first := Queue(q, d, "Wren", nine, compose, sayAgain)
	if first.New == nil {
		t.Fatal("nothing goes out")
	}
	m := *first.New
	m.Tries, m.Cases, m.NextTry = 1, []int64{1}, first.NextTry
	q.Pages, q.Messages = nil, []lab.PageMessage{m}
	var waits []int
	now := nine
	for range 8 {
		next := Queue(q, d, "Wren", now, compose, sayAgain)
		if next.Again != "" || next.Wait.IsZero() {
			t.Fatalf("at %v: %+v; want to wait", now, next)
		}
		waits = append(waits, int(next.Wait.Sub(now).Seconds()))
		now = next.Wait
		again := Queue(q, d, "Wren", now, compose, sayAgain)
		if again.Again != m.ID {
			t.Fatalf("at %v it is not tried again: %+v", now, again)
		}
		q.Messages[0].Tries++
		q.Messages[0].NextTry = again.NextTry
	}
	if want := []int{5, 15, 30, 60, 60, 60, 60, 60}; !slices.Equal(waits, want) {
		t.Errorf("waits %v; want %v", waits, want)
	}
	// three hours later it is still tried; answered, it is dropped
	q.Messages[0].NextTry = nine.Add(3 * time.Hour)
	if next := Queue(q, d, "Wren", nine.Add(3*time.Hour), compose, sayAgain); next.Again == "" {
		t.Error("given up while the alert is open")
	}
	c := q.Cases[1]
	c.Members[0].Answered, c.Members[0].AnsweredBy = now, "Robin"
	if next := Queue(q, d, "Wren", now, compose, sayAgain); next.Again != "" || next.DropMessages["m"] != "acknowledged by Robin" {
		t.Errorf("answered: %+v", next)
	}
	d.Dark["Wren"] = now.Add(time.Minute)
	c.Members[0].Answered = time.Time{}
	if next := Queue(q, d, "Wren", nine.Add(4*time.Hour), compose, sayAgain); next.Again == "" {
		t.Error("in the light again and not tried")
	}
	d.Dark["Wren"] = nine.Add(5 * time.Hour)
	if next := Queue(q, d, "Wren", nine.Add(4*time.Hour), compose, sayAgain); next.Again != "" || !next.Wait.Equal(d.Dark["Wren"]) {
		t.Errorf("in the dark: %+v", next)
	}
}

// What is most pressing goes first.
func TestUrgentFirst(t *testing.T) {
	d := duty()
	d.Plan.Flood.Pages = 0
	q := queue(3)
	q.Pages[2].Priority = lab.Urgent
	next := Queue(q, d, "Wren", nine, compose, sayAgain)
	if next.New == nil || !slices.Equal(next.New.PageIDs, []int64{3}) {
		t.Errorf("%+v; want page 3 alone", next.New)
	}
}
