package main

import (
	"fmt"
	"strconv"
	"strings"
	"text/tabwriter"

	"wetside/internal/lab"
	sheetbook "wetside/internal/process"
)

// sheetsCmd prints the process sheets.
type sheetsCmd struct {
	Process string `arg:"" optional:"" help:"Only this one, such as c41."`
	Rules   string `env:"WETSIDE_RULES" placeholder:"DIR" help:"Folder with sheets/*.yaml that change the built-in process sheets, as serve has it. What was changed on the pages stands on the pages."`
}

// Help implements kong.HelpProvider.
func (*sheetsCmd) Help() string {
	return `A line a figure: step, figure, value, how far its source goes, and the source. Published: read in the publisher's own document. Quoted elsewhere: read in a text that quotes it. Unconfirmed: from memory, to be confirmed from your own manual.`
}

// Run implements the command.
func (c *sheetsCmd) Run(s streams) error {
	cfg, err := loadRules(c.Rules)
	if err != nil {
		return err
	}
	ids := cfg.Book.IDs()
	if c.Process != "" {
		if _, ok := cfg.Book.Sheet(c.Process); !ok {
			return usagef("%s", lab.MustBeOneOf("process", c.Process, ids))
		}
		ids = []string{c.Process}
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	for i, id := range ids {
		sheet, _ := cfg.Book.Sheet(id)
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s (%s): %s\n", sheet.Name, sheet.ID, sheet.What)
		for _, f := range sheet.Figures() {
			figureLine(w, "", f, sheet.Value(f), sheet.Sources)
		}
		for j := range sheet.Steps {
			st := &sheet.Steps[j]
			for _, f := range st.Figures() {
				figureLine(w, strings.ReplaceAll(st.ID, "-", " "), f, st.Value(f), st.Sources)
			}
			if st.Note != "" {
				fmt.Fprintf(w, "%s\tnote\t%s\n", strings.ReplaceAll(st.ID, "-", " "), st.Note)
			}
		}
	}
	return flushed(w)
}

func figureLine(w *tabwriter.Writer, step, figure, value string, sources []sheetbook.Source) {
	var from []string
	for _, x := range sheetbook.SourcesOf(sources, figure) {
		from = append(from, x.From)
	}
	fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", step, sheetbook.FigureLabel(figure), value, sheetbook.ProvenanceOf(sources, figure), strings.Join(from, "; "))
}

// figuresCmd prints the figures of the rules.
type figuresCmd struct {
	Rules string `env:"WETSIDE_RULES" placeholder:"DIR" help:"Folder with figures.yaml that changes the built-in figures, as serve has it."`
}

// Run implements the command.
func (c *figuresCmd) Run(s streams) error {
	cfg, err := loadRules(c.Rules)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	for _, f := range cfg.Data.List() {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", f.Name, strconv.FormatFloat(f.Value, 'g', -1, 64), f.Provenance, f.From)
	}
	return flushed(w)
}

func flushed(w *tabwriter.Writer) error {
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write to stdout: %w", err)
	}
	return nil
}
