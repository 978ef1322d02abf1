package delivery

import (
	"context"
	"net/url"
	"slices"
	"strings"
	"time"

	"wetside/alerts/notify"
	"wetside/alerts/oncall"
	"wetside/internal/lab"
)

// The bounds of working in the dark, minutes.
const maxDark = 60

// Desk is where people see and change who is called, and how. Make it with
// Worker.NewDesk. Safe for concurrent use.
type Desk struct {
	w *Worker
	// PushKey gives what a browser subscribes with, or why it cannot.
	pushKey func() (key, why string)
}

// NewDesk makes a Desk. pushKey may be nil: push is then not there.
func (w *Worker) NewDesk(pushKey func() (key, why string)) *Desk {
	if pushKey == nil {
		pushKey = func() (string, string) { return "", "push is not set up" }
	}
	return &Desk{w, pushKey}
}

// SetPlan stores a new version of the plan, made from version.
func (d *Desk) SetPlan(ctx context.Context, p lab.DutyPlan, version int, by string) (lab.DutyNow, error) {
	names, err := d.names(ctx)
	if err != nil {
		return lab.DutyNow{}, err
	}
	if err := oncall.Check(p, names); err != nil {
		return lab.DutyNow{}, err
	}
	if err := checkAddress(p.Address); err != nil {
		return lab.DutyNow{}, err
	}
	if p.Hours == nil {
		p.Hours = []lab.DutyHours{}
	}
	if p.Quiet == nil {
		p.Quiet = []lab.QuietHours{}
	}
	if err := d.w.cfg.Store.SetDutyPlan(ctx, p, version, by); err != nil {
		return lab.DutyNow{}, err
	}
	return d.reloaded(ctx)
}

func checkAddress(address string) error {
	if address == "" {
		return nil
	}
	u, err := url.Parse(address)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return lab.Errorf(lab.KindInvalid, "address %q must be scheme and host such as https://board.example", address)
	}
	return nil
}

func (d *Desk) names(ctx context.Context) ([]string, error) {
	users, err := d.w.cfg.Store.Users(ctx)
	names := make([]string, len(users))
	for i, u := range users {
		names[i] = u.Name
	}
	return names, err
}

func (d *Desk) reloaded(ctx context.Context) (lab.DutyNow, error) {
	if err := d.w.Reload(ctx); err != nil {
		return lab.DutyNow{}, err
	}
	return d.Duty(ctx)
}

// Swap puts one person in place of another for a day.
func (d *Desk) Swap(ctx context.Context, s lab.DutySwap, by string) (lab.DutySwap, error) {
	names, err := d.names(ctx)
	if err != nil {
		return s, err
	}
	if err := oncall.CheckSwap(s, names); err != nil {
		return s, err
	}
	if len(s.Note) > 500 {
		return s, lab.Errorf(lab.KindInvalid, "note must be at most 500 bytes long; got %d", len(s.Note))
	}
	if s, err = d.w.cfg.Store.AddDutySwap(ctx, s, by); err != nil {
		return s, err
	}
	return s, d.w.Reload(ctx)
}

// EndSwap takes a swap back.
func (d *Desk) EndSwap(ctx context.Context, id int64, by string) error {
	if err := d.w.cfg.Store.EndDutySwap(ctx, id, by); err != nil {
		return err
	}
	return d.w.Reload(ctx)
}

// GoDark keeps a person's phone dark for some minutes; none ends that. When
// it returns, nothing more goes out to that phone but what was on its way.
func (d *Desk) GoDark(ctx context.Context, person string, minutes int, by string) (lab.DutyDark, error) {
	out := lab.DutyDark{Person: person}
	if minutes < 0 || minutes > maxDark {
		return out, lab.Errorf(lab.KindInvalid, "minutes must be 1 to %[2]d, or 0 to end it; got %[1]d", minutes, maxDark)
	}
	names, err := d.names(ctx)
	if err != nil {
		return out, err
	}
	if !slices.Contains(names, person) {
		return out, lab.Errorf(lab.KindInvalid, "there is nobody called %q; say who works in the dark", person)
	}
	var until time.Time
	if minutes > 0 {
		until = d.w.now().Add(time.Duration(minutes) * time.Minute)
		out.Until = lab.At(until)
	}
	if err := d.w.cfg.Store.SetDutyDark(ctx, person, until, by); err != nil {
		return out, err
	}
	return out, d.w.Reload(ctx)
}

// Contacts gives how a person is reached.
func (d *Desk) Contacts(ctx context.Context, person string) (lab.ContactsView, error) {
	c, err := d.w.cfg.Store.Contacts(ctx, person)
	return viewOf(c, ""), err
}

func viewOf(c lab.Contacts, secret string) lab.ContactsView {
	if c.Ways == nil {
		c.Ways = []string{}
	}
	if c.Push == nil {
		c.Push = []lab.PushSubscription{}
	}
	return lab.ContactsView{Contacts: c, Signed: c.Secret != "", Secret: secret}
}

// SetContacts changes how a person is reached. The key of a new webhook is
// made, and shown in the answer only.
func (d *Desk) SetContacts(ctx context.Context, person string, r lab.ContactsRequest, by string) (lab.ContactsView, error) {
	now, err := d.w.cfg.Store.Contacts(ctx, person)
	if err != nil {
		return lab.ContactsView{}, err
	}
	c, secret, err := changeContacts(now, r)
	if err != nil {
		return lab.ContactsView{}, err
	}
	if err := d.w.cfg.Store.SetContacts(ctx, c, by); err != nil {
		return lab.ContactsView{}, err
	}
	if err := d.w.Reload(ctx); err != nil {
		return lab.ContactsView{}, err
	}
	c.WebhookOff = nil
	return viewOf(c, secret), nil
}

