package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"noonmark/internal/base/problem"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// What a request may do wrong.
var (
	errNoPage        = errors.New("there is no such page")
	errForeignHost   = errors.New("this address is not one the program answers to; use the one it printed")
	errForeignOrigin = errors.New("the request comes from another site, which may not use this program")
	errMethod        = errors.New("only GET, HEAD and POST are answered")
	errNotHere       = errors.New("the program answers this machine only; start it with --phone to use it from another")
	errNoCode        = errors.New("this device has not given the code that the program shows")
	errInternal      = errors.New("an internal fault: it is the program's, and nothing of this request was kept")
)

// tooLarge is a body over its limit.
type tooLarge struct{ limit int64 }

func (e *tooLarge) Error() string {
	if e.limit == 0 {
		return "this page takes no upload"
	}
	return fmt.Sprintf("too large: at most %d kB here", e.limit>>10)
}

// misuse is a request that cannot be understood.
type misuse struct{ text string }

func (e *misuse) Error() string { return e.text }

func wrong(format string, args ...any) error { return &misuse{fmt.Sprintf(format, args...)} }

// statusOf maps a kind of error to its status: here and nowhere else.
func statusOf(err error) int {
	var bad *problem.Error
	var large *tooLarge
	var max *http.MaxBytesError
	var conflict *store.Conflict
	var use *misuse
	switch {
	case errors.As(err, &bad):
		return http.StatusUnprocessableEntity
	case errors.As(err, &large), errors.As(err, &max):
		return http.StatusRequestEntityTooLarge
	case errors.As(err, &conflict), errors.Is(err, store.ErrExists), errors.Is(err, store.ErrNothing):
		return http.StatusConflict
	case errors.Is(err, buildfile.ErrShape):
		return http.StatusUnprocessableEntity
	case errors.As(err, &use):
		return http.StatusBadRequest
	case errors.Is(err, errNoPage), errors.Is(err, store.ErrNotFound):
		return http.StatusNotFound
	case errors.Is(err, errForeignHost):
		return http.StatusMisdirectedRequest
	case errors.Is(err, errForeignOrigin), errors.Is(err, errNotHere):
		return http.StatusForbidden
	case errors.Is(err, errNoCode):
		return http.StatusUnauthorized
	case errors.Is(err, errTries):
		return http.StatusTooManyRequests
	case errors.Is(err, errMethod):
		return http.StatusMethodNotAllowed
	case errors.Is(err, store.ErrLocked), errors.Is(err, store.ErrReadOnly), errors.Is(err, store.ErrDisk):
		return http.StatusServiceUnavailable
	case errors.Is(err, store.ErrFull):
		return http.StatusInsufficientStorage
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return http.StatusServiceUnavailable
	}
	return http.StatusInternalServerError
}

// shown is an error whose words a reader may see.
func shown(err error) string {
	switch status := statusOf(err); {
	case status == http.StatusRequestEntityTooLarge:
		var large *tooLarge
		if errors.As(err, &large) {
			return large.Error()
		}
		return "too large to be read"
	case errors.Is(err, store.ErrNotFound):
		return strings.TrimSuffix(err.Error(), ": "+store.ErrNotFound.Error()) + " is not on the shelf"
	case errors.Is(err, store.ErrExists):
		return strings.TrimSuffix(err.Error(), ": "+store.ErrExists.Error()) + " is on the shelf already: give another name"
	case status < 500, errors.Is(err, errInternal):
		return err.Error()
	}
	for _, kind := range []error{store.ErrReadOnly, store.ErrLocked, store.ErrDamaged, store.ErrFull, store.ErrDisk, store.ErrNewer, store.ErrNotStore, store.ErrOpen} {
		if errors.Is(err, kind) {
			return err.Error()
		}
	}
	return errInternal.Error()
}

