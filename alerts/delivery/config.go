package delivery

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/internal/service"
)

// Store is what delivery needs of the database. What is called with a term
// fails with lab.ErrStaleTerm or a lab.KindConflict when that is over.
type Store interface {
	DutyState(ctx context.Context) (lab.DutyState, error)
	SetDutyPlan(ctx context.Context, p lab.DutyPlan, version int, by string) error
	AddDutySwap(ctx context.Context, w lab.DutySwap, by string) (lab.DutySwap, error)
	EndDutySwap(ctx context.Context, id int64, by string) error
	SetDutyDark(ctx context.Context, person string, until time.Time, by string) error
	LogDuty(ctx context.Context, by, what, person string, detail map[string]any) error
	DutyLog(ctx context.Context, limit int) ([]lab.DutyEntry, error)

	Users(ctx context.Context) ([]lab.User, error)
	LinkHolder(ctx context.Context, person string, alertIDs []string) (lab.LinkHolder, error)
	Contacts(ctx context.Context, person string) (lab.Contacts, error)
	SetContacts(ctx context.Context, c lab.Contacts, by string) error
	SwitchWebhookOff(ctx context.Context, person, why string) error
	AddSubscription(ctx context.Context, p lab.PushSubscription, by string) (lab.PushSubscription, error)
	RemoveSubscription(ctx context.Context, id int64, person, by, why string) error

	TakePages(ctx context.Context, term int64, decide func(news []lab.NewPage, open []lab.PageCase) []lab.CaseChange) (people []string, more bool, err error)
	NextStep(ctx context.Context) (time.Time, error)
	AnswerPages(ctx context.Context, alertID string, occurrence int, by string, at time.Time) error
	PageCases(ctx context.Context, ids []int64) ([]lab.PageCase, error)
	HurryCases(ctx context.Context, ids []int64) error

	ClaimMessage(ctx context.Context, term int64, person string, recent time.Time, decide func(lab.PersonQueue) lab.QueueDecision) (*lab.PageMessage, time.Time, error)
	MessageTried(ctx context.Context, id string, tries []lab.Delivery, sentBy string, next time.Time) error
	TestMessages(ctx context.Context, messages []lab.PageMessage, by, what string) error
	WaitingPeople(ctx context.Context, term int64) ([]string, error)
	PeopleWithWork(ctx context.Context) ([]string, error)
	PageMessage(ctx context.Context, id string) (lab.PageMessage, error)
	LogPage(ctx context.Context, l lab.PageLog) error
	AlertPages(ctx context.Context, alertID string) ([]lab.PageRecord, []lab.PageCase, error)
	Tests(ctx context.Context, person string, limit int) ([]lab.PageRecord, error)
	MethodHealth(ctx context.Context) ([]lab.MethodHealth, error)
	PagesOverdue(ctx context.Context, now time.Time) (int, time.Time, error)

	Alert(ctx context.Context, id string) (lab.Alert, error)
	Alerts(ctx context.Context, f lab.AlertFilter) ([]lab.Alert, error)
	Commit(ctx context.Context, term int64, c lab.Commit) error
	UpdateAlert(ctx context.Context, id string, change func(*lab.StoredAlert) ([]lab.AlertEvent, error)) (lab.StoredAlert, error)
}

// Method sends one message to one person, once: see package notify.
type Method interface {
	Send(ctx context.Context, c lab.Contacts, m lab.PageMessage) error
}

// Config is what a Worker works with.
type Config struct {
	Store Store
	Term  int64
	// Methods by name, lab.MethodPush and so on. A contact method that is
	// missing is not tried.
	Methods map[string]Method
	// Unavailable says by contact method why it cannot be used at all; such are not
	// tried and reach nobody. Defaults to none.
	Unavailable map[string]string
	// Key signs the links in pages: at least 32 random bytes, always the same.
	Key []byte
	// Address is where the board is, for links, where the plan names none.
	Address string
	// Film says where a unit's film is. Defaults to what nobody knows.
	Film func(unit string) lab.FilmAt
	// Units are what pages are written in. Defaults to degrees Celsius and
	// liters.
	Units func() lab.Units
	// Sure returns when this process is the one that may page, or an error of
	// the store's kind for a term that is over: asked before each try, for what
	// is sent cannot be taken back. Defaults to at once.
	Sure func(context.Context) error
	// Busy tells whether a unit is in a run. Defaults to never.
	Busy func() bool
	// Publish is told of alerts of the monitor itself that changed. It must
	// not block. Defaults to nobody.
	Publish func([]lab.Alert)
	// Beside gives faults of other parts of the monitor, which the board shows
	// beside those of paging. Defaults to none.
	Beside func(now time.Time) []lab.DutyFault
	// Actions are how links acknowledge and shelve. Defaults to one of its own.
	Actions *alerts.Actions
	// Heartbeat says where it goes. Defaults to nowhere.
	Heartbeat HeartbeatConfig

	Clock lab.Clock    // Defaults to lab.SystemClock.
	Log   *slog.Logger // Defaults to slog.Default.

	// Look is how often the Worker looks for what no wake told of. Defaults
	// to 1 s.
	Look time.Duration
	// CheckEvery is how often it looks at itself. Defaults to 15 s.
	CheckEvery time.Duration
	// FailingFor and FailingTries: after so long and so many failures a contact
	// method is an alert. Default to 2 min and 3.
	FailingFor   time.Duration
	FailingTries int
	// NobodyFor is how long a unit runs with nobody on duty before that is an
	// alert. Defaults to 1 min.
	NobodyFor time.Duration
}

// The worker's other times.
const (
	storeWithin = 15 * time.Second // one call of the store
	lastTry     = 3 * time.Second  // what is being sent at a stop
	firstPause  = 250 * time.Millisecond
	longPause   = 5 * time.Second
	recentFor   = time.Hour // how far back messages count for a flood: the most a plan may say
)

func (c *Config) complete() error {
	if c.Store == nil {
		return errors.New("delivery: Config.Store is missing")
	}
	if len(c.Key) < 32 {
		return errors.New("delivery: Config.Key has fewer than 32 bytes")
	}
	if c.Sure == nil {
		c.Sure = func(context.Context) error { return nil }
	}
	if c.Busy == nil {
		c.Busy = func() bool { return false }
	}
	if c.Units == nil {
		c.Units = func() lab.Units { return lab.Units{} }
	}
	if c.Film == nil {
		c.Film = func(string) lab.FilmAt { return lab.FilmAt{} }
	}
	if c.Beside == nil {
		c.Beside = func(time.Time) []lab.DutyFault { return nil }
	}
	if c.Publish == nil {
		c.Publish = func([]lab.Alert) {}
	}
	if c.Clock == nil {
		c.Clock = lab.SystemClock{}
	}
	if c.Log == nil {
		c.Log = slog.Default()
	}
	if c.Actions == nil {
		c.Actions = alerts.NewActions(alerts.ActionsConfig{Store: c.Store, Clock: c.Clock})
	}
	c.Look = service.Positive(c.Look, time.Second)
	c.CheckEvery = service.Positive(c.CheckEvery, 15*time.Second)
	c.FailingFor = service.Positive(c.FailingFor, 2*time.Minute)
	c.NobodyFor = service.Positive(c.NobodyFor, time.Minute)
	if c.FailingTries <= 0 {
		c.FailingTries = 3
	}
	c.Heartbeat.Every = service.Positive(c.Heartbeat.Every, time.Minute)
	return nil
}