func changeContacts(c lab.Contacts, r lab.ContactsRequest) (_ lab.Contacts, secret string, err error) {
	for i, way := range r.Ways {
		if !slices.Contains(lab.Ways, way) {
			return c, "", lab.Errorf(lab.KindInvalid, "ways must be push, webhook or mail; got %q", way)
		}
		if slices.Contains(r.Ways[:i], way) {
			return c, "", lab.Errorf(lab.KindInvalid, "ways: %q is there twice", way)
		}
	}
	if r.Mail != "" {
		if err := notify.CheckMail(r.Mail); err != nil {
			return c, "", err
		}
	}
	if r.Webhook != "" {
		if err := notify.CheckWebhook(r.Webhook); err != nil {
			return c, "", err
		}
	}
	switch {
	case r.Webhook == "":
		c.Secret = ""
	case r.Secret != "":
		if err := notify.CheckSecret(r.Secret); err != nil {
			return c, "", err
		}
		c.Secret = r.Secret
	case c.Secret == "" || c.Webhook != r.Webhook: // another receiver gets a key of its own
		secret = notify.NewSecret()
		c.Secret = secret
	}
	c.Ways, c.Mail, c.Webhook = r.Ways, r.Mail, r.Webhook
	return c, secret, nil
}

// Subscribe takes a browser that wants pages.
func (d *Desk) Subscribe(ctx context.Context, s lab.PushSubscription, by string) (lab.PushSubscription, error) {
	if _, why := d.pushKey(); why != "" {
		return s, lab.Errorf(lab.KindConflict, "push is not available: %s", why)
	}
	if err := notify.CheckSubscription(s); err != nil {
		return s, err
	}
	if len(s.Device) > 100 {
		return s, lab.Errorf(lab.KindInvalid, "device must be at most 100 bytes long; got %d", len(s.Device))
	}
	s, err := d.w.cfg.Store.AddSubscription(ctx, s, by)
	if err != nil {
		return s, err
	}
	return s, d.w.Reload(ctx)
}

// Unsubscribe forgets a browser of a person; of anybody where that is empty.
func (d *Desk) Unsubscribe(ctx context.Context, id int64, person, by string) error {
	if err := d.w.cfg.Store.RemoveSubscription(ctx, id, person, by, ""); err != nil {
		return err
	}
	return d.w.Reload(ctx)
}

// PushKey gives what a browser subscribes with, or why it cannot.
func (d *Desk) PushKey() (key, why string) { return d.pushKey() }

// Test sends a test by each way that a person has, and gives the messages' ids.
func (d *Desk) Test(ctx context.Context, person, by string) ([]string, error) {
	c, err := d.w.cfg.Store.Contacts(ctx, person)
	if err != nil {
		return nil, err
	}
	records, err := d.w.cfg.Store.Tests(ctx, person, 100)
	if err != nil {
		return nil, err
	}
	if err := MayTest(records, person, d.w.now()); err != nil {
		return nil, err
	}
	list := d.w.usable(c)
	if len(list) == 0 {
		return nil, lab.Errorf(lab.KindConflict, "%s has no contact method; give a mail address, a webhook, or subscribe a phone", person)
	}
	var messages []lab.PageMessage
	var ids []string
	for _, way := range list {
		m := d.w.testMessage(person, way, d.w.now())
		messages, ids = append(messages, m), append(ids, m.ID)
	}
	if err := d.w.cfg.Store.TestMessages(ctx, messages, by, "page-test"); err != nil {
		return nil, err
	}
	d.w.Wake()
	return ids, nil
}

// How many tests a person may have: enough to get a phone to work, too few to
// make wetside knock at other machines' doors all day.
const (
	testsMost   = 5
	testsWithin = 10 * time.Minute
)

// MayTest is nil where a person may be sent another test. records are the
// latest, one by each way.
func MayTest(records []lab.PageRecord, person string, now time.Time) error {
	byWay := map[string]int{}
	for _, r := range records { // newest first
		way := ""
		if r.Message != nil {
			way = r.Message.OnlyWay
		}
		if now.Sub(r.CreatedAt) >= testsWithin {
			continue
		}
		if byWay[way]++; byWay[way] >= testsMost {
			return lab.Errorf(lab.KindConflict, "%s was sent %d tests in the last 10 minutes; the next is possible in %d s",
				person, testsMost, int(r.CreatedAt.Add(testsWithin).Sub(now).Seconds())+1)
		}
	}
	return nil
}

// Tests gives a person's latest tests.
func (d *Desk) Tests(ctx context.Context, person string) ([]lab.PageTest, error) {
	records, err := d.w.cfg.Store.Tests(ctx, person, 20)
	out := make([]lab.PageTest, len(records))
	for i, r := range records {
		v := d.pageView(r)
		out[i] = lab.PageTest{ID: r.Message.ID, Way: r.Message.OnlyWay, At: lab.At(r.CreatedAt), State: v.State, Tries: v.Tries}
	}
	return out, err
}

// Log gives the record of who changed what, newest first.
func (d *Desk) Log(ctx context.Context, limit int) ([]lab.DutyEntry, error) {
	return d.w.cfg.Store.DutyLog(ctx, limit)
}
