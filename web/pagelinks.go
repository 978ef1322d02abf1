package web

import (
	"bytes"
	"embed"
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"time"

	"wetside/internal/lab"
	"wetside/web/problem"
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
	"joined": lab.Joined,
	"mark": func(p lab.Priority) string { // a shape with each word: never color alone
		if p == lab.Urgent {
			return "▲"
		}
		return "◆"
	},
}).ParseFS(linkFiles, "link/page.html"))

// linkPart is what the page of a link is made of.
type linkPart struct {
	Title, Token, Said, Refused, Problem string
	View                                 *lab.LinkView
	mark                                 func(token, what, alert string) string
}

// Mark is what a form of this page carries.
func (p linkPart) Mark(what, alert string) string { return p.mark(p.Token, what, alert) }

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
	if why := s.access.ForeignForm(r, token, r.PathValue("what")); why != "" {
		s.refuseForm(w, r, token, why)
		return
	}
	minutes, _ := strconv.Atoi(r.PostForm.Get("minutes")) // 0 is refused where it matters
	v, said, err := s.cfg.Links.UseLink(r.Context(), token, lab.LinkRequest{
		What: r.PathValue("what"), AlertID: r.PostForm.Get("alert"), Minutes: minutes, Reason: r.PostForm.Get("reason"),
	})
	part := linkPart{Token: token, View: &v, Said: said}
	if kind := lab.KindOf(err); err != nil && (kind == lab.KindConflict || kind == lab.KindInvalid || kind == lab.KindForbidden) {
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
	if len(token) <= longestToken && s.access.MayUseLink(r) {
		return true
	}
	w.Header().Set("Retry-After", "60")
	linkHeaders(w)
	w.WriteHeader(http.StatusTooManyRequests)
	s.renderLink(w, linkPart{Title: "Wetside", Problem: "Too many requests. Wait a minute."})
	return false
}

// longestToken is above any that wetside makes.
const longestToken = 200

// refuseForm shows what the link shows now, with why its button did nothing.
func (s *Server) refuseForm(w http.ResponseWriter, r *http.Request, token, why string) {
	v, err := s.cfg.Links.OpenLink(r.Context(), token)
	if err != nil {
		s.showLink(w, r, linkPart{}, err)
		return
	}
	linkHeaders(w)
	w.WriteHeader(http.StatusForbidden)
	s.renderLink(w, linkPart{Title: v.Title, Token: token, View: &v, Refused: why})
}

func linkHeaders(w http.ResponseWriter) {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("Referrer-Policy", "same-origin") // the address is the key: no other site sees it
	h.Set("X-Robots-Tag", "noindex, nofollow")
}

// showLink writes the page, or what is wrong.
func (s *Server) showLink(w http.ResponseWriter, r *http.Request, part linkPart, err error) {
	status := http.StatusOK
	switch {
	case err != nil:
		status = problem.Status(err)
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
	part.mark = s.access.FormMark
	var b bytes.Buffer
	if err := linkPage.Execute(&b, part); err != nil {
		s.log.Error("the page of a link cannot be written", "error", err)
		return
	}
	_, _ = w.Write(b.Bytes()) // the client went away: nobody to tell
}
