package timeline_test

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules"
	"wetside/rules/timeline"
)

// bytesOf deals out values from a fuzzer's bytes; after the last it deals
// zeros.
type bytesOf struct{ left []byte }

func (b *bytesOf) byte() byte {
	if len(b.left) == 0 {
		return 0
	}
	v := b.left[0]
	b.left = b.left[1:]
	return v
}

func (b *bytesOf) pick(n int) int { return int(b.byte()) % n }

func oneOf[T any](b *bytesOf, list ...T) T { return list[b.pick(len(list))] }

// number deals a number within a bound: often its ends, often a usual one.
func (b *bytesOf) number(in lab.Bound, usual ...float64) *float64 {
	switch k := b.byte(); {
	case k < 40:
		return nil
	case k < 60:
		return &in.Low
	case k < 80:
		return &in.High
	case k < 200 && len(usual) > 0:
		v := usual[int(k)%len(usual)] + float64(int8(b.byte()))/50
		v = math.Min(math.Max(v, in.Low), in.High)
		return &v
	}
	v := in.Low + (in.High-in.Low)*float64(uint16(b.byte())<<8|uint16(b.byte()))/65535
	return &v
}

// message deals one legal message. Its times run mostly forward; its boots and
// numbers mostly follow each other.
func (b *bytesOf) message(m lab.Message, seq *int64, at *time.Time) lab.Message {
	switch k := b.byte(); {
	case k < 200:
		*at = at.Add(time.Duration(b.byte()) * time.Second / 4)
	case k < 230:
		*at = at.Add(time.Duration(b.byte()) * time.Minute)
	case k < 245:
		*at = at.Add(time.Duration(b.byte()) * time.Hour)
	default:
		*at = at.Add(-time.Duration(b.byte()) * time.Minute)
	}
	switch k := b.byte(); {
	case k < 220:
		*seq++
	case k < 235:
		*seq += int64(b.byte())
	case k < 245:
		*seq = max(1, *seq-int64(b.byte()))
	case k < 250:
		*seq = lab.MaxSeq
	default:
		*seq = 1
		m.Boot = fmt.Sprintf("boot-%d", b.byte())
	}
	m.Seq = max(1, *seq)
	m.At = *at
	m.Received = at.Add(time.Duration(int8(b.byte())) * time.Second)
	if m.At.Sub(m.Received) > 24*time.Hour {
		m.At = m.Received
	}
	m.SentAt, m.UpS = m.At, b.number(lab.BoundUp, 100, 200)
	b.body(&m)
	return m
}

func (b *bytesOf) body(m *lab.Message) {
	switch b.pick(10) {
	case 0, 1, 2, 3:
		m.Channel, m.Step = lab.ChannelStep, b.step()
	case 4, 5, 6:
		m.Channel = lab.ChannelTemp
		m.Temp = &lab.Temp{BathC: b.number(lab.BoundTemperature, 37.8, 38, 20, 100), PreheatC: b.number(lab.BoundTemperature, 37.8),
			WashC: b.number(lab.BoundTemperature, 12), DryerC: b.number(lab.BoundTemperature, 50), RoomC: b.number(lab.BoundTemperature, 21)}
	case 7:
		m.Channel, m.Tank = lab.ChannelTank, &lab.Tank{LevelsL: map[string]float64{}}
		for range b.pick(4) {
			if l := b.number(lab.BoundLitres, 2, 10, 18); l != nil {
				m.Tank.LevelsL[b.container()] = *l
			}
		}
		for range b.pick(3) {
			m.Tank.Full = append(m.Tank.Full, b.container())
		}
	case 8:
		m.Channel = lab.ChannelPower
		m.Power = &lab.Power{Source: oneOf(b, "", lab.SourceMains, lab.SourceBattery),
			Event: oneOf(b, "", lab.EventLost, lab.EventRestored, lab.EventResumed), OutageS: b.number(lab.BoundOutage, 60), BatteryPct: b.number(lab.BoundBattery, 25)}
	default:
		m.Channel, m.Motion = lab.ChannelMotion, &lab.Motion{RPM: b.number(lab.BoundRPM, 60, 2), Reversals: b.number(lab.BoundReversals)}
		if b.pick(4) == 0 {
			m.Channel, m.Motion = lab.ChannelStatus, nil
			m.Status = &lab.Status{Online: true, Model: "TS-6", Processes: []string{"c41", "bw"}, Containers: map[string]lab.ContainerSpec{}}
			for range b.pick(4) {
				if l := b.number(lab.BoundLitres, 18.9); l != nil {
					m.Status.Containers[b.container()] = lab.ContainerSpec{Role: oneOf(b, lab.RoleWaste, lab.RoleWash, lab.RoleBottle, lab.RoleRecovery), CapacityL: *l}
				}
			}
		}
	}
}

