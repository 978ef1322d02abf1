package judge

import (
	"context"
	"runtime"
	"sync"
	"time"
)

// Seeds is a range of seeds.
type Seeds struct {
	Name  string
	First uint64
	Count int
}

// The two ranges: rules are worked on with the one and judged by the other,
// which nobody looks at while working.
var (
	ForJudging     = Seeds{Name: "judge", First: 7_000_001, Count: 1000}
	ForDevelopment = Seeds{Name: "dev", First: 1001, Count: 400}
)

// Judge judges all runs of a range.
func Judge(ctx context.Context, seeds Seeds) (*Score, error) {
	began := time.Now()
	out := make([]outcome, seeds.Count)
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				out[i] = judgeSeed(ctx, seeds.First+uint64(i))
			}
		})
	}
	for i := range out {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for _, o := range out {
		if o.err != nil {
			return nil, o.err
		}
	}
	s := newScore(seeds, out)
	s.Took = time.Since(began)
	return s, nil
}

func judgeSeed(ctx context.Context, seed uint64) outcome {
	p, err := play(ctx, drawScenario(seed))
	if err != nil {
		return outcome{err: err}
	}
	return p.judgeRun()
}
