package postgres

import (
	"encoding/json"
	"strings"

	"wetside/internal/lab"
)

// column is one column of telemetry: how it is called, what array type its
// values travel in, what of the message stands in it.
type column struct {
	name string
	typ  string // element type in the unnest
	expr string // what to insert from x.name, "" for as it is
	of   func(ms []*lab.Message) any
}

// values collects one value of each message.
func values[T any](get func(*lab.Message) T) func([]*lab.Message) any {
	return func(ms []*lab.Message) any {
		vs := make([]T, len(ms))
		for i, m := range ms {
			vs[i] = get(m)
		}
		return vs
	}
}

// text is values for texts of which the empty one is null.
func text(get func(*lab.Message) string) func([]*lab.Message) any {
	return values(func(m *lab.Message) *string {
		if s := get(m); s != "" {
			return &s
		}
		return nil
	})
}

// inJSON is values for what travels as JSON; a nil value is null.
func inJSON[T any](get func(*lab.Message) (T, bool)) func([]*lab.Message) any {
	return values(func(m *lab.Message) *string {
		v, ok := get(m)
		if !ok {
			return nil
		}
		b, err := json.Marshal(v)
		if err != nil {
			return nil // maps and slices of texts and finite numbers: cannot be
		}
		s := string(b)
		return &s
	})
}

const textArray = `CASE WHEN x.$ IS NULL THEN NULL ELSE ARRAY(SELECT jsonb_array_elements_text(x.$)) END`

// envelope is what every message has.
var envelope = []column{
	{"arrival", "bigint", "", values(func(m *lab.Message) int64 { return m.Arrival })},
	{"unit", "text", "", values(func(m *lab.Message) string { return m.Unit.String() })},
	{"channel", "text", "", values(func(m *lab.Message) string { return string(m.Channel) })},
	{"boot", "text", "", values(func(m *lab.Message) string { return m.Boot })},
	{"seq", "bigint", "", values(func(m *lab.Message) int64 { return m.Seq })},
	{"sent_at", "timestamptz", "", values(partitionTime)},
	{"at", "timestamptz", "", values(countingTime)},
	{"at_replaced", "boolean", "", values(func(m *lab.Message) bool { return m.AtReplaced })},
	{"received_at", "timestamptz", "", values(receivedTime)},
	{"up_s", "double precision", "", values(func(m *lab.Message) *float64 { return m.UpS })},
	{"retained", "boolean", "", values(func(m *lab.Message) bool { return m.Retained })},
	{"will", "boolean", "", values(func(m *lab.Message) bool { return m.Will })},
	{"imported", "boolean", "", values(func(m *lab.Message) bool { return m.Imported })},
	{"payload", "bytea", "", values(func(m *lab.Message) []byte { return notNil(m.Payload) })},
}

