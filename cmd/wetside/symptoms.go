package main

import (
	"wetside/internal/report"
	"wetside/web"
)

// symptoms lists the faults that film of a process can show, for the pages.
func symptoms(process string) []web.SymptomCode {
	var out []web.SymptomCode
	for _, s := range report.Symptoms(process) {
		out = append(out, web.SymptomCode{Seen: s.Seen, Label: s.Label})
	}
	return out
}
