package strips

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

// What goes out comes in again.
func TestDensitiesThereAndBack(t *testing.T) {
	reads := []Reading{
		{Unit: "tern-street/plover", Run: "abc", At: lab.At(day0), Strip: lab.Strip{Process: "c41", Mix: "B, 12", Code: "2461", ReadBy: "Wren", Note: "=1+1",
			Densities: map[string]lab.RGB{"dmin": rgb(.32, .63, .72), "yellow": {B: ptr(2.7)}}}},
		{Unit: "tern-street/heron", At: lab.At(day0.AddDate(0, 0, 1)), Strip: lab.Strip{Process: "bw", Densities: map[string]lab.RGB{"speed": {G: ptr(.23)}}}},
	}
	var b bytes.Buffer
	if err := WriteDensities(&b, reads); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), ",=1+1") {
		t.Error("a note would be a formula in a spreadsheet")
	}
	got, lines, ignored, err := ReadDensities(&b)
	if err != nil || len(ignored) != 0 {
		t.Fatalf("%v, passed over %q", err, ignored)
	}
	reads[0].Note = lab.CSVText("=1+1")
	if diff := cmp.Diff(reads, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]int{2, 3}, lines); diff != "" {
		t.Errorf("lines (-want +got):\n%s", diff)
	}
}

func TestReadDensities(t *testing.T) {
	got, lines, ignored, err := ReadDensities(strings.NewReader("\ufeffUnit,read_at,process,shift,D-min.r,DL.G\r\na/b,2026-03-02,c41,early,0.3,\r\na/b,2026-03-01,c41,late,,0.7\r\n"))
	if err != nil || len(got) != 2 || lines[0] != 3 || *got[0].Densities["ld"].G != 0.7 || *got[1].Densities["dmin"].R != 0.3 || !cmp.Equal(ignored, []string{"shift"}) {
		t.Errorf("%+v, lines %v, passed over %q, %v", got, lines, ignored, err)
	}
	for _, tt := range []struct{ name, file, want string }{
		{"nothing", "", "the file is empty"},
		{"no unit", "read_at,process,ld.r\n", `line 1: there is no column "unit"`},
		{"no densities", "read_at,unit,process\n", "line 1: there is no column of densities"},
		{"a density twice", "read_at,unit,process,ld.r,dl.r\n", `line 1: the column "ld.r" is there twice`},
		{"a day that is none", "read_at,unit,process,ld.r\n2026-02-30,a/b,c41,0.3\n", "line 2: read_at must be a time"},
		{"words", "read_at,unit,process,ld.r\n2026-02-03,a/b,c41,high\n", "line 2: ld.r must be a number"},
		{"an empty row", "read_at,unit,process,ld.r\n2026-02-03,a/b,c41,\n", "line 2: no density is there"},
	} {
		if _, _, _, err := ReadDensities(strings.NewReader(tt.file)); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want something with %q", tt.name, err, tt.want)
		}
	}
}
