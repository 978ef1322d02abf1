package replay

import (
	"container/heap"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"wetside/internal/lab"
)

// Survey reads captures to their ends, so that a bad line is found before
// anything is done, and groups those that share a unit.
func Survey(ctx context.Context, names []string) (groups [][]string, lines int, err error) {
	of := map[lab.UnitID]int{} // unit -> the first capture that has it
	parent := make([]int, len(names))
	find := func(i int) int {
		for parent[i] != i {
			i = parent[i]
		}
		return i
	}
	for i, name := range names {
		parent[i] = i
		err := eachLine(ctx, name, func(raw lab.Raw) error {
			lines++
			unit, _, _ := lab.ParseTopic(raw.Topic) // an unknown channel still names its unit
			if !unit.Valid() {
				return nil
			}
			first, ok := of[unit]
			if !ok {
				of[unit] = i
				return nil
			}
			// The lower number stays the root: groups keep the order given.
			a, b := find(first), find(i)
			parent[max(a, b)] = min(a, b)
			return nil
		})
		if err != nil {
			return nil, 0, err
		}
	}
	at := map[int]int{}
	for i, name := range names {
		root := find(i)
		g, ok := at[root]
		if !ok {
			g = len(groups)
			at[root] = g
			groups = append(groups, nil)
		}
		groups[g] = append(groups[g], name)
	}
	return groups, lines, nil
}

// eachLine calls do with every line of a capture.
func eachLine(ctx context.Context, name string, do func(lab.Raw) error) error {
	f, err := openCapture(name)
	if err != nil {
		return err
	}
	defer f.Close()
	r := lab.NewCaptureReader(name, f)
	for {
		raw, err := r.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err == nil {
			err = ctx.Err() // a signal ends the longest capture
		}
		if err != nil {
			return lineError(name, err)
		}
		if err := do(raw); err != nil {
			return err
		}
	}
}

func lineError(name string, err error) error {
	if lab.KindOf(err) == lab.KindInvalid {
		return err // names file and line
	}
	return fmt.Errorf("read capture %s: %w", name, err)
}

// openCapture opens a plain file. It looks before it opens: a pipe that nobody
// writes to would never let go.
func openCapture(name string) (*os.File, error) {
	st, err := os.Stat(name)
	switch {
	case err != nil:
		return nil, fmt.Errorf("capture %w", err)
	case st.Mode().IsDir():
		return nil, fmt.Errorf("capture %s is a folder; give a file of JSON Lines", name)
	case !st.Mode().IsRegular():
		return nil, fmt.Errorf("capture %s is no plain file; it is read twice, so write it to a file first", name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("capture %w", err)
	}
	return f, nil
}

// Merge reads captures as one, by received_at. Lines of one capture stay in
// their order: one that says an earlier moment than the line before it counts
// as arrived with that. At the same moment the capture named first goes first.
func Merge(names []string, do func(lab.Raw) error) error {
	var q sources
	defer func() {
		for _, s := range q {
			s.file.Close()
		}
	}()
	for i, name := range names {
		f, err := openCapture(name)
		if err != nil {
			return err
		}
		s := &source{name: name, rank: i, file: f, r: lab.NewCaptureReader(name, f)}
		q = append(q, s)
		if err := s.advance(); err != nil {
			return err
		}
	}
	heap.Init(&q)
	for q.Len() > 0 {
		s := q[0]
		if s.done {
			s.file.Close()
			heap.Pop(&q)
			continue
		}
		if err := do(s.next); err != nil {
			return err
		}
		if err := s.advance(); err != nil {
			return err
		}
		heap.Fix(&q, 0)
	}
	return nil
}

// source is one capture being merged.
type source struct {
	name string
	rank int
	file *os.File
	r    *lab.CaptureReader
	next lab.Raw
	at   time.Time // the latest received_at read
	done bool
}

func (s *source) advance() error {
	raw, err := s.r.Next()
	if errors.Is(err, io.EOF) {
		s.done = true
		return nil
	}
	if err != nil {
		return lineError(s.name, err)
	}
	s.next = raw
	if raw.Received.After(s.at) {
		s.at = raw.Received
	}
	return nil
}

// sources is a heap: the earliest line first.
type sources []*source

func (q sources) Len() int { return len(q) }
func (q sources) Less(i, j int) bool {
	if q[i].done != q[j].done {
		return q[i].done
	}
	if !q[i].at.Equal(q[j].at) {
		return q[i].at.Before(q[j].at)
	}
	return q[i].rank < q[j].rank
}
func (q sources) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *sources) Push(x any)   { *q = append(*q, x.(*source)) }
func (q *sources) Pop() any {
	old := *q
	s := old[len(old)-1]
	*q = old[:len(old)-1]
	return s
}
