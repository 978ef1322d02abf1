package ingest

import (
	"strings"

	"wetside/internal/lab"
)

// maxRun is the length of a run's name.
const maxRun = 64

func readStatus(r *reader) *lab.Status {
	switch v := r.value("online"); {
	case v == nil:
		r.missing("online", "true")
	case string(v) == "false":
		r.fail(lab.RefusedRange, `online must be true, or {"online":false} alone as the last will; got false beside other fields`)
	case string(v) != "true":
		r.wrongType("online", v, "true")
	}
	s := &lab.Status{
		Online:    true,
		Model:     r.name("model", "a text"),
		Firmware:  r.name("firmware", "a text"),
		Processes: r.names("processes", lab.MaxProcesses),
	}
	const want = "{name: {role, capacity_l}}"
	specs := r.inner("containers", want, lab.MaxContainers)
	if len(specs) > 0 {
		s.Containers = make(map[string]lab.ContainerSpec, len(specs))
	}
	for _, c := range specs {
		where := "containers." + c.name
		if c.value[0] != '{' {
			r.wrongType(where, c.value, "{role, capacity_l}")
			break
		}
		in := reader{obj: members(c.value, nil), where: where + ".", err: r.err}
		s.Containers[c.name] = readContainer(&in)
		r.err = in.err
	}
	return s
}

func readContainer(r *reader) lab.ContainerSpec {
	role := r.oneOf("role", string(lab.RoleWaste), string(lab.RoleWash), string(lab.RoleRecovery), string(lab.RoleBottle))
	if role == "" {
		r.missing("role", "waste, wash, recovery or bottle")
	}
	capacity := r.bounded("capacity_l", lab.BoundLitres)
	if capacity == nil {
		r.missing("capacity_l", "liters, "+lab.BoundLitres.String())
		capacity = new(float64)
	}
	return lab.ContainerSpec{Role: lab.Role(role), CapacityL: *capacity}
}

// readStep reads the step channel. In a bath phase the run, its process, the
// step and its number must be there; in the phases around them at least the
// run; idle needs nothing, and a controller may blank the fields of a run
// ("" or 0) wherever they are not needed.
func readStep(r *reader) *lab.Step {
	s := &lab.Step{
		Phase:     readPhase(r),
		Run:       r.string("run", runWant),
		Process:   r.name("process", "the id of a process"),
		Step:      r.name("step", "the name of a step"),
		SetS:      r.bounded("set_s", lab.BoundSeconds),
		ElapsedS:  r.bounded("elapsed_s", lab.BoundSeconds),
		FillML:    r.bounded("fill_ml", lab.BoundFill),
		SetC:      r.bounded("set_c", lab.BoundTemperature),
		DrawFrom:  r.name("draw_from", "the name of a container"),
		DrainTo:   r.name("drain_to", "the name of a container"),
		WaitsFor:  r.oneOf("waits_for", lab.WaitToDryer, lab.WaitEmptyWaste, lab.WaitTopUpWash, lab.WaitChemistry),
		Continues: r.string("continues", runWant),
		Kind: r.oneOf("kind", lab.KindOfRunFilm, lab.KindOfRunStrip, lab.KindOfRunFlush,
			lab.KindOfRunWater, lab.KindOfRunPrime),
	}
	for name, run := range map[string]string{"run": s.Run, "continues": s.Continues} {
		if run != "" && !isRun(run) {
			r.fail(lab.RefusedRange, "%[1]s must be %[3]s; got %[2]s", name, quoted([]byte(run)), runWant)
		}
	}
	if p := r.bounded("push", lab.BoundPush); p != nil {
		s.Push = *p
	}
	least := int64(0)
	if inBaths(s.Phase) {
		least = 1
	}
	n, hasN := r.integer("n", least, lab.MaxN)
	of, _ := r.integer("of", least, lab.MaxN)
	s.N, s.Of = int(n), int(of)
	needInRun(r, s, hasN)
	if s.Phase == lab.PhaseIdle {
		s.Run, s.Continues, s.Process, s.Step, s.N, s.Of, s.Push = "", "", "", "", 0, 0, 0
	}
	return s
}

const runWant = "1 to 64 of A-Z, a-z, 0-9, dot, underscore and hyphen"

func needInRun(r *reader, s *lab.Step, hasN bool) {
	if s.Phase == lab.PhaseIdle {
		return
	}
	if s.Run == "" {
		r.missing("run", "the run's name in phase "+string(s.Phase)+", "+runWant)
	}
	if !inBaths(s.Phase) {
		return
	}
	if s.Process == "" {
		r.missing("process", "the id of the process in phase "+string(s.Phase))
	}
	if s.Step == "" {
		r.missing("step", "the name of the step in phase "+string(s.Phase))
	}
	if !hasN {
		r.missing("n", "the number of the step, from 1, in phase "+string(s.Phase))
	}
}

var phaseWords = func() []string {
	words := make([]string, len(lab.Phases))
	for i, p := range lab.Phases {
		words[i] = string(p)
	}
	return words
}()

func readPhase(r *reader) lab.Phase {
	phase := r.oneOf("phase", phaseWords...)
	if phase == "" {
		r.missing("phase", "one of "+strings.Join(phaseWords, ", "))
	}
	return lab.Phase(phase)
}

// inBaths tells whether in phase p a bath is on its way in, in, or on its way
// out: whether the message must say which.
func inBaths(p lab.Phase) bool {
	switch p {
	case lab.PhaseHeating, lab.PhaseFilling, lab.PhaseInBath, lab.PhaseDraining:
		return true
	}
	return false
}

func isRun(s string) bool {
	if len(s) > maxRun {
		return false
	}
	for i := range len(s) {
		c := s[i]
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9', c == '.', c == '_', c == '-':
		default:
			return false
		}
	}
	return true
}

func readTemp(r *reader) *lab.Temp {
	return &lab.Temp{
		BathC:    r.bounded("bath_c", lab.BoundTemperature),
		PreheatC: r.bounded("preheat_c", lab.BoundTemperature),
		WashC:    r.bounded("wash_c", lab.BoundTemperature),
		DryerC:   r.bounded("dryer_c", lab.BoundTemperature),
		RoomC:    r.bounded("room_c", lab.BoundTemperature),
	}
}

func readTank(r *reader) *lab.Tank {
	t := &lab.Tank{}
	levels := r.inner("levels_l", "{container: liters}", lab.MaxLevels)
	if len(levels) > 0 {
		t.LevelsL = make(map[string]float64, len(levels))
	}
	for _, l := range levels {
		if l.value[0] == 'n' {
			delete(t.LevelsL, l.name) // not measured now
			continue
		}
		v, ok := r.numberOf("levels_l."+l.name, l.value, lab.BoundLitres)
		if !ok {
			break
		}
		t.LevelsL[l.name] = v
	}
	t.Full = r.names("full", lab.MaxLevels)
	return t
}

func readPower(r *reader) *lab.Power {
	return &lab.Power{
		Source:     r.oneOf("source", lab.SourceMains, lab.SourceBattery),
		Event:      r.oneOf("event", lab.EventLost, lab.EventRestored, lab.EventResumed),
		OutageS:    r.bounded("outage_s", lab.BoundOutage),
		BatteryPct: r.bounded("battery_pct", lab.BoundBattery),
	}
}

func readMotion(r *reader) *lab.Motion {
	return &lab.Motion{
		RPM:       r.bounded("rpm", lab.BoundRPM),
		Reversals: r.bounded("reversals", lab.BoundReversals),
	}
}
