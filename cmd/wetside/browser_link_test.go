package main

import (
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"wetside/internal/labtest"
	"wetside/internal/monitor/monitortest"
)

// A button of a page's link works in a real browser over plain HTTP, under a
// name on the lab's own network: there no browser says which site a form
// stands on (Sec-Fetch-Site goes to trustworthy origins only).
func TestLinkButtonOverPlainHTTP(t *testing.T) {
	t.Parallel()
	p, _, a, got, _ := monitortest.PagingLab(t, nil)
	if code, b, err := a.Do("POST", "/api/v1/people/Wren/page-test", ""); err != nil || code != 200 {
		t.Fatalf("page test: %d %s %v", code, b, err)
	}
	link, err := url.Parse(labtest.Receive(t, got, "the test page").Data.Link)
	if err != nil || !strings.HasPrefix(link.Path, "/p/") {
		t.Fatalf("the link is %v %v", link, err)
	}
	board, err := url.Parse(p.URL())
	if err != nil {
		t.Fatal(err)
	}
	link.Scheme, link.Host = "http", "board.lab.example:"+board.Port()
	ctx := browser(t, 390, 844, chromedp.Flag("host-resolver-rules", "MAP board.lab.example 127.0.0.1"))
	phone := page{t, ctx}
	phone.run("press the button of the link",
		chromedp.Navigate(link.String()),
		chromedp.Click(chromedp.CSS("button.main")))
	phone.says("p.said", "the test reached you")
}
