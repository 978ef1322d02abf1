package web

import (
	"context"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"wetside/internal/lab"
	"wetside/internal/strips"
)

// StripChart is the chart of one unit, process and mix.
type StripChart struct {
	Unit        string               `json:"unit"`
	Process     string               `json:"process"`
	Name        string               `json:"process_name" doc:"What people call the process."`
	Mix         *string              `json:"mix" doc:"The mix shown; null: all."`
	Mixes       []string             `json:"mixes" doc:"Mixes that strips were read of, the last first."`
	Steps       []string             `json:"steps" doc:"Steps of a strip in the order in which they are read."`
	Fields      []strips.Field       `json:"fields" doc:"Densities of a strip in the order in which they are read."`
	Source      string               `json:"source" doc:"Where the figures that are plotted and their limits are from."`
	Gate        strips.Gate          `json:"gate" doc:"The gate now."`
	Strips      []StripView          `json:"strips" doc:"Control strips, newest first."`
	Plots       []StripChartPlot     `json:"plots" doc:"A series for each figure."`
	Events      []StripEvent         `json:"events" doc:"What may have moved them, oldest first."`
	Causes      []strips.LikelyCause `json:"causes" doc:"What may have moved the last strip, what telemetry speaks for first."`
	Explanation strips.Explanation   `json:"explanation" doc:"Whether the strip's own run explains it."`
	Offer       []lab.StripAim       `json:"offer" doc:"Aims and spreads that the last 20 strips have set, for a lead to take over."`
	Rate        strips.FalseRate     `json:"false_rate" doc:"How often the rules call falsely."`
}

// StripChartPlot is one figure over time.
type StripChartPlot struct {
	Plot   string            `json:"plot"`
	Label  string            `json:"label" doc:"What people call the figure."`
	Points []StripChartPoint `json:"points" doc:"Its points, oldest first."`
}

// StripChartPoint is one strip's figure, with the signals that it completes.
type StripChartPoint struct {
	ID      string        `json:"id"`
	At      lab.Time      `json:"at"`
	Plot    lab.StripPlot `json:"figure" doc:"The figure."`
	Signals []StripSignal `json:"signals" doc:"The signals that it completes."`
}

// StripSignal is a mark on a chart.
type StripSignal struct {
	Signal string `json:"signal" enum:"control-limit,action-limit,we-1,we-2,we-3,we-4,nelson-3,ewma,cusum" doc:"Which."`
	Detail string `json:"detail" doc:"What was found."`
	Do     string `json:"do" doc:"What to do."`
}

// signalDo says what to do at each signal. The run rules and drift charts call
// falsely now and then: they ask for a look, never for a stop.
var signalDo = map[strips.Signal]string{
	strips.ControlLimit: "Run a second strip. If it is out too, stop.",
	strips.ActionLimit:  "Film may run. Find the cause.",
	strips.WE1:          "Look at this strip and its reading again.",
	strips.WE2:          "Look for what changed in the last three strips.",
	strips.WE3:          "Look for what changed in the last five strips.",
	strips.WE4:          "The level has moved: look for what changed at its beginning.",
	strips.Nelson3:      "It moves one way: find the cause before a limit is passed.",
	strips.EWMA:         "Slow drift: look at temperature, mix age and volumes.",
	strips.CUSUM:        "Slow drift: look at temperature, mix age and volumes.",
}

// chartDays is how far back a chart goes where nothing else is asked.
const chartDays = 62

