package timeline_test

import (
	"context"
	"encoding/json"
	"fmt"
	"runtime"
	"testing"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules"
	"wetside/rules/timeline"
)

// What one unit may cost, whatever it sends: bytes of its stored state, and of
// the heap. The state is written every few seconds while the unit talks.
const (
	hostileState = 1 << 20
	hostileHeap  = 16 << 20
)

// streamShare is the part of a stream that is walked, one in so many.
var streamShare = 1

// forgetful gives nothing back: what the fold keeps is measured, not what a
// test does.
type forgetful struct{}

func (forgetful) UnitMessages(context.Context, lab.UnitID, int64) ([]lab.Message, error) {
	return nil, nil
}

// hostile is a stream of legal messages that no unit in order would send.
type hostile struct {
	name string
	n    int
	make func(i int, m *lab.Message)
}

func inBath(run string, step string, n int) *lab.Step {
	set := 195.0
	return &lab.Step{Phase: lab.PhaseInBath, Run: run, Process: "c41", Step: step, N: n, Of: 6, SetS: &set}
}

func hostiles() []hostile {
	long := func(i int) string { return fmt.Sprintf("%0128d", i) }
	temp := func(c float64) *lab.Temp { return &lab.Temp{BathC: &c} }
	return []hostile{
		{"a boot a message", 1000, func(i int, m *lab.Message) {
			m.Boot, m.Seq, m.Step = long(i)[64:], 1, &lab.Step{Phase: lab.PhaseIdle}
		}},
		{"a boot a message, in a run", 1000, func(i int, m *lab.Message) {
			m.Boot, m.Seq, m.Step = long(i)[64:], 1, inBath("r1", "developer", 1)
		}},
		{"a step a message", 1000, func(i int, m *lab.Message) { m.Step = inBath("r1", long(i), 1+i%lab.MaxN) }},
		{"a run a message", 1000, func(i int, m *lab.Message) { m.Step = inBath(long(i)[64:], "developer", 1) }},
		{"a run an hour, each of its own process", 1000, func(i int, m *lab.Message) {
			m.At = nine.Add(time.Duration(i) * time.Hour)
			m.Received, m.SentAt = m.At, m.At
			m.Step = inBath(fmt.Sprintf("r%d", i), long(i), 1)
			m.Step.Process, m.Step.DrawFrom, m.Step.DrainTo = long(i), long(i), long(i)
		}},
		{"containers of new names", 1000, func(i int, m *lab.Message) {
			m.Tank = &lab.Tank{LevelsL: map[string]float64{}}
			for k := range lab.MaxLevels {
				m.Tank.LevelsL[long(i*lab.MaxLevels+k)] = float64(k)
				m.Tank.Full = append(m.Tank.Full, long(i*lab.MaxLevels+k))
			}
		}},
		{"declared containers of new names", 1000, func(i int, m *lab.Message) {
			m.Status = &lab.Status{Online: true, Model: long(i), Firmware: long(i), Containers: map[string]lab.ContainerSpec{}}
			for k := range lab.MaxContainers {
				m.Status.Containers[long(i*lab.MaxContainers+k)] = lab.ContainerSpec{Role: lab.RoleWaste, CapacityL: 1}
			}
			for k := range lab.MaxProcesses {
				m.Status.Processes = append(m.Status.Processes, long(k))
			}
			if i%2 == 1 {
				m.Status, m.Tank = nil, &lab.Tank{LevelsL: map[string]float64{}}
				for k := range lab.MaxLevels {
					m.Tank.LevelsL[long((i-1)*lab.MaxContainers+k)] = 1
				}
			}
		}},
		{"holes in seq", 1000, func(i int, m *lab.Message) {
			m.Seq = int64(i+1) * 1000
			m.Temp = temp(38)
			if i%10 == 0 {
				m.Temp, m.Step = nil, inBath("r1", "developer", 1)
			}
		}},
		{"seq at its end, backwards", 1000, func(i int, m *lab.Message) { m.Seq, m.Temp = lab.MaxSeq-2*int64(i), temp(38) }},
		{"seq from one end to the other", 1000, func(i int, m *lab.Message) {
			if m.Seq = int64(i + 1); i%2 == 1 {
				m.Seq = lab.MaxSeq - int64(i)
			}
			m.Temp = temp(38)
		}},
		{"outages without end", 1000, func(i int, m *lab.Message) {
			out, pct := lab.BoundOutage.High, 0.0
			switch i % 3 {
			case 0:
				m.Step = inBath("r1", "developer", 1)
			case 1:
				m.Power = &lab.Power{Source: lab.SourceBattery, Event: lab.EventLost, BatteryPct: &pct}
			default:
				m.Power = &lab.Power{Source: lab.SourceMains, Event: lab.EventRestored, OutageS: &out}
			}
		}},
		{"fills and drains without end", 1000, func(i int, m *lab.Message) {
			m.Step = inBath("r1", "wash-1", 3)
			m.Step.Phase = []lab.Phase{lab.PhaseFilling, lab.PhaseInBath, lab.PhaseDraining, lab.PhaseHeating}[i%4]
			m.Step.DrainTo, m.Step.DrawFrom = long(i), long(i)
		}},
		{"every phase with a step of its own", 1000, func(i int, m *lab.Message) {
			m.Step = inBath("r1", long(i), 1)
			m.Step.Phase, m.Step.WaitsFor = lab.Phases[1+i%(len(lab.Phases)-3)], lab.WaitChemistry
		}},
		{"extremes by turns", 1000, func(i int, m *lab.Message) {
			c := []float64{lab.BoundTemperature.Low, lab.BoundTemperature.High}[i%2]
			rpm := lab.BoundRPM.High * float64(i%2)
			switch i % 5 {
			case 0:
				m.Step = inBath("r1", "developer", 1)
				m.Step.Push, m.Step.SetC, m.Step.SetS = lab.BoundPush.High, &c, &lab.BoundSeconds.High
			case 1:
				m.Motion = &lab.Motion{RPM: &rpm}
			default:
				m.Temp = &lab.Temp{BathC: &c, PreheatC: &c, WashC: &c, DryerC: &c, RoomC: &c}
			}
		}},
	}
}

