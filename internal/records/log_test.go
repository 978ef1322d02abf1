package records_test

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/internal/records"
	"wetside/internal/records/seal"
)

// proofs are what seal/testdata/checklog reads.
type proofs struct {
	Verifier    string
	Checkpoints []string
	Grown       []tlog.TreeProof
	Records     []proof
}

type proof struct {
	Leaf  int64
	Bytes []byte
	Proof tlog.RecordProof
}

// The log that stands in the database holds before the library's own verifier
// (golang.org/x/mod/sumdb), run as a program of its own: every checkpoint's
// signature, that each continues the one before, and that every record is in
// the last. A record of which one byte is another is not.
func TestTheLogBeforeAnotherProgram(t *testing.T) {
	t.Parallel()
	m := sealedMorning(t)
	in := m.proofs()
	program := filepath.Join(t.TempDir(), "checklog")
	if out, err := exec.CommandContext(t.Context(), "go", "build", "-o", program, "./seal/testdata/checklog").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	check := func(in proofs) (string, error) {
		cmd := exec.CommandContext(t.Context(), program)
		b, err := json.Marshal(in)
		if err != nil {
			t.Fatal(err)
		}
		cmd.Stdin = bytes.NewReader(b)
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	if out, err := check(in); err != nil || !strings.HasSuffix(strings.TrimSpace(out), ", 7 records, 7 leaves") {
		t.Errorf("%v: %s", err, out)
	}
	in.Records[3].Bytes[len(in.Records[3].Bytes)/2] ^= 1
	if out, err := check(in); err == nil || !strings.Contains(out, "record at leaf 3") {
		t.Errorf("a changed byte: %v: %s", err, out)
	}
	in.Records = nil
	in.Checkpoints[1] = in.Checkpoints[2]
	if out, err := check(in); err == nil {
		t.Errorf("a checkpoint in the place of another: %s", out)
	}
}

// proofs proves all that is in the log, from the hashes as they are stored.
func (m *morning) proofs() proofs {
	m.t.Helper()
	hashes := tlog.HashReaderFunc(func(indexes []int64) ([]tlog.Hash, error) {
		got, err := m.store.LogHashes(m.t.Context(), indexes)
		out := make([]tlog.Hash, len(got))
		for i := range got {
			out[i] = tlog.Hash(got[i])
		}
		return out, err
	})
	must := func(err error) {
		if err != nil {
			m.t.Fatal(err)
		}
	}
	in := proofs{Verifier: m.key.Verifier()}
	content := map[int64][]byte{}
	var sizes []int64
	must(m.store.ReadLog(m.t.Context(), func(v *postgres.LogView) error {
		must(v.Checkpoints(m.t.Context(), func(size int64, note string) error {
			sizes, in.Checkpoints = append(sizes, size), append(in.Checkpoints, note)
			return nil
		}))
		must(v.Records(m.t.Context(), func(r lab.StoredRecord) error {
			b, err := records.Unpack(r)
			content[r.Leaf] = b
			return err
		}))
		return v.SealedEntries(m.t.Context(), func(e lab.StoredEntry) error {
			content[e.Leaf] = e.Body
			return nil
		})
	}))
	size := sizes[len(sizes)-1]
	for i := 1; i < len(sizes); i++ {
		p, err := tlog.ProveTree(sizes[i], sizes[i-1], hashes)
		must(err)
		in.Grown = append(in.Grown, p)
	}
	for leaf := range size {
		p, err := tlog.ProveRecord(size, leaf, hashes)
		must(err)
		in.Records = append(in.Records, proof{leaf, content[leaf], p})
	}
	return in
}

// The same record gives the same bytes, and what it gives reads back to the
// same record.
func TestRecordsAreCanonical(t *testing.T) {
	t.Parallel()
	m := sealedMorning(t)
	err := m.store.ReadLog(t.Context(), func(v *postgres.LogView) error {
		return v.Records(t.Context(), func(r lab.StoredRecord) error {
			b, err := records.Unpack(r)
			if err != nil {
				return err
			}
			rec, err := seal.Parse(b)
			if err != nil {
				return err
			}
			again, err := rec.Encode()
			if err != nil || !bytes.Equal(b, again) {
				t.Errorf("record at leaf %d does not come out the same when written again (%v)", r.Leaf, err)
			}
			for _, msg := range rec.Messages {
				stored := one[[]byte](t, m.conn, `SELECT payload FROM telemetry WHERE arrival = $1`, msg.Arrival)
				if !bytes.Equal(stored, msg.Payload) {
					t.Fatalf("message %d is not as it was received: %s, stored %s", msg.Arrival, msg.Payload, stored)
				}
			}
			return nil
		})
	})
	if err != nil {
		t.Fatal(err)
	}
}
