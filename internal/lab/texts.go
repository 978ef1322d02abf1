package lab

import (
	"regexp"
	"strings"
	"unicode"
)

// ContainerWords names a container for people: "waste", "recovery (bleach)",
// "first developer bottle", "blue drum (waste)".
func ContainerWords(name string, role Role) string {
	own := strings.NewReplacer("-", " ", "_", " ", "/", " ").Replace(name)
	switch {
	case role == RoleWash && name == string(RoleWash):
		return "wash water"
	case role == "" || string(role) == name:
		return own
	case role == RoleBottle:
		_, step, found := strings.Cut(name, "/")
		if !found {
			step = name
		}
		return strings.ReplaceAll(step, "-", " ") + " bottle"
	case strings.Contains(own, string(role)):
		rest := strings.TrimSpace(strings.Replace(own, string(role), "", 1))
		return string(role) + " (" + rest + ")"
	}
	return own + " (" + string(role) + ")"
}

// Joined words a list: "Wren", "Wren and Robin", "Wren, Robin and Ana".
func Joined(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

// CSVText gives a text as a cell of CSV that no spreadsheet takes for a
// formula: what would begin one gets an apostrophe before it, which spreadsheets
// hide. For texts only: a negative number is none.
func CSVText(s string) string {
	t := strings.TrimLeftFunc(s, unicode.IsSpace)
	if t == "" {
		return s
	}
	switch []rune(t)[0] {
	case '=', '+', '-', '@', '\uff1d', '\uff0b', '\uff0d', '\uff20': // and their full-width forms
		return "'" + s
	}
	if r := []rune(s)[0]; r == '\t' || r == '\r' || r == '\n' {
		return "'" + s
	}
	return s
}

// Mail addresses, telephone numbers and where webhooks go are for the person
// they belong to and for leads. A mail server's words and those of a failed
// connection like to repeat them.

var addressLike = regexp.MustCompile(`(?i)` +
	`[a-z][a-z0-9+.-]*://\S+` + // an address of the web, whole: its path may be a key
	`|[^\s"'<>(),;]+@[^\s"'<>(),;]+` + // mail
	`|\[[0-9a-f:.%]*:[0-9a-f:.%]*\](:\d+)?` + // IPv6 with a port
	`|\b\d{1,3}(\.\d{1,3}){3}(:\d+)?\b` + // IPv4
	`|\b(lookup|dial \w+|host) [a-z0-9_-]+(\.[a-z0-9_-]+)+\.?(:\d+)?` + // a host, as Go's errors name it
	`|\+?\b\d(?:[ ()./-]{0,2}\d){6,}`) // a telephone number

// HideAddresses takes addresses out of words that everybody reads.
func HideAddresses(text string) string { return addressLike.ReplaceAllString(text, "(address)") }
