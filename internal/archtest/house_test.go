package archtest

import (
	"cmp"
	"flag"
	"fmt"
	"html"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var drawHouse = flag.Bool("draw", false, "write the picture and the table of the house anew")

// Where the picture and the table of the house stand.
const (
	housePicture = "testdata/house.svg"
	houseGuide   = "DEVELOPERS.md"
	houseBegins  = "<!-- the house: make house -->\n"
	houseEnds    = "<!-- the house ends -->\n"
)

// room is a room as the sources have it.
type room struct {
	imports  map[string]bool    // of other rooms
	packages map[string]*inside // by folder
}

// inside is one package of a room.
type inside struct {
	does    string // the first sentence of its comment
	imports map[string]bool
}

func cutModule(path string) (string, bool) { return strings.CutPrefix(path, module) }

// measured reads the house from the sources.
func measured(t *testing.T) map[string]*room {
	house := map[string]*room{}
	for _, s := range sources(t) {
		name, _, ok := roomOf(s.dir)
		if s.test || s.ignored || !ok || strings.Contains(s.dir, "testdata") || slices.Contains(helpers, s.dir) {
			continue
		}
		r := house[name]
		if r == nil {
			r = &room{imports: map[string]bool{}, packages: map[string]*inside{}}
			house[name] = r
		}
		p := r.packages[s.dir]
		if p == nil {
			p = &inside{imports: map[string]bool{}}
			r.packages[s.dir] = p
		}
		if s.file.Doc != nil {
			p.does = cmp.Or(firstSentence(s.file.Doc.Text()), p.does)
		}
		for _, path := range s.imports {
			if to, ours := cutModule(path); ours {
				p.imports[to] = true
				if other, _, ok := roomOf(to); ok && other != name {
					r.imports[other] = true
				}
			}
		}
	}
	return house
}

// firstSentence is the beginning of a package's comment without its name.
func firstSentence(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	if i := strings.Index(text, ". "); i >= 0 {
		text = text[:i]
	}
	text = strings.TrimSuffix(text, ".")
	for _, begin := range []string{"Package ", "Command "} {
		if rest, ok := strings.CutPrefix(text, begin); ok {
			_, text, _ = strings.Cut(rest, " ")
		}
	}
	return text
}

// houseTable lists the packages floor by floor, the topmost first.
func houseTable(house map[string]*room) string {
	var b strings.Builder
	b.WriteString("| floor | package | what it does | imports of ours |\n|---|---|---|---|\n")
	for level, f := range slices.Backward(floors) {
		for _, name := range f.rooms {
			r := house[name]
			if r == nil {
				continue
			}
			for _, dir := range slices.Sorted(maps.Keys(r.packages)) {
				p := r.packages[dir]
				imports := slices.Sorted(maps.Keys(p.imports))
				for i := range imports {
					imports[i] = strings.TrimPrefix(imports[i], "internal/")
				}
				fmt.Fprintf(&b, "| %d %s | `%s` | %s | %s |\n", level, f.name, dir, p.does, strings.Join(imports, ", "))
			}
		}
	}
	b.WriteString("\nWhy each floor is where it is:\n\n")
	for level, f := range slices.Backward(floors) {
		fmt.Fprintf(&b, "- **%d %s**: %s.\n", level, f.name, f.why)
	}
	return b.String()
}

// The picture's measures.
const (
	floorHigh, boxHigh = 110, 56
	pictureWide        = 1000
	floorName          = 110
)

// houseDrawing is the picture: floors from the top down, a box a room, a line from
// each room to those it imports. What the two top floors import, which is
// nearly everything, and what all take from the ground is drawn faintly.
func houseDrawing(house map[string]*room) string {
	type at struct{ x, y, w int }
	boxes := map[string]at{}
	for level, f := range floors {
		gap := 14
		wide := (pictureWide - floorName - gap*(len(f.rooms)+1)) / len(f.rooms)
		wide = min(wide, 220)
		x := floorName + (pictureWide-floorName-len(f.rooms)*wide-gap*(len(f.rooms)-1))/2
		for _, name := range f.rooms {
			boxes[name] = at{x, (len(floors)-1-level)*floorHigh + 24, wide}
			x += wide + gap
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" font-family="sans-serif">`+"\n", pictureWide, len(floors)*floorHigh)
	b.WriteString(`<title>The house: rooms by floor, each line an import that goes down</title><rect width="100%" height="100%" fill="#ffffff"/>` + "\n")
	for level, f := range floors {
		y := (len(floors) - 1 - level) * floorHigh
		fmt.Fprintf(&b, `<text x="12" y="%d" font-size="15" fill="#555555">%d %s</text>`+"\n", y+24+boxHigh/2+5, level, f.name)
	}
	for level, f := range floors {
		for _, name := range f.rooms {
			r := house[name]
			if r == nil {
				continue
			}
			for _, to := range slices.Sorted(maps.Keys(r.imports)) {
				a, z := boxes[name], boxes[to]
				ink, width := "#3b6ea8", 1.6
				if _, below, _ := roomOf(to); level >= len(floors)-2 || below == 0 {
					ink, width = "#cccccc", 1
				}
				x0, y0, x1, y1 := a.x+a.w/2, a.y+boxHigh, z.x+z.w/2, z.y
				fmt.Fprintf(&b, `<path d="M%d %d C%d %d %d %d %d %d" fill="none" stroke="%s" stroke-width="%g"/>`+"\n", x0, y0, x0, y0+40, x1, y1-40, x1, y1, ink, width)
			}
		}
	}
	for _, f := range floors {
		for _, name := range f.rooms {
			r := house[name]
			if r == nil {
				continue
			}
			p := boxes[name]
			fmt.Fprintf(&b, `<rect x="%d" y="%d" width="%d" height="%d" rx="6" fill="#eef3f9" stroke="#3b6ea8"/>`+"\n", p.x, p.y, p.w, boxHigh)
			fmt.Fprintf(&b, `<text x="%d" y="%d" font-size="15" text-anchor="middle">%s</text>`+"\n", p.x+p.w/2, p.y+24, html.EscapeString(name))
			fmt.Fprintf(&b, `<text x="%d" y="%d" font-size="12" text-anchor="middle" fill="#555555">%s</text>`+"\n", p.x+p.w/2, p.y+43, counted(len(r.packages), "package"))
		}
	}
	b.WriteString("</svg>\n")
	return b.String()
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// The picture and the table in DEVELOPERS.md are made from the sources, and
// show the house as it is.
func TestTheHouseIsDrawnAsItStands(t *testing.T) {
	house, top := measured(t), root(t)
	guide, err := os.ReadFile(filepath.Join(top, houseGuide))
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(guide), houseBegins)
	_, tail, ok2 := strings.Cut(rest, houseEnds)
	if !ok || !ok2 {
		t.Fatalf("%s has no lines %q and %q", houseGuide, strings.TrimSpace(houseBegins), strings.TrimSpace(houseEnds))
	}
	want := map[string]string{
		houseGuide:   head + houseBegins + "\n![The house: rooms by floor](" + housePicture + ")\n\n" + houseTable(house) + "\n" + houseEnds + tail,
		housePicture: houseDrawing(house),
	}
	for name, text := range want {
		path := filepath.Join(top, filepath.FromSlash(name))
		if *drawHouse {
			if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != text {
			t.Errorf("%s does not show the house as it is (%v); make house draws it anew", name, err)
		}
	}
}
