package wastebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"wetside/internal/lab"
)

var (
	berlin, _ = time.LoadLocation("Europe/Berlin")
	begun     = time.Date(2026, 3, 2, 8, 0, 0, 0, berlin) // a Monday
	plover    = lab.UnitID{Lab: "tern-street", Unit: "plover"}
)

func day(n int) time.Time { return begun.AddDate(0, 0, n) }

func ptr[T any](v T) *T { return &v }

func emptied(id, container string, n int) lab.Entry {
	b, _ := json.Marshal(lab.ContainerEvent{Container: container, What: lab.Emptied})
	return lab.Entry{ID: id, Unit: plover, What: lab.EntryContainer, At: day(n), Entered: day(n), By: "Mina", Body: b}
}

func written(id string, version, n int, why string, l lab.WasteLine) lab.BookLine {
	b, _ := json.Marshal(l)
	return lab.BookLine{Book: lab.BookWaste, ID: id, Version: version, At: lab.At(day(n)), Entered: lab.At(day(n)), By: "Ana", Why: why, Body: b}
}

func check(id string, n int) []lab.BookLine {
	return []lab.BookLine{written(id, 1, n, "", lab.WasteLine{What: lab.WasteCheck, Initials: "AB", OK: ptr(true)})}
}

// source is a log of five weeks: emptyings with and without what was written by
// hand, one undone, one corrected, checks but in the third week.
func source() Source {
	full := lab.WasteLine{What: lab.WasteEmptied, Unit: plover.String(), Container: "waste", Stream: lab.StreamSilver, Litres: ptr(14.2), LitresBy: lab.LitresEstimate, To: "drum 3"}
	fixed := full
	fixed.Litres, fixed.LitresBy, fixed.Hauler = ptr(15.0), lab.LitresPerson, "Brook"
	undo, _ := json.Marshal(lab.TakesBack{ID: "c"})
	return Source{Settings: lab.WasteSettings{StartedAt: lab.AtPtr(begun), Streams: map[string]string{"waste": lab.StreamSilver}, To: map[string]string{"recovery": "recovery unit"}},
		Entries: []lab.Entry{emptied("before", "waste", -1), emptied("a", "waste", 1), emptied("b", "recovery", 8), emptied("c", "waste", 9), emptied("d", "wash", 9), emptied("e", "waste", 30),
			{ID: "u", Unit: plover, What: lab.EntryTakesBack, At: day(10), Entered: day(10), By: "Mina", Body: undo}},
		Lines: [][]lab.BookLine{{written("a", 1, 1, "", full), written("a", 2, 1, "dipstick", fixed)}, check("w1", 3), check("w2", 8), check("w4", 24),
			{written("drum", 1, 20, "", lab.WasteLine{What: lab.WasteEmptied, Drum: "3", Stream: lab.StreamSilver, Litres: ptr(40.0), LitresBy: lab.LitresPerson, To: "hauler", Hauler: "Brook", Manifest: "M-1", Since: lab.AtPtr(begun)})}},
		Zone: berlin, Now: day(31)}
}

func rowOf(t *testing.T, l Log, id string) WasteRow {
	t.Helper()
	for _, r := range l.Rows {
		if r.ID == id {
			return r
		}
	}
	t.Fatalf("no row %s in %+v", id, l.Rows)
	return WasteRow{}
}

func TestLogIsSilentUntilBegun(t *testing.T) {
	s := source()
	s.Settings.StartedAt = nil
	if l := Make(s, time.Time{}, time.Time{}); len(l.Rows)+len(l.Months)+len(l.Gaps) != 0 {
		t.Errorf("%+v", l)
	}
}

func TestRowsOfTheLog(t *testing.T) {
	l := Make(source(), time.Time{}, time.Time{})
	var ids []string
	for _, r := range l.Rows {
		ids = append(ids, r.ID)
	}
	if got := strings.Join(ids, " "); got != "e w4 drum c b w2 w1 a" {
		t.Errorf("rows %s; wash water is no waste, and what was before the log is not in it", got)
	}
	a := rowOf(t, l, "a")
	if *a.Litres != 15 || a.Version != 2 || len(a.Versions) != 2 || *a.Versions[0].Litres != 14.2 || a.Versions[1].Why != "dipstick" || strings.Join(a.Missing, " ") != "manifest" {
		t.Errorf("corrected: %+v", a)
	}
	if b := rowOf(t, l, "b"); b.Version != 0 || b.To != "recovery unit" || strings.Join(b.Missing, " ") != "litres stream" {
		t.Errorf("nothing written by hand: %+v", b)
	}
	if c := rowOf(t, l, "c"); !c.Removed || len(c.Missing) != 0 {
		t.Errorf("undone: %+v", c)
	}
}

