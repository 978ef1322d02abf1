package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// apart are folders whose texts only developers read, beside the tests.
var apart = []string{"internal/archtest", "internal/monitor/monitortest", "internal/simulation/judge", "internal/labtest", "internal/torture", "internal/words", "internal/postgres/pgtest", "web/access/accesstest", "internal/simulation/sim", "rules/rulestest", "testdata", "web/ui", ".git"}

// ofGo collects the texts of the Go packages that are part of the program.
func ofGo(root string) ([]Text, error) {
	var all []Text
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		switch {
		case d.IsDir() && (slices.Contains(apart, rel) || d.Name() == "testdata" || d.Name() == "node_modules"):
			return filepath.SkipDir
		case d.IsDir() || !strings.HasSuffix(rel, ".go") || strings.HasSuffix(rel, "_test.go"):
			return nil
		}
		some, err := ofGoFile(path, rel)
		all = append(all, some...)
		return err
	})
	return all, err
}

func ofGoFile(path, rel string) ([]Text, error) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	c := &collector{set: set, file: rel}
	ast.Inspect(file, c.visit)
	return c.texts, nil
}

type collector struct {
	set   *token.FileSet
	file  string
	texts []Text
	skip  map[ast.Node]bool   // what is no text
	as    map[ast.Node]string // what is read elsewhere than its file's texts
}

func (c *collector) visit(n ast.Node) bool {
	if n == nil || c.skip[n] {
		return false
	}
	switch n := n.(type) {
	case *ast.ImportSpec:
		return false
	case *ast.Field:
		c.tag(n.Tag)
	case *ast.CallExpr:
		c.call(n)
	case *ast.CaseClause:
		for _, e := range n.List {
			c.pass(e)
		}
	case *ast.IndexExpr:
		c.pass(n.Index)
	case *ast.KeyValueExpr:
		c.pass(n.Key)
	case *ast.BinaryExpr:
		switch n.Op {
		case token.ADD:
			if joined, ok := joinGo(n); ok {
				c.add(n, joined)
				return false
			}
		case token.EQL, token.NEQ:
			c.pass(n.X)
			c.pass(n.Y)
		}
	case *ast.BasicLit:
		if s, ok := literal(n); ok {
			c.add(n, s)
		}
	}
	return true
}

func (c *collector) pass(n ast.Node) {
	if c.skip == nil {
		c.skip = map[ast.Node]bool{}
	}
	if _, ok := n.(*ast.BasicLit); ok {
		c.skip[n] = true
	}
}

// logged are the methods of a logger; those of the front end and the error
// makers are told by their names as well.
var logged = []string{"Debug", "Info", "Warn", "Error", "DebugContext", "InfoContext", "WarnContext", "ErrorContext", "LogAttrs", "Log"}

func (c *collector) call(n *ast.CallExpr) {
	name, of := called(n.Fun)
	place := ""
	switch {
	case of == "regexp":
		for _, a := range n.Args {
			c.pass(a)
		}
		return
	case slices.Contains(logged, name) && (strings.Contains(strings.ToLower(of), "log") || of == "slog"):
		place = "log"
	case name == "Errorf" || of == "errors" && name == "New" || strings.HasSuffix(name, "usagef"):
		place = "errors"
	case name == "panic":
		place = "log"
	}
	if place == "" {
		return
	}
	if c.as == nil {
		c.as = map[ast.Node]string{}
	}
	for _, a := range n.Args {
		c.as[a] = place
	}
}

func called(fun ast.Expr) (name, of string) {
	switch f := fun.(type) {
	case *ast.Ident:
		return f.Name, ""
	case *ast.SelectorExpr:
		switch x := f.X.(type) {
		case *ast.Ident:
			of = x.Name
		case *ast.SelectorExpr:
			of = x.Sel.Name
		}
		return f.Sel.Name, of
	}
	return "", ""
}

// tag takes what is read of a field: the description of an API's field, the
// help of a flag.
func (c *collector) tag(lit *ast.BasicLit) {
	if lit == nil {
		return
	}
	c.pass(lit)
	s, err := strconv.Unquote(lit.Value)
	if err != nil {
		return
	}
	for key, place := range map[string]string{"doc": "API descriptions", "help": "command help"} {
		if text, ok := reflect.StructTag(s).Lookup(key); ok && text != "" {
			c.texts = append(c.texts, Text{Place: place, File: c.file, Line: c.set.Position(lit.Pos()).Line, Says: text})
		}
	}
}

func literal(n ast.Expr) (string, bool) {
	lit, ok := n.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(lit.Value)
	return s, err == nil
}

// joinGo joins the parts of a sum of which at least one is a string.
func joinGo(n ast.Expr) (string, bool) {
	if p, ok := n.(*ast.ParenExpr); ok {
		return joinGo(p.X)
	}
	if b, ok := n.(*ast.BinaryExpr); ok && b.Op == token.ADD {
		x, okx := joinGo(b.X)
		y, oky := joinGo(b.Y)
		return x + y, okx || oky
	}
	if s, ok := literal(n); ok {
		return s, true
	}
	return hole, false
}

func (c *collector) add(n ast.Node, s string) {
	if !read(s, strings.HasPrefix(c.file, "internal/postgres/")) {
		return
	}
	c.texts = append(c.texts, Text{Place: c.as[n], File: c.file, Line: c.set.Position(n.Pos()).Line, Says: s})
}

var (
	sql       = regexp.MustCompile(`\b(SELECT|INSERT INTO|DELETE FROM|UPDATE [a-z_]+ SET|ALTER|CREATE|WHERE|VALUES|ORDER BY|ON CONFLICT|LOCK TABLE|SET LOCAL|NOTIFY|LISTEN|RETURNING|FOR UPDATE|COPY|DROP|JOIN)\b`)
	sqlPart   = regexp.MustCompile(`^\s*(AND|OR|FROM|LIMIT|UNION|SET|LEFT|AS)\b|\$\d|::[a-z]+`)
	verb      = regexp.MustCompile(`%[-+# 0]*\d*(\.\d+)?\[?\d*\]?[a-zA-Z]`)
	wordGap   = regexp.MustCompile(`[A-Za-z°][,.:;)]?[ \n]|[ \n(][A-Za-z°]|…[^…]*[a-z]{2}|[a-z]{2}[^…]*…`)
	oneWord   = regexp.MustCompile(`^[A-Z][a-z]{2,}[.:]?$|^[A-Z]{3,}$`)
	machinery = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*: [a-z0-9]|^\s*<|^[-\w.]+/[-\w.]+; ?[a-z]+=|^[A-Z]+ /|^https?://|^/[-\w/{}.…]*$|^postgres|text/|application/|@media|-style|[{};]\s*\n.*[{};]\s*\n`)
)

// read tells whether a string is one that a person reads: it has words, and it
// is no query, pattern, path or header.
func read(s string, store bool) bool {
	if sql.MatchString(s) || store && sqlPart.MatchString(s) {
		return false
	}
	plain := verb.ReplaceAllString(s, hole)
	return oneWord.MatchString(s) || wordGap.MatchString(plain) && !(machinery.MatchString(plain) && !strings.Contains(plain, ". ") && !strings.Contains(s, "%w") && len(strings.Fields(plain)) < 4)
}