// TestHostileUnitIsBounded: a unit that sends what is legal and no unit would
// send costs a stated amount of state and memory, and its numbers can be
// written all the time.
func TestHostileUnitIsBounded(t *testing.T) {
	unit := lab.UnitID{Lab: "tern-street", Unit: "plover"}
	for _, h := range hostiles() {
		t.Run(h.name, func(t *testing.T) {
			e := timeline.NewEngine(rules.Config{})
			e.Monitoring(nine)
			before, most := heapNow(), 0
			var at time.Time
			for i := range h.n / labtest.Fewer(streamShare, 4*streamShare) {
				at = nine.Add(time.Duration(i) * time.Second)
				m := lab.Message{Unit: unit, Boot: "b1", Seq: int64(i + 1), At: at, SentAt: at, Received: at, Arrival: int64(i + 1)}
				h.make(i, &m)
				at = m.Received
				m.Channel = channelOf(&m)
				ch, err := e.Feed(t.Context(), []lab.Arrival{{Message: &m}}, forgetful{})
				if err != nil {
					t.Fatal(err)
				}
				written(t, ch)
				if i%125 != 124 {
					continue
				}
				ch, err = e.Tick(t.Context(), at, forgetful{})
				if err != nil {
					t.Fatal(err)
				}
				written(t, ch)
				sound(t, e, unit, at)
				_, blob, _ := e.Snapshot(unit)
				most = max(most, len(blob))
			}
			grown := int64(heapNow()) - int64(before)
			t.Logf("state at most %d kB, heap %d kB", most>>10, grown>>10)
			if most > hostileState {
				t.Errorf("the stored state has %d bytes, want at most %d", most, hostileState)
			}
			if grown > hostileHeap {
				t.Errorf("the heap grew by %d bytes, want at most %d", grown, hostileHeap)
			}
			runtime.KeepAlive(e)
		})
	}
}

func heapNow() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC() // what the first found to be finalized
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

func written(t *testing.T, ch timeline.Changes) {
	t.Helper()
	if len(ch.Aside) > 0 {
		t.Fatalf("set aside: %+v", ch.Aside)
	}
	if _, err := json.Marshal(ch); err != nil {
		t.Fatalf("what was found cannot be written: %v", err)
	}
}

func channelOf(m *lab.Message) lab.Channel {
	switch {
	case m.Status != nil:
		return lab.ChannelStatus
	case m.Step != nil:
		return lab.ChannelStep
	case m.Tank != nil:
		return lab.ChannelTank
	case m.Power != nil:
		return lab.ChannelPower
	case m.Motion != nil:
		return lab.ChannelMotion
	}
	return lab.ChannelTemp
}
