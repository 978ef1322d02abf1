package words

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// ofPages collects the texts of the pages, which a script takes apart with the
// compiler of their own language.
func ofPages(root string) ([]Text, error) {
	if _, err := exec.LookPath("node"); err != nil {
		return nil, errors.New("texts of the pages: node is not installed; make test installs it (Debian package nodejs)")
	}
	if _, err := os.Stat(filepath.Join(root, "web", "ui", "node_modules", "typescript")); err != nil {
		return nil, errors.New("texts of the pages: what the pages are built with is not installed; make ui installs it")
	}
	cmd := exec.Command("node", filepath.Join("scripts", "words.mjs"))
	cmd.Dir = filepath.Join(root, "web", "ui")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("texts of the pages: node scripts/words.mjs in web/ui: %w\n%s", err, stderr.Bytes())
	}
	var all []Text
	if err := json.Unmarshal(out, &all); err != nil {
		return nil, fmt.Errorf("texts of the pages: %w", err)
	}
	for i := range all {
		all[i].File = "web/ui/" + all[i].File
	}
	return all, nil
}
