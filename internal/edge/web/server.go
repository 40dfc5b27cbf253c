package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/edge/store"
	"noonmark/internal/sheet/sheet"
)

// Shelf is what web asks of a store.
type Shelf interface {
	Builds(ctx context.Context) ([]store.Build, error)
	Read(ctx context.Context, name, ref string) (store.Revision, error)
	History(ctx context.Context, name string) ([]store.Revision, error)
	Compare(ctx context.Context, name, from, to string) (a, b store.Revision, c store.Comparison, err error)
	Add(ctx context.Context, name string, d store.Draft) (store.Revision, error)
	Save(ctx context.Context, name string, base int, d store.Draft) (store.Revision, error)
	Undo(ctx context.Context, name string, base int) (store.Revision, error)
	Redo(ctx context.Context, name string, base int) (store.Revision, error)
	Tag(ctx context.Context, name, tag, ref, note string) (store.Tag, error)
	Remove(ctx context.Context, name string, base int) error
	AddPhoto(ctx context.Context, build string, p store.Photo) (store.Photo, error)
	Photos(ctx context.Context, build string) ([]store.Photo, error)
	Photo(ctx context.Context, id int64) (store.Photo, error)
	AddRecord(ctx context.Context, build string, r store.Record) (store.Record, error)
	Records(ctx context.Context, build, kind string) ([]store.Record, error)
	Record(ctx context.Context, id int64) (store.Record, error)
	ReadOnly() bool
}

// Config is what a server needs from outside.
type Config struct {
	Shelf   Shelf
	Clock   func() time.Time
	Version string // of the program
	Climate string // whom to thank for the weather
	// Command runs a command line of the program and returns what it printed and its exit code; nil: the JSON
	// of the commands is not served.
	Command func(ctx context.Context, args []string) (out, errs []byte, code int)
	// Sheets runs a command line and returns the sheets it would print on paper, what it says of faults, and its
	// exit code; nil: the sheets of what was measured are not served.
	Sheets func(ctx context.Context, args []string) (list []sheet.Sheet, errs []byte, code int)
	Log    func(format string, args ...any) // of faults; nil: none
	Hosts  []string                         // names it answers to beside the loopback's, without a port
	Code   *Code                            // asked of other machines; nil: they are refused
}

// Server answers requests. It may be used by several goroutines at once.
type Server struct {
	config   Config
	routes   []route
	handler  http.Handler
	analyses analyses
	searches searches
}

// New returns a server. It panics without a shelf and a clock.
func New(c Config) *Server {
	if c.Shelf == nil || c.Clock == nil {
		panic("web: no shelf or no clock")
	}
	if c.Log == nil {
		c.Log = func(string, ...any) {}
	}
	s := &Server{config: c}
	s.analyses.init()
	s.searches.init()
	s.routes = s.table()
	mux := http.NewServeMux()
	for _, r := range s.routes {
		mux.Handle(r.pattern, s.adapt(r))
	}
	mux.Handle("/", s.adapt(route{serve: func(*http.Request) (*reply, error) { return nil, errNoPage }}))
	s.handler = s.guard(mux)
	return s
}

// ServeHTTP answers a request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// route is a pattern of the mux with what answers it.
type route struct {
	pattern string
	limit   int64 // of the body, bytes; 0: none is read
	serve   func(r *http.Request) (*reply, error)
}

// Limits of bodies: a form may double a text by its encoding.
const (
	textLimit     = 3*store.LargestText + 1<<16
	photoLimit    = store.LargestPhoto + 1<<16
	smallLimit    = 1 << 16
	readingsLimit = 3*largestReadings + 1<<16
)

