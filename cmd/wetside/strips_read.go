package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"time"

	"wetside/internal/lab"
	"wetside/internal/strips"
	"wetside/web"
)

type stripsReadCmd struct {
	From    string `arg:"" optional:"" default:"-" placeholder:"FROM" help:"A file, a serial or USB line such as /dev/ttyUSB0, or - for a pipe. Default: -"`
	Format  string `default:"steps" help:"In which plain form densities come; --formats lists them. Default: ${default}"`
	Formats bool   `help:"List the plain forms, and end."`
	Baud    int    `default:"9600" help:"Speed of a serial line, 8 bits, no parity. Default: ${default}"`
	Process string `default:"c41" help:"The process that the strips went through. Default: ${default}"`
	Unit    string `placeholder:"LAB/UNIT" help:"The unit whose chemistry they went through; needed with --server."`
	Mix     string `help:"The mix of chemistry."`
	Code    string `help:"Code number of the box of strips."`
	InRun   string `name:"run" help:"The run that the strip went through, by its id or as the unit calls it."`
	By      string `placeholder:"NAME" help:"Who reads. Default: whose token it is."`
	Server  string `env:"WETSIDE_SERVER" placeholder:"URL" help:"Where wetside is, such as http://127.0.0.1:8080: strips are sent in as they are read. Without it they are printed only."`
	Token   string `env:"WETSIDE_TOKEN" placeholder:"TOKEN" help:"An operator's API token (wetside token create). Better given as WETSIDE_TOKEN: others can read a command line."`
}

// Help implements kong.HelpProvider.
func (*stripsReadCmd) Help() string {
	return `Prints each strip as a line of JSON, as POST /api/v1/strips takes it; with --server it is sent in, and the answer printed: how it stands, and what the gate says. What to read next, and what did not read, is said on stderr. A strip that is not whole, or in which a figure does not read, is not taken. A serial line is read until it is interrupted.`
}

// Run implements the command.
func (c *stripsReadCmd) Run(ctx context.Context, s streams) error {
	if c.Formats {
		return listFormats(s.out)
	}
	format, family, err := c.check()
	if err != nil {
		return usageError{err}
	}
	from, err := c.open(s)
	if err != nil {
		return fmt.Errorf("%s: %w", c.From, err)
	}
	defer from.Close()
	defer context.AfterFunc(ctx, func() { from.Close() })() // ends a read that waits
	r := stripReader{cmd: c, ctx: ctx, s: s, text: strips.NewTextReader(format, family)}
	if err := r.all(from); err != nil && ctx.Err() == nil {
		return fmt.Errorf("%s: %w", c.From, err)
	}
	if r.failed > 0 {
		return fmt.Errorf("%s: %d taken, %d not taken", c.From, r.taken, r.failed)
	}
	return nil
}

func listFormats(out io.Writer) error {
	for _, f := range strips.Formats() {
		if _, err := fmt.Fprintf(out, "%-10s  %s\n%12s%s\n", f.Name, f.About, "", f.Example); err != nil {
			return fmt.Errorf("write to stdout: %w", err)
		}
	}
	return nil
}

func (c *stripsReadCmd) check() (strips.Format, strips.Family, error) {
	format, ok := strips.FormatNamed(c.Format)
	if !ok {
		return format, strips.Family{}, fmt.Errorf("--format %s: there is no such form; --formats lists them", c.Format)
	}
	family, ok := strips.FamilyOf(c.Process)
	if !ok {
		return format, family, fmt.Errorf("--process %s: no figures are known for it; give one such as c41, e6-7 or bw", c.Process)
	}
	if c.Server == "" {
		return format, family, nil
	}
	if err := c.server().check(); err != nil {
		return format, family, err
	}
	if c.Token == "" {
		return format, family, errors.New("--server needs an operator's token: set WETSIDE_TOKEN (wetside token create --role operator)")
	}
	if _, err := lab.ParseUnitID(c.Unit); err != nil {
		return format, family, fmt.Errorf("--unit: %w", err)
	}
	return format, family, nil
}

func (c *stripsReadCmd) server() apiServer { return apiServer{c.Server, c.Token} }