// errorPage is the page of an error.
type errorPage struct {
	frame
	Status   int
	Text     string
	Problems []problemView
	Join     bool
	Back     string // the page the request was made from, or the build's first sheet; empty: neither is known
}

// titles say in words what kind of refusal a status is; one without words has the protocol's.
var titles = map[int]string{
	http.StatusBadRequest: "That cannot be done", http.StatusUnprocessableEntity: "Not yet", http.StatusNotFound: "Nothing here", http.StatusConflict: "Not now",
	http.StatusRequestEntityTooLarge: "Too large", http.StatusForbidden: "Not from there", http.StatusUnauthorized: "The code first", http.StatusTooManyRequests: "Too many tries",
	http.StatusMethodNotAllowed: "That cannot be done", http.StatusServiceUnavailable: "Not at the moment", http.StatusInsufficientStorage: "No room", http.StatusInternalServerError: "A fault of the program",
}

// backOf returns where a refused request leads back to: the page with its form, when that was one of this site,
// else the build, when there is one of that name.
func (s *Server) backOf(r *http.Request) string {
	if from, err := url.Parse(r.Referer()); err == nil && from.Host == r.Host && len(from.Path) > 1 && from.Path[1] != '/' && from.Path != r.URL.Path {
		return from.RequestURI()
	}
	name, ok := strings.CutPrefix(r.URL.Path, "/b/")
	if name, _, _ = strings.Cut(name, "/"); !ok || name == "" {
		return ""
	}
	if _, err := s.config.Shelf.Read(r.Context(), name, ""); err != nil {
		return ""
	}
	return pathOf(name, "needs")
}

// errorReply returns the page of an error, or its JSON where the request is one of the API.
func (s *Server) errorReply(r *http.Request, err error) *reply {
	status := statusOf(err)
	if status == http.StatusInternalServerError {
		s.config.Log("%s %s: %v", r.Method, r.URL.Path, err)
	}
	var problems []problemView
	var bad *problem.Error
	if errors.As(err, &bad) {
		problems = problemsOf(bad.Problems)
	}
	if strings.HasPrefix(r.URL.Path, "/api/") || strings.Contains(r.Header.Get("Accept"), "application/json") {
		body, _ := json.Marshal(errorJSON{Error: shown(err), Problems: problems})
		return &reply{status: status, kind: "application/json", body: body}
	}
	text := shown(err)
	if len(problems) > 0 {
		text = "nothing was changed: what was sent has problems"
	}
	title := titles[status]
	if title == "" {
		title = http.StatusText(status)
	}
	page := errorPage{frame: frame{Title: title, Sheet: title}, Status: status, Text: text, Problems: problems, Join: errors.Is(err, errNoCode)}
	if !page.Join && status != http.StatusForbidden && status != http.StatusMisdirectedRequest {
		page.Back = s.backOf(r)
	}
	out, e := s.htmlReply("error.html", page)
	if e != nil {
		s.config.Log("%v", e)
		return &reply{status: http.StatusInternalServerError, kind: "text/plain; charset=utf-8", body: []byte(errInternal.Error())}
	}
	out.status = status
	return out
}

// errorJSON is an error of the API.
type errorJSON struct {
	Error    string        `json:"error"`
	Problems []problemView `json:"problems,omitempty"`
}

// problemView is a problem as shown.
type problemView struct {
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Path   string `json:"path,omitempty"`
	Found  string `json:"found,omitempty"`
	Want   string `json:"want"`
	Likely string `json:"likely,omitempty"`
	Text   string `json:"-"` // of its line
}

func problemsOf(list []problem.Problem) []problemView {
	var out []problemView
	for _, p := range list {
		out = append(out, problemView{Line: p.Line, Column: p.Column, Path: p.Path, Found: p.Found, Want: p.Want, Likely: p.Likely})
	}
	return out
}

// problemError returns the problems of a text as an error.
func problemError(x *analysis) error { return &problem.Error{Problems: x.problems} }
