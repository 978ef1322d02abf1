package delivery

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/alerts/escalate"
	"wetside/internal/lab"
)

// A link's token is the message's id and a signature of it. It can't be
// guessed, needs no table, and is the same in each copy of a message.

func signature(key []byte, id string) string {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte("page link " + id))
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil)[:16])
}

// link gives the address of a message's page; empty where nobody said where
// the board is.
func link(key []byte, base, id string) string {
	if base == "" {
		return ""
	}
	return strings.TrimRight(base, "/") + "/p/" + id + "." + signature(key, id)
}

// address is where a phone reaches the board.
func (w *Worker) address() string {
	if base := planOf(w.state.Load()).Address; base != "" {
		return base
	}
	return w.cfg.Address
}

// errNoLink tells nothing about what there is.
var errNoLink = &lab.Error{Kind: lab.KindNotFound, Text: "this link is not known or has expired; look at the board"}

// find gives the message behind a token, if it is still good, and what its
// person may do now. Alerts whose links were withdrawn are left out of it.
func (w *Worker) find(ctx context.Context, token string) (lab.PageMessage, linkTerms, error) {
	m, ends, err := w.lookUp(ctx, token)
	if err != nil {
		return m, linkTerms{}, err
	}
	ids := make([]string, len(m.Body.Items))
	for i, it := range m.Body.Items {
		ids[i] = it.AlertID
	}
	holder, err := w.cfg.Store.LinkHolder(ctx, m.Person, ids)
	if err != nil {
		return m, linkTerms{}, err
	}
	if holder.Role == "" || !m.CreatedAt.After(holder.Withdrawn) {
		return m, linkTerms{}, errNoLink
	}
	m.Body.Items = slices.DeleteFunc(slices.Clone(m.Body.Items), func(it lab.PageItem) bool {
		return !m.CreatedAt.After(holder.Alerts[it.AlertID])
	})
	if len(m.Body.Items) == 0 && len(ids) > 0 {
		return m, linkTerms{}, errNoLink
	}
	return m, linkTerms{ends: ends, may: lab.MayAct(holder.Role)}, nil
}

// linkTerms are until when a link holds, and whether its buttons do anything:
// what counts is the role at this moment, not when the page was sent.
type linkTerms struct {
	ends time.Time
	may  bool
}

func (w *Worker) lookUp(ctx context.Context, token string) (lab.PageMessage, time.Time, error) {
	id, given, _ := strings.Cut(token, ".")
	if !hmac.Equal([]byte(given), []byte(signature(w.cfg.Key, id))) {
		return lab.PageMessage{}, time.Time{}, errNoLink
	}
	m, err := w.cfg.Store.PageMessage(ctx, id)
	if lab.KindOf(err) == lab.KindNotFound && err != nil {
		return m, time.Time{}, errNoLink
	}
	if err != nil {
		return m, time.Time{}, err
	}
	ends := m.CreatedAt.Add(time.Duration(planOf(w.state.Load()).LinkHours) * time.Hour)
	if !w.now().Before(ends) {
		return m, ends, errNoLink
	}
	return m, ends, nil
}

// OpenLink gives what a link shows. It changes nothing but the log: mail
// scanners follow links.
func (w *Worker) OpenLink(ctx context.Context, token string) (lab.LinkView, error) {
	m, terms, err := w.find(ctx, token)
	if err != nil {
		return lab.LinkView{}, err
	}
	if err := w.logLink(ctx, m, "opened", "", ""); err != nil {
		return lab.LinkView{}, err
	}
	return w.view(ctx, m, terms)
}

