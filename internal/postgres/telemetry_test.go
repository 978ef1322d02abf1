package postgres_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

func TestAppendStoresEachMessageOnce(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	batch := []lab.Message{
		temp(plover, "b1", 1, noon, 38.0),
		temp(plover, "b1", 2, noon.Add(time.Second), 38.1),
		temp(heron, "b1", 1, noon, 37.9),
		will(heron, noon.Add(time.Minute)),
	}
	want := lab.AppendResult{New: 4, LastArrival: 4}
	if diff := cmp.Diff(want, mustAppend(t, store, term, batch...)); diff != "" {
		t.Errorf("first time (-want +got):\n%s", diff)
	}
	want = lab.AppendResult{Copies: 4, LastArrival: 4}
	again := append([]lab.Message(nil), batch...)
	for i := range again {
		again[i].Arrival = 0
	}
	if diff := cmp.Diff(want, mustAppend(t, store, term, again...)); diff != "" {
		t.Errorf("second time (-want +got):\n%s", diff)
	}
	for i := range again {
		if again[i].Arrival != int64(i+1) {
			t.Errorf("copy %d has arrival %d; want that of the first, %d", i, again[i].Arrival, i+1)
		}
	}
	if n := one[int](t, conn, `SELECT count(*) FROM telemetry`); n != 4 {
		t.Errorf("%d rows; want 4", n)
	}
}

// A copy of a message is one though it is written otherwise, or arrives so
// late that its time is replaced by another arrival.
func TestCopies(t *testing.T) {
	t.Parallel()
	store, term, _ := held(t)
	first := temp(plover, "b1", 1, noon, 38)
	mustAppend(t, store, term, first)

	rewritten := first
	rewritten.Payload = []byte(`{ "seq":1.0, "bath_c":3.8e1, "boot":"b1", "at":"2026-03-01T12:00:00.000Z" }`)
	lost := temp(plover, "b1", 2, time.Unix(60, 0), 38) // 1970
	lostAgain := lost
	lostAgain.Received = noon.Add(time.Hour)
	lostAgain.At = lostAgain.Received

	if res := mustAppend(t, store, term, rewritten); res.Copies != 1 {
		t.Errorf("the same JSON value written otherwise: %+v; want a copy", res)
	}
	if res := mustAppend(t, store, term, lost); res.New != 1 {
		t.Errorf("clock lost: %+v; want new", res)
	}
	if res := mustAppend(t, store, term, lostAgain); res.Copies != 1 {
		t.Errorf("its copy an hour later: %+v; want a copy", res)
	}
	third := temp(plover, "b1", 3, noon, 38)
	if res := mustAppend(t, store, term, third, third); res.New != 1 || res.Copies != 1 {
		t.Errorf("twice in one batch: %+v; want one new, one copy", res)
	}
}

func TestKeyConflicts(t *testing.T) {
	t.Parallel()
	otherChannel := temp(plover, "b1", 1, noon, 38)
	otherChannel.Channel, otherChannel.Temp, otherChannel.Motion = lab.ChannelMotion, nil, &lab.Motion{}
	for name, second := range map[string]lab.Message{
		"other reading":  temp(plover, "b1", 1, noon, 39),
		"other day":      temp(plover, "b1", 1, noon.AddDate(0, 0, -3), 38),
		"lost clock":     temp(plover, "b1", 1, time.Unix(0, 0), 38),
		"other channel":  otherChannel,
		"other instant":  temp(plover, "b1", 1, noon.Add(time.Millisecond), 38),
		"a field more":   decoded(lab.Raw{Topic: lab.Topic(plover, lab.ChannelTemp), Received: noon, Payload: []byte(`{"at":"2026-03-01T12:00:00.000Z","boot":"b1","seq":1,"bath_c":38,"x":1}`)}),
		"a field absent": decoded(lab.Raw{Topic: lab.Topic(plover, lab.ChannelTemp), Received: noon, Payload: []byte(`{"at":"2026-03-01T12:00:00.000Z","boot":"b1","seq":1}`)}),
	} {
		for _, together := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, together %v", name, together), func(t *testing.T) {
				t.Parallel()
				store, term, conn := held(t)
				first := temp(plover, "b1", 1, noon, 38)
				var res lab.AppendResult
				if together {
					res = mustAppend(t, store, term, first, second)
					res.New--
				} else {
					mustAppend(t, store, term, first)
					res = mustAppend(t, store, term, second)
				}
				if res.New != 0 || res.Copies != 0 || res.Quarantined != 1 {
					t.Errorf("got %+v; want one quarantined", res)
				}
				if n := one[int](t, conn, `SELECT count(*) FROM telemetry WHERE payload = $1`, first.Payload); n != 1 {
					t.Errorf("the first does not stand")
				}
				q, err := store.Quarantine(t.Context(), 0)
				if err != nil || len(q) != 1 {
					t.Fatalf("quarantine: %v, %v; want one", q, err)
				}
				if !strings.HasPrefix(q[0].Reason, lab.RefusedKeyConflict+": ") || string(q[0].Payload) != string(second.Payload) ||
					q[0].Unit != plover || q[0].Arrival != 2 {
					t.Errorf("quarantined as %+v", q[0])
				}
			})
		}
	}
}

