package ingest

import (
	"bytes"
	"encoding/json"
	"errors"
	"unicode/utf8"

	"wetside/internal/lab"
)

// member is one name and its raw value in a JSON object.
type member struct {
	name  string
	value []byte
}

// object is a JSON object taken apart at its first level. Names are compared
// exactly: encoding/json would also take "AT" for "at", and the contract's
// names are fixed. Of a repeated name the last counts, as in most readers.
type object []member

func (o object) get(name string) []byte {
	for i := len(o) - 1; i >= 0; i-- {
		if o[i].name == name {
			return o[i].value
		}
	}
	return nil
}

// parseObject takes a payload apart. The values alias payload.
func parseObject(payload []byte, into object) (object, *Refusal) {
	switch {
	case len(bytes.TrimLeft(payload, " \t\r\n")) == 0:
		return nil, refuse(lab.RefusedNotJSON, "the payload must be one JSON object; got nothing")
	case !utf8.Valid(payload):
		return nil, refuse(lab.RefusedNotJSON, "the payload must be JSON in UTF-8; byte %d is not", badByte(payload))
	case !json.Valid(payload):
		return nil, refuse(lab.RefusedNotJSON, "the payload must be one JSON object: %s", syntaxProblem(payload))
	}
	payload = bytes.TrimSpace(payload)
	if payload[0] != '{' {
		return nil, refuse(lab.RefusedNotJSON, "the payload must be one JSON object; got %s", kindOf(payload))
	}
	return members(payload, into), nil
}

// members splits an object that is known to be valid JSON.
func members(b []byte, into object) object {
	i := 1
	for {
		i = skipSpace(b, i)
		if b[i] == '}' {
			return into
		}
		if b[i] == ',' {
			i = skipSpace(b, i+1)
		}
		end := valueEnd(b, i)
		name := text(b[i:end])
		i = skipSpace(b, end) // at the colon
		i = skipSpace(b, i+1) // at the value
		end = valueEnd(b, i)  // past it
		into = append(into, member{name, b[i:end:end]})
		i = end
	}
}

// elements splits an array that is known to be valid JSON.
func elements(b []byte) [][]byte {
	var out [][]byte
	i := 1
	for {
		i = skipSpace(b, i)
		if b[i] == ']' {
			return out
		}
		if b[i] == ',' {
			i = skipSpace(b, i+1)
		}
		end := valueEnd(b, i)
		out = append(out, b[i:end:end])
		i = end
	}
}

func skipSpace(b []byte, i int) int {
	for b[i] == ' ' || b[i] == '\t' || b[i] == '\n' || b[i] == '\r' {
		i++
	}
	return i
}

// valueEnd gives the index after the value that begins at i of valid JSON.
func valueEnd(b []byte, i int) int {
	depth := 0
	for i < len(b) {
		switch b[i] {
		case '"':
			i = stringEnd(b, i)
			if depth == 0 {
				return i
			}
			continue
		case '{', '[':
			depth++
		case '}', ']':
			if depth == 0 {
				return i // ends a number or a word in the object around it
			}
			if depth--; depth == 0 {
				return i + 1
			}
		case ',', ' ', '\t', '\n', '\r':
			if depth == 0 {
				return i
			}
		}
		i++
	}
	return i
}

func stringEnd(b []byte, i int) int {
	for i++; b[i] != '"'; i++ {
		if b[i] == '\\' {
			i++
		}
	}
	return i + 1
}

// text gives the text of a valid JSON string.
func text(quoted []byte) string {
	inner := quoted[1 : len(quoted)-1]
	if bytes.IndexByte(inner, '\\') < 0 {
		return string(inner)
	}
	var s string
	if json.Unmarshal(quoted, &s) != nil {
		return string(inner)
	}
	return s
}

// kindOf names the kind of a valid JSON value.
func kindOf(v []byte) string {
	switch v[0] {
	case '{':
		return "an object"
	case '[':
		return "an array"
	case '"':
		return "a string"
	case 't', 'f':
		return "a boolean"
	case 'n':
		return "null"
	}
	return "a number"
}

func badByte(b []byte) int {
	for i := 0; i < len(b); {
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return len(b)
}

func syntaxProblem(b []byte) string {
	var v any
	err := json.Unmarshal(b, &v)
	var s *json.SyntaxError
	switch {
	case errors.As(err, &s):
		return refuse("", "at byte %d: %s", s.Offset, s.Error()).Text
	case err != nil:
		return err.Error()
	}
	return "not valid JSON"
}
