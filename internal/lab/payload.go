package lab

import (
	"bytes"
	"encoding/json"
	"strconv"
)

// SamePayload tells whether two payloads say the same: the same bytes, or the
// same JSON value whatever the order of its fields, its spaces and the way its
// numbers are written. It tells a copy of a message from a key conflict.
func SamePayload(a, b []byte) bool {
	if bytes.Equal(a, b) {
		return true
	}
	va, ok := jsonValue(a)
	if !ok {
		return false
	}
	vb, ok := jsonValue(b)
	return ok && sameValue(va, vb)
}

func jsonValue(b []byte) (v any, ok bool) {
	if !json.Valid(b) {
		return nil, false
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.UseNumber()
	return v, dec.Decode(&v) == nil
}

func sameValue(a, b any) bool {
	switch a := a.(type) {
	case map[string]any:
		b, ok := b.(map[string]any)
		if !ok || len(a) != len(b) {
			return false
		}
		for k, va := range a {
			if vb, ok := b[k]; !ok || !sameValue(va, vb) {
				return false
			}
		}
		return true
	case []any:
		b, ok := b.([]any)
		if !ok || len(a) != len(b) {
			return false
		}
		for i := range a {
			if !sameValue(a[i], b[i]) {
				return false
			}
		}
		return true
	case json.Number:
		b, ok := b.(json.Number)
		return ok && sameNumber(a, b)
	}
	return a == b
}

// sameNumber takes 1, 1.0 and 1e0 as one. Beyond 2^53 a float no longer tells
// whole numbers apart, so only those written alike are the same there.
func sameNumber(a, b json.Number) bool {
	if a == b {
		return true
	}
	x, errX := strconv.ParseFloat(a.String(), 64)
	y, errY := strconv.ParseFloat(b.String(), 64)
	return errX == nil && errY == nil && x == y && x < 1<<53 && x > -1<<53
}
