package strips

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wetside/internal/lab"
)

// The C-41 reading that a lab supplier's page works through (quoted elsewhere:
// reference 5.3): D-min 0.32/0.63/0.72, LD 0.44/0.76/0.98, HD 1.30/1.77/2.03,
// yellow blue 2.70, D-max blue 2.98; the same in each plain format.
func TestTextOfAllFormats(t *testing.T) {
	want := map[string]lab.RGB{"dmin": rgb(.32, .63, .72), "ld": rgb(.44, .76, .98), "hd": rgb(1.30, 1.77, 2.03),
		"yellow": {B: ptr(2.70)}, "dmax": {B: ptr(2.98)}}
	texts := map[string][]string{
		"steps": {
			"0.32 0.63 0.72\n0.44 0.76 0.98\n1.30 1.77 2.03\n2.70\n2.98\n",
			"strip of this morning\n0,32;0,63;0,72\n0,44;0,76;0,98\n1,30;1,77;2,03\n0,11;0,90;2,70\n1,90;2,50;2,98\n", // decimal commas; all three colors of each step
			"32 63 72\n44 76 98\n130 177 203\n270\n298\n",                                                             // hundredths
			"0.32,0.63,0.72\n0.44,0.76,0.98\n1.30,1.77,2.03\n2.70\n2.98\n",
		},
		"named":     {"LD 0.44 0.76 0.98\nD-min: .32 .63 .72\nHD=1.30 1.77 2.03\nD-max\t2.98\nYellow 2.70\n", "DL 0.44 0.76 0.98\nFog 0.32 0.63 0.72\nDH 1.30 1.77 2.03\nY 2.70\ndmax 2.98\n"},
		"strip":     {"0.32 0.63 0.72 0.44 0.76 0.98 1.30 1.77 2.03 2.70 2.98\n"},
		"densities": {"0.32\n0.63\n0.72\n0.44\n0.76\n0.98\n1.30\n1.77\n2.03\n2.70\n2.98\n"},
		"letters":   {"V 0.60 R 0.32 G 0.63 B 0.72\nR0.44 G0.76 B0.98\nB:2.03 G:1.77 R:1.30\nB 2.70\nR 1.9 G 2.5 B 2.98\n"},
		"filters":   {"V0.60 C0.32 M0.63 Y0.72\nC0.44 M0.76 Y0.98\nC1.30 M1.77 Y2.03\nY2.70\nY2.98\n"},
	}
	family, _ := FamilyOf("c41")
	for _, f := range Formats() {
		if len(texts[f.Name]) == 0 {
			t.Errorf("the format %s is not tried", f.Name)
		}
		for _, text := range texts[f.Name] {
			r := NewTextReader(f, family)
			var got []map[string]lab.RGB
			for _, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
				s, err := r.Line(line)
				if err != nil {
					t.Errorf("%s: %v", f.Name, err)
				}
				if s != nil {
					got = append(got, s)
				}
			}
			if s, err := r.End(); s != nil || err != nil {
				t.Errorf("%s: the last density does not end the strip: %v, %v", f.Name, s, err)
			}
			if diff := cmp.Diff([]map[string]lab.RGB{want}, got); diff != "" {
				t.Errorf("%s (-want +got):\n%s\n%s", f.Name, diff, text)
			}
		}
		if r := NewTextReader(f, family); f.Per != "strip" { // its own example reads
			if _, err := r.Line(f.Example); err != nil {
				t.Errorf("the example of %s: %v", f.Name, err)
			}
		}
	}
}

