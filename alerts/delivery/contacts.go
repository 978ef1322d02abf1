package delivery

import (
	"context"
	"slices"
	"time"

	"wetside/alerts/notify"
	"wetside/internal/lab"
)

// Contacts gives how a person is reached.
func (ro *Roster) Contacts(ctx context.Context, person string) (lab.ContactsView, error) {
	c, err := ro.w.cfg.Store.Contacts(ctx, person)
	return viewOf(c, ""), err
}

func viewOf(c lab.Contacts, secret string) lab.ContactsView {
	if c.Methods == nil {
		c.Methods = []string{}
	}
	if c.Push == nil {
		c.Push = []lab.PushSubscription{}
	}
	return lab.ContactsView{Contacts: c, Signed: c.Secret != "", Secret: secret}
}

// SetContacts changes how a person is reached. The key of a new webhook is
// made, and shown in the answer only.
func (ro *Roster) SetContacts(ctx context.Context, person string, r lab.ContactsRequest, by string) (lab.ContactsView, error) {
	now, err := ro.w.cfg.Store.Contacts(ctx, person)
	if err != nil {
		return lab.ContactsView{}, err
	}
	c, secret, err := changeContacts(now, r)
	if err != nil {
		return lab.ContactsView{}, err
	}
	if err := ro.w.cfg.Store.SetContacts(ctx, c, by); err != nil {
		return lab.ContactsView{}, err
	}
	if err := ro.w.Reload(ctx); err != nil {
		return lab.ContactsView{}, err
	}
	c.WebhookOff = nil
	return viewOf(c, secret), nil
}

func changeContacts(c lab.Contacts, r lab.ContactsRequest) (_ lab.Contacts, secret string, err error) {
	for i, method := range r.Methods {
		if !slices.Contains(lab.Methods, method) {
			return c, "", lab.Errorf(lab.KindInvalid, "ways must be push, webhook or mail; got %q", method)
		}
		if slices.Contains(r.Methods[:i], method) {
			return c, "", lab.Errorf(lab.KindInvalid, "ways: %q is there twice", method)
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
	c.Methods, c.Mail, c.Webhook = r.Methods, r.Mail, r.Webhook
	return c, secret, nil
}

// Subscribe takes a browser that wants pages.
func (ro *Roster) Subscribe(ctx context.Context, s lab.PushSubscription, by string) (lab.PushSubscription, error) {
	if _, why := ro.pushKey(); why != "" {
		return s, lab.Errorf(lab.KindConflict, "push is not available: %s", why)
	}
	if err := notify.CheckSubscription(s); err != nil {
		return s, err
	}
	if len(s.Device) > 100 {
		return s, lab.Errorf(lab.KindInvalid, "device must be at most 100 bytes long; got %d", len(s.Device))
	}
	s, err := ro.w.cfg.Store.AddSubscription(ctx, s, by)
	if err != nil {
		return s, err
	}
	return s, ro.w.Reload(ctx)
}

// Unsubscribe forgets a browser of a person; of anybody where that is empty.
func (ro *Roster) Unsubscribe(ctx context.Context, id int64, person, by string) error {
	if err := ro.w.cfg.Store.RemoveSubscription(ctx, id, person, by, ""); err != nil {
		return err
	}
	return ro.w.Reload(ctx)
}

// PushKey gives what a browser subscribes with, or why it cannot.
func (ro *Roster) PushKey() (key, why string) { return ro.pushKey() }

// Test sends a test by each contact method that a person has, and gives the
// messages' ids.
func (ro *Roster) Test(ctx context.Context, person, by string) ([]string, error) {
	c, err := ro.w.cfg.Store.Contacts(ctx, person)
	if err != nil {
		return nil, err
	}
	records, err := ro.w.cfg.Store.Tests(ctx, person, 100)
	if err != nil {
		return nil, err
	}
	if err := MayTest(records, person, ro.w.now()); err != nil {
		return nil, err
	}
	list := ro.w.usable(c)
	if len(list) == 0 {
		return nil, lab.Errorf(lab.KindConflict, "%s has no contact method; give a mail address, a webhook, or subscribe a phone", person)
	}
	var messages []lab.PageMessage
	var ids []string
	for _, method := range list {
		m := ro.w.testMessage(person, method, ro.w.now())
		messages, ids = append(messages, m), append(ids, m.ID)
	}
	if err := ro.w.cfg.Store.TestMessages(ctx, messages, by, "page-test"); err != nil {
		return nil, err
	}
	ro.w.Wake()
	return ids, nil
}

// How many tests a person may have: enough to get a phone to work, too few to
// make wetside knock at other machines' doors all day.
const (
	testsMost   = 5
	testsWithin = 10 * time.Minute
)

// MayTest is nil where a person may be sent another test. records are the
// latest, one by each contact method.
func MayTest(records []lab.PageRecord, person string, now time.Time) error {
	byMethod := map[string]int{}
	for _, r := range records { // newest first
		method := ""
		if r.Message != nil {
			method = r.Message.OnlyMethod
		}
		if now.Sub(r.CreatedAt) >= testsWithin {
			continue
		}
		if byMethod[method]++; byMethod[method] >= testsMost {
			return lab.Errorf(lab.KindConflict, "%s was sent %d tests in the last 10 minutes; the next is possible in %d s",
				person, testsMost, int(r.CreatedAt.Add(testsWithin).Sub(now).Seconds())+1)
		}
	}
	return nil
}

// Tests gives a person's latest tests.
func (ro *Roster) Tests(ctx context.Context, person string) ([]lab.PageTest, error) {
	records, err := ro.w.cfg.Store.Tests(ctx, person, 20)
	out := make([]lab.PageTest, len(records))
	for i, r := range records {
		v := ro.pageView(r)
		out[i] = lab.PageTest{ID: r.Message.ID, Method: r.Message.OnlyMethod, At: lab.At(r.CreatedAt), State: v.State, Tries: v.Tries}
	}
	return out, err
}
