package seal

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// FuzzRecord: a record that was altered anywhere is refused with a reason or
// read; it never ends the reader, and what is read can be written.
func FuzzRecord(f *testing.F) {
	seeds, err := filepath.Glob("testdata/*")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range seeds {
		if b, err := os.ReadFile(name); err == nil && len(b) < 32<<10 {
			f.Add(b)
		}
	}
	whole := &Record{Head: Head{Kind: KindRun, Version: formWhole, RunID: "x"}}
	whole.Run.ID = "x"
	b, err := whole.Encode()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Add(b[:len(b)/2])
	f.Add(bytes.ReplaceAll(b, []byte("{"), []byte("[")))
	f.Add([]byte(`{"record":"run","version":1}` + "\n" + `{"run":null}` + "\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		brief, briefErr := Brief(data)
		_, _ = EvidenceOf(data)
		_, _ = ParseEntry(data)
		r, err := Parse(data)
		if err != nil {
			return
		}
		if briefErr != nil || brief.RunID != r.RunID {
			t.Fatalf("read whole, but its beginning is not: %v", briefErr)
		}
		if _, err := r.Encode(); err != nil {
			t.Fatalf("read, but it cannot be written: %v", err)
		}
	})
}

// FuzzCheckpoint: whatever stands where a signed checkpoint should, it is
// refused or it is one; a text without the signature never is.
func FuzzCheckpoint(f *testing.F) {
	for _, s := range []string{"", "\n", "wetside-records\n1\nAAAA\n\n— a b\n", "wetside-records\n-1\n\n\n", "wetside-records\n9223372036854775808\nx\n\n— wetside-records AAAA\n", strings.Repeat("— \n", 400)} {
		f.Add(s)
	}
	private, err := NewKey(bytes.NewReader(bytes.Repeat([]byte{7}, 64)))
	if err != nil {
		f.Fatal(err)
	}
	key, err := ParseKey(private)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if c, err := OpenCheckpoint(text, key.Verifier()); err == nil {
			t.Fatalf("%q opens as %+v: nobody signed it", text, c)
		}
		_, _ = ParseKey(text)
		_, _ = ParseVerifier(text)
	})
}