// What is not certain is not taken, and what follows it neither: a step that
// is taken for another is worse than none.
func TestTextRefuses(t *testing.T) {
	for _, tt := range []struct{ name, format, text, want string }{
		{"too few figures", "steps", "0.32 0.63\n", "line 1: D-min must have 3 figures (red, green, blue); got 2"},
		{"no density", "steps", "0.32 0.63 7.2\n", "line 1: D-min blue is 7.2; a density is -1 to 6"},
		{"received with a fault", "steps", "0.3x 0.63 0.72\n", `line 1: "0.3x" does not read as a density`},
		{"received with a fault, letters", "letters", "R 0. G 0.63 B 0.72\n", `line 1: "0." does not read as a density`},
		{"broken off", "steps", "0.32 0.63 0.72\n0.44 0.76 0.98\n\n", "line 3: the strip ends after 2 of 5 steps; it is not taken"},
		{"broken off, by density", "densities", "0.32\n\n", "line 2: the strip ends after 1 of 11 densities"},
		{"no such step", "named", "GD 0.1 0.2 0.3\n", `line 1: a step of this strip must be one of D-min, LD, HD, Yellow, D-max; got "GD"`},
		{"a step twice", "named", "LD 0.1 0.2 0.3\nLD 0.1 0.2 0.3\n", "line 2: LD is there twice"},
		{"a color twice", "letters", "R 0.1 R 0.2 B 0.3\n", "line 1: D-min red is there twice"},
		{"a letter of no color", "letters", "R 0.1 X 0.2 B 0.3\n", `line 1: the letter before 0.2 must be one of B, G, R, V; got "X"`},
		{"no letter", "letters", "0.1 0.2 0.3\n", "line 1: there is no letter before 0.1"},
		{"too many for a strip", "strip", "1 1 1 1 1 1 1 1 1 1 1 1\n", "line 1: 1 figures too many for a strip"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f, ok := FormatNamed(tt.format)
			family, _ := FamilyOf("c41")
			if !ok {
				t.Fatalf("no format %s", tt.format)
			}
			r, said := NewTextReader(f, family), ""
			for _, line := range strings.Split(strings.TrimSuffix(tt.text, "\n"), "\n") {
				s, err := r.Line(line)
				if err != nil {
					said = err.Error()
				}
				if s != nil {
					t.Errorf("took %v", s)
				}
			}
			if !strings.HasPrefix(said, tt.want) {
				t.Errorf("said %q, want %q", said, tt.want)
			}
		})
	}
	f, _ := FormatNamed("steps")
	family, _ := FamilyOf("bw")
	r, took := NewTextReader(f, family), 0
	for _, line := range []string{"0.12", "0.x", "0.23 9 9 9", "0.60", "1.20", "", "0.12", "0.23", "0.60", "1.20"} {
		if s, _ := r.Line(line); s != nil {
			took++
			if *s["dmin"].G != 0.12 || *s["hd"].G != 1.20 {
				t.Errorf("steps mixed up: %v", s)
			}
		}
	}
	if took != 1 {
		t.Errorf("%d strips taken, want the one behind the empty line", took)
	}
}

func TestTextSaysWhatIsNext(t *testing.T) {
	f, _ := FormatNamed("densities")
	family, _ := FamilyOf("c41")
	r := NewTextReader(f, family)
	for i, want := range []string{"D-min red", "D-min green", "D-min blue", "LD red"} {
		if got := r.Next(); got != want {
			t.Errorf("density %d: %q, want %q", i+1, got, want)
		}
		if _, err := r.Line("0.3"); err != nil {
			t.Fatal(err)
		}
	}
}

func FuzzText(f *testing.F) {
	f.Add("steps", "0.32 0.63 0.72\n0.44 0.76 0.98")
	f.Add("letters", "V 0.61 R 0.44 G0.7\f")
	f.Add("named", "LD: ,5 .5 5")
	f.Fuzz(func(t *testing.T, format, text string) {
		form, ok := FormatNamed(format)
		if !ok {
			return
		}
		for _, process := range []string{"c41", "e6-7", "bw"} {
			family, _ := FamilyOf(process)
			r := NewTextReader(form, family)
			for line := range strings.Lines(text) {
				s, _ := r.Line(line)
				for step, d := range s {
					for _, c := range []string{"r", "g", "b"} {
						if v := d.Of(c); v != nil && (*v < lab.MinDensity || *v > lab.MaxDensity) {
							t.Errorf("took %s %s %g", step, c, *v)
						}
					}
				}
			}
			_, _ = r.End()
		}
	})
}
