package web

import (
	"context"

	"wetside/internal/lab"
)

// Roster is where people see and change who is called about alerts, and
// see what became of pages.
type Roster interface {
	Duty(ctx context.Context) (lab.DutyNow, error)
	Status(ctx context.Context) (lab.DutyStatus, error)
	SetPlan(ctx context.Context, p lab.DutyPlan, version int, by string) (lab.DutyNow, error)
	Swap(ctx context.Context, s lab.DutySwap, by string) (lab.DutySwap, error)
	EndSwap(ctx context.Context, id int64, by string) error
	GoDark(ctx context.Context, person string, minutes int, by string) (lab.DutyDark, error)
	Log(ctx context.Context, limit int) ([]lab.DutyEntry, error)

	Contacts(ctx context.Context, person string) (lab.ContactsView, error)
	SetContacts(ctx context.Context, person string, r lab.ContactsRequest, by string) (lab.ContactsView, error)
	PushKey() (key, why string)
	Subscribe(ctx context.Context, s lab.PushSubscription, by string) (lab.PushSubscription, error)
	Unsubscribe(ctx context.Context, id int64, person, by string) error
	Test(ctx context.Context, person, by string) ([]string, error)
	Tests(ctx context.Context, person string) ([]lab.PageTest, error)

	AlertPages(ctx context.Context, alertID string) (lab.AlertPages, error)
}

// PageLinks serves the links in pages: without a sign-in, for the alerts and
// the person of one page. A link that is not good (any more) is KindNotFound;
// what was overtaken by events is KindConflict.
type PageLinks interface {
	OpenLink(ctx context.Context, token string) (lab.LinkView, error)
	UseLink(ctx context.Context, token string, r lab.LinkRequest) (v lab.LinkView, said string, err error)
}

// duty gives the roster, or says that there is none.
func (s *Server) duty() (Roster, error) {
	if s.cfg.Duty == nil {
		return nil, lab.Errorf(lab.KindUnavailable, "this wetside pages nobody")
	}
	return s.cfg.Duty, nil
}