func (b *bytesOf) container() string {
	return oneOf(b, "waste", "wash", "silver", "c41/developer", fmt.Sprintf("c%d", b.byte()))
}

func (b *bytesOf) step() *lab.Step {
	st := &lab.Step{Phase: oneOf(b, lab.Phases...)}
	if st.Phase == lab.PhaseIdle {
		return st
	}
	st.Run = oneOf(b, "r1", "r1", "r1", "r2", fmt.Sprintf("r%d", b.byte()))
	st.Process = oneOf(b, "c41", "c41", "bw", "e6-7", "e6-3", "own")
	st.Step = oneOf(b, "developer", "bleach", "wash-1", "fixer", "wash-2", "final-rinse", "first-developer", "stop-bath", fmt.Sprintf("s%d", b.byte()))
	st.N, st.Of = 1+b.pick(6), 6
	if b.pick(16) == 0 {
		st.N, st.Of = lab.MaxN, lab.MaxN
	}
	if p := b.number(lab.BoundPush, 0, 1, -1); p != nil {
		st.Push = *p
	}
	st.SetS, st.ElapsedS = b.number(lab.BoundSeconds, 195, 260), b.number(lab.BoundSeconds, 10, 100)
	st.FillML, st.SetC = b.number(lab.BoundFill, 500), b.number(lab.BoundTemperature, 37.8)
	st.DrawFrom, st.DrainTo = oneOf(b, "", "", b.container()), oneOf(b, "", "", b.container())
	st.WaitsFor = oneOf(b, "", lab.WaitToDryer, lab.WaitEmptyWaste, lab.WaitTopUpWash, lab.WaitChemistry)
	st.Kind = oneOf(b, "", "", lab.KindOfRunFilm, lab.KindOfRunStrip, lab.KindOfRunFlush)
	st.Continues = oneOf(b, "", "", "", "r1", "none")
	return st
}

// entry deals something that a person entered.
func (b *bytesOf) entry(u lab.UnitID, n int, at time.Time) lab.Entry {
	run := rules.RunID(u, oneOf(b, "r1", "r2"))
	value := func(in lab.Bound, usual float64) float64 {
		if v := b.number(in, usual); v != nil {
			return *v
		}
		return usual
	}
	e := lab.Entry{ID: fmt.Sprintf("e%d", n), Unit: u, By: "Wren", At: at.Add(-time.Duration(b.byte()) * time.Minute), Entered: at}
	var body any
	switch b.pick(8) {
	case 0:
		e.What, body = lab.EntryLoad, lab.Load{Process: "c41", Push: value(lab.BoundPush, 0), Rolls: []lab.Roll{{TwinCheck: "1", Process: "c41", Push: value(lab.BoundPush, 1)}}}
	case 1:
		l := value(lab.BoundLitres, 5)
		e.What, body = lab.EntryContainer, lab.ContainerEvent{Container: b.container(), What: oneOf(b, lab.ContainerDoings...), Litres: &l}
	case 2:
		e.What, body = lab.EntryCapacity, lab.ContainerCapacity{Container: b.container(), CapacityL: value(lab.BoundLitres, 18)}
	case 3:
		e.What, e.RunID, body = lab.EntryTurned, run, lab.Turned{From: lab.At(e.At)}
	case 4:
		e.What, e.RunID = lab.EntryDrained, run
	case 5:
		spread := value(lab.BoundSpread, 0.05)
		e.What, body = lab.EntryProbe, lab.ProbeCheck{OffsetC: value(lab.BoundProbe, 0.1), UncertaintyC: &spread}
	case 6:
		e.What, body = lab.EntryHouseAim, lab.HouseAim{Process: "c41", Step: "developer", Push: value(lab.BoundPush, 0), EquivalentS: value(lab.BoundEquivalent, 195)}
	default:
		e.What, e.RunID, body = lab.EntryKindOfRun, run, lab.KindChange{Kind: oneOf(b, lab.RunKinds...)}
	}
	if body != nil {
		e.Body, _ = json.Marshal(body)
	}
	return e
}

