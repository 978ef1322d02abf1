package web

import (
	"cmp"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"slices"
	"strings"
	"time"

	"wetside/internal/chemistry"
	"wetside/internal/lab"
	"wetside/internal/strips"
)

// mixKeeper has what is known of mixes and bottles at one moment.
type mixKeeper struct {
	lines     [][]lab.BookLine
	positions chemistry.Positions
	settings  lab.ChemistrySettings
	now       time.Time
}

func (s *Server) mixKeeper(ctx context.Context) (k mixKeeper, err error) {
	k.now = s.cfg.Clock.Now()
	if k.lines, err = s.cfg.Store.Lines(ctx, lab.BookMixes); err != nil {
		return k, err
	}
	if k.settings, err = s.cfg.Store.ChemistrySettings(ctx); err != nil {
		return k, err
	}
	entries, err := s.cfg.Store.Entries(ctx, lab.EntryFilter{What: []string{lab.EntryBottle}})
	k.positions = chemistry.PositionsOf(entries)
	return k, err
}

// used tells whether the lab uses mixes at all.
func (k mixKeeper) used() bool {
	return len(k.lines) > 0 || len(k.settings.Limits) > 0 || len(k.settings.Covers) > 0 || len(k.settings.Recipes) > 0
}

// find gives the versions of a mix, the first first.
func (k mixKeeper) find(id string) ([]lab.BookLine, error) {
	id = strings.ToUpper(strings.TrimSpace(id))
	for _, lines := range k.lines {
		if lines[0].ID == id {
			return lines, nil
		}
	}
	return nil, lab.Errorf(lab.KindNotFound, "there is no mix %q; labels of mixes begin with %s", brief(id), lab.MixPrefix)
}

// mix gives a mix as it stands.
func (k mixKeeper) mix(id string) (m lab.Mix, mixedAt time.Time, ok bool) {
	lines, err := k.find(id)
	if err != nil {
		return m, mixedAt, false
	}
	last := lines[len(lines)-1]
	return lab.LineBody[lab.Mix](last), last.At.Time, true
}

// active are the mixes that are neither used up nor withdrawn.
func (k mixKeeper) active() (ids []string) {
	for _, lines := range k.lines {
		if m := lab.LineBody[lab.Mix](lines[len(lines)-1]); !m.Done && m.Withdrawn == "" {
			ids = append(ids, lines[0].ID)
		}
	}
	return ids
}

// metRun is a run that used a mix.
type metRun struct {
	run  lab.Run
	uses []lab.StepMix
}

func (m metRun) sure() bool {
	return slices.ContainsFunc(m.uses, func(u lab.StepMix) bool { return u.Sure })
}

// runsBefore is how long before a bottle was put up a run may have begun that
// used it.
const runsBefore = 12 * time.Hour

// metOf finds the runs that used mixes, oldest first: in the stored runs, from
// what was said of bottles. Nothing of it is kept, so that what is imported,
// comes late or is undone is counted right.
func (s *Server) metOf(ctx context.Context, k mixKeeper, mixes []string) (map[string][]metRun, error) {
	from, to := map[string]time.Time{}, map[string]time.Time{}
	for _, id := range mixes {
		for _, x := range k.positions.Spans(id) {
			if f, there := from[x.Unit]; !there || x.From.Before(f) {
				from[x.Unit] = x.From
			}
			if end := cmp.Or(x.To, k.now.Add(24*time.Hour)); end.After(to[x.Unit]) {
				to[x.Unit] = end
			}
		}
	}
	met := map[string][]metRun{}
	for unit := range from {
		runs, err := s.cfg.Store.Runs(ctx, lab.RunFilter{Unit: unit, From: from[unit].Add(-runsBefore), To: to[unit], OldestFirst: true, Limit: maxLimit})
		if err != nil {
			return nil, err
		}
		for _, r := range runs {
			if r.Unit != unit {
				continue
			}
			byMix := map[string][]lab.StepMix{}
			for _, u := range k.positions.Mixes(r) {
				byMix[u.Mix] = append(byMix[u.Mix], u)
			}
			for _, id := range mixes {
				if uses := byMix[id]; len(uses) > 0 {
					met[id] = append(met[id], metRun{r, uses})
				}
			}
		}
	}
	for _, list := range met {
		slices.SortStableFunc(list, func(a, b metRun) int {
			return cmp.Or(a.run.StartedAt.Compare(b.run.StartedAt.Time), cmp.Compare(a.run.ID, b.run.ID))
		})
	}
	return met, nil
}

func useOf(met []metRun) (u chemistry.MixUse) {
	for _, m := range met {
		u.Add(m.run, m.sure())
	}
	return u
}

func (s *Server) viewMix(k mixKeeper, lines []lab.BookLine, met map[string][]metRun, reads []strips.Reading) MixView {
	last := lines[len(lines)-1]
	m := lab.LineBody[lab.Mix](last)
	limit := chemistry.LimitOf(m.Solution, k.settings)
	v := MixView{ID: last.ID, Mix: m, Version: last.Version, MixedAt: last.At, SolutionName: s.solutionName(m.Solution),
		Use: useOf(met[last.ID]), Limit: limit.MixLimit, LimitFrom: limit.Standing, At: []MixPlace{}, History: []MixVersion{}}
	v.State = chemistry.StateOf(m, last.At.Time, v.Use, 0, limit, k.now)
	for _, x := range k.positions.Spans(last.ID) {
		if x.To.IsZero() {
			v.At = append(v.At, MixPlace{x.Unit, x.Position, lab.At(x.From)})
		}
	}
	for _, r := range reads {
		if strings.EqualFold(r.Mix, last.ID) {
			v.Strip = &MixStrip{r.At, r.Status}
		}
	}
	for _, l := range lines {
		v.History = append(v.History, MixVersion{l, lab.LineBody[lab.Mix](l)})
	}
	return v
}

// solutionName is what people call a solution: "C-41, developer".
func (s *Server) solutionName(solution string) string {
	process, step, err := lab.SolutionOf(solution)
	if err != nil {
		return solution
	}
	sheet, ok := s.book().Sheet(process)
	if !ok {
		return solution
	}
	if st, ok := sheet.Step(step); ok {
		return sheet.Name + ", " + st.Label
	}
	return sheet.Name + ", " + step
}

// labelLetters leaves out what is misread: I, L, O, U, 0 and 1.
var labelLetters = base32.NewEncoding("23456789ABCDEFGHJKMNPQRSTVWXYZab").WithPadding(base32.NoPadding)

// newLabel is the label of a new mix: the same for the same request sent again.
func newLabel(key, by string) string {
	random := make([]byte, 8)
	rand.Read(random)
	if key != "" {
		sum := sha256.Sum256([]byte("mix\x00" + by + "\x00" + key))
		random = sum[:8]
	}
	return lab.MixPrefix + strings.NewReplacer("a", "2", "b", "3").Replace(labelLetters.EncodeToString(random))[:6]
}
