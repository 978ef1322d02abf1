package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"

	"wetside/internal/lab"
)

// csvHeader names the columns of the trace, in order:
//
//	at            when, RFC 3339, UTC, the unit's own clock with its steps taken out
//	step, n       the step of the run, and its number
//	phase         what the unit was doing: heating, filling, in-bath, draining, ...
//	bath_c        the liquid on the film, °C, as the unit sent it
//	preheat_c     the next bath being heated, °C
//	room_c        the room, °C
//	rpm           the last rotation received in this phase
//	low_c, high_c the sheet's limits of the step's bath, °C
//	equivalent_s  in a developer: the sheet seconds that the bath has amounted
//	              to so far, by the readings, the probe's offset counted in
//
// An empty field was not measured or has no meaning there.
var csvHeader = []string{"at", "step", "n", "phase", "bath_c", "preheat_c", "room_c", "rpm", "low_c", "high_c", "equivalent_s"}

// CSV writes the trace of a run: a line for each set of readings, as RFC 4180
// has it, under csvHeader.
func CSV(w io.Writer, trace []Row) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	lines := [][]string{csvHeader}
	for _, r := range trace {
		lines = append(lines, []string{r.At.String(), lab.CSVText(r.Step), strconv.Itoa(r.N), string(r.Phase),
			field(r.BathC, -1), field(r.PreheatC, -1), field(r.RoomC, -1), field(r.RPM, -1),
			field(r.LowC, -1), field(r.HighC, -1), field(r.EquivalentS, 2)})
	}
	if err := c.WriteAll(lines); err != nil {
		return fmt.Errorf("writing the trace: %w", err)
	}
	return nil
}

func field(v *float64, digits int) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', digits, 64)
}

// JSON writes the report as the API gives it, indented.
func JSON(w io.Writer, r lab.Report) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(r)
}
