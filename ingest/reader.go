package ingest

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"wetside/internal/lab"
)

// reader reads typed fields out of an object and keeps the first thing that
// was wrong: later calls then do nothing. null counts as absent everywhere.
type reader struct {
	obj   object
	where string // names the object in reasons, "" for the message itself
	err   *Refusal
}

func (r *reader) fail(code, format string, args ...any) {
	if r.err == nil {
		r.err = refuse(code, format, args...)
	}
}

func (r *reader) value(name string) []byte {
	if r.err != nil {
		return nil
	}
	v := r.obj.get(name)
	if v == nil || v[0] == 'n' {
		return nil
	}
	return v
}

func (r *reader) missing(name, want string) {
	r.fail(lab.RefusedField, "%s is missing; it must be %s", r.where+name, want)
}

func (r *reader) wrongType(name string, v []byte, want string) {
	r.fail(lab.RefusedField, "%[1]s must be %[4]s; got %[2]s, %[3]s", r.where+name, kindOf(v), quoted(v), want)
}

// string gives a text, "" when absent.
func (r *reader) string(name, want string) string {
	v := r.value(name)
	if v == nil {
		return ""
	}
	return r.textOf(name, v, want)
}

func (r *reader) textOf(name string, v []byte, want string) string {
	if v[0] != '"' {
		r.wrongType(name, v, want)
		return ""
	}
	s := text(v)
	if strings.IndexByte(s, 0) >= 0 {
		// No text column can hold it, and no name has one.
		r.fail(lab.RefusedField, "%s must be %[2]s; got one with a NUL character", r.where+name, want)
		return ""
	}
	return s
}

// name gives a text that names something, "" when absent.
func (r *reader) name(name, want string) string {
	s := r.string(name, want)
	r.checkName(name, s, want)
	return s
}

func (r *reader) checkName(name, s, want string) {
	if n := utf8.RuneCountInString(s); n > lab.MaxName {
		r.fail(lab.RefusedField, "%[1]s must be %[3]s of at most %[4]d characters; got %[2]d", r.where+name, n, want, lab.MaxName)
	}
}

// oneOf gives one of the words, "" when absent.
func (r *reader) oneOf(name string, words ...string) string {
	s := r.string(name, "a word")
	if s == "" {
		return ""
	}
	for _, w := range words {
		if s == w {
			return s
		}
	}
	r.fail(lab.RefusedRange, "%[1]s must be one of %[3]s; got %[2]s%[4]s", r.where+name, quoted([]byte(s)), strings.Join(words, ", "), lab.DidYouMean(s, words))
	return ""
}

// bounded gives a number within a bound, nil when absent.
func (r *reader) bounded(name string, b lab.Bound) *float64 {
	v := r.value(name)
	if v == nil {
		return nil
	}
	f, ok := r.numberOf(name, v, b)
	if !ok {
		return nil
	}
	return &f
}

func (r *reader) numberOf(name string, v []byte, b lab.Bound) (float64, bool) {
	if v[0] != '-' && (v[0] < '0' || v[0] > '9') {
		r.wrongType(name, v, "a number from "+b.String())
		return 0, false
	}
	f, err := strconv.ParseFloat(string(v), 64)
	if err != nil || !b.Holds(f) {
		r.fail(lab.RefusedRange, "%[1]s must be a number from %[3]s; got %[2]s", r.where+name, shortNumber(v), b)
		return 0, false
	}
	if f == 0 {
		f = 0 // -0 is 0
	}
	return f, true
}

// integer gives a whole number in [lo, hi]; 3.0 is one, 3.5 is not. ok is
// false when it is absent or wrong.
func (r *reader) integer(name string, lo, hi int64) (n int64, ok bool) {
	v := r.value(name)
	if v == nil {
		return 0, false
	}
	whole, err := strconv.ParseInt(string(v), 10, 64)
	if err == nil && whole >= lo && whole <= hi {
		return whole, true
	}
	want := "a whole number from " + lab.Bound{Low: float64(lo), High: float64(hi)}.String()
	if v[0] != '-' && (v[0] < '0' || v[0] > '9') {
		r.wrongType(name, v, want)
		return 0, false
	}
	beyond := err == nil // written as a whole number, which a float may round into the range
	f, err := strconv.ParseFloat(string(v), 64)
	switch {
	case err == nil && f != math.Trunc(f):
		r.fail(lab.RefusedField, "%[1]s must be %[3]s; got %[2]s", r.where+name, shortNumber(v), want)
	case beyond || err != nil || f < float64(lo) || f > float64(hi):
		r.fail(lab.RefusedRange, "%[1]s must be %[3]s; got %[2]s", r.where+name, shortNumber(v), want)
	default:
		return int64(f), true
	}
	return 0, false
}

// names gives a list of at most so many names, nil when absent.
func (r *reader) names(name string, most int) []string {
	const want = "a list of names"
	v := r.value(name)
	if v == nil {
		return nil
	}
	if v[0] != '[' {
		r.wrongType(name, v, want)
		return nil
	}
	all := elements(v)
	if len(all) > most {
		r.fail(lab.RefusedRange, "%[1]s must have at most %[3]d names; got %[2]d", r.where+name, len(all), most)
		return nil
	}
	var out []string
	for i, e := range all {
		at := name + "[" + strconv.Itoa(i) + "]"
		s := r.textOf(at, e, "a name")
		r.checkName(at, s, "a name")
		if s == "" {
			r.fail(lab.RefusedField, "%s must be a name; got nothing", r.where+at)
		}
		if r.err != nil {
			return nil
		}
		out = append(out, s)
	}
	return out
}

// inner gives an object of at most so many members inside the object, nil when
// absent. Its names must be names of things.
func (r *reader) inner(name, want string, most int) object {
	v := r.value(name)
	if v == nil {
		return nil
	}
	if v[0] != '{' {
		r.wrongType(name, v, want)
		return nil
	}
	obj := members(v, nil)
	if len(obj) > most {
		r.fail(lab.RefusedRange, "%[1]s must have at most %[3]d members; got %[2]d", r.where+name, len(obj), most)
		return nil
	}
	for _, m := range obj {
		switch {
		case m.name == "":
			r.fail(lab.RefusedField, "%s must be %[2]s; got an empty name", r.where+name, want)
		case strings.IndexByte(m.name, 0) >= 0:
			r.fail(lab.RefusedField, "a name in %s must be %[2]s; got one with a NUL character", r.where+name, want)
		}
		r.checkName(name+"."+m.name, m.name, "a name")
	}
	return obj
}

// shortNumber shows a number as it was sent, cut to a sane length: JSON allows
// thousands of digits.
func shortNumber(v []byte) string {
	const most = 32
	if len(v) > most {
		return string(v[:most]) + "..."
	}
	return string(v)
}
