package rules

import (
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/goccy/go-yaml"

	"wetside/internal/lab"
	"wetside/internal/process"
)

//go:embed figures.yaml
var builtinFigures []byte

// Data is everything the rules judge and speak by.
type Data struct {
	Figures Figures
	Rules   map[string]Card
	// Sources say where each figure is from, for whoever reads it. Nothing is
	// judged by them, and a run's record does not keep them.
	Sources []process.Source `json:"-"`
}

// figuresFile is a figures.yaml.
type figuresFile struct {
	Figures `yaml:",inline"`
	Sources []process.Source `yaml:"sources"`
}

// read takes a figures.yaml: what it names replaces what was there.
func (d *Data) read(raw []byte) error {
	var named map[string]any
	if err := yaml.Unmarshal(raw, &named); err != nil {
		return err
	}
	doc := figuresFile{Figures: d.Figures}
	if err := yaml.UnmarshalWithOptions(raw, &doc, yaml.Strict()); err != nil {
		return err
	}
	delete(named, "sources")
	d.Figures, d.Sources = doc.Figures, process.ChangedSources(d.Sources, slices.Sorted(maps.Keys(named)), doc.Sources)
	return nil
}

// Figure is one figure of the rules, for people.
type Figure struct {
	Name  string
	Value float64
	// Provenance is how far its source goes, in three words or fewer; From the
	// source itself.
	Provenance, From string
}

// List gives the figures in the order of figures.yaml, each with its source.
func (d *Data) List() (out []Figure) {
	v := reflect.ValueOf(d.Figures)
	for i := range v.NumField() {
		f := Figure{Name: figureName(v.Type().Field(i)), Value: number(v.Field(i))}
		f.Provenance = process.ProvenanceOf(d.Sources, f.Name)
		for _, s := range process.SourcesOf(d.Sources, f.Name) {
			f.From = s.From
		}
		out = append(out, f)
	}
	return out
}

func figureName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("yaml"), ",")
	return name
}

func number(v reflect.Value) float64 {
	if v.CanInt() {
		return float64(v.Int())
	}
	return v.Float()
}

// Figures are the holds, limits and waits. Seconds unless the name says otherwise.
type Figures struct {
	SettlingS               float64 `yaml:"settling_s"`
	SettlingExcessC         float64 `yaml:"settling_excess_c"`
	SettlingHoldS           float64 `yaml:"settling_hold_s"`
	BathHoldDevS            float64 `yaml:"bath_hold_dev_s"`
	BathHoldS               float64 `yaml:"bath_hold_s"`
	BathClearS              float64 `yaml:"bath_clear_s"`
	BelieveLowC             float64 `yaml:"believe_low_c"`
	BelieveHighC            float64 `yaml:"believe_high_c"`
	BelieveDryerC           float64 `yaml:"believe_dryer_c"`
	BelieveRoomC            float64 `yaml:"believe_room_c"`
	JumpRateC               float64 `yaml:"jump_rate_c"` // a second
	JumpC                   float64 `yaml:"jump_c"`
	ReachC                  float64 `yaml:"reach_c"`
	FillFreeS               float64 `yaml:"fill_free_s"`
	FlatReadings            int     `yaml:"flat_readings"`
	FlatS                   float64 `yaml:"flat_s"`
	FlatTimes               float64 `yaml:"flat_times"`
	DoubtHoldS              float64 `yaml:"doubt_hold_s"`
	RotationSlow            float64 `yaml:"rotation_slow"` // fraction
	RotationSlowHoldS       float64 `yaml:"rotation_slow_hold_s"`
	WrongSetOutC            float64 `yaml:"wrong_set_out_c"`
	ReadingMissingS         float64 `yaml:"reading_missing_s"`
	ReadingMissingIntervals float64 `yaml:"reading_missing_intervals"`
	RotationRPM             float64 `yaml:"rotation_rpm"`
	RotationHoldDevS        float64 `yaml:"rotation_hold_dev_s"`
	RotationHoldS           float64 `yaml:"rotation_hold_s"`
	HeatingFirstS           float64 `yaml:"heating_first_s"`
	HeatingWetS             float64 `yaml:"heating_wet_s"`
	PumpOverdueS            float64 `yaml:"pump_overdue_s"`
	PumpOverdueTimes        float64 `yaml:"pump_overdue_times"`
	FillSlowTimes           float64 `yaml:"fill_slow_times"`
	FillSlowS               float64 `yaml:"fill_slow_s"`
	WaitDryerS              float64 `yaml:"wait_dryer_s"`
	WaitS                   float64 `yaml:"wait_s"`
	SteadyS                 float64 `yaml:"steady_s"`
	SteadyDrainingS         float64 `yaml:"steady_draining_s"`
	SteadyIdleS             float64 `yaml:"steady_idle_s"`
	NearlyFull              float64 `yaml:"nearly_full"`       // fraction
	NearlyFullClear         float64 `yaml:"nearly_full_clear"` // fraction
	FloatOpenS              float64 `yaml:"float_open_s"`
	UrgentBeforeS           float64 `yaml:"urgent_before_s"`
	BatteryLowPct           float64 `yaml:"battery_low_pct"` // per cent
	SilentS                 float64 `yaml:"silent_s"`
	SilentWillS             float64 `yaml:"silent_will_s"`
	SilentTogetherS         float64 `yaml:"silent_together_s"`
	DryerHoldS              float64 `yaml:"dryer_hold_s"`
	ClockOffS               float64 `yaml:"clock_off_s"`
	ClockWindowS            float64 `yaml:"clock_window_s"`
	RefusedCount            int     `yaml:"refused_count"`
	RefusedWindowS          float64 `yaml:"refused_window_s"`
	RunLostS                float64 `yaml:"run_lost_s"`
	HandS                   float64 `yaml:"hand_s"`
	PressS                  float64 `yaml:"press_s"`
	AdviceEveryS            float64 `yaml:"advice_every_s"`
	SettleS                 float64 `yaml:"advice_settles_s"`
	AdviceMovesS            float64 `yaml:"advice_moves_s"`
	HoleWaitS               float64 `yaml:"hole_wait_s"`
	HoleWaitReconnectS      float64 `yaml:"hole_wait_reconnect_s"`
	BacklogS                float64 `yaml:"backlog_s"`
	BacklogQuietS           float64 `yaml:"backlog_quiet_s"`
}