func (s *Server) stripChart(ctx context.Context, in *struct {
	Unit    string    `query:"unit" required:"true" maxLength:"65" doc:"The unit, lab/unit." example:"tern-street/plover"`
	Process string    `query:"process" required:"true" maxLength:"64" doc:"The process." example:"c41"`
	Mix     string    `query:"mix" maxLength:"64" doc:"Only this mix. Absent: all, one after the other."`
	From    time.Time `query:"from" doc:"The first moment, RFC 3339. Absent: two months ago."`
	To      time.Time `query:"to" doc:"The moment after the last, RFC 3339. Absent: now."`
}) (*body[StripChart], error) {
	id, err := lab.ParseUnitID(in.Unit)
	if err != nil {
		return nil, err
	}
	to := in.To
	if to.IsZero() {
		to = s.cfg.Clock.Now().Add(time.Minute)
	}
	from := in.From
	if from.IsZero() {
		from = to.AddDate(0, 0, -chartDays)
	}
	if err := checkSpan(from, to); err != nil {
		return nil, err
	}
	all, err := s.reads(ctx, in.Unit)
	if err != nil {
		return nil, err
	}
	all = strips.OfProcess(all, in.Process, nil)
	c := StripChart{Unit: in.Unit, Process: in.Process, Name: in.Process, Mixes: strips.Mixes(all),
		Strips: []StripView{}, Plots: []StripChartPlot{}, Events: []StripEvent{}, Causes: []strips.LikelyCause{}, Offer: []lab.StripAim{}, Steps: []string{}, Fields: []strips.Field{}}
	if sheet, ok := s.book().Sheet(in.Process); ok {
		c.Name = sheet.Name
	}
	if family, ok := strips.FamilyOf(in.Process); ok {
		c.Steps, c.Fields, c.Source = family.Steps(), family.Fields(), family.Source+", "+family.Provenance
	}
	shown := all
	if in.Mix != "" {
		c.Mix, shown = &in.Mix, strips.OfProcess(all, in.Process, &in.Mix)
	}
	mix := in.Mix
	if mix == "" && len(c.Mixes) > 0 {
		mix = c.Mixes[0]
	}
	if c.Gate, err = s.gate(ctx, in.Unit, in.Process, mix); err != nil {
		return nil, err
	}
	c.draw(shown, from, to)
	if c.Events, err = s.stripEvents(ctx, id, shown, from, to); err != nil {
		return nil, err
	}
	if len(shown) > 0 {
		m, err := s.measured(ctx, shown)
		if err != nil {
			return nil, err
		}
		last := shown[len(shown)-1].Strip
		c.Causes, c.Explanation = strips.Causes(last, m), strips.Explained(last, m)
	}
	c.Offer = strips.AimsToOffer(shown, in.Unit)
	c.Rate = falseRate(len(c.Plots))
	return &body[StripChart]{c}, nil
}

// draw puts the strips into a chart. Signals are worked out over all of them,
// and shown for those of the time asked for.
func (c *StripChart) draw(reads []strips.Reading, from, to time.Time) {
	within := func(r strips.Reading) bool { return !r.At.Before(from) && r.At.Before(to) }
	for _, r := range slices.Backward(reads) {
		if within(r) {
			c.Strips = append(c.Strips, viewStrip(r, r.By))
		}
	}
	for _, series := range strips.SeriesOf(reads) {
		plot := StripChartPlot{Plot: series.Plot, Label: series.Label, Points: []StripChartPoint{}}
		for i, r := range series.Reads {
			if !within(r) {
				continue
			}
			p := StripChartPoint{ID: r.ID, At: r.At, Plot: series.Figures[i], Signals: []StripSignal{}}
			for _, m := range series.Marks {
				if m.Point == i {
					p.Signals = append(p.Signals, StripSignal{string(m.Signal), m.Detail, signalDo[m.Signal]})
				}
			}
			plot.Points = append(plot.Points, p)
		}
		if len(plot.Points) > 0 {
			c.Plots = append(c.Plots, plot)
		}
	}
}

var rates struct {
	sync.Mutex
	of map[int]strips.FalseRate
}

// falseRate simulates once for each number of plots.
func falseRate(plots int) strips.FalseRate {
	if plots == 0 {
		return strips.FalseRate{Signals: map[strips.Signal]float64{}}
	}
	rates.Lock()
	defer rates.Unlock()
	if r, ok := rates.of[plots]; ok {
		return r
	}
	if rates.of == nil {
		rates.of = map[int]strips.FalseRate{}
	}
	r := strips.FalseRateOf(plots, strips.RateStrips, strips.Defaults, rand.New(rand.NewPCG(1, uint64(plots))).NormFloat64)
	rates.of[plots] = r
	return r
}