func (w *Worker) view(ctx context.Context, m lab.PageMessage, terms linkTerms) (lab.LinkView, error) {
	v := lab.LinkView{
		Person: m.Person, Title: m.Body.Title, Made: lab.At(m.CreatedAt), Expires: lab.At(terms.ends), Test: m.Body.Test, May: terms.may,
		More: m.Body.More, Zone: planOf(w.state.Load()).TimeZone,
	}
	for _, it := range m.Body.Items {
		a, err := w.cfg.Store.Alert(ctx, it.AlertID)
		if err != nil {
			return v, err
		}
		item := linkItem(a, it)
		present := w.present(a.Unit, w.now())
		units := w.cfg.Units()
		item.Alert.Message, item.Alert.Response, item.Alert.Consequence = units.Read(a.Heading(present)), units.Read(a.ToDo(present)), units.Read(a.Consequence)
		v.Open = v.Open || item.Open
		v.Items = append(v.Items, item)
	}
	if !v.Open {
		return v, nil
	}
	var err error
	v.Next, v.NoNext, err = w.nextOf(ctx, m)
	return v, err
}

// nextOf tells who would be paged next about the cases of a message, or why
// nobody would: a person who asks for help must not wait for nobody.
func (w *Worker) nextOf(ctx context.Context, m lab.PageMessage) (people []string, nobody string, err error) {
	cases, err := w.cfg.Store.PageCases(ctx, m.Cases)
	if err != nil {
		return nil, "", err
	}
	now := w.now()
	d, quiet := w.duty(now), time.Time{}
	for _, c := range cases {
		up := escalate.Next(c, d, now, m.Person)
		for _, person := range up.People {
			if !slices.Contains(people, person) {
				people = append(people, person)
			}
		}
		if !up.Quiet.IsZero() {
			quiet = up.Quiet
		}
	}
	switch {
	case len(people) > 0:
		return people, "", nil
	case !quiet.IsZero():
		return nil, fmt.Sprintf("Quiet hours until %s: nobody else is paged about this before then. Call somebody yourself if you need help.", w.hourMinute(quiet)), nil
	}
	return nil, "Nobody else can be paged now. Call somebody yourself if you need help.", nil
}

// linkItem says where an alert stands as seen from the page of one occurrence.
func linkItem(a lab.Alert, it lab.PageItem) lab.LinkItem {
	out := lab.LinkItem{Alert: a, Occurrence: it.Occurrence}
	switch {
	case a.Withdrawn:
		out.Note = "Withdrawn: later data shows that it did not happen. There is nothing to do."
	case a.Occurrence != it.Occurrence:
		out.Note = "It came again since this page was sent. This link cannot acknowledge that: look at the board or at the newer page."
	case a.State == lab.Closed:
		out.Note = "It has cleared."
	case a.AcknowledgedAt != nil:
		out.Note = "Acknowledged by " + a.AcknowledgedBy + "."
	case a.ShelvedUntil != nil:
		out.Note = "Shelved by " + a.ShelvedBy + "."
		out.Open = true
	case a.State == lab.ClearedUnacknowledged:
		out.Note = "It has cleared; nobody has acknowledged it."
		out.Open = true
	default:
		out.Open = true
	}
	return out
}

// UseLink does what a button of a link says, for those alerts whose paged
// occurrence is the present one. It gives what the link shows then, and a
// sentence about what was done.
func (w *Worker) UseLink(ctx context.Context, token string, r lab.LinkRequest) (lab.LinkView, string, error) {
	m, terms, err := w.find(ctx, token)
	if err != nil {
		return lab.LinkView{}, "", err
	}
	if !terms.may && !m.Body.Test {
		if err := w.logLink(ctx, m, "refused", r.AlertID, "the role is viewer"); err != nil {
			return lab.LinkView{}, "", err
		}
		return lab.LinkView{}, "", lab.Errorf(lab.KindForbidden, "your role is viewer; acknowledging and shelving is for operators and leads. Call one of them.")
	}
	said, err := w.do(ctx, m, r)
	if err != nil {
		return lab.LinkView{}, "", err
	}
	v, err := w.view(ctx, m, terms)
	v.Seen = r.What == lab.LinkAcknowledge
	return v, said, err
}

