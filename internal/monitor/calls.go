package monitor

import (
	"context"
	"fmt"
	"time"

	"wetside/internal/lab"
)

// callAway calls those on call when the database stays away: pages wait in it
// otherwise, and nobody would hear that nothing is judged. Once an outage.
func (p *Program) callAway(ctx context.Context) {
	if p.called || p.lastPages == nil || p.lostAt.IsZero() || time.Since(p.lostAt) < p.cfg.CallAfter {
		return
	}
	if p.othersWatch(ctx) {
		return // they told it, and nobody needs to watch by eye
	}
	p.called, p.calledFor = true, p.lostAt
	p.call(ctx, lab.Urgent, "Urgent. Wetside: the database does not answer since "+p.clockTime(p.lostAt),
		"No data is received and no alert is raised until it is back. Watch the units by eye and time the baths by hand. Look at the database server and the network to it.")
}

// callBack says that it is over to those who were called.
func (p *Program) callBack(ctx context.Context) {
	if p.called {
		p.called = false
		p.call(ctx, lab.High, "Wetside: the database answers again",
			fmt.Sprintf("It did not from %s to %s. What the units kept is taken in now; what it shows is marked as detected late.",
				p.clockTime(p.calledFor), p.clockTime(time.Now())))
	}
}

// call calls people beside what goes on here.
func (p *Program) call(ctx context.Context, priority lab.Priority, title, text string) {
	pages := p.lastPages
	p.calls.Go(func() {
		n := pages.CallNow(ctx, priority, title, text)
		p.log.Warn("called people without the database", "reached", n, "title", title)
	})
}
