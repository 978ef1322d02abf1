package rules

import (
	"fmt"
	"slices"
	"strings"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// unknownKept is how many names that the sheet does not have are kept of a run.
const unknownKept = 16

// withSheetName is the message with the sheet's name for its step, where a person
// explained which step the unit means. The message itself stays as received.
func (u *Unit) withSheetName(m *lab.Message) *lab.Message {
	if m.Step == nil || m.Step.Step == "" || m.Step.Run == "" || len(u.entries) == 0 && !u.hasNames() {
		return m
	}
	names := u.namesOf(m.Step)
	i := slices.IndexFunc(names, func(n lab.StepName) bool { return n.Name == m.Step.Step && n.Step != "" })
	if i < 0 {
		return m
	}
	sh, ok := u.sheetOf(m.Step)
	if !ok || sh.Index(m.Step.Step) >= 0 || sh.Index(names[i].Step) < 0 {
		return m // a name that is on the sheet means that step
	}
	out, st := *m, *m.Step
	st.Step, out.Step = names[i].Step, &st
	return &out
}

func (u *Unit) hasNames() bool { return u.s.Run != nil && len(u.s.Run.Fig.Names) > 0 }

// namesOf are the names that hold for the run of a step message.
func (u *Unit) namesOf(st *lab.Step) []lab.StepName {
	if r := u.s.Run; r != nil && r.Name == st.Run {
		return r.Fig.Names
	}
	return u.figuresAt(u.s.now(), st).Names
}

func (u *Unit) sheetOf(st *lab.Step) (*process.Sheet, bool) {
	if r := u.s.Run; r != nil && r.Name == st.Run {
		sh := u.sheet()
		return sh, sh != nil
	}
	return u.cfg.SheetsAt(u.s.now()).Sheet(st.Process)
}

// stepUnknown raises step-unknown for a name that is not on the sheet, unless a
// person accepted it for this unit. It may be any step under another name, so
// that from then on no step of the run counts as skipped.
func (u *Unit) stepUnknown(c *runStep) {
	sh, r := u.sheet(), u.s.Run
	if sh == nil || c.Index >= 0 || !r.followed() || slices.Contains(r.Unknown, c.ID) || len(r.Unknown) >= unknownKept {
		return
	}
	if slices.ContainsFunc(r.Fig.Names, func(n lab.StepName) bool { return n.Name == c.ID && n.Step == "" }) {
		return
	}
	r.Unknown = append(r.Unknown, c.ID)
	a := alertKey{rule: RuleStepUnknown, run: true}
	w := alertContent{priority: lab.High, message: unknownWords(r.Unknown, sh),
		facts: map[string]any{"names": slices.Clone(r.Unknown), "process": r.Process, "n": c.N}}
	if u.open(a) != nil {
		u.change(a, w, false)
		return
	}
	u.raise(a, u.s.Clock.T, w)
}

// sheetMissingWords says that a process has no sheet, and which process the
// unit likely means.
func (u *Unit) sheetMissingWords(id string) string {
	text := fmt.Sprintf("No sheet for process %q: times and temperatures are not judged", id)
	if near := lab.Nearest(id, u.book().IDs()); near != "" {
		text += fmt.Sprintf(". Did you mean %q?", near)
	}
	return text
}

// unknownWords says which names the sheet does not have.
func unknownWords(names []string, sh *process.Sheet) string {
	if len(names) == 1 {
		return fmt.Sprintf("Step name %q is not on the %s sheet", names[0], sh.Name) + lab.DidYouMean(names[0], sh.StepIDs())
	}
	const said = 3
	list := make([]string, 0, said)
	for _, n := range names[:min(len(names), said)] {
		list = append(list, fmt.Sprintf("%q", n))
	}
	more := ""
	if n := len(names) - said; n > 0 {
		more = fmt.Sprintf(" and %d more", n)
	}
	return fmt.Sprintf("%d step names are not on the %s sheet: %s%s", len(names), sh.Name, strings.Join(list, ", "), more)
}
