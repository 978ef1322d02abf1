package sim

import "time"

// DemoLab is the id of the invented lab of the demo.
const DemoLab = "tern-street"

// DemoPlan is the demo: six units of an invented lab in the middle of their
// work at start. Within the first three minutes the developer of plover
// drifts out of its limits, avocet begins a run that its waste will not take,
// and dunlin comes back from a power cut in its developer. More follows in
// the next half hour, and then runs without end with a fault now and then.
func DemoPlan(seed uint64, start time.Time) Schedule {
	r := planRand(seed, "show")
	s := Schedule{Units: unitPlans(len(names))}
	begins := []struct {
		run   RunPlan
		begin *Begin
	}{
		{RunPlan{Process: "c41"}, &Begin{Step: "developer", Heating: 6 * time.Second}},
		{RunPlan{Process: "e6-7"}, &Begin{Step: "color-developer", In: 100 * time.Second}},
		{RunPlan{Process: "c41", At: start.Add(45 * time.Second)}, nil},
		{RunPlan{Process: "c41", Push: 1}, &Begin{Step: "developer", Heating: 14 * time.Second}},
		{RunPlan{Process: "bw", SetS: 390}, &Begin{Step: "fixer", In: 70 * time.Second}},
		{RunPlan{Process: "e6-3"}, &Begin{Step: "bleach-fix", In: 240 * time.Second}},
	}
	for i := range s.Units {
		u := &s.Units[i]
		u.Runs, u.Begin = []RunPlan{begins[i].run}, begins[i].begin
		u.Endless = &Endless{FaultOdds: 0.3}
		u.Levels = map[string]float64{"waste": between(r, 1.5, 5), "wash": between(r, 12, 17)}
	}
	s.Units[2].Levels["waste"] = 10.2
	s.Faults = demoFaults(start)
	return s
}

func demoFaults(start time.Time) []Fault {
	minute := func(m float64) time.Time { return start.Add(time.Duration(m * float64(time.Minute))) }
	return []Fault{
		// The three of the first three minutes.
		{Kind: BathOffset, Unit: "plover", Run: 1, Step: "developer", After: 48 * time.Second,
			Strength: 0.7, Ramp: 50 * time.Second},
		{Kind: WasteFull, Unit: "avocet", Run: 1, Strength: 0.82, For: 9 * time.Minute},
		{Kind: Restart, Unit: "dunlin", Run: 1, Step: "developer", After: 55 * time.Second, For: 42 * time.Second},
		// What follows.
		{Kind: NoRotation, Unit: "heron", At: minute(6), For: 40 * time.Second},
		{Kind: Unattended, Unit: "turnstone", Run: 1, Step: "waiting", For: 7 * time.Minute},
		{Kind: NetworkCut, Unit: "curlew", At: minute(9), For: 2 * time.Minute},
		{Kind: PowerCut, Unit: "plover", At: minute(14), For: 100 * time.Second},
		{Kind: HotDryer, Unit: "dunlin", Run: 1, Step: "drying", Strength: 20, Ramp: 60 * time.Second},
		{Kind: Malformed, Unit: "heron", At: minute(19), For: 90 * time.Second, Strength: 20},
		{Kind: OpenProbe, Unit: "avocet", Run: 2, Step: "developer", After: 50 * time.Second, For: 40 * time.Second, Strength: 850},
		{Kind: GoesIdle, Unit: "plover", Run: 2, Step: "bleach", After: time.Minute, For: 6 * time.Minute},
		{Kind: WrongTime, Unit: "turnstone", Run: 2, Step: "first-developer", Strength: -60},
	}
}
