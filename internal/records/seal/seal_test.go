package seal

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"wetside/internal/lab"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// Leaf and tree hashes are those of RFC 6962, section 2.1: SHA-256 of 0x00 and
// the leaf, SHA-256 of 0x01 and both children; a lone right child goes up as
// it is. Computed here by hand from the RFC's text.
func TestRootsAreThoseOfTheRFC(t *testing.T) {
	leaf := func(s string) [32]byte { return sha256.Sum256([]byte("\x00" + s)) }
	node := func(a, b [32]byte) [32]byte {
		return sha256.Sum256(append(append([]byte{1}, a[:]...), b[:]...))
	}
	want := node(node(node(leaf("a"), leaf("b")), node(leaf("c"), leaf("d"))), leaf("e"))
	var m MemoryLog
	for _, s := range []string{"a", "b", "c", "d", "e"} {
		if _, err := m.Add(LeafHash([]byte(s))); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := m.Root(5); err != nil || got != want {
		t.Errorf("root %s, %v; want %s", hex.EncodeToString(got[:]), err, hex.EncodeToString(want[:]))
	}
}

// A log that grows in any portions stores the same hashes and has the same
// root as one that grows leaf by leaf.
func TestGrowInPortions(t *testing.T) {
	var whole MemoryLog
	stored := map[int64]tlog.Hash{}
	size := int64(0)
	read := func(indexes []int64) ([]tlog.Hash, error) {
		out := make([]tlog.Hash, len(indexes))
		for i, index := range indexes {
			h, ok := stored[index]
			if !ok {
				return nil, fmt.Errorf("no hash %d", index)
			}
			out[i] = h
		}
		return out, nil
	}
	for _, portion := range []int{1, 1, 2, 3, 5, 1, 8, 13, 2} {
		var leaves []tlog.Hash
		for range portion {
			h := LeafHash(fmt.Appendf(nil, "record %d", int(size)+len(leaves)))
			leaves = append(leaves, h)
			if _, err := whole.Add(h); err != nil {
				t.Fatal(err)
			}
		}
		g, err := Grow(size, read, leaves)
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range g.Add {
			stored[h.Index] = h.Hash
		}
		size = g.Size
		if root, err := whole.Root(size); err != nil || root != g.Root {
			t.Fatalf("at %d leaves: root %s, %v; want %s", size, g.Root, err, root)
		}
	}
	if int64(len(stored)) != tlog.StoredHashCount(size) {
		t.Errorf("%d hashes stored; want %d", len(stored), tlog.StoredHashCount(size))
	}
	if _, err := Grow(size, read, nil); err == nil {
		t.Error("grown by nothing")
	}
	delete(stored, 0)
	if _, err := Grow(1, read, []tlog.Hash{{}}); err == nil {
		t.Error("grown over a hash that is missing")
	}
}

func newKey(t *testing.T) *Key {
	t.Helper()
	private, err := NewKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	key, err := ParseKey(" " + private + "\n")
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// Any changed byte of a checkpoint is refused.
func TestCheckpoints(t *testing.T) {
	key, other := newKey(t), newKey(t)
	c := Checkpoint{Size: 12, Root: LeafHash([]byte("x")), After: 9, At: noon}
	text, err := c.Sign(key)
	if err != nil {
		t.Fatal(err)
	}
	got, err := OpenCheckpoint(text, other.Verifier(), key.Verifier())
	if err != nil || got != c {
		t.Errorf("got %+v, %v; want %+v", got, err, c)
	}
	if _, err := OpenCheckpoint(text, other.Verifier()); err == nil || !strings.Contains(err.Error(), ErrUnknownKey.Error()) {
		t.Errorf("by another key: %v", err)
	}
	for i := range text {
		for bit := range 8 {
			b := []byte(text)
			b[i] ^= 1 << bit
			if _, err := OpenCheckpoint(string(b), key.Verifier()); err == nil {
				t.Errorf("byte %d changed and still accepted:\n%s", i, b)
			}
		}
	}
	_, signature, _ := strings.Cut(text, "\n\n")
	for what, changed := range map[string]string{
		"signed twice":              text + signature,
		"a return in the signature": strings.Replace(text, "=\n", "\r=\n", 1),
		"unused bits set":           unusedBitsSet(text),
	} {
		if _, err := OpenCheckpoint(changed, key.Verifier()); err == nil || changed == text {
			t.Errorf("%s: still accepted:\n%s", what, changed)
		}
	}
	for _, wrong := range []string{"", "nonsense", "PRIVATE+KEY+other+00000000+AAAA", key.Verifier()} {
		if _, err := ParseKey(wrong); err == nil || wrong != "" && strings.Contains(err.Error(), wrong) {
			t.Errorf("%q: %v; want a refusal that does not show it", wrong, err)
		}
	}
	if _, err := ParseVerifier("x"); err == nil {
		t.Error("x was taken for a verifier key")
	}
}

// unusedBitsSet writes the signature, of 68 bytes, in another form of the same
// bytes: the last character before the = has two bits that stand for nothing.
func unusedBitsSet(text string) string {
	const alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
	b := []byte(text)
	last := len(b) - len("=\n") - 1
	b[last] = alphabet[strings.IndexByte(alphabet, b[last])+1]
	return string(b)
}

// Payloads come back byte for byte, whatever is in them.
func TestRecordKeepsWhatWasReceived(t *testing.T) {
	r := Record{Head: Head{RunID: "r1", SealedAt: noon, Program: "wetside test"}, Run: lab.Run{ID: "r1"},
		Features: []byte("{}"), Evidence: []byte(`{"a":[1,2]}`),
		Entries: []lab.Entry{{ID: "e1", Arrival: 3, What: lab.EntryNote, By: "robin", At: noon, Entered: noon, Body: []byte(`{ "text" : "<b>&  }` + "\u2028" + `"}`)}}}
	payloads := []string{`{"at": "x",  "a":1}`, "", "\x00\xff\xfe", "{\"a\":\"\u2028<&>\"}\r\n", `{"evidence":`, "}\n{"}
	for i, p := range payloads {
		r.Messages = append(r.Messages, Message{Raw: lab.Raw{Topic: "t", Received: noon, Payload: []byte(p)}, Arrival: int64(i + 1), At: noon})
	}
	b, err := r.Encode()
	if err != nil {
		t.Fatal(err)
	}
	got, err := Parse(b)
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range payloads {
		if string(got.Messages[i].Payload) != p {
			t.Errorf("payload %q came back as %q", p, got.Messages[i].Payload)
		}
	}
	if string(got.Entries[0].Body) != string(r.Entries[0].Body) || got.Entries[0].Arrival != 3 {
		t.Errorf("entry %+v", got.Entries[0])
	}
	again, err := got.Encode()
	if err != nil || string(again) != string(b) {
		t.Errorf("written again it is another (%v):\n%s\n%s", err, b, again)
	}
	if e, err := EvidenceOf(b); err != nil || string(e) != `{"a":[1,2]}` {
		t.Errorf("evidence %s, %v", e, err)
	}
	for cut := range len(b) {
		if _, err := Parse(b[:cut]); err == nil && !strings.HasSuffix(string(b[:cut]), "\n") {
			t.Errorf("cut to %d bytes it still reads", cut)
		}
	}
}
