package web

import (
	"bytes"
	"embed"
	"html/template"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"wetside/internal/lab"
)

//go:embed link
var linkFiles embed.FS

var linkPage = template.Must(template.New("page.html").Funcs(template.FuncMap{
	"clock": func(t lab.Time, zone string) string {
		loc, err := time.LoadLocation(zone)
		if err != nil {
			loc = time.UTC
		}
		return t.In(loc).Format("Mon 15:04")
	},
	"unit": func(unit string) string {
		if _, name, _ := strings.Cut(unit, "/"); name != "" {
			return name
		}
		return "wetside itself"
	},
	"mark": func(p lab.Priority) string { // a shape with each word: never colour alone
		if p == lab.Urgent {
			return "▲"
		}
		return "■"
	},
}).ParseFS(linkFiles, "link/page.html"))

// linkPart is what the page of a link is made of.
type linkPart struct {
	Title, Token, Said, Refused, Problem string
	View                                 *lab.LinkView
}

// linkRoutes serve the links in pages. They need no sign-in: the token is for
// one page and one person, and signed. GET shows, POST does.
func (s *Server) linkRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /p/style.css", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-cache")
		http.ServeFileFS(w, r, linkFiles, "link/style.css")
	})
	mux.HandleFunc("GET /p/{token}", s.openLink)
	mux.HandleFunc("POST /p/{token}/{what}", s.useLink)
}

func (s *Server) openLink(w http.ResponseWriter, r *http.Request) {
	token := r.PathValue("token")
	if !s.mayUseLink(w, r, token) {
		return
	}
	v, err := s.cfg.Links.OpenLink(r.Context(), token)
	s.showLink(w, r, linkPart{Token: token, View: &v}, err)
}

func (s *Server) useLink(w http.ResponseWriter, r *http.Request) {
	token := r.PathValue("token")
	if !s.mayUseLink(w, r, token) {
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, 8<<10)
	if err := r.ParseForm(); err != nil {
		s.showLink(w, r, linkPart{}, lab.Errorf(lab.KindInvalid, "the form could not be read"))
		return
	}
	minutes, _ := strconv.Atoi(r.PostForm.Get("minutes")) // 0 is refused where it matters
	v, said, err := s.cfg.Links.UseLink(r.Context(), token, lab.LinkRequest{
		What: r.PathValue("what"), AlertID: r.PostForm.Get("alert"), Minutes: minutes, Reason: r.PostForm.Get("reason"),
	})
	part := linkPart{Token: token, View: &v, Said: said}
	if kind := lab.KindOf(err); err != nil && (kind == lab.KindConflict || kind == lab.KindInvalid) {
		// say why, over what the link shows now
		refused := err.Error()
		if v, err = s.cfg.Links.OpenLink(r.Context(), token); err == nil {
			part = linkPart{Token: token, View: &v, Refused: refused}
		}
	}
	s.showLink(w, r, part, err)
}

// mayUseLink refuses where there are no links, or too many requests.
func (s *Server) mayUseLink(w http.ResponseWriter, r *http.Request, token string) bool {
	if s.cfg.Links == nil {
		s.showLink(w, r, linkPart{}, lab.Errorf(lab.KindNotFound, "this wetside pages nobody"))
		return false
	}
	addr, _, _ := net.SplitHostPort(r.RemoteAddr)
	if s.linkLimit.take(s.cfg.Clock.Now(), "t"+token, linksAToken) && s.linkLimit.take(s.cfg.Clock.Now(), "a"+addr, linksAnAddress) {
		return true
	}
	w.Header().Set("Retry-After", "60")
	linkHeaders(w)
	w.WriteHeader(http.StatusTooManyRequests)
	s.renderLink(w, linkPart{Title: "Wetside", Problem: "Too many requests. Wait a minute."})
	return false
}

func linkHeaders(w http.ResponseWriter) {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("Referrer-Policy", "no-referrer") // the address is the key
	h.Set("X-Robots-Tag", "noindex, nofollow")
}

// showLink writes the page, or what is wrong.
func (s *Server) showLink(w http.ResponseWriter, r *http.Request, part linkPart, err error) {
	status := http.StatusOK
	switch {
	case err != nil:
		status = statusOf(err)
		part = linkPart{Title: "Wetside", Problem: err.Error()}
		if status == http.StatusInternalServerError {
			s.log.Error("a page's link failed", "error", err)
			part.Problem = "Something failed inside wetside. Look at the board."
		}
	case part.View != nil:
		part.Title = part.View.Title
		if part.Refused != "" {
			status = http.StatusConflict
		}
	}
	linkHeaders(w)
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		s.renderLink(w, part)
	}
}

func (s *Server) renderLink(w http.ResponseWriter, part linkPart) {
	var b bytes.Buffer
	if err := linkPage.Execute(&b, part); err != nil {
		s.log.Error("the page of a link cannot be written", "error", err)
		return
	}
	_, _ = w.Write(b.Bytes()) // the client went away: nobody to tell
}

// How often links may be used in a minute; common practice, no source.
const (
	linksAToken    = 30
	linksAnAddress = 240
)

// windowed counts by the minute. It is safe for concurrent use.
type windowed struct {
	mu    sync.Mutex
	begun time.Time
	seen  map[string]int
}

// take tells whether key may once more in this minute.
func (l *windowed) take(now time.Time, key string, most int) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.seen == nil || now.Sub(l.begun) >= time.Minute || len(l.seen) > 100_000 {
		l.begun, l.seen = now, map[string]int{}
	}
	l.seen[key]++
	return l.seen[key] <= most
}
