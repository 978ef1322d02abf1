package lab

import "strings"

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