// open opens what is read; a serial line is set up first.
func (c *stripsReadCmd) open(s streams) (io.ReadCloser, error) {
	if c.From == "-" {
		if in, ok := s.in.(io.ReadCloser); ok {
			return in, nil
		}
		return io.NopCloser(s.in), nil
	}
	f, err := os.OpenFile(c.From, os.O_RDONLY|noControl, 0)
	if err != nil {
		var path *os.PathError
		if errors.As(err, &path) {
			err = path.Err
		}
		return nil, err
	}
	if err := setLine(f, c.Baud); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// stripReader reads strips and hands them on.
type stripReader struct {
	cmd           *stripsReadCmd
	ctx           context.Context
	s             streams
	text          *strips.TextReader
	taken, failed int
}

func (r *stripReader) all(from io.Reader) error {
	lines := bufio.NewScanner(from)
	lines.Split(anyLines())
	r.sayNext()
	for lines.Scan() {
		strip, err := r.text.Line(lines.Text())
		if err := r.take(strip, err); err != nil {
			return err
		}
		r.sayNext()
	}
	if err := lines.Err(); err != nil && r.ctx.Err() == nil {
		return err
	}
	return r.take(r.text.End())
}

func (r *stripReader) sayNext() {
	if next := r.text.Next(); next != "" {
		fmt.Fprintf(r.s.err, "next: %s\n", next)
	}
}

// take hands a strip on. What cannot be sent in is printed all the same, so
// that it is not lost.
func (r *stripReader) take(densities map[string]lab.RGB, err error) error {
	if err != nil {
		r.failed++
		fmt.Fprintln(r.s.err, "not taken:", err)
	}
	if densities == nil {
		return nil
	}
	now := time.Now().UTC()
	b := web.StripRequest{Unit: r.cmd.Unit, Process: r.cmd.Process, Mix: r.cmd.Mix, Code: r.cmd.Code, Run: r.cmd.InRun, By: r.cmd.By, ReadAt: &now, Densities: densities}
	line, err := json.Marshal(b)
	if err != nil {
		return err
	}
	if r.cmd.Server != "" {
		answer, err := r.send(line)
		if err != nil {
			r.failed++
			fmt.Fprintln(r.s.err, "not sent in:", err)
		} else {
			line = answer
			r.taken++
		}
	} else {
		r.taken++
	}
	if _, err := fmt.Fprintf(r.s.out, "%s\n", line); err != nil {
		return fmt.Errorf("write to stdout: %w", err)
	}
	return nil
}

// send sends a strip in and gives the answer.
func (r *stripReader) send(body []byte) ([]byte, error) {
	answer, err := r.cmd.server().post(r.ctx, "/strips", "application/json", body, http.Header{"Idempotency-Key": {rand.Text()}})
	if err != nil {
		return nil, err
	}
	var a web.StripAnswer
	if err := json.Unmarshal(answer, &a); err != nil {
		return nil, err
	}
	r.tell(a)
	return bytes.TrimSpace(answer), nil
}

// tell says how a strip stands.
func (r *stripReader) tell(a web.StripAnswer) {
	words := map[string]string{lab.StripIn: "in", lab.StripAction: "beyond an action limit", lab.StripOut: "beyond a control limit", lab.StripUnjudged: "saved, not judged"}
	fmt.Fprintf(r.s.err, "the strip is %s; gate: %s\n", words[a.Strip.Status], a.Gate.Gate)
	for _, text := range append(a.Gate.Reasons, a.Notes...) {
		fmt.Fprintln(r.s.err, " ", text)
	}
}

// anyLines splits at line feeds, carriage returns and both together: lines of
// instruments end in any of them.
func anyLines() bufio.SplitFunc {
	after := false // a carriage return: a line feed right behind it is of the same end
	return func(data []byte, atEOF bool) (int, []byte, error) {
		skip := 0
		if after && len(data) > 0 {
			if data[0] == '\n' {
				skip = 1
			}
			after = false
		}
		if i := bytes.IndexAny(data[skip:], "\r\n"); i >= 0 {
			after = data[skip+i] == '\r'
			return skip + i + 1, data[skip : skip+i], nil
		}
		if atEOF && len(data) > skip {
			return len(data), data[skip:], nil
		}
		return skip, nil, nil
	}
}
