package web

import (
	"context"

	"wetside/internal/lab"
)

// Everybody may read that a page went to somebody and what became of it. The
// mail addresses, webhooks and numbers in it are for that person and for leads;
// others get the same text through lab.HideAddresses.

// mayRead tells whether who asks sees the addresses of a person.
func mayRead(ctx context.Context, person string) bool {
	return oneself(ctx, person) == nil
}

func hideInEntry(ctx context.Context, e lab.DutyEntry) lab.DutyEntry {
	if mayRead(ctx, e.Person) || e.What == "plan" { // a plan has names and the board's address, nothing private
		return e
	}
	detail := make(map[string]any, len(e.Detail))
	for k, v := range e.Detail {
		switch text, isText := v.(string); {
		case k == "mail" || k == "webhook" || k == "endpoint":
			if text != "" {
				detail[k] = "(address)"
			}
		case isText && k != "day" && k != "until":
			detail[k] = lab.HideAddresses(text)
		default:
			detail[k] = v
		}
	}
	e.Detail = detail
	return e
}

func hideInPages(ctx context.Context, a lab.AlertPages) lab.AlertPages {
	for i := range a.Pages {
		if p := &a.Pages[i]; !mayRead(ctx, p.Person) {
			p.Why = lab.HideAddresses(p.Why)
			for j := range p.Tries {
				p.Tries[j].Detail = lab.HideAddresses(p.Tries[j].Detail)
			}
		}
	}
	return a
}

func hideInStatus(ctx context.Context, st lab.DutyStatus) lab.DutyStatus {
	for i := range st.Failing {
		if f := &st.Failing[i]; !mayRead(ctx, f.Person) {
			f.Detail = lab.HideAddresses(f.Detail)
		}
	}
	if !identityOf(ctx).May(lab.RoleLead) {
		for i := range st.Faults {
			st.Faults[i].Text = lab.HideAddresses(st.Faults[i].Text)
		}
		st.Heartbeat.Detail = lab.HideAddresses(st.Heartbeat.Detail)
	}
	return st
}
