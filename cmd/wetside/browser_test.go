package main

import (
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/internal/monitor"
	"wetside/internal/monitor/monitortest"
	"wetside/internal/postgres"
	"wetside/internal/postgres/pgtest"
	"wetside/web/access"
)

// browser opens a headless Chromium for the test.
func browser(t testing.TB, width, height int, more ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	path := labtest.Need(t, "chromium", "chromium")
	alloc, cancelAlloc := chromedp.NewExecAllocator(context.Background(), append(more,
		chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.NoDefaultBrowserCheck, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("disable-dev-shm-usage", true),
		chromedp.WindowSize(width, height), chromedp.WSURLReadTimeout(labtest.Patience))...)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(func() {
		// In order: Chromium ends before the folder of its profile goes.
		end, done := context.WithTimeout(ctx, labtest.Patience)
		defer done()
		_ = chromedp.Cancel(end) // it may be gone already
		cancel()
		cancelAlloc()
	})
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("chromium does not start: %v", err)
	}
	return ctx
}

// needPages fails where the pages are not built: what is tested is the board,
// not the notice that stands in for it.
func needPages(t testing.TB) {
	t.Helper()
	if _, err := os.Stat("../../web/dist/index.html"); err != nil {
		t.Fatalf("the pages are not built into this program; run make ui first: %v", err)
	}
}

// browserPatience is how long a page is waited for: a busy machine draws slowly.
const browserPatience = 60 * time.Second

// page is the board in a browser.
type page struct {
	t   testing.TB
	ctx context.Context
}

func (p page) run(what string, actions ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, browserPatience)
	defer cancel()
	if err := chromedp.Do(ctx, actions...); err != nil {
		last, done := context.WithTimeout(p.ctx, 5*time.Second)
		defer done()
		text, _ := chromedp.Run(last, chromedp.Text(chromedp.CSS("body"))) // for the log
		p.t.Fatalf("%s: %v; the page shows:\n%s", what, err, text)
	}
}

// pageLeft is what Chromium answers where a page went to another meanwhile.
var pageLeft = regexp.MustCompile(`navigated|Cannot find context|context was destroyed`)

// until waits until a JavaScript condition holds.
func (p page) until(what, condition string) {
	p.t.Helper()
	poll := chromedp.Poll[chromedp.Void](condition, chromedp.WithPollingInterval(50*time.Millisecond), chromedp.WithPollingTimeout(browserPatience))
	p.run("waiting until "+what, func(ctx context.Context, t *chromedp.Target) (v chromedp.Void, err error) {
		for {
			// A page that goes to another takes its poll with it.
			if v, err = poll(ctx, t); err == nil || ctx.Err() != nil || !pageLeft.MatchString(err.Error()) {
				return v, err
			}
		}
	})
}

func (p page) signIn(url, name, password string) {
	p.t.Helper()
	p.run("sign in",
		chromedp.Navigate(url),
		chromedp.WaitVisible(chromedp.CSS(`input[name=password]`)),
		chromedp.SendKeys(chromedp.CSS(`input[name=name]`), name),
		chromedp.SendKeys(chromedp.CSS(`input[name=password]`), password),
		chromedp.Click(chromedp.CSS(`form button`)),
		chromedp.WaitVisible(chromedp.CSS(`.board`)))
}

// cable is a TCP connection between browser and wetside that can be cut.
type cable struct {
	listener net.Listener
	to       string
	mu       sync.Mutex
	cut      bool
	conns    map[net.Conn]struct{}
	wg       sync.WaitGroup
}

func newCable(t testing.TB, to string) *cable {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c := &cable{listener: l, to: to, conns: map[net.Conn]struct{}{}}
	c.wg.Go(func() {
		for {
			in, err := l.Accept()
			if err != nil {
				return
			}
			c.wg.Go(func() { c.carry(in) })
		}
	})
	t.Cleanup(func() {
		l.Close()
		c.setCut(true)
		c.wg.Wait()
	})
	return c
}

func (c *cable) url() string { return "http://" + c.listener.Addr().String() }

func (c *cable) carry(in net.Conn) {
	defer in.Close()
	out, err := net.Dial("tcp", c.to)
	if err != nil {
		return
	}
	defer out.Close()
	if !c.plug(in, out) {
		return
	}
	done := make(chan struct{}, 2)
	for _, pair := range [][2]net.Conn{{in, out}, {out, in}} {
		c.wg.Go(func() {
			_, _ = io.Copy(pair[0], pair[1]) // the end of either side ends both
			done <- struct{}{}
		})
	}
	<-done
}