// Builtin gives the built-in rules.
var Builtin = sync.OnceValue(func() *Data {
	d, err := LoadData(nil)
	if err != nil {
		panic(fmt.Sprintf("rules: the built-in rules do not load: %v", err))
	}
	return d
})

// LoadData reads the built-in figures and cards, and then figures.yaml and
// cards/*.yaml of dir, where dir is not nil and has them. What dir's files do not
// name stays as built in.
func LoadData(dir fs.FS) (*Data, error) {
	d := &Data{}
	if err := d.read(builtinFigures); err != nil {
		return nil, fmt.Errorf("built-in figures: %w", err)
	}
	var err error
	if d.Rules, err = loadCards(dir); err != nil {
		return nil, err
	}
	if dir != nil {
		raw, err := fs.ReadFile(dir, "figures.yaml")
		if err == nil {
			err = d.read(raw)
		} else if errors.Is(err, fs.ErrNotExist) {
			err = nil
		}
		if err != nil {
			return nil, fmt.Errorf("figures.yaml: %w", err)
		}
	}
	return d, d.check()
}

// boundFigure holds for every figure: seconds, degrees, fractions and counts
// alike. YAML can say .inf and .nan.
var boundFigure = lab.Bound{Low: 0, High: 1e7}

func (d *Data) check() error {
	f := d.Figures
	v := reflect.ValueOf(f)
	for i := range v.NumField() {
		if err := boundFigure.Check(figureName(v.Type().Field(i)), number(v.Field(i))); err != nil {
			return fmt.Errorf("figures.yaml: %w", err)
		}
	}
	if f.SilentS <= 0 || f.SteadyS <= 0 || f.NearlyFull <= f.NearlyFullClear || f.RefusedCount < 1 {
		return fmt.Errorf("figures.yaml: silent_s and steady_s must be above 0, nearly_full above nearly_full_clear, refused_count at least 1")
	}
	return nil
}

// LoadConfig reads sheets and rules: the built-in ones, changed by dir's
// figures.yaml, cards/*.yaml and sheets/*.yaml. dir may be nil.
func LoadConfig(dir fs.FS) (Config, error) {
	data, err := LoadData(dir)
	if err != nil {
		return Config{}, err
	}
	var sheets fs.FS
	if dir != nil {
		if sheets, err = fs.Sub(dir, "sheets"); err != nil {
			return Config{}, err
		}
	}
	library, err := process.NewLibrary(sheets, nil)
	if err != nil {
		return Config{}, err
	}
	return Config{Book: library.At(time.Time{}), Data: data, Library: library}, nil
}