// bodies are the typed columns of each channel.
var bodies = map[lab.Channel][]column{
	lab.ChannelStatus: {
		{"online", "boolean", "", values(func(m *lab.Message) bool { return !m.Will && m.Status != nil && m.Status.Online })},
		{"model", "text", "", text(func(m *lab.Message) string { return status(m).Model })},
		{"firmware", "text", "", text(func(m *lab.Message) string { return status(m).Firmware })},
		{"processes", "jsonb", textArray, inJSON(func(m *lab.Message) ([]string, bool) { return status(m).Processes, status(m).Processes != nil })},
		{"containers", "jsonb", "", inJSON(func(m *lab.Message) (map[string]lab.ContainerSpec, bool) {
			return status(m).Containers, status(m).Containers != nil
		})},
	},
	lab.ChannelStep: {
		{"phase", "text", "", text(func(m *lab.Message) string { return string(m.Step.Phase) })},
		{"run", "text", "", text(func(m *lab.Message) string { return m.Step.Run })},
		{"process", "text", "", text(func(m *lab.Message) string { return m.Step.Process })},
		{"push", "double precision", "", values(func(m *lab.Message) float64 { return m.Step.Push })},
		{"step", "text", "", text(func(m *lab.Message) string { return m.Step.Step })},
		{"n", "bigint", "", values(func(m *lab.Message) *int64 { return count(m.Step.N) })},
		{"of_n", "bigint", "", values(func(m *lab.Message) *int64 { return count(m.Step.Of) })},
		{"set_s", "double precision", "", values(func(m *lab.Message) *float64 { return m.Step.SetS })},
		{"elapsed_s", "double precision", "", values(func(m *lab.Message) *float64 { return m.Step.ElapsedS })},
		{"fill_ml", "double precision", "", values(func(m *lab.Message) *float64 { return m.Step.FillML })},
		{"set_c", "double precision", "", values(func(m *lab.Message) *float64 { return m.Step.SetC })},
		{"draw_from", "text", "", text(func(m *lab.Message) string { return m.Step.DrawFrom })},
		{"drain_to", "text", "", text(func(m *lab.Message) string { return m.Step.DrainTo })},
		{"waits_for", "text", "", text(func(m *lab.Message) string { return m.Step.WaitsFor })},
		{"kind", "text", "", text(func(m *lab.Message) string { return m.Step.Kind })},
	},
	lab.ChannelTemp: {
		{"bath_c", "double precision", "", values(func(m *lab.Message) *float64 { return m.Temp.BathC })},
		{"preheat_c", "double precision", "", values(func(m *lab.Message) *float64 { return m.Temp.PreheatC })},
		{"wash_c", "double precision", "", values(func(m *lab.Message) *float64 { return m.Temp.WashC })},
		{"dryer_c", "double precision", "", values(func(m *lab.Message) *float64 { return m.Temp.DryerC })},
		{"room_c", "double precision", "", values(func(m *lab.Message) *float64 { return m.Temp.RoomC })},
	},
	lab.ChannelTank: {
		{"levels_l", "jsonb", "", inJSON(func(m *lab.Message) (map[string]float64, bool) { return m.Tank.LevelsL, m.Tank.LevelsL != nil })},
		{"full_containers", "jsonb", textArray, inJSON(func(m *lab.Message) ([]string, bool) { return m.Tank.Full, m.Tank.Full != nil })},
	},
	lab.ChannelPower: {
		{"power_source", "text", "", text(func(m *lab.Message) string { return m.Power.Source })},
		{"power_event", "text", "", text(func(m *lab.Message) string { return m.Power.Event })},
		{"outage_s", "double precision", "", values(func(m *lab.Message) *float64 { return m.Power.OutageS })},
		{"battery_pct", "double precision", "", values(func(m *lab.Message) *float64 { return m.Power.BatteryPct })},
	},
	lab.ChannelMotion: {
		{"rpm", "double precision", "", values(func(m *lab.Message) *float64 { return m.Motion.RPM })},
		{"reversals", "double precision", "", values(func(m *lab.Message) *float64 { return m.Motion.Reversals })},
	},
}

// insertion is the statement that writes many messages of one channel, and
// the columns its parameters come from.
type insertion struct {
	sql     string
	columns []column
}

var insertions = func() map[lab.Channel]insertion {
	all := map[lab.Channel]insertion{}
	for channel, body := range bodies {
		all[channel] = newInsertion(append(append([]column(nil), envelope...), body...))
	}
	return all
}()

// newInsertion builds: INSERT INTO telemetry (a, b) SELECT x.a, x.b
// FROM unnest($1::ta[], $2::tb[]) AS x (a, b) ON CONFLICT DO NOTHING.
func newInsertion(columns []column) insertion {
	var names, selected, arrays []string
	for i, c := range columns {
		names = append(names, c.name)
		if c.expr == "" {
			selected = append(selected, "x."+c.name)
		} else {
			selected = append(selected, strings.ReplaceAll(c.expr, "$", c.name))
		}
		arrays = append(arrays, "$"+itoa(i+1)+"::"+c.typ+"[]")
	}
	list := strings.Join(names, ", ")
	return insertion{columns: columns, sql: "INSERT INTO telemetry (" + list + ") SELECT " + strings.Join(selected, ", ") +
		" FROM unnest(" + strings.Join(arrays, ", ") + ") AS x (" + list + ") ON CONFLICT DO NOTHING"}
}

// args are the parameters for ms, all of the insertion's channel.
func (in insertion) args(ms []*lab.Message) []any {
	args := make([]any, len(in.columns))
	for i, c := range in.columns {
		args[i] = c.of(ms)
	}
	return args
}
