package archtest

import (
	"go/ast"
	"go/token"
	"slices"
	"testing"
)

// What keeps code readable, by the habits of four code bases that are held up
// as models for services of this kind: files of 79 to 147 lines and functions of
// 6 to 12 in the middle, nine functions in ten under 45 lines.
const (
	mostMedianFile     = 150
	mostMedianFunction = 12
	mostNinthFunction  = 45
)

// Files and functions stay small. With -v it says how small.
func TestCodeStaysReadable(t *testing.T) {
	var files, functions []int
	lines, comments := 0, 0
	for _, s := range sources(t) {
		if s.test || s.ignored || isApart(s.dir) {
			continue
		}
		files = append(files, s.lines)
		lines += s.lines
		for _, g := range s.file.Comments {
			comments += span(s.set, g)
		}
		for _, d := range s.file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok {
				functions = append(functions, span(s.set, f))
			}
		}
	}
	slices.Sort(files)
	slices.Sort(functions)
	file, function, ninth := at(files, 0.5), at(functions, 0.5), at(functions, 0.9)
	t.Logf("%d files, in the middle %d lines, nine in ten up to %d, the longest %d; %d functions, in the middle %d lines, nine in ten up to %d, the longest %d; %d lines, of them %.0f %% comments",
		len(files), file, at(files, 0.9), files[len(files)-1], len(functions), function, ninth, functions[len(functions)-1], lines, 100*float64(comments)/float64(lines))
	if file > mostMedianFile {
		t.Errorf("files have %d lines in the middle; want at most %d", file, mostMedianFile)
	}
	if function > mostMedianFunction || ninth > mostNinthFunction {
		t.Errorf("functions have %d lines in the middle and nine in ten up to %d; want at most %d and %d", function, ninth, mostMedianFunction, mostNinthFunction)
	}
}

func at(sorted []int, share float64) int { return sorted[int(share*float64(len(sorted)-1))] }

// span is how many lines something takes.
func span(set *token.FileSet, n ast.Node) int {
	return set.Position(n.End()).Line - set.Position(n.Pos()).Line + 1
}