// table is every route.
func (s *Server) table() []route {
	return append([]route{
		{"GET /{$}", 0, s.shelfPage},
		{"GET /new", 0, s.newPage},
		{"POST /new", smallLimit, s.newBuild},
		{"POST /open", textLimit, s.openFile},
		{"POST /example", smallLimit, s.openExample},
		{"GET /b/{build}", 0, s.firstSheet},
		{"GET /b/{build}/{sheet}", 0, s.sheetPage},
		{"GET /b/{build}/drawings/{sheet}", 0, s.drawing},
		{"GET /b/{build}/text", 0, s.textPage},
		{"POST /b/{build}/text", textLimit, s.saveText},
		{"POST /b/{build}/set", smallLimit, s.setValues},
		{"POST /b/{build}/undo", smallLimit, s.undo},
		{"POST /b/{build}/redo", smallLimit, s.redo},
		{"GET /b/{build}/revisions", 0, s.revisionsPage},
		{"GET /b/{build}/compare", 0, s.comparePage},
		{"POST /b/{build}/tag", smallLimit, s.tag},
		{"POST /b/{build}/remove", smallLimit, s.remove},
		{"GET /b/{build}/book.pdf", 0, s.bookPDF},
		{"GET /b/{build}/build.yaml", 0, s.buildFile},
		{"GET /b/{build}/parts.xlsx", 0, s.partsFile},
		{"GET /b/{build}/parts.csv", 0, s.partsFile},
		{"POST /b/{build}/search", smallLimit, s.startSearch},
		{"POST /b/{build}/search/stop", smallLimit, s.stopSearch},
		{"POST /b/{build}/whatif", smallLimit, s.whatIf},
		{"POST /b/{build}/take", smallLimit, s.takeLayout},
		{"POST /b/{build}/mend", smallLimit, s.mend},
		{"GET /b/{build}/ladder", 0, s.ladderPage},
		{"POST /b/{build}/photos", photoLimit, s.addPhoto},
		{"GET /b/{build}/photos/{id}", 0, s.photo},
		{"POST /b/{build}/readings", smallLimit, s.addReading},
		{"POST /b/{build}/measured/{sheet}", readingsLimit, s.keepReadings},
		{"GET /b/{build}/claim.zip", 0, s.claimFile},
		{"GET /b/{build}/template.pdf", 0, s.templateFile},
		{"GET /join", 0, s.joinPage},
		{"POST /join", smallLimit, s.join},
		{"GET /phone", 0, s.phonePage},
		{"GET /static/{file}", 0, s.static},
	}, s.apiTable()...)
}

// reply is an answer, whole before any of it is sent.
type reply struct {
	status   int // 0: 200
	kind     string
	body     []byte
	location string // of a redirect; body and kind are then unused
	name     string // of a file to keep; empty: shown
	lasting  bool   // may be kept by the browser
	header   map[string]string
}

// see redirects after a change.
func see(path string) *reply { return &reply{status: http.StatusSeeOther, location: path} }

// adapt turns a route into a handler: body limit, panic, error page, and only then the answer.
func (s *Server) adapt(rt route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		out, err := s.run(rt, w, r)
		if err != nil {
			out = s.errorReply(r, err)
		}
		s.send(w, r, out)
	})
}

// run answers a request, and makes a panic an error.
func (s *Server) run(rt route, w http.ResponseWriter, r *http.Request) (out *reply, err error) {
	defer func() {
		if p := recover(); p != nil {
			s.config.Log("%s %s: %v\n%s", r.Method, r.URL.Path, p, debug.Stack())
			out, err = nil, errInternal
		}
	}()
	if r.ContentLength > rt.limit {
		return nil, &tooLarge{limit: rt.limit}
	}
	r.Body = http.MaxBytesReader(w, r.Body, rt.limit)
	return rt.serve(r)
}

// send writes an answer.
func (s *Server) send(w http.ResponseWriter, r *http.Request, out *reply) {
	h := w.Header()
	for k, v := range out.header {
		h.Set(k, v)
	}
	if out.lasting {
		h.Set("Cache-Control", "private, max-age=86400")
	} else {
		h.Set("Cache-Control", "no-store")
	}
	if out.location != "" {
		h.Set("Location", out.location)
		w.WriteHeader(out.status)
		return
	}
	h.Set("Content-Type", out.kind)
	if out.name != "" {
		h.Set("Content-Disposition", disposition(out.name))
	}
	body := out.body
	if len(body) > 1400 && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") && (strings.HasPrefix(out.kind, "text/") || strings.HasPrefix(out.kind, "application/json") || strings.HasPrefix(out.kind, "image/svg")) {
		body = squeeze(body)
		h.Set("Content-Encoding", "gzip")
		h.Set("Vary", "Accept-Encoding")
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if out.status != 0 {
		w.WriteHeader(out.status)
	}
	if _, err := w.Write(body); err != nil && !errors.Is(err, context.Canceled) {
		s.config.Log("%s %s: %v", r.Method, r.URL.Path, err)
	}
}

// disposition names a file to keep; letters that a header cannot hold become hyphens.
func disposition(name string) string {
	plain := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '.' || r == '-' || r == '_' {
			return r
		}
		return '-'
	}, name)
	return fmt.Sprintf(`attachment; filename="%s"; filename*=UTF-8''%s`, plain, escapePath(name))
}

// htmlReply renders a page in memory.
func (s *Server) htmlReply(name string, data any) (*reply, error) {
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, name, data); err != nil {
		return nil, fmt.Errorf("page %s: %w", name, err)
	}
	return &reply{kind: "text/html; charset=utf-8", body: b.Bytes()}, nil
}
