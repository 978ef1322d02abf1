package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

type versionCmd struct{}

// Run implements the command.
func (versionCmd) Run(s streams) error {
	return printLine(s, fmt.Sprintf("wetside %s (%s, %s/%s)", version(), runtime.Version(), runtime.GOOS, runtime.GOARCH))
}

// version names what was built: the module's version, else the commit.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "dev"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	commit, changed := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			commit = s.Value[:min(12, len(s.Value))]
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = "+changes"
		}
	}
	if commit == "" {
		return "dev"
	}
	return commit + changed
}

// programName names this program, with what was built.
func programName() string { return "wetside " + version() }
