package report

import (
	"fmt"
	"math"
	"strings"

	"wetside/internal/lab"
)

func elapsedOr(s *float64, or string) string {
	if s == nil {
		return or
	}
	return lab.Elapsed(*s)
}

func degrees(c *float64) string {
	if c == nil {
		return "-"
	}
	return fmt.Sprintf("%.2f", *c)
}

func stops(v *float64) string {
	if v == nil {
		return "-"
	}
	return fmt.Sprintf("%+.2f", *v)
}

// thirdsOfAStop says stops in thirds, as exposure is spoken of.
func thirdsOfAStop(v float64) string {
	n := int(math.Round(min(math.Abs(v), 20) * 3)) // a record may hold what no film can show
	if n == 0 {
		return "less than a third of a stop"
	}
	word := "pushed"
	if v < 0 {
		word = "pulled"
	}
	whole, rest := n/3, []string{"", "1/3", "2/3"}[n%3]
	out := rest
	if whole > 0 {
		out = strings.TrimSpace(fmt.Sprintf("%d %s", whole, rest))
	}
	if n > 3 {
		return fmt.Sprintf("about %s stops %s", out, word)
	}
	if n == 3 {
		return "about a stop " + word
	}
	return fmt.Sprintf("about %s stop %s", out, word)
}

// stepWords names a step for people: "first developer".
func stepWords(id string) string { return strings.ReplaceAll(id, "-", " ") }

// verdictWords says the verdict for people, with what to do.
func verdictWords(run lab.Run) (word, do string) {
	if run.Verdict == nil {
		if run.Outcome == lab.OutcomeRunning {
			return "still running", ""
		}
		return "not judged", "No film to judge, or no sheet to judge it by."
	}
	switch *run.Verdict {
	case lab.InControl:
		return "in control", "Nothing out of order was found."
	case lab.OutOfControl:
		return "out of control", "Hold the film. A person looks before anything is decided."
	}
	return "inspect", "A person looks at the film before it goes out."
}

// pushWords says the push error in one line.
func pushWords(run lab.Run) string {
	if run.PushErrorStops == nil {
		return ""
	}
	out := fmt.Sprintf("Push error %+.2f stop (%s)", *run.PushErrorStops, thirdsOfAStop(*run.PushErrorStops))
	for _, s := range run.Steps {
		if s.PushErrorStops != nil && *s.PushErrorStops == *run.PushErrorStops && s.PushErrorLowStops != nil && s.PushErrorHighStops != nil {
			return out + fmt.Sprintf(", between %+.2f and %+.2f.", *s.PushErrorLowStops, *s.PushErrorHighStops)
		}
	}
	return out + "."
}

// rollNumbers names the rolls at the head of a report, "" where none is known.
func rollNumbers(run lab.Run) string {
	var n []string
	for _, x := range run.Rolls {
		n = append(n, x.TwinCheck)
	}
	if len(n) == 0 {
		return ""
	}
	return "Rolls: " + strings.Join(n, ", ") + "."
}

// processWords is the process with its push.
func processWords(r lab.Report) string {
	name := r.Run.Process
	if r.JudgedBy.SheetName != "" {
		name = r.JudgedBy.SheetName
	}
	switch {
	case r.Run.Push > 0:
		return fmt.Sprintf("%s, push %s", name, num(r.Run.Push))
	case r.Run.Push < 0:
		return fmt.Sprintf("%s, pull %s", name, num(-r.Run.Push))
	}
	return name
}

var codeWords = map[string]string{
	"bath-warm": "bath too warm", "bath-cool": "bath too cool", "bath-swings": "bath swings", "step-long": "step too long", "step-short": "step too short",
	"step-skipped": "step skipped", "rotation": "tank stood still", "outage": "mains power lost", "wrong-time": "wrong time set",
	"wrong-process": "wrong process", "chemistry": "chemistry", "dryer": "dryer too hot", "missing-evidence": "not all heard",
	"out-of-pattern": "unlike the good runs", "aborted": "aborted",
}

func codeWord(code string) string {
	if w, ok := codeWords[code]; ok {
		return w
	}
	return strings.ReplaceAll(code, "-", " ")
}
