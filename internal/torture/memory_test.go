package torture

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"wetside/internal/simulation/sim"
)

// Fifty units at ten times real speed: what the program holds does not grow.
// The short form only looks whether the figures can be had; MINUTES gives the
// long one, of which the second half may not stand above the first.
func TestMemory(t *testing.T) {
	s := newSite(t, parts{volatile: true})
	length := 10 * time.Second
	if minutes > 0 {
		length = time.Duration(minutes) * time.Minute
	}
	plan := sim.EndlessPlan(uint64(seed), 50, 0.3)
	l, err := sim.New(sim.Config{Lab: sim.DemoLab, Seed: uint64(seed), Start: time.Now(), Schedule: plan})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), length)
	defer cancel()
	var sent atomic.Int64
	done := make(chan error, 1)
	go func() {
		done <- sim.Publish(ctx, sim.PublishConfig{Broker: s.broker, Speed: 10, Published: sent.Store}, l)
	}()
	var begin, middle, end [2]float64
	mark := time.NewTimer(length / 10) // once everything is in use
	half := time.NewTimer(length / 2)
	last := time.NewTimer(length * 9 / 10)
	for running := true; running; {
		select {
		case <-mark.C:
			begin = s.memory(length / 20)
		case <-half.C:
			middle = s.memory(length / 20)
		case <-last.C:
			end = s.memory(length / 20)
		case err := <-done:
			if err != nil {
				t.Fatal(err)
			}
			running = false
		}
	}
	mb := func(v [2]float64) string { return fmt.Sprintf("%.0f/%.1f", v[0]/1e6, v[1]/1e6) }
	table.add(row{fault: fmt.Sprintf("50 units at ten times real speed, %v: MB resident/heap at the beginning %s, in the middle %s, at the end %s",
		length, mb(begin), mb(middle), mb(end)), tries: 1, sent: int(sent.Load()), told: s.told.take()})
	if end[0] == 0 || end[1] == 0 {
		t.Fatalf("the program does not tell what it holds: %v", end)
	}
	if minutes >= 10 && end[1] > 1.25*middle[1]+2e6 {
		t.Errorf("the heap grew from %.0f MB in the middle to %.0f at the end", middle[1]/1e6, end[1]/1e6)
	}
}

// memory is what the program holds: the least that it says of itself over a
// while, resident and heap, bytes. What lies about between two collections is
// not held.
func (s *site) memory(over time.Duration) (least [2]float64) {
	tick := time.NewTicker(over / 60)
	defer tick.Stop()
	for range 60 {
		now := s.memoryNow()
		for i, v := range now {
			if least[i] == 0 || v > 0 && v < least[i] {
				least[i] = v
			}
		}
		<-tick.C
	}
	return least
}

func (s *site) memoryNow() (out [2]float64) {
	resp, err := client.Get("http://" + s.listen + "/metrics")
	if err != nil || resp.StatusCode != http.StatusOK {
		return out
	}
	defer resp.Body.Close()
	sc := bufio.NewScanner(resp.Body)
	for sc.Scan() {
		name, value, _ := strings.Cut(sc.Text(), " ")
		v, _ := strconv.ParseFloat(value, 64) // comments are no figures
		switch name {
		case "process_resident_memory_bytes":
			out[0] = v
		case "go_memstats_heap_alloc_bytes":
			out[1] = v
		}
	}
	return out
}
