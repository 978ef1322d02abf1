package words

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os/exec"
	"path/filepath"
)

// ofPages collects the texts of the pages, which a script takes apart with the
// compiler of their own language.
func ofPages(root string) ([]Text, error) {
	cmd := exec.Command("node", filepath.Join("scripts", "words.mjs"))
	cmd.Dir = filepath.Join(root, "web", "ui")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("texts of the pages: node scripts/words.mjs in web/ui (after npm ci): %w\n%s", err, stderr.Bytes())
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