func (c *cable) plug(conns ...net.Conn) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.cut {
		return false
	}
	for _, x := range conns {
		c.conns[x] = struct{}{}
	}
	return true
}

// setCut cuts every connection and lets no new one through, or does again.
func (c *cable) setCut(cut bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.cut = cut
	if cut {
		for x := range c.conns {
			x.Close()
		}
		clear(c.conns)
	}
}

// mosquittoPub publishes with a client that isn't ours.
func mosquittoPub(t testing.TB, port int, unit, channel, payload string) {
	t.Helper()
	cmd := exec.Command(labtest.Need(t, "mosquitto_pub", "mosquitto-clients"), "-h", "127.0.0.1", "-p", fmt.Sprint(port), "-q", "1",
		"-t", "wetside/v1/"+unit+"/"+channel, "-m", payload)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("mosquitto_pub: %v: %s", err, out)
	}
}

// A person's view of it: what a unit publishes is on the page, an alert
// comes, is acknowledged by a click, and the page follows; when the line is
// cut the page says so, and recovers.
func TestBoardInABrowser(t *testing.T) {
	t.Parallel()
	needPages(t)
	port, broker := monitortest.Mosquitto(t)
	database := pgtest.New(t)
	program := monitortest.Start(t, monitor.Config{Broker: broker, Database: database, Data: t.TempDir(),
		Prepare: func(ctx context.Context, s *postgres.Store) error {
			return access.CreateUser(ctx, s, "ada", lab.RoleLead, "a long enough password")
		}})
	monitortest.Ready(t, program.URL())
	line := newCable(t, strings.TrimPrefix(program.URL(), "http://"))
	p := page{t, browser(t, 1280, 800)}
	p.signIn(line.url(), "ada", "a long enough password")

	const unit = "tern-street/plover"
	seq := 0
	now := func() string { return lab.At(time.Now()).String() }
	publish := func(channel, format string, args ...any) {
		t.Helper()
		seq++
		mosquittoPub(t, port, unit, channel, fmt.Sprintf(`{"at":%q,"boot":"b1","seq":%d,%s}`, now(), seq, fmt.Sprintf(format, args...)))
	}
	lane := `document.querySelector('[data-unit="` + unit + `"]')`

	publish("status", `"online":true,"model":"tabletop","processes":["c41"]`)
	p.until("the unit has a lane", lane+` !== null`)
	publish("step", `"phase":"in-bath","run":"r1","process":"c41","step":"developer","n":1,"of":6,"set_s":195,"set_c":37.8,"fill_ml":500`)
	publish("temp", `"bath_c":37.8`)
	p.until("the lane shows the bath", lane+`?.querySelector(".bath .now")?.textContent.includes("37.8")`)

	// The tank stands full, with more to come.
	publish("tank", `"levels_l":{"waste":18.5,"wash":12},"full":["waste"]`)
	alert := lane + `?.querySelector('.alert')`
	stop := make(chan struct{})
	var telling sync.WaitGroup
	telling.Go(func() { // deadlines fire when a later message proves them
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				publish("tank", `"levels_l":{"waste":18.5,"wash":12},"full":["waste"]`)
				publish("temp", `"bath_c":37.8`)
			case <-stop:
				return
			}
		}
	})
	p.until("an alert shows", alert+` != null`)
	close(stop)
	telling.Wait()

	// By clicks until nothing is left that nobody has seen.
	p.run("acknowledge", chromedp.Click(chromedp.CSS(`[data-unit="`+unit+`"] .alert button.ack`)))
	p.until("the alert is shown as acknowledged by ada", `[...`+lane+`.querySelectorAll(".seen")].some(e => e.textContent.includes("acknowledged by ada"))`)
	store := pgtest.Store(t, monitortest.StoreConfig(database))
	a := monitortest.NewAPI(t, program.URL(), store)
	acknowledged := 0
	for _, x := range a.Alerts("&open=true") {
		if x.AcknowledgedBy == "ada" && x.State == lab.Acknowledged {
			acknowledged++
		}
	}
	if acknowledged != 1 {
		t.Errorf("%d alerts are acknowledged by ada after one click; want 1: %+v", acknowledged, a.Alerts(""))
	}

	line.setCut(true)
	p.until("the page says that the line is cut", `document.querySelector(".banner")?.textContent.includes("No connection to wetside")`)
	publish("temp", `"bath_c":37.7`)
	line.setCut(false)
	p.until("the page has recovered", `document.querySelector(".banner.none") !== null`)
	p.until("the page shows what was missed", lane+`?.querySelector(".bath .now")?.textContent.includes("37.7")`)
}
