package process

import (
	"slices"
	"strings"
)

// How far the source of a figure can be relied on, in words for people.
const (
	Published   = "published"        // read in the publisher's own document, or worked out from it
	Quoted      = "quoted elsewhere" // read in a text that quotes it
	Unconfirmed = "unconfirmed"      // from memory, or a choice: to be confirmed from one's own manual
	LabsOwn     = "the lab's own"    // set by this lab
)

// markOwn is the mark of a figure that a lab set without naming a source.
const markOwn = "OWN"

// ownWords stand where a lab set a figure and named no source.
const ownWords = "set by this lab"

// Provenance is how far the source can be relied on.
func (s Source) Provenance() string {
	switch {
	case s.Memory || strings.HasPrefix(s.Mark, "MEM"):
		return Unconfirmed
	case strings.HasPrefix(s.Mark, "READ-P"), s.Mark == "COMPUTED":
		return Published
	case strings.HasPrefix(s.Mark, "READ-S"):
		return Quoted
	}
	return LabsOwn
}

// speaksOf tells whether the source speaks of a figure: as one of several, with
// the part of it that it speaks of behind ("push_s +1 +2"), or of all.
func (s Source) speaksOf(figure string) bool {
	return slices.Contains(strings.Fields(s.Figure), figure)
}

// doubtRank orders them, the most doubtful last.
var doubtRank = map[string]int{Published: 1, LabsOwn: 2, Quoted: 3, Unconfirmed: 4}

// SourcesOf gives of a list of sources those of one figure: the ones that name
// it, else those that speak of all.
func SourcesOf(list []Source, figure string) []Source {
	var named, all []Source
	for _, s := range list {
		switch {
		case s.speaksOf(figure):
			named = append(named, s)
		case s.Figure == allFigures:
			all = append(all, s)
		}
	}
	if len(named) > 0 {
		return named
	}
	return all
}

// ProvenanceOf is how far the sources of a figure can be relied on: as far as the weakest of
// them. "" where none is named.
func ProvenanceOf(list []Source, figure string) string {
	worst := ""
	for _, s := range SourcesOf(list, figure) {
		if v := s.Provenance(); doubtRank[v] > doubtRank[worst] {
			worst = v
		}
	}
	return worst
}

// allFigures is what a source speaks of that speaks of all.
const allFigures = "all"

// ChangedSources are the sources after somebody changed some figures: what
// was said of those no longer holds, and where no source came with the change
// it is the lab's own.
func ChangedSources(had []Source, figures []string, came []Source) []Source {
	var out []Source
	for _, s := range had {
		words := strings.Fields(s.Figure)
		left := slices.DeleteFunc(slices.Clone(words), func(w string) bool { return slices.Contains(figures, w) })
		if len(left) < len(words) {
			if !slices.ContainsFunc(left, isFigure) { // nothing is left but the parts of one
				continue
			}
			s.Figure = strings.Join(left, " ")
		}
		out = append(out, s)
	}
	out = append(out, came...)
	for _, f := range figures {
		if !slices.ContainsFunc(came, func(s Source) bool { return s.speaksOf(f) || s.Figure == allFigures }) {
			out = append(out, Source{Figure: f, From: ownWords, Mark: markOwn})
		}
	}
	return out
}

// isFigure tells a figure's name from a part of one, such as +1 or range.
func isFigure(word string) bool {
	return strings.Contains(word, "_") || word == "edges" || word == "fills" || word == "rpm"
}

// Source says where a figure comes from: From in words, Mark how it was read
// (Provenance says it to people). Memory marks what was written down
// from memory: the lab's choice until it is confirmed from its own manual.
type Source struct {
	Figure string `yaml:"figure"`
	From   string `yaml:"from"`
	Mark   string `yaml:"mark"`
	Memory bool   `yaml:"memory"`
}
