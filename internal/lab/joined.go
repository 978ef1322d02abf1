package lab

import "strings"

// Joined words a list: "Wren", "Wren and Robin", "Wren, Robin and Ana".
func Joined(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}
