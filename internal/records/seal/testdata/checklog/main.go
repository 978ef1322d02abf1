// Checklog checks a record log with nothing of wetside: only the log's own
// library, golang.org/x/mod/sumdb. It is run as a program of its own, so that
// writer and checker share neither code nor memory.
//
// It reads JSON from stdin: the verifier key, signed checkpoints in order,
// proofs that each checkpoint's log begins with that of the one before, and
// records with the proof that each is in the last log. It prints what it
// checked, or says what is wrong and exits with 1.
package main

import (
	"encoding/json"
	"fmt"
	"os"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"
)

type input struct {
	Verifier    string
	Checkpoints []string
	Grown       []tlog.TreeProof // from each checkpoint to the next
	Records     []struct {
		Leaf  int64
		Bytes []byte
		Proof tlog.RecordProof
	}
}

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "checklog:", err)
		os.Exit(1)
	}
}

func run() error {
	var in input
	if err := json.NewDecoder(os.Stdin).Decode(&in); err != nil {
		return err
	}
	verifier, err := note.NewVerifier(in.Verifier)
	if err != nil {
		return err
	}
	var size int64
	var root tlog.Hash
	for i, text := range in.Checkpoints {
		n, err := note.Open([]byte(text), note.VerifierList(verifier))
		if err != nil {
			return fmt.Errorf("checkpoint %d: %w", i, err)
		}
		lines := strings.Split(n.Text, "\n")
		newSize, err := strconv.ParseInt(lines[1], 10, 64)
		if err != nil {
			return fmt.Errorf("checkpoint %d: %w", i, err)
		}
		newRoot, err := tlog.ParseHash(lines[2])
		if err != nil {
			return fmt.Errorf("checkpoint %d: %w", i, err)
		}
		if i > 0 {
			if err := tlog.CheckTree(in.Grown[i-1], newSize, newRoot, size, root); err != nil {
				return fmt.Errorf("checkpoint %d does not continue the one before: %w", i, err)
			}
		}
		size, root = newSize, newRoot
	}
	for _, r := range in.Records {
		if err := tlog.CheckRecord(r.Proof, size, root, r.Leaf, tlog.RecordHash(r.Bytes)); err != nil {
			return fmt.Errorf("record at leaf %d: %w", r.Leaf, err)
		}
	}
	fmt.Printf("%d checkpoints, %d records, %d leaves\n", len(in.Checkpoints), len(in.Records), size)
	return nil
}