// stateMost is what the stored state of one unit may come to, whatever it
// sends: some hundred thousand bytes.
const stateMost = 4 << 20

// FuzzFold: whatever legal messages and entries come in whatever order, the
// fold neither panics nor gives a number that JSON cannot hold, and a state
// that was stored and read again goes on as the one in memory.
func FuzzFold(f *testing.F) {
	for seed := range labtest.Fewer(24, 8) {
		b := make([]byte, 3000)
		x := uint32(seed*2654435761 + 1)
		for i := range b {
			x = x*1664525 + 1013904223
			b[i] = byte(x >> 24)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 6<<10 {
			t.Skip()
		}
		foldAnything(t, data)
	})
}

func foldAnything(t *testing.T, data []byte) {
	b := &bytesOf{data}
	u := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	bench := newBench(t)
	at, seq := nine, int64(0)
	m := lab.Message{Unit: u, Boot: "boot-a"}
	for n := int64(1); len(b.left) > 0; n++ {
		var a lab.Arrival
		if b.byte() < 12 {
			bench.No++
			e := b.entry(u, int(n), at)
			e.Arrival = bench.No
			if e.Check() != nil {
				t.Fatalf("the fuzzer deals an entry that is refused: %v", e.Check())
			}
			a.Entry = &e
		} else {
			next := b.message(m, &seq, &at)
			m.Boot = next.Boot
			var fresh bool
			if a, fresh = bench.Stored(next); !fresh {
				continue
			}
		}
		bench.Note(bench.E.Feed(t.Context(), []lab.Arrival{a}, bench))
		if n%64 == 0 {
			bench.Note(bench.E.Tick(t.Context(), at.Add(time.Duration(b.byte())*time.Second), bench))
			sound(t, bench.E, u, at)
		}
	}
	bench.Note(bench.E.Flush(t.Context(), bench))
	sound(t, bench.E, u, at)
}

// sound checks that what a unit shows and stores can be written and read.
func sound(t *testing.T, e *timeline.Engine, u lab.UnitID, at time.Time) {
	t.Helper()
	if bad := e.SetAside(); len(bad) > 0 {
		t.Fatalf("set aside: %+v", bad)
	}
	if len(e.Units()) == 0 {
		return
	}
	v, _ := e.View(u, at)
	if _, err := json.Marshal(v); err != nil {
		t.Fatalf("the view cannot be written: %v", err)
	}
	if _, err := json.Marshal(e.Jobs(u, at)); err != nil {
		t.Fatalf("the jobs cannot be written: %v", err)
	}
	version, blob, _ := e.Snapshot(u)
	if bad := e.SetAside(); len(bad) > 0 {
		t.Fatalf("set aside: %+v", bad)
	}
	if len(blob) > stateMost {
		t.Fatalf("the state has %d bytes", len(blob))
	}
	if err := timeline.NewEngine(rules.Config{}).Restore(u, version, blob); err != nil {
		t.Fatalf("the state does not read: %v", err)
	}
}
