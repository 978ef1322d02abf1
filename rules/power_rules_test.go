package rules_test

import "testing"

// Contract, section 2: power-lost, battery-low, power-resumed.
func TestPower(t *testing.T) {
	reboot := func(s *script, to string, at float64) {
		s.Without(func(e *event) bool { return e.At >= at })
		s.Boot = to
	}
	runScenarios(t, []scenario{
		{Name: "lost and restored in a run: one alert an outage", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Power(150, "battery", "lost", 90, 0)
			s.Power(160, "battery", "", 88, 0)
			s.Power(180, "mains", "restored", 0, 30)
			s.Power(185, "mains", "restored", 0, 35)
		}, Want: []string{"power-lost developer urgent 150-180", "power-resumed developer urgent 180-"}},
		{Name: "two outages", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Power(150, "battery", "lost", 90, 0)
			s.Power(160, "mains", "restored", 0, 10)
			s.Power(170, "battery", "lost", 90, 0)
			s.Power(180, "mains", "restored", 0, 10)
		}, Want: []string{"power-lost developer urgent 150-160", "power-resumed developer urgent 160-",
			"power-lost developer urgent 170-180", "power-resumed developer urgent 180-"}},
		{Name: "said only afterwards", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Power(180, "mains", "restored", 0, 30)
		}, Want: []string{"power-resumed developer urgent 180-"}},
		{Name: "battery low", Write: func(s *script) {
			dev(s, 295, always(37.8))
			s.Power(150, "battery", "lost", 90, 0)
			s.Power(200, "battery", "", 30, 0)
			s.Power(210, "battery", "", 29, 0)
			s.Power(220, "battery", "", 20, 0)
			s.Power(240, "mains", "", 20, 0)
		}, Want: []string{"power-lost developer urgent 150-240", "battery-low developer urgent 210-240"}},
		{Name: "idle: low; offline clears it", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Power(10, "battery", "lost", 20, 0)
		}, Until: 300, Want: []string{"power-lost  low 10-100"}},
		{Name: "a new boot that carries on says nothing: still an outage", Write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 150)
			s.Stays(190, 200, "in-bath", "developer", 1)
		}, Want: []string{"power-resumed developer urgent 190-"}},
		{Name: "the event, then the step", Write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 150)
			s.Power(188, "mains", "resumed", 0, 38)
			s.Phase(190, "in-bath", "developer", 1)
		}, Want: []string{"power-resumed developer urgent 188-"}},
		{Name: "the step, then the event", Write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 150)
			s.Phase(188, "in-bath", "developer", 1)
			s.Power(190, "mains", "resumed", 0, 38)
		}, Want: []string{"power-resumed developer urgent 188-"}},
		{Name: "restored, by a controller that did stop", Write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 150)
			s.Power(188, "mains", "restored", 0, 38)
			s.Phase(190, "in-bath", "developer", 1)
		}, Want: []string{"power-resumed developer urgent 188-"}},
		{Name: "lost on battery, the battery dies, resumed", Write: func(s *script) {
			dev(s, 295, always(37.8))
			reboot(s, "b2", 170)
			s.Boot = "b1"
			s.Power(150, "battery", "lost", 40, 0)
			s.Boot = "b2"
			s.Phase(200, "in-bath", "developer", 1)
		}, Want: []string{"power-lost developer urgent 150-200", "power-resumed developer urgent 200-"}},
		{Name: "low once the last bath is done", Write: func(s *script) {
			end := s.C41(0)
			s.Power(end-150, "mains", "restored", 0, 5)
		}, Want: []string{"power-resumed wash-2 low 1445-"}},
		{Name: "a new boot in idle is no outage of a run, and ends power-lost", Write: func(s *script) {
			s.Phase(0, "idle", "", 0)
			s.Power(10, "battery", "lost", 90, 0)
			s.Boot = "b2"
			s.Phase(40, "idle", "", 0)
		}, Want: []string{"power-lost  low 10-40"}},
		{Name: "a flush counts: it is the unit's business", Write: func(s *script) {
			s.Kind = "flush"
			dev(s, 295, always(20))
			s.Power(150, "battery", "lost", 90, 0)
			s.Power(180, "mains", "restored", 0, 30)
		}, Want: []string{"power-lost developer urgent 150-180", "power-resumed developer urgent 180-"}},
	})
}
