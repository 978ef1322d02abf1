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

// maxName bounds the texts that name things: process, step, container. The
// contract sets no bound; what is longer is no name, and no index could hold
// what fills a payload.
const maxName = 128

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
	r.fail(lab.RefusedField, "%s is missing; want %s", r.where+name, want)
}

func (r *reader) wrongType(name string, v []byte, want string) {
	r.fail(lab.RefusedField, "%s is %s, %s; want %s", r.where+name, kindOf(v), quoted(v), want)
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
		r.fail(lab.RefusedField, "%s holds a NUL character; want %s", r.where+name, want)
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
	if n := utf8.RuneCountInString(s); n > maxName {
		r.fail(lab.RefusedField, "%s has %d characters; want %s of at most %d", r.where+name, n, want, maxName)
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
	r.fail(lab.RefusedRange, "%s is %s; want one of %s", r.where+name, quoted([]byte(s)), strings.Join(words, ", "))
	return ""
}

// number gives a number in [lo, hi], nil when absent.
func (r *reader) number(name string, lo, hi float64) *float64 {
	v := r.value(name)
	if v == nil {
		return nil
	}
	f, ok := r.numberOf(name, v, lo, hi)
	if !ok {
		return nil
	}
	return &f
}

func (r *reader) numberOf(name string, v []byte, lo, hi float64) (float64, bool) {
	if v[0] != '-' && (v[0] < '0' || v[0] > '9') {
		r.wrongType(name, v, "a number "+span(lo, hi))
		return 0, false
	}
	f, err := strconv.ParseFloat(string(v), 64)
	if err != nil || f < lo || f > hi {
		r.fail(lab.RefusedRange, "%s is %s; want a number %s", r.where+name, v, span(lo, hi))
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
	if n, err := strconv.ParseInt(string(v), 10, 64); err == nil && n >= lo && n <= hi {
		return n, true
	}
	want := "a whole number " + span(float64(lo), float64(hi))
	if v[0] != '-' && (v[0] < '0' || v[0] > '9') {
		r.wrongType(name, v, want)
		return 0, false
	}
	f, err := strconv.ParseFloat(string(v), 64)
	switch {
	case err == nil && f != math.Trunc(f):
		r.fail(lab.RefusedField, "%s is %s; want %s", r.where+name, v, want)
	case err != nil || f < float64(lo) || f > float64(hi) || math.Abs(f) > 1<<53:
		r.fail(lab.RefusedRange, "%s is %s; want %s", r.where+name, v, want)
	default:
		return int64(f), true
	}
	return 0, false
}

// names gives a list of names, nil when absent.
func (r *reader) names(name string) []string {
	const want = "a list of names"
	v := r.value(name)
	if v == nil {
		return nil
	}
	if v[0] != '[' {
		r.wrongType(name, v, want)
		return nil
	}
	var out []string
	for i, e := range elements(v) {
		at := name + "[" + strconv.Itoa(i) + "]"
		s := r.textOf(at, e, "a name")
		r.checkName(at, s, "a name")
		if s == "" {
			r.fail(lab.RefusedField, "%s is empty; want a name", r.where+at)
		}
		if r.err != nil {
			return nil
		}
		out = append(out, s)
	}
	return out
}

// inner gives an object inside the object, nil when absent. Its names must be
// names of things.
func (r *reader) inner(name, want string) object {
	v := r.value(name)
	if v == nil {
		return nil
	}
	if v[0] != '{' {
		r.wrongType(name, v, want)
		return nil
	}
	obj := members(v, nil)
	for _, m := range obj {
		switch {
		case m.name == "":
			r.fail(lab.RefusedField, "%s has an empty name in it; want %s", r.where+name, want)
		case strings.IndexByte(m.name, 0) >= 0:
			r.fail(lab.RefusedField, "a name in %s holds a NUL character; want %s", r.where+name, want)
		}
		r.checkName(name+"."+m.name, m.name, "a name")
	}
	return obj
}

// span says a range in words.
func span(lo, hi float64) string {
	f := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	switch {
	case math.IsInf(lo, -1) && math.IsInf(hi, 1):
		return "that is finite"
	case math.IsInf(hi, 1) || hi >= 1<<53:
		return "of at least " + f(lo)
	}
	return "from " + f(lo) + " to " + f(hi)
}
