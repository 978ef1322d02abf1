package seal_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"wetside/internal/lab"
	"wetside/internal/records/seal"
)

// A record is sealed, put into the log, and the log signed. Whoever has the
// verifier key can check it later: of a record in which one letter was changed
// the log has another root than the one that was signed.
func Example() {
	private, err := seal.NewKey(bytes.NewReader(make([]byte, 64))) // a real key takes its seed from crypto/rand
	must(err)
	key, err := seal.ParseKey(private)
	must(err)

	sealedAt := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	record := seal.Record{Head: seal.Head{RunID: "run-1", SealedAt: sealedAt}, Run: lab.Run{ID: "run-1", Process: "c41"},
		Features: json.RawMessage(`{}`), Evidence: json.RawMessage(`{}`)}
	content, err := record.Encode()
	must(err)

	var log seal.MemoryLog
	_, err = log.Add(seal.LeafHash(content))
	must(err)
	root, err := log.Root(log.Size())
	must(err)
	signed, err := seal.Checkpoint{Size: log.Size(), Root: root, At: sealedAt}.Sign(key)
	must(err)

	verify := func(content []byte) bool {
		checkpoint, err := seal.OpenCheckpoint(signed, key.Verifier())
		must(err)
		grown, err := seal.Grow(0, nil, []tlog.Hash{seal.LeafHash(content)})
		must(err)
		return grown.Root == checkpoint.Root
	}
	fmt.Println("as it was sealed:", verify(content))
	fmt.Println("changed since:", verify(bytes.Replace(content, []byte("c41"), []byte("c42"), 1)))
	// Output:
	// as it was sealed: true
	// changed since: false
}

func must(err error) {
	if err != nil {
		panic(err)
	}
}
