package demo

import (
	"cmp"
	"context"
	"encoding/json"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/simulation/sim"
	"wetside/internal/strips"
)

// The demonstration's control strips: one each working day on the units that
// do C-41. Plover's tell two stories. On one day the bath was 0.4 °C warm, and
// that explains the strip. A week ago mix B13 came into use, and from then on
// contrast climbs: the chemistry. The others stay where they are.
const (
	StripCode  = "2461" // of the box of control strips
	storyUnit  = "plover"
	warmBack   = 9 // days ago; the day before that where it was a Sunday
	newMixBack = 6
	climb      = 0.0112 // of HD-LD, density a day
	warmC      = 0.4
	readAfter  = 40 * time.Minute // the strip dries first
)

// stripAims are the reference strip's densities. Invented, as the lab is.
var stripAims = map[string][3]float64{"dmin": {.22, .60, .70}, "ld": {.44, .76, .98}, "hd": {1.30, 1.77, 2.03}, "yellow": {2: 2.70}, "dmax": {2: 2.98}}

// What a stop of push error does to the invented strips, in density.
const (
	ldPerStop = 0.25
	hdPerStop = 0.40
)

// stripFaults is what goes wrong with a strip's run of a day.
func stripFaults(day time.Time, back int) []sim.Fault {
	warm := back == warmBack && day.Weekday() != time.Sunday || back == warmBack+1 && day.AddDate(0, 0, 1).Weekday() == time.Sunday
	if !warm {
		return nil
	}
	return []sim.Fault{{Kind: sim.BathOffset, Unit: storyUnit, Run: 1, Step: "developer", After: 5 * time.Second, Strength: warmC, Ramp: 10 * time.Second}}
}

// stripOf is what the densitometer read of a strip that went through a run,
// so many days ago.
func stripOf(unit string, pushStops float64, back int) lab.Strip {
	random := rand.New(rand.NewPCG(uint64(back)+1, uint64(len(unit))))
	s := lab.Strip{Process: "c41", Mix: "B12", Code: StripCode, ReadBy: []string{"Wren", "Robin"}[back%2], Densities: map[string]lab.RGB{}}
	contrast := 0.0
	if unit == storyUnit && back <= newMixBack {
		s.Mix, contrast = "B13", climb*float64(newMixBack+1-back)
	}
	for _, step := range slices.Sorted(maps.Keys(stripAims)) { // the same each time
		aims := stripAims[step]
		var d lab.RGB
		for i, color := range []string{"r", "g", "b"} {
			if aims[i] == 0 {
				continue
			}
			v := aims[i] + 0.004*max(-1.5, min(1.5, random.NormFloat64()))
			switch step {
			case "ld":
				v += ldPerStop * pushStops
			case "hd":
				v += hdPerStop*pushStops + contrast
			}
			v = math.Round(100*v) / 100
			*d.At(color) = &v
		}
		s.Densities[step] = d
	}
	return s
}

// stripSettings are what the demonstration's strips are judged by.
func stripSettings() lab.StripSettings {
	box := lab.StripReference{Process: "c41", Code: StripCode, Densities: map[string]lab.RGB{}, Box: "118"}
	cold := -18.0
	box.StoredC = &cold
	for step, aims := range stripAims {
		var d lab.RGB
		for i, color := range []string{"r", "g", "b"} {
			if v := aims[i]; v != 0 {
				*d.At(color) = &v
			}
		}
		box.Densities[step] = d
	}
	return lab.StripSettings{References: []lab.StripReference{box}}
}

// bringStrips enters what was read of the strips that ran on a day. Once one
// of this morning is in, the lab asks for one each day.
func bringStrips(ctx context.Context, store *postgres.Store, day time.Time, back int, now time.Time) error {
	settings, err := store.StripSettings(ctx)
	if err != nil {
		return err
	}
	if len(settings.References) == 0 {
		settings = stripSettings()
		if err := store.SetStripSettings(ctx, settings, "demo"); err != nil {
			return err
		}
	}
	runs, err := store.Runs(ctx, lab.RunFilter{Process: "c41", From: day, To: day.AddDate(0, 0, 1), OldestFirst: true, Limit: 1000})
	if err != nil {
		return err
	}
	read := map[string]bool{} // the first of each unit
	for _, r := range runs {
		if r.Kind != lab.KindOfRunStrip || r.EndedAt == nil || r.Outcome != lab.OutcomeDone || read[r.Unit] || r.EndedAt.Add(readAfter).After(now) {
			continue
		}
		read[r.Unit] = true
		if err := enterStrip(ctx, store, r, back, settings); err != nil {
			return err
		}
	}
	if back == 0 && len(read) > 0 && len(settings.Asked) == 0 {
		settings.Asked = []string{"c41"}
		return store.SetStripSettings(ctx, settings, "demo")
	}
	return nil
}

func enterStrip(ctx context.Context, store *postgres.Store, r lab.Run, back int, settings lab.StripSettings) error {
	unit, err := lab.ParseUnitID(r.Unit)
	if err != nil {
		return err
	}
	push := 0.0
	if r.PushErrorStops != nil {
		push = *r.PushErrorStops
	}
	strip, _ := strips.Evaluate(stripOf(unit.Unit, push, back), r.Unit, nil, settings)
	b, err := json.Marshal(strip)
	if err != nil {
		return err
	}
	_, err = store.AppendEntry(ctx, lab.Entry{ID: "demo-" + r.ID, Unit: unit, RunID: r.ID, What: lab.EntryStrip, At: r.EndedAt.Add(readAfter), By: cmp.Or(strip.ReadBy, "demo"), Body: b})
	return err
}
