package sim

import (
	"encoding/json"
	"strconv"
	"time"
)

// encoder writes one payload. It is the simulator's own reading of the
// contract: it shares no code with what decodes telemetry.
type encoder struct{ b []byte }

const payloadTime = "2006-01-02T15:04:05.000Z"

// will is the last will: the one payload without an envelope.
var will = []byte(`{"online":false}`)

// envelope begins a payload.
func (e *encoder) envelope(at time.Time, boot string, seq int64, up float64) {
	e.b = append(make([]byte, 0, 320), `{"at":"`...)
	e.b = at.UTC().AppendFormat(e.b, payloadTime)
	e.b = append(e.b, `","boot":"`...)
	e.b = append(e.b, boot...)
	e.b = append(e.b, `","seq":`...)
	e.b = strconv.AppendInt(e.b, seq, 10)
	e.num("up_s", up, 3)
}

func (e *encoder) key(k string) {
	if n := len(e.b); n > 0 && e.b[n-1] != '{' && e.b[n-1] != '[' {
		e.b = append(e.b, ',')
	}
	e.b = append(append(append(e.b, '"'), k...), '"', ':')
}

// num writes a number with so many decimals.
func (e *encoder) num(k string, v float64, decimals int) {
	e.key(k)
	e.b = strconv.AppendFloat(e.b, v, 'f', decimals, 64)
}

// str writes a string, any string; an empty one is left out.
func (e *encoder) str(k, v string) {
	if v == "" {
		return
	}
	e.key(k)
	quoted, err := json.Marshal(v)
	if err != nil { // a Go string always marshals
		panic(err)
	}
	e.b = append(e.b, quoted...)
}

// raw writes a value that is JSON already.
func (e *encoder) raw(k, v string) {
	e.key(k)
	e.b = append(e.b, v...)
}

// list writes an array of strings.
func (e *encoder) list(k string, vs []string) {
	if vs == nil {
		vs = []string{}
	}
	quoted, err := json.Marshal(vs)
	if err != nil {
		panic(err)
	}
	e.raw(k, string(quoted))
}

func (e *encoder) open(k string) {
	e.key(k)
	e.b = append(e.b, '{')
}

func (e *encoder) shut() { e.b = append(e.b, '}') }

// done ends the payload.
func (e *encoder) done() []byte {
	e.shut()
	return e.b
}