func TestMonthsOfTheLog(t *testing.T) {
	var got []string
	for _, m := range Make(source(), time.Time{}, time.Time{}).Months {
		got = append(got, fmt.Sprintf("%s %s %g/%d/%d", m.Month, m.Stream, m.Litres, m.Times, m.Unknown))
	}
	want := "2026-04 silver-rich 0/1/1; 2026-03 silver-rich 55/2/0; 2026-03  0/1/1"
	if strings.Join(got, "; ") != want {
		t.Errorf("%q, want %q", strings.Join(got, "; "), want)
	}
}

// A week without a check is shown once it is over; the clock change of March 29
// moves no week.
func TestGapsOfTheLog(t *testing.T) {
	var weeks, lines []string
	for _, g := range Make(source(), time.Time{}, time.Time{}).Gaps {
		if g.What == "check" {
			weeks = append(weeks, g.Text[:22])
		} else {
			lines = append(lines, g.Row)
		}
	}
	if got := strings.Join(weeks, "; "); got != "Week of 2026-03-16 to " {
		t.Errorf("weeks without a check: %q", got)
	}
	if got := strings.Join(lines, " "); got != "a b e" {
		t.Errorf("lines that lack something: %s", got)
	}
}

// A US gallon is 3.785411784 L (NIST Handbook 44, appendix C).
func TestSilverRichADay(t *testing.T) {
	s := source()
	rows := Make(s, time.Time{}, time.Time{}).Rows
	if v, known := SilverRichGalADay(rows, begun, day(29), 28); !known || math.Abs(v-55/3.785411784/28) > 0.001 {
		// e was emptied later than that and has no liters
		if known {
			t.Errorf("%g gal a day", v)
		}
	}
	for i := range rows {
		if rows[i].ID == "e" {
			rows[i].Litres = ptr(0.0)
		}
	}
	if v, known := SilverRichGalADay(rows, begun, day(29), 28); !known || math.Abs(v-lab.Round(55/3.785411784/28, 3)) > 1e-9 {
		t.Errorf("%g gal a day, known %v", v, known)
	}
	if _, known := SilverRichGalADay(rows, begun, day(29), 30); known {
		t.Error("a log of 29 days tells of 30")
	}
}

func TestTableOfTheLog(t *testing.T) {
	rows := Make(source(), time.Time{}, time.Time{}).Rows
	table := Table(rows, berlin)
	if len(table) != 1+8+1 {
		t.Fatalf("%d lines; want the head, 8 rows and one earlier version", len(table))
	}
	if first, second := strings.Join(table[1], "|"), strings.Join(table[2], "|"); !strings.Contains(first, "|14.2|estimate|") || !strings.Contains(first, "|corrected|1|") || !strings.Contains(second, "|15|person|") {
		t.Errorf("%s\n%s", first, second)
	}
	for _, row := range table {
		if len(row) != len(Columns) {
			t.Errorf("%d cells in %v", len(row), row)
		}
	}
}

// The document holds what an inspector reads, and is the same each time.
func TestPaperOfTheLog(t *testing.T) {
	s := Sheet{Log: Make(source(), time.Time{}, time.Time{}), Site: "Tern Street 4, Bergedorf", From: begun, To: day(31), Made: day(31), MadeBy: "Ana", Units: lab.Units{Temperature: "c", Volume: "gal"}, Zone: berlin}
	for range 60 {
		s.Rows = append(s.Rows, s.Rows[0])
	}
	var a, b bytes.Buffer
	if err := PDF(&a, s); err != nil {
		t.Fatal(err)
	}
	if err := PDF(&b, s); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Errorf("the same log gives other bytes: %v", err)
	}
	if pages := bytes.Count(a.Bytes(), []byte("/Type /Page\n")); pages < 2 {
		t.Errorf("%d pages for 68 lines", pages)
	}
	if d := newDocument(s, 1); d.volume(rowOf(t, s.Log, "a")) != "4.0 gal p" { // 15 L by 3.785411784
		t.Errorf("15 L are %s", d.volume(rowOf(t, s.Log, "a")))
	}
}

// Every class names its source and says how far that goes.
func TestClassesHaveASource(t *testing.T) {
	for _, c := range Classes {
		if c.Source == "" || c.Says == "" || !strings.Contains("published, quoted elsewhere, unconfirmed", c.Standing) {
			t.Errorf("%+v", c)
		}
	}
	if !strings.Contains(LocalRules, "ask your sewer authority") {
		t.Error("nothing says whose rules decide")
	}
}
