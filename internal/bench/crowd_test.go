package bench

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/web/access"
)

// mostOfOne is how many live views one token may have open.
const mostOfOne = 50

// A thousand boards, forty units that say something each second. The boards
// beyond the first only take what they are sent.
func TestCrowd(t *testing.T) {
	inLong(t)
	const n = 1000
	s := newSite(t, false)
	s.serve(false)
	s.ready()
	units := newTalkers(40)
	f := newFeeder(t, s.broker, "feeder", 1000)
	if err := units.begin(f); err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	var took []time.Duration
	first := s.look(func(u *shownUnit, now time.Time) {
		mu.Lock()
		defer mu.Unlock()
		if u.Bath.At != nil && u.ID != benchLab+"/marker" {
			took = append(took, now.Sub(u.Bath.At.Time))
		}
	})
	for i := 1; i < n; i++ {
		if i%(mostOfOne-1) == 0 {
			token, err := access.CreateToken(t.Context(), s.store, fmt.Sprint("crowd-", i), lab.RoleViewer, time.Time{})
			if err != nil {
				t.Fatal(err)
			}
			s.token = token
		}
		s.lookOn()
	}
	units.talk(t.Context(), f, 40, 2*time.Second, nil) // until all is in use
	mu.Lock()
	took = nil
	mu.Unlock()
	w0, _ := s.cpu()
	const length = 10 * time.Second
	units.talk(t.Context(), f, 40, length, nil)
	w1, _ := s.cpu()
	if err := mark(f, 1); err != nil {
		t.Fatal(err)
	}
	first.await(t, 1)
	s.stop()
	mu.Lock()
	defer mu.Unlock()
	share := 100 * (w1 - w0).Seconds() / length.Seconds()
	table.add(row{fmt.Sprintf("%d boards, 40 units at 1/s; reading to board p50 / p99", n), fmt.Sprintf("%.0f %% of a core; %s", share, middleAndEnd(took)), "", "", "15 %; p99 350 ms", "Crowd"})
}