func (w *Worker) do(ctx context.Context, m lab.PageMessage, r lab.LinkRequest) (string, error) {
	if m.Body.Test {
		return "Thank you: the test reached you.", w.logLink(ctx, m, "acknowledged", "", "test")
	}
	switch r.What {
	case lab.LinkAcknowledge:
		n, err := w.each(ctx, m, r, "acknowledged", func(it lab.PageItem) error {
			_, err := w.cfg.Actions.AcknowledgeOccurrence(ctx, it.AlertID, it.Occurrence, m.Person, "by the link of a page")
			if err == nil {
				err = w.Answered(ctx, it.AlertID, it.Occurrence, m.Person)
			}
			return err
		})
		return doneWords(n, "Acknowledged. Nobody else is called."), err
	case lab.LinkShelve:
		n, err := w.each(ctx, m, r, "shelved", func(it lab.PageItem) error {
			_, err := w.cfg.Actions.ShelveOccurrence(ctx, it.AlertID, it.Occurrence, m.Person, r.Minutes, r.Reason)
			return err
		})
		return doneWords(n, fmt.Sprintf("Shelved for %d min. It stays on the board.", r.Minutes)), err
	case lab.LinkCallNext:
		return w.callNext(ctx, m)
	}
	return "", lab.Errorf(lab.KindInvalid, "there is no such button")
}

// callNext makes the step that would come later due now, and says whom it
// pages.
func (w *Worker) callNext(ctx context.Context, m lab.PageMessage) (string, error) {
	people, nobody, err := w.nextOf(ctx, m)
	if err != nil {
		return "", err
	}
	if nobody != "" {
		return nobody, w.logLink(ctx, m, "called-next", "", "nobody is next")
	}
	if err := w.cfg.Store.HurryCases(ctx, m.Cases); err != nil {
		return "", err
	}
	if err := w.logLink(ctx, m, "called-next", "", strings.Join(people, ", ")); err != nil {
		return "", err
	}
	w.Wake()
	return fmt.Sprintf("Paging %s now.", lab.Joined(people)), nil
}

func doneWords(n int, done string) string {
	if n == 0 {
		return "There was nothing left to do."
	}
	return done
}

// each does something to the alerts of a message (one of them where the
// request names it) and logs it. What was overtaken by events is logged as
// refused and harms nothing else.
func (w *Worker) each(ctx context.Context, m lab.PageMessage, r lab.LinkRequest, what string, do func(lab.PageItem) error) (n int, err error) {
	items := m.Body.Items
	if r.AlertID != "" {
		items = slices.DeleteFunc(slices.Clone(items), func(it lab.PageItem) bool { return it.AlertID != r.AlertID })
	}
	var refused error
	for _, it := range items {
		err := do(it)
		switch {
		case err == nil:
			n++
			if err := w.logLink(ctx, m, what, it.AlertID, ""); err != nil {
				return n, err
			}
		case lab.KindOf(err) == lab.KindConflict:
			refused = err
			if err := w.logLink(ctx, m, "refused", it.AlertID, err.Error()); err != nil {
				return n, err
			}
		default:
			return n, err
		}
	}
	w.Wake()
	if n == 0 {
		return 0, refused
	}
	return n, nil
}

// Answered notes that a person answered an alert, on the board or by a link:
// nobody else is called about it.
func (w *Worker) Answered(ctx context.Context, alertID string, occurrence int, by string) error {
	if err := w.cfg.Store.AnswerPages(ctx, alertID, occurrence, by, w.now()); err != nil {
		return err
	}
	w.Wake()
	return nil
}

func (w *Worker) logLink(ctx context.Context, m lab.PageMessage, what, alertID, detail string) error {
	return w.cfg.Store.LogPage(ctx, lab.PageLog{MessageID: m.ID, At: w.now(), Person: m.Person, What: what, AlertID: alertID, Detail: detail})
}
