package web

import (
	"os"
	"regexp"
	"strings"
	"testing"
)

// The page behind a page's link wears the board's colors, light and dark.
func TestLinkWearsTheBoardsColors(t *testing.T) {
	board, err := os.ReadFile("ui/src/style/ground.css")
	if err != nil {
		t.Fatal(err)
	}
	link, err := linkFiles.ReadFile("link/style.css")
	if err != nil {
		t.Fatal(err)
	}
	parts := strings.SplitN(string(link), "@media (prefers-color-scheme: dark)", 2)
	if len(parts) != 2 {
		t.Fatal("the link has no dark colors")
	}
	color := regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]{6});`)
	seen := map[string]bool{}
	for i, part := range parts {
		for _, m := range color.FindAllStringSubmatch(part, -1) {
			of := regexp.MustCompile(`--` + m[1] + `: light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\);`).FindStringSubmatch(string(board))
			if of == nil || of[i+1] != m[2] {
				t.Errorf("--%s is %s; the board has %v", m[1], m[2], of)
			}
			seen[m[1]] = true
		}
	}
	for _, m := range regexp.MustCompile(`var\(--([a-z-]+)\)`).FindAllStringSubmatch(string(link), -1) {
		if !seen[m[1]] {
			t.Errorf("--%s is used and has no color", m[1])
		}
	}
	if len(seen) < 10 {
		t.Errorf("only %d colors are compared", len(seen))
	}
}
