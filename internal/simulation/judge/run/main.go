// Command run judges the rules on simulated runs and prints the table; it
// exits 1 where a target was missed and 2 on wrong usage.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"strconv"
	"time"

	"wetside/internal/simulation/judge"
)

func main() { os.Exit(run()) }

func run() int {
	seed := flag.String("seed", "judge", "range of seeds: judge, dev, or FIRST+COUNT such as 5000+50")
	one := flag.Uint64("one", 0, "one seed: print all that is known of its run")
	misses := flag.Int("misses", 0, "list what was wrong, at most so many of a kind")
	part := flag.String("part", "all", "what is judged: all, runs, odd, week or levels")
	only := flag.String("row", "", "of the odd world, only rows with this in their name; of levels, only the fault of this name, or sound")
	said := flag.Bool("said", true, "print what wetside says of each fault of the odd world")
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
	if err != nil || flag.NArg() > 0 || !slices.Contains(parts, *part) {
		fmt.Fprintf(os.Stderr, "%v; part is one of %v\n", err, parts)
		flag.Usage()
		return 2
	}
	began, failed := time.Now(), false
	for _, p := range parts[1:] {
		if *part != "all" && *part != p {
			continue
		}
		missed, err := does[p](ctx, seeds, *misses, *only, *said)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		failed = failed || missed
		fmt.Println()
	}
	fmt.Fprintf(os.Stderr, "took %v\n", time.Since(began).Round(time.Second))
	if failed {
		return 1
	}
	return 0
}

var parts = []string{"all", "runs", "odd", "week", "levels"}

// does judges one part, prints it and tells whether a target was missed.
var does = map[string]func(ctx context.Context, seeds judge.Seeds, misses int, only string, said bool) (bool, error){
	"runs": func(ctx context.Context, seeds judge.Seeds, misses int, _ string, _ bool) (bool, error) {
		score, err := judge.Judge(ctx, seeds)
		if err != nil {
			return false, err
		}
		score.Print(os.Stdout)
		if misses > 0 {
			fmt.Println()
			score.Misses(os.Stdout, misses)
		}
		return score.Failed(), nil
	},
	"odd": func(ctx context.Context, seeds judge.Seeds, misses int, only string, said bool) (bool, error) {
		odd, err := judge.JudgeOdd(ctx, seeds, only)
		if err != nil {
			return false, err
		}
		odd.Print(os.Stdout)
		if misses > 0 {
			fmt.Println()
			odd.Misses(os.Stdout, misses)
		}
		if said {
			fmt.Println("\nwhat wetside says of each fault (its first case):")
			odd.Say(os.Stdout)
		}
		return odd.Failed(), nil
	},
	"week": func(ctx context.Context, seeds judge.Seeds, misses int, _ string, _ bool) (bool, error) {
		week, err := judge.JudgeWeek(ctx, seeds)
		if err != nil {
			return false, err
		}
		week.Print(os.Stdout)
		if misses > 0 {
			week.Misses(os.Stdout, misses)
		}
		return week.Failed(), nil
	},
	"levels": func(ctx context.Context, seeds judge.Seeds, misses int, only string, _ bool) (bool, error) {
		levels, err := judge.JudgeLevels(ctx, seeds, only)
		if err != nil {
			return false, err
		}
		levels.Print(os.Stdout)
		if misses > 0 {
			levels.Misses(os.Stdout, misses)
		}
		return levels.Failed(), nil
	},
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
