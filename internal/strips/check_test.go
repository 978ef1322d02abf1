package strips

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestReadTableRefusesWithWhatWouldBeRight(t *testing.T) {
	const head = "at,parameter,value,aim,sigma,action,control,side\n"
	tests := []struct{ name, file, want string }{
		{"nothing", "", "the file is empty"},
		{"no value column", "at,parameter\n", `no column "value"`},
		{"a column twice", "at,parameter,value,value\n", "twice"},
		{"a day that is none", head + "2026-02-30,ld,0.3,,,,,\n", `line 2: at must be a time such as 2026-03-01T09:30:00Z`},
		{"no parameter", head + "2026-02-01,,0.3,,,,,\n", "line 2: parameter is empty"},
		{"no value", head + "2026-02-01,ld,,,,,,\n", "line 2: value is empty"},
		{"words", head + "2026-02-01,ld,high,,,,,\n", `line 2: value must be a number from -1e+12 to 1e+12; got "high"`},
		{"NaN", head + "2026-02-01,ld,NaN,,,,,\n", "line 2: value must be a number"},
		{"infinite aim", head + "2026-02-01,ld,0.3,inf,,,,\n", "line 2: aim must be a number"},
		{"negative sigma", head + "2026-02-01,ld,0.3,0.3,-1,,,\n", "line 2: sigma must be a number from 0"},
		{"a side that is none", head + "2026-02-01,ld,0.3,,,,,up\n", "line 2: side must be both, high or low"},
		{"too few fields", head + "2026-02-01,ld,0.3\n", "line 2 has 3 fields; the first row names 8 columns"},
		{"quotes that do not end", head + "\"2026", "line 2"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, _, err := ReadTable(strings.NewReader(test.file))
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("got %v, want something with %q", err, test.want)
			}
		})
	}
}

// Spreadsheets begin with a byte order mark, end lines with CR LF and put
// columns where they like; rows need not be in order.
func TestReadTableTakesWhatSpreadsheetsWrite(t *testing.T) {
	file := "\ufeffValue, Parameter ,note,AT\r\n0.31,ld,x,2026-03-02\r\n0.30,ld,\"y, z\",2026-03-01T09:30:00Z\r\n"
	rows, ignored, err := ReadTable(strings.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"note"}, ignored); diff != "" {
		t.Errorf("passed over (-want +got):\n%s", diff)
	}
	if len(rows) != 2 || rows[0].Value != 0.30 || rows[1].Value != 0.31 || rows[1].Line != 2 {
		t.Errorf("rows are not in order of time, or not as written: %+v", rows)
	}
}

func TestCheck(t *testing.T) {
	tests := []struct {
		name, file string
		want       []string // at parameter signal
		notes      []string // a part of each
	}{
		{
			name: "each parameter by its own; what is empty holds",
			file: "at,parameter,value,aim,sigma,action,control,side\n" +
				"2026-03-01,ld,0.30,0.30,0.02,0.06,0.08,\n" +
				"2026-03-01,dmin,0.22,0.22,0.01,0.03,0.05,high\n" +
				"2026-03-02,dmin,0.10,,,,,\n" +
				"2026-03-02,ld,0.39,,,,,\n",
			want: []string{"2026-03-02 dmin we-1", "2026-03-02 dmin ewma", "2026-03-02 dmin cusum",
				"2026-03-02 ld control-limit", "2026-03-02 ld action-limit", "2026-03-02 ld we-1", "2026-03-02 ld ewma"},
		},
		{
			name:  "limits need no spread",
			file:  "at,parameter,value,aim,action\n2026-03-01,ld,0.37,0.30,0.06\n",
			want:  []string{"2026-03-01 ld action-limit"},
			notes: []string{"one value alone sets no spread", "sigma is 0"},
		},
		{
			name:  "one value without an aim says nothing",
			file:  "at,parameter,value,action,control\n2026-03-01,ld,5,0.1,0.2\n",
			notes: []string{"one value alone sets no spread", "sigma is 0"},
		},
		{
			name: "a new aim, as of a new box of strips, moves no chart",
			file: "at,parameter,value,aim,sigma\n2026-03-01,ld,0.30,0.30,0.02\n2026-03-02,ld,0.50,0.50,0.02\n",
		},
		{name: "no rows", file: "at,parameter,value\n"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			rows, _, err := ReadTable(strings.NewReader(test.file))
			if err != nil {
				t.Fatal(err)
			}
			findings, notes := Check(rows, Defaults)
			var got []string
			for _, f := range findings {
				got = append(got, f.At+" "+f.Parameter+" "+string(f.Signal))
				if f.Detail == "" {
					t.Errorf("%s: no detail", f.Signal)
				}
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("findings (-want +got):\n%s", diff)
			}
			if len(notes) != len(test.notes) {
				t.Fatalf("notes: %q, want %q", notes, test.notes)
			}
			for i, part := range test.notes {
				if !strings.Contains(notes[i], part) {
					t.Errorf("note %q has no %q", notes[i], part)
				}
			}
		})
	}
}

// The first 20 values set aim and spread; the 21st does not move them.
func TestFirstTwentySetTheBaseline(t *testing.T) {
	var file strings.Builder
	file.WriteString("at,parameter,value\n")
	for i := range 20 {
		// 0.29 and 0.31 by turns: mean 0.30, mean moving range 0.02
		file.WriteString("2026-03-01T00:00:" + string(rune('0'+i/10)) + string(rune('0'+i%10)) + "Z,ld," + []string{"0.29", "0.31"}[i%2] + "\n")
	}
	file.WriteString("2026-03-02,ld,0.354\n") // 3.04 sigma: 0.02 / 1.128 = 0.01773
	file.WriteString("2026-03-03,ld,0.353\n") // 2.99 sigma
	rows, _, err := ReadTable(strings.NewReader(file.String()))
	if err != nil {
		t.Fatal(err)
	}
	findings, notes := Check(rows, Defaults)
	var we1 []string
	for _, f := range findings {
		if f.Signal == WE1 {
			we1 = append(we1, f.At)
		}
	}
	if diff := cmp.Diff([]string{"2026-03-02"}, we1); diff != "" {
		t.Errorf("beyond 3 sigma (-want +got):\n%s", diff)
	}
	if len(notes) != 0 {
		t.Errorf("notes %q with 20 values", notes)
	}
}

func TestSettings(t *testing.T) {
	if err := Defaults.Check(); err != nil {
		t.Errorf("the defaults are refused: %v", err)
	}
	bad := Defaults
	bad.Lambda = 0
	if err := bad.Check(); err == nil || !strings.Contains(err.Error(), "lambda must be 0.001 to 1; got 0") {
		t.Errorf("lambda 0: %v", err)
	}
}
