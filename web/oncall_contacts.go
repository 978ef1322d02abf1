package web

import (
	"context"
	"net/http"

	"wetside/internal/lab"
)

// ContactsRequest changes how a person is reached.
type ContactsRequest struct {
	Methods []string `json:"ways" maxItems:"3" doc:"push, webhook and mail, in the order they are tried."`
	Mail    string   `json:"mail,omitempty" maxLength:"254"`
	Webhook string   `json:"webhook,omitempty" maxLength:"2000" doc:"The address that pages are posted to, signed as Standard Webhooks 1.0.0 says."`
	Secret  string   `json:"webhook_secret,omitempty" maxLength:"200" doc:"The key that signs them, whsec_ and 24 to 64 bytes in base64. Absent: the one there is, or a new one."`
}

// SubscriptionRequest is a subscription as a browser gives it (Push API).
type SubscriptionRequest struct {
	Endpoint       string               `json:"endpoint" maxLength:"2000"`
	Keys           SubscriptionKeysPart `json:"keys"`
	ExpirationTime *float64             `json:"expirationTime,omitempty" doc:"Given by browsers; not used."`
	Device         string               `json:"device,omitempty" maxLength:"100" doc:"What people call that phone."`
}

// SubscriptionKeysPart are the keys of a subscription.
type SubscriptionKeysPart struct {
	P256dh string `json:"p256dh" maxLength:"200"`
	Auth   string `json:"auth" maxLength:"100"`
}

// PushKey is what a browser subscribes with.
type PushKey struct {
	Available bool   `json:"available"`
	Why       string `json:"why" doc:"Why it is not available; empty where it is."`
	Key       string `json:"key" doc:"applicationServerKey of the Push API."`
}

// PageTestStarted names the messages of a test.
type PageTestStarted struct {
	Messages []string `json:"messages"`
}

// PageTestList answers GET /people/{name}/page-test.
type PageTestList struct {
	Tests []lab.PageTest `json:"tests"`
}

// PersonPath is a person in a path.
type PersonPath struct {
	Name string `path:"name" maxLength:"64" doc:"The person's name."`
}

// SubscriptionPath is a subscription in a path.
type SubscriptionPath struct {
	ID int64 `path:"id" minimum:"1" doc:"The subscription's id."`
}

// oneself is nil where who asks is that person, signed in, or a lead.
func oneself(ctx context.Context, name string) error {
	who := identityOf(ctx)
	if who.May(lab.RoleLead) || who.BySession() && who.Name == name {
		return nil
	}
	return lab.Errorf(lab.KindForbidden, "this is for %s, signed in, or for a lead", name)
}

// mayPointTo is nil where who asks may give a webhook this address: a lead, or
// anybody who leaves it as it is or takes it away.
func mayPointTo(ctx context.Context, d Roster, person, webhook string) error {
	if webhook == "" || identityOf(ctx).May(lab.RoleLead) {
		return nil
	}
	now, err := d.Contacts(ctx, person)
	if err != nil {
		return err
	}
	if now.Webhook != webhook {
		return lab.Errorf(lab.KindForbidden, "the address of a webhook is set by a lead: wetside calls it from inside the lab's network")
	}
	return nil
}

