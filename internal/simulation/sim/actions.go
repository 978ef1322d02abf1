package sim

import (
	"encoding/json"
	"time"

	"wetside/internal/lab"
)

// Action is what a person did by a unit, as they would enter it. The entry has
// no ID, arrival number or RunID: those are the store's to give.
type Action struct {
	Entry lab.Entry
	Run   string // the run by the unit's own name
}

// Actions tells what people did by the units so far.
func (l *Lab) Actions() []Action {
	l.mu.Lock()
	defer l.mu.Unlock()
	var out []Action
	for _, u := range l.units {
		out = append(out, u.actions...)
	}
	return out
}

// drainByHand empties the bath into a bucket at once: a person lifts the tank
// off faster than the pump would empty it.
func (u *unit) drainByHand() {
	s := u.run.truth.last()
	if s == nil || u.bath.litres <= 0 {
		return
	}
	u.balance.taken += u.bath.draw(u.bath.litres)
	s.Drained, s.TimeS, s.ByHand = u.now, u.now.Sub(s.InBath).Seconds(), true
	u.enterAction(lab.EntryDrained, u.now, nil)
}

// actionEnds enters what took its time.
func (u *unit) actionEnds(a *activeFault) {
	if a.Kind == HandTurned && a.run != nil {
		to := lab.At(u.now)
		u.enterAction(lab.EntryTurned, a.began, lab.Turned{From: lab.At(a.began), To: &to})
	}
}

// enterAction notes what a person enters, half a minute later: hands are wet.
func (u *unit) enterAction(what string, at time.Time, body any) {
	e := lab.Entry{Unit: u.id, What: what, At: at, Entered: u.now.Add(30 * time.Second), By: "mara"}
	if body != nil {
		b, err := json.Marshal(body)
		if err != nil { // our own plain struct always marshals
			panic(err)
		}
		e.Body = b
	}
	d := Action{Entry: e}
	if u.run != nil {
		d.Run = u.run.id
	}
	u.actions = append(u.actions, d)
}

// forgetRun has the controller forget its run; where it does not go down, it
// says that it is idle.
func (u *unit) forgetRun(down bool) {
	r := u.run
	r.truth.Stranded, r.truth.Ended, u.idleAt = true, u.now, u.now
	u.run, u.rpm = nil, 0
	if !down {
		u.sendStep()
		u.sendMotion()
	}
}

// takeStrandedFilm has a person drain the tank at last and take the film
// elsewhere.
func (u *unit) takeStrandedFilm(a *activeFault) {
	if a.Kind != GoesIdle {
		return
	}
	u.balance.taken += u.bath.draw(u.bath.litres)
	u.enterAction(lab.EntryFilm, u.now, lab.FilmDoing{What: lab.FilmMoved})
	if a.run != nil {
		u.actions[len(u.actions)-1].Run = a.run.id
	}
}
