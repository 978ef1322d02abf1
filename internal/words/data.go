package words

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// data are the files of figures, cards and documents.
var data = []string{"rules/cards/*.yaml", "rules/figures.yaml", "internal/process/*.yaml", "internal/process/sheets/*.yaml", "internal/process/developers/*.yaml", "internal/report/*.yaml", "internal/strips/*.yaml", "web/asyncapi.yaml", "deploy/wetside.yaml"}

// ofData collects the texts of the YAML files: every value that has words.
func ofData(root string) ([]Text, error) {
	var all []Text
	for _, pattern := range data {
		paths, err := filepath.Glob(filepath.Join(root, filepath.FromSlash(pattern)))
		if err != nil {
			return nil, err
		}
		slices.Sort(paths)
		for _, path := range paths {
			rel, err := filepath.Rel(root, path)
			if err != nil {
				return nil, err
			}
			some, err := ofYAML(path, filepath.ToSlash(rel))
			if err != nil {
				return nil, err
			}
			all = append(all, some...)
		}
	}
	return all, nil
}

type yamlTexts struct {
	file  string
	texts []Text
}

func (v *yamlTexts) Visit(n ast.Node) ast.Visitor {
	add := func(s string) {
		if s = strings.TrimSpace(s); strings.ContainsAny(s, " ") && read(s, false) {
			v.texts = append(v.texts, Text{File: v.file, Line: n.GetToken().Position.Line, Says: s})
		}
	}
	switch n := n.(type) {
	case *ast.LiteralNode:
		add(n.Value.Value)
		return nil
	case *ast.StringNode:
		add(n.Value)
	}
	return v
}

func ofYAML(path, rel string) ([]Text, error) {
	file, err := parser.ParseFile(path, 0)
	if err != nil {
		return nil, err
	}
	v := &yamlTexts{file: rel}
	for _, doc := range file.Docs {
		if doc.Body != nil {
			ast.Walk(v, doc.Body)
		}
	}
	return v.texts, nil
}

// guides are read as they stand.
var guides = []string{"README.md", "DEVELOPERS.md", "deploy/*.md", "web/link/*.html", "web/dist/notice.html"}

// ofGuides collects the paragraphs of the guides; code in them is left out.
func ofGuides(root string) ([]Text, error) {
	var all []Text
	for _, pattern := range guides {
		paths, err := filepath.Glob(filepath.Join(root, filepath.FromSlash(pattern)))
		if err != nil {
			return nil, err
		}
		for _, path := range paths {
			rel, err := filepath.Rel(root, path)
			if err != nil {
				return nil, err
			}
			b, err := os.ReadFile(path)
			if err != nil {
				return nil, err
			}
			all = append(all, paragraphs(filepath.ToSlash(rel), string(b))...)
		}
	}
	return all, nil
}

// markup is what of a page's line nobody reads.
var markup = regexp.MustCompile(`\{\{[^}]*\}\}|<[^>]*>`)

// paragraphs gives each line with words, code blocks left out.
func paragraphs(file, all string) []Text {
	var texts []Text
	code := false
	for i, line := range strings.Split(all, "\n") {
		if strings.HasPrefix(strings.TrimSpace(line), "```") {
			code = !code
			continue
		}
		if strings.HasSuffix(file, ".html") {
			line = markup.ReplaceAllString(line, hole)
		}
		if !code && strings.ContainsAny(line, " ") && strings.TrimSpace(line) != "" {
			texts = append(texts, Text{File: file, Line: i + 1, Says: line})
		}
	}
	return texts
}
