package postgres_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
)

var (
	plover = lab.UnitID{Lab: "tern-street", Unit: "plover"}
	heron  = lab.UnitID{Lab: "tern-street", Unit: "heron"}
	noon   = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
)

// temp is a good temp message, received a tenth of a second after it was sent.
func temp(u lab.UnitID, boot string, seq int64, at time.Time, bath float64) lab.Message {
	name, _ := json.Marshal(boot)
	payload := fmt.Sprintf(`{"at":%q,"boot":%s,"seq":%d,"bath_c":%g}`, lab.At(at), name, seq, bath)
	return decoded(lab.Raw{Topic: lab.Topic(u, lab.ChannelTemp), Payload: []byte(payload), Received: at.Add(100 * time.Millisecond)})
}

func step(u lab.UnitID, boot string, seq int64, at time.Time, body lab.Step) lab.Message {
	b, _ := json.Marshal(body)
	payload := fmt.Sprintf(`{"at":%q,"boot":%q,"seq":%d,%s`, lab.At(at), boot, seq, b[1:])
	return decoded(lab.Raw{Topic: lab.Topic(u, lab.ChannelStep), Payload: []byte(payload), Received: at.Add(100 * time.Millisecond)})
}

func will(u lab.UnitID, received time.Time) lab.Message {
	return decoded(lab.Raw{Topic: lab.Topic(u, lab.ChannelStatus), Payload: []byte(`{"online":false}`), Received: received, Retained: true})
}

func decoded(raw lab.Raw) lab.Message {
	m, err := decode(raw)
	if err != nil {
		panic(err)
	}
	return m
}

// decode stands in for ingest's, whose checks the store does not depend on.
func decode(raw lab.Raw) (lab.Message, error) {
	unit, channel, err := lab.ParseTopic(raw.Topic)
	if err != nil {
		return lab.Message{}, err
	}
	var env struct {
		At   lab.Time `json:"at"`
		Boot string   `json:"boot"`
		Seq  int64    `json:"seq"`
		UpS  *float64 `json:"up_s"`
	}
	if err := json.Unmarshal(raw.Payload, &env); err != nil {
		return lab.Message{}, err
	}
	m := lab.Message{Unit: unit, Channel: channel, Boot: env.Boot, Seq: env.Seq, SentAt: env.At.Time, At: env.At.Time,
		Received: raw.Received, Retained: raw.Retained, UpS: env.UpS, Payload: raw.Payload}
	if m.Will = env.Boot == ""; m.Will {
		m.SentAt, m.At = time.Time{}, raw.Received
	} else if m.SentAt.Year() < 2020 {
		m.At, m.AtReplaced = raw.Received, true
	}
	var body any
	switch channel {
	case lab.ChannelStatus:
		m.Status = &lab.Status{}
		body = m.Status
	case lab.ChannelStep:
		m.Step = &lab.Step{}
		body = m.Step
	case lab.ChannelTemp:
		m.Temp = &lab.Temp{}
		body = m.Temp
	case lab.ChannelTank:
		m.Tank = &lab.Tank{}
		body = m.Tank
	case lab.ChannelPower:
		m.Power = &lab.Power{}
		body = m.Power
	case lab.ChannelMotion:
		m.Motion = &lab.Motion{}
		body = m.Motion
	}
	return m, json.Unmarshal(raw.Payload, body)
}

// held is a store of the test's own that holds the lab.
func held(t testing.TB) (*postgres.Store, int64, *pgx.Conn) {
	t.Helper()
	url := pgtest.New(t)
	store := pgtest.Store(t, postgres.Config{URL: url, Decode: decode})
	return store, pgtest.Lease(t, store), connect(t, url)
}

func connect(t testing.TB, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(t.Context()) })
	return conn
}

func mustAppend(t testing.TB, store *postgres.Store, term int64, msgs ...lab.Message) lab.AppendResult {
	t.Helper()
	res, err := store.Append(t.Context(), term, msgs, nil)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

func one[T any](t testing.TB, conn *pgx.Conn, sql string, args ...any) (v T) {
	t.Helper()
	if err := conn.QueryRow(t.Context(), sql, args...).Scan(&v); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return v
}
