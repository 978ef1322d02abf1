// Command run judges the rules on simulated runs and prints the table; it
// exits 1 where a target was missed and 2 on wrong usage.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"strconv"
	"time"

	"wetside/internal/judge"
)

func main() { os.Exit(run()) }

func run() int {
	seed := flag.String("seed", "judge", "range of seeds: judge, dev, or FIRST+COUNT such as 5000+50")
	one := flag.Uint64("one", 0, "one seed: print all that is known of its run")
	misses := flag.Int("misses", 0, "list what was wrong, at most so many of a kind")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if *one > 0 {
		if err := judge.One(ctx, os.Stdout, *one); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		return 0
	}
	seeds, err := parse(*seed)
	if err != nil || flag.NArg() > 0 {
		fmt.Fprintf(os.Stderr, "%v\n", err)
		flag.Usage()
		return 2
	}
	score, err := judge.Judge(ctx, seeds)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	score.Print(os.Stdout)
	if *misses > 0 {
		fmt.Println()
		score.Misses(os.Stdout, *misses)
	}
	fmt.Fprintf(os.Stderr, "\ntook %v\n", score.Took.Round(time.Second))
	if score.Failed() {
		return 1
	}
	return 0
}

func parse(s string) (judge.Seeds, error) {
	switch s {
	case judge.ForJudging.Name:
		return judge.ForJudging, nil
	case judge.ForDevelopment.Name:
		return judge.ForDevelopment, nil
	}
	var first uint64
	var count int
	if n, err := fmt.Sscanf(s, "%d+%d", &first, &count); n != 2 || err != nil || count < 1 {
		return judge.Seeds{}, fmt.Errorf("seeds %s: want judge, dev, or FIRST+COUNT such as 5000+50", strconv.Quote(s))
	}
	return judge.Seeds{Name: "given", First: first, Count: count}, nil
}
