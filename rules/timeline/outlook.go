package timeline

import (
	"time"

	"wetside/internal/lab"
)

// noDataReceived tells whether the unit is silent, or its connection broke.
func (u *unit) noDataReceived() bool { return u.Arrivals.Silent != "" || !u.Arrivals.Will.IsZero() }

// outlookAt is the unit's outlook at arrival time now.
func (u *unit) outlookAt(now time.Time) *lab.Outlook {
	at := u.State.Now().At
	if !u.Arrivals.Last.IsZero() && now.After(u.Arrivals.Last) {
		at = at.Add(now.Sub(u.Arrivals.Last))
	}
	return u.State.Outlook(u.noDataReceived(), at)
}

// outlookMoves tells whether what to do has changed since it was last asked. While
// a unit is silent or on battery, time alone changes it.
func (u *unit) outlookMoves(now time.Time) bool {
	is := ""
	if u.noDataReceived() || u.State.Now().OnBattery {
		if v := u.outlookAt(now); v != nil {
			is = v.Action + v.Text
		}
	}
	moved := is != u.lookedAt
	u.lookedAt = is
	return moved
}