func (s *Server) contactRoutes() {
	register(s, lab.RoleViewer, dutyOperation("get-contacts", http.MethodGet, "/people/{name}/contacts", "How a person is reached",
		"For oneself, or for a lead.", http.StatusNotFound),
		withDuty(s, func(ctx context.Context, d Roster, in *PersonPath) (*body[lab.ContactsView], error) {
			if err := oneself(ctx, in.Name); err != nil {
				return nil, err
			}
			return answer(d.Contacts(ctx, in.Name))
		}))
	register(s, lab.RoleViewer, dutyOperation("set-contacts", http.MethodPut, "/people/{name}/contacts", "Change how a person is reached",
		"For oneself, or for a lead; the address of a webhook only a lead sets, since it is called from inside the lab's network. The key of a new webhook is in the answer, once.", http.StatusNotFound),
		withDuty(s, func(ctx context.Context, d Roster, in *struct {
			PersonPath
			Body ContactsRequest
		}) (*body[lab.ContactsView], error) {
			if err := oneself(ctx, in.Name); err != nil {
				return nil, err
			}
			b := in.Body
			if err := mayPointTo(ctx, d, in.Name, b.Webhook); err != nil {
				return nil, err
			}
			r := lab.ContactsRequest{Methods: b.Methods, Mail: b.Mail, Webhook: b.Webhook, Secret: b.Secret}
			return answer(d.SetContacts(ctx, in.Name, r, identityOf(ctx).Name))
		}))
	register(s, lab.RoleViewer, dutyOperation("test-pages", http.MethodPost, "/people/{name}/page-test", "Send a person a test by each contact method",
		"For oneself, or for a lead; five times in ten minutes at most. What becomes of it is in GET.", http.StatusNotFound, http.StatusConflict),
		withDuty(s, func(ctx context.Context, d Roster, in *PersonPath) (*body[PageTestStarted], error) {
			if err := oneself(ctx, in.Name); err != nil {
				return nil, err
			}
			ids, err := d.Test(ctx, in.Name, identityOf(ctx).Name)
			return answer(PageTestStarted{ids}, err)
		}))
	register(s, lab.RoleViewer, dutyOperation("list-page-tests", http.MethodGet, "/people/{name}/page-test", "What became of the latest tests",
		"For oneself, or for a lead. Newest first.", http.StatusNotFound),
		withDuty(s, func(ctx context.Context, d Roster, in *PersonPath) (*body[PageTestList], error) {
			if err := oneself(ctx, in.Name); err != nil {
				return nil, err
			}
			tests, err := d.Tests(ctx, in.Name)
			if tests == nil {
				tests = []lab.PageTest{}
			}
			return answer(PageTestList{tests}, err)
		}))
	s.pushRoutes()
}

func (s *Server) pushRoutes() {
	register(s, lab.RoleViewer, dutyOperation("get-push-key", http.MethodGet, "/push/key", "What a browser subscribes with",
		"Where push is not available (it needs HTTPS), why says so; that is no fault."),
		withDuty(s, func(_ context.Context, d Roster, _ *struct{}) (*body[PushKey], error) {
			key, why := d.PushKey()
			return answer(PushKey{Available: why == "", Why: why, Key: key}, nil)
		}))
	add := dutyOperation("subscribe-push", http.MethodPost, "/push/subscriptions", "Take pages on this phone",
		"For who is signed in. The same browser again takes the place of what it was.", http.StatusConflict, http.StatusNotFound)
	add.DefaultStatus = http.StatusCreated
	register(s, lab.RoleViewer, add,
		withDuty(s, func(ctx context.Context, d Roster, in *struct{ Body SubscriptionRequest }) (*body[lab.PushSubscription], error) {
			who := identityOf(ctx)
			if !who.BySession() {
				return nil, lab.Errorf(lab.KindConflict, "a token has no phone; sign in on the phone that shall ring")
			}
			b := in.Body
			return answer(d.Subscribe(ctx, lab.PushSubscription{
				Person: who.Name, Device: b.Device, Endpoint: b.Endpoint, P256dh: b.Keys.P256dh, Auth: b.Keys.Auth,
			}, who.Name))
		}))
	end := dutyOperation("unsubscribe-push", http.MethodDelete, "/push/subscriptions/{id}", "Take no more pages on a phone",
		"One's own, or anybody's for a lead.", http.StatusNotFound)
	end.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleViewer, end,
		withDuty(s, func(ctx context.Context, d Roster, in *SubscriptionPath) (*struct{}, error) {
			who := identityOf(ctx)
			person := who.Name
			if who.May(lab.RoleLead) {
				person = ""
			} else if !who.BySession() {
				return nil, lab.Errorf(lab.KindNotFound, "there is no such subscription of yours")
			}
			return nil, d.Unsubscribe(ctx, in.ID, person, who.Name)
		}))
}
