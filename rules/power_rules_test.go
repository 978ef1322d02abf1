package rules

import "testing"

// Contract, section 2: power-lost, battery-low, power-resumed.
func TestPower(t *testing.T) {
	reboot := func(s *script, to string, at float64) {
		s.without(func(e *event) bool { return e.at >= at })
		s.boot = to
	}
	runScenarios(t, []scenario{
		{name: "lost and restored in a run: one alert an outage", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.power(150, "battery", "lost", 90, 0)
			s.power(160, "battery", "", 88, 0)
			s.power(180, "mains", "restored", 0, 30)
			s.power(185, "mains", "restored", 0, 35)
		}, want: []string{"power-lost developer urgent 150-180", "power-resumed developer urgent 180-"}},
		{name: "two outages", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.power(150, "battery", "lost", 90, 0)
			s.power(160, "mains", "restored", 0, 10)
			s.power(170, "battery", "lost", 90, 0)
			s.power(180, "mains", "restored", 0, 10)
		}, want: []string{"power-lost developer urgent 150-160", "power-resumed developer urgent 160-",
			"power-lost developer urgent 170-180", "power-resumed developer urgent 180-"}},
		{name: "said only afterwards", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.power(180, "mains", "restored", 0, 30)
		}, want: []string{"power-resumed developer urgent 180-"}},
		{name: "battery low", write: func(s *script) {
			dev(s, 295, always(37.8))
			s.power(150, "battery", "lost", 90, 0)
			s.power(200, "battery", "", 30, 0)
			s.power(210, "battery", "", 29, 0)
			s.power(220, "battery", "", 20, 0)
			s.power(240, "mains", "", 20, 0)
		}, want: []string{"power-lost developer urgent 150-240", "battery-low developer urgent 210-240"}},
		{name: "idle: low; offline clears it", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.power(10, "battery", "lost", 20, 0)
		}, until: 300, want: []string{"power-lost  low 10-100"}},
		{name: "a new boot that carries on says nothing: still an outage", write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 150)
			s.stays(190, 200, "in-bath", "developer", 1)
		}, want: []string{"power-resumed developer urgent 190-"}},
		{name: "the event, then the step", write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 150)
			s.power(188, "mains", "resumed", 0, 38)
			s.phase(190, "in-bath", "developer", 1)
		}, want: []string{"power-resumed developer urgent 188-"}},
		{name: "the step, then the event", write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 150)
			s.phase(188, "in-bath", "developer", 1)
			s.power(190, "mains", "resumed", 0, 38)
		}, want: []string{"power-resumed developer urgent 188-"}},
		{name: "restored, by a controller that did stop", write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 150)
			s.power(188, "mains", "restored", 0, 38)
			s.phase(190, "in-bath", "developer", 1)
		}, want: []string{"power-resumed developer urgent 188-"}},
		{name: "lost on battery, the battery dies, resumed", write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 170)
			s.boot = "b1"
			s.power(150, "battery", "lost", 40, 0)
			s.boot = "b2"
			s.phase(200, "in-bath", "developer", 1)
		}, want: []string{"power-lost developer urgent 150-200", "power-resumed developer urgent 200-"}},
		{name: "low once the last bath is done", write: func(s *script) {
			end := s.c41(0)
			s.power(end-150, "mains", "restored", 0, 5)
		}, want: []string{"power-resumed wash-2 low 1445-"}},
		{name: "a new boot in idle is no outage of a run, and ends power-lost", write: func(s *script) {
			s.phase(0, "idle", "", 0)
			s.power(10, "battery", "lost", 90, 0)
			s.boot = "b2"
			s.phase(40, "idle", "", 0)
		}, want: []string{"power-lost  low 10-40"}},
		{name: "a flush counts: it is the unit's business", write: func(s *script) {
			s.kind = "flush"
			dev(s, 295, always(20))
			s.power(150, "battery", "lost", 90, 0)
			s.power(180, "mains", "restored", 0, 30)
		}, want: []string{"power-lost developer urgent 150-180", "power-resumed developer urgent 180-"}},
	})
}
