package words

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
)

func bans(t *testing.T) []Ban {
	t.Helper()
	list, err := Bans()
	if err != nil {
		t.Fatal(err)
	}
	return list
}

var collected = sync.OnceValues(func() ([]Text, error) { return All("../..") })

func all(t *testing.T) []Text {
	t.Helper()
	texts, err := collected()
	if err != nil {
		t.Fatal(err)
	}
	return texts
}

// Every text that a person reads, against the list.
func TestTexts(t *testing.T) {
	texts := all(t)
	list, used := bans(t), map[*Allow]int{}
	for _, w := range Check(texts, list, used) {
		t.Error(w)
	}
	for i := range list {
		for j := range list[i].Allow {
			if a := &list[i].Allow[j]; used[a] == 0 {
				t.Errorf("banned.yaml: %s is allowed %q, which is not written there any more", a.In, a.Has)
			}
		}
	}
}

// Each ban finds its bad examples and none of its good ones, and says what to
// write and why; each exception has its reason.
func TestBansBite(t *testing.T) {
	list := bans(t)
	for i, b := range list {
		if b.Say == "" || b.Why == "" || len(b.Bad) == 0 || len(b.Good) == 0 {
			t.Errorf("%s: say, why, bad and good must be given", b.Ban)
		}
		one := list[i : i+1]
		for _, s := range b.Bad {
			if len(Check([]Text{{Says: s}}, one, map[*Allow]int{})) == 0 {
				t.Errorf("%s does not find %q", b.Ban, s)
			}
		}
		for _, s := range b.Good {
			if w := Check([]Text{{Says: s}}, one, map[*Allow]int{}); len(w) != 0 {
				t.Errorf("%s finds %q in %q", b.Ban, w[0].Has, s)
			}
		}
		for _, a := range b.Allow {
			if a.In == "" || a.Why == "" {
				t.Errorf("%s: an exception must say where and why", b.Ban)
			}
		}
	}
}

// An exception holds in its file and for its text only.
func TestExceptions(t *testing.T) {
	list := []Ban{{Ban: "want", Allow: []Allow{{In: "a.go", Has: "as you want", Why: "test"}, {In: "b/", Why: "test"}}}}
	list[0].is = regexp.MustCompile("want")
	used := map[*Allow]int{}
	wrong := Check([]Text{
		{File: "a.go", Says: "as you want"}, {File: "a.go", Says: "want 3"}, {File: "c.go", Says: "as you want"}, {File: "b/d.go", Says: "want"},
	}, list, used)
	if len(wrong) != 2 || wrong[0].Text.Says != "want 3" || wrong[1].Text.File != "c.go" {
		t.Errorf("found %v", wrong)
	}
	if used[&list[0].Allow[0]] != 1 || used[&list[0].Allow[1]] != 1 {
		t.Errorf("uses counted: %v", used)
	}
}

// What the collectors must find and what they must leave: a source of each
// language, taken apart as the real ones are.
func TestCollect(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for _, c := range []struct {
		name, text  string
		of          func(path, rel string) ([]Text, error)
		must, never []string
	}{
		{"a.go", "package a\n" + `import "some thing"
const q = "SELECT a FROM b"
var re = regexp.MustCompile("a b c")
type T struct { A int ` + "`json:\"a\" doc:\"What it is.\"`" + ` }
func f(s string) error { if s == "not a text" { return fmt.Errorf("capacity must be 0 to %d; got %d", 1, 2) }; _ = "Drain " + s + " now."; return nil }
`, ofGoFile, []string{"What it is.", "capacity must be 0 to %d; got %d", "Drain … now."}, []string{"SELECT", "some thing", "a b c", "not a text"}},
		{"b.yaml", "cause: The bath is warm.\nkey: developer\nlist: [one two, x]\n", ofYAML, []string{"The bath is warm.", "one two"}, []string{"developer"}},
		{"c.md", "Some words.\n```\ncode here\n```\n", func(path, rel string) ([]Text, error) {
			b, err := os.ReadFile(path)
			return paragraphs(rel, string(b)), err
		}, []string{"Some words."}, []string{"code here"}},
	} {
		texts, err := c.of(write(c.name, c.text), c.name)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range c.must {
			if !slices.ContainsFunc(texts, func(x Text) bool { return x.Says == want }) {
				t.Errorf("%s: %q is not collected: %v", c.name, want, texts)
			}
		}
		for _, no := range c.never {
			if slices.ContainsFunc(texts, func(x Text) bool { return strings.Contains(x.Says, no) }) {
				t.Errorf("%s: %q is collected: %v", c.name, no, texts)
			}
		}
	}
}

// The pages' script finds texts between tags, in attributes and in strings, and
// every place has some.
func TestEveryPlaceHasTexts(t *testing.T) {
	texts := all(t)
	count := map[string]int{}
	for _, x := range texts {
		count[x.Place]++
	}
	for _, p := range Places {
		if count[p] < 10 {
			t.Errorf("%s: %d texts collected", p, count[p])
		}
	}
	for _, want := range []string{"Acknowledge", "No unit has …"} {
		has := strings.TrimSuffix(want, " …")
		if !slices.ContainsFunc(texts, func(x Text) bool { return strings.HasPrefix(x.File, "web/ui/") && strings.HasPrefix(x.Says, has) }) {
			t.Errorf("%q of the pages is not collected", has)
		}
	}
}