// What PostgreSQL cannot hold in its columns goes alone, all else is stored,
// and numbers stay those of one sequence.
func TestPoisonRowStandsAlone(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	var batch []lab.Message
	for i := range int64(50) {
		batch = append(batch, temp(plover, "b1", i+1, noon.Add(time.Duration(i)*time.Second), 38))
	}
	poison := step(plover, "b1", 51, noon, lab.Step{Phase: lab.PhaseHeating, Process: "c\x0041"})
	badBoot := temp(plover, "b\x00", 1, noon, 38)
	badName := decoded(lab.Raw{Topic: lab.Topic(heron, lab.ChannelTank), Received: noon,
		Payload: []byte(`{"at":"2026-03-01T12:00:00.000Z","boot":"b1","seq":1,"levels_l":{"was\u0000te":1}}`)})
	batch = append(batch[:20:20], append([]lab.Message{poison, badBoot, badName}, batch[20:]...)...)
	res, err := store.Append(t.Context(), term, batch, []lab.Quarantined{{Received: noon, Topic: "wetside/v1/\x00", Reason: "topic: \xff", Payload: []byte{0, 255}}})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(lab.AppendResult{New: 50, Quarantined: 4, LastArrival: 54}, res); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	numbers := one[string](t, conn, `
		SELECT count(DISTINCT arrival) || ' of ' || min(arrival) || ' to ' || max(arrival)
		FROM (SELECT arrival FROM telemetry UNION ALL SELECT arrival FROM quarantine) AS all_of_them`)
	if numbers != "54 of 1 to 54" {
		t.Errorf("numbers %s; want 54 of 1 to 54", numbers)
	}
	if n := one[int](t, conn, `SELECT count(*) FROM quarantine WHERE reason LIKE 'store: %'`); n != 3 {
		t.Errorf("%d refused by the store; want 3", n)
	}
	if res := mustAppend(t, store, term, batch[0], batch[40]); res.Copies != 2 {
		t.Errorf("after the split: %+v; want two copies", res)
	}
}

func TestPartitionPlacement(t *testing.T) {
	t.Parallel()
	store, term, conn := held(t)
	if err := store.EnsurePartitions(t.Context(), noon, noon); err != nil {
		t.Fatal(err)
	}
	where := func(boot string) string {
		return one[string](t, conn, `SELECT tableoid::regclass::text FROM telemetry WHERE boot = $1`, boot)
	}
	midnight := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	mustAppend(t, store, term,
		temp(plover, "noon", 1, noon, 38), temp(plover, "last", 1, midnight.Add(-time.Millisecond), 38),
		temp(plover, "next", 1, midnight, 38), temp(plover, "lost", 1, time.Unix(3, 0), 38),
		temp(plover, "far", 1, time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC), 38))
	for boot, want := range map[string]string{"noon": "telemetry_2026_03_01", "last": "telemetry_2026_03_01",
		"next": "telemetry_default", "lost": "telemetry_default", "far": "telemetry_default"} {
		if got := where(boot); got != want {
			t.Errorf("%s lies in %s; want %s", boot, got, want)
		}
	}
	// a partition made later takes over what the default one held of its day
	if err := store.EnsurePartitions(t.Context(), noon, midnight); err != nil {
		t.Fatal(err)
	}
	if got := where("next"); got != "telemetry_2026_03_02" {
		t.Errorf("next lies in %s; want telemetry_2026_03_02", got)
	}
	if res := mustAppend(t, store, term, temp(plover, "next", 1, midnight, 38)); res.Copies != 1 {
		t.Errorf("after the move: %+v; want a copy", res)
	}
	if err := store.EnsurePartitions(t.Context(), time.Unix(0, 0), noon); lab.KindOf(err) != lab.KindInvalid {
		t.Errorf("a partition for each day since 1970: %v; want it refused", err)
	}
	today := "telemetry_" + time.Now().UTC().Format("2006_01_02")
	if !one[bool](t, conn, `SELECT to_regclass($1) IS NOT NULL`, today) {
		t.Errorf("%s was not made ahead", today)
	}
}
