package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"noonmark/internal/answer/bands"
	"noonmark/internal/answer/choose"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/build/catalog"
	"noonmark/internal/sheet/sheet"
)

// search is a search of layouts or a comparison of types for one revision of a build, running or done.
type search struct {
	Kind     string // "layouts", "types" or "sure"
	Revision int
	Asked    searchForm
	text     []byte
	currency string

	mu      sync.Mutex
	state   string // "runs", "done", "stopped", "failed"
	done    int
	total   int
	best    string
	fault   string
	layouts *choose.Arrangement
	types   *choose.Comparison
	sure    *bands.Answer
	stop    context.CancelFunc
}

// searchForm is what is asked for, as typed.
type searchForm struct{ Among, Most, Prices, Nights, Fuel string }

// Limits of a search from the browser, and how many of the latest are kept for all builds.
const (
	searchJudged  = 10000
	typesJudged   = 3000
	sureRows      = 48
	longestSearch = 15 * time.Minute
	searchesKept  = 24
)

// searches are the latest of each build and kind.
type searches struct {
	mu    sync.Mutex
	byKey map[string]*search
	order []string
	slot  chan struct{} // one computes at a time
}

func (a *searches) init() { a.byKey, a.slot = map[string]*search{}, make(chan struct{}, 1) }

func (a *searches) of(name, kind string) *search {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.byKey[kind+" "+name]
}

// put makes x the latest of its build and kind, and stops the one before it.
func (a *searches) put(name string, x *search) {
	a.mu.Lock()
	defer a.mu.Unlock()
	key := x.Kind + " " + name
	if old := a.byKey[key]; old != nil {
		old.stop()
		a.order = slices.DeleteFunc(a.order, func(k string) bool { return k == key })
	}
	for len(a.order) >= searchesKept {
		a.byKey[a.order[0]].stop()
		delete(a.byKey, a.order[0])
		a.order = a.order[1:]
	}
	a.byKey[key], a.order = x, append(a.order, key)
}

// options reads a form; types of the catalogue are added to b.
func (f searchForm) options(b *build.Build) (changed *build.Build, o choose.Options, m choose.Money, err error) {
	c := *b
	c.Types = slices.Clone(b.Types)
	o = choose.Options{Most: 4, Seed: 1}
	if f.Most != "" {
		if o.Most, err = strconv.Atoi(f.Most); err != nil || o.Most < 1 || o.Most > 12 {
			return nil, o, m, wrong("modules at most %q: wanted 1 to 12", f.Most)
		}
	}
	for name := range strings.FieldsFuncSeq(f.Among, func(r rune) bool { return r == ',' || r == '\n' }) {
		if name = strings.TrimSpace(name); name == "" {
			continue
		}
		at := slices.IndexFunc(c.Types, func(t build.ModuleType) bool { return t.Name == name })
		if at < 0 {
			t, ok := build.ClassType(name)
			if !ok {
				return nil, o, m, wrong("no module type or class is called %q", name)
			}
			at, c.Types = len(c.Types), append(c.Types, t)
		}
		if !slices.Contains(o.Types, at) {
			o.Types = append(o.Types, at)
		}
	}
	if len(o.Types) > 6 {
		return nil, o, m, wrong("at most six types at once")
	}
	m.Prices = map[string]float64{}
	for part := range strings.SplitSeq(f.Prices, ",") {
		words := strings.Fields(part)
		if len(words) == 0 {
			continue
		}
		p, err := strconv.ParseFloat(words[len(words)-1], 64)
		if name := strings.Join(words[:len(words)-1], " "); err == nil && name != "" && p > 0 && p < 1e6 {
			m.Prices[name] = p
			continue
		}
		return nil, o, m, wrong("prices %q: wanted a type and its price, such as glass-100 70", strings.TrimSpace(part))
	}
	if f.Nights != "" {
		if m.Nights, err = strconv.Atoi(f.Nights); err != nil || m.Nights < 0 || m.Nights > 366 {
			return nil, o, m, wrong("nights a year %q: wanted up to 366", f.Nights)
		}
	}
	if f.Fuel != "" {
		if m.Fuel, err = strconv.ParseFloat(strings.Replace(f.Fuel, ",", ".", 1), 64); err != nil || !(m.Fuel >= 0 && m.Fuel < 1e6) {
			return nil, o, m, wrong("price of a litre %q: wanted a number", f.Fuel)
		}
	}
	return &c, o, m, nil
}

// startSearch begins a search of the current revision; one that runs for the same build is stopped.
func (s *Server) startSearch(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	o, err := s.open(r.Context(), r.PathValue("build"), "")
	if err != nil {
		return nil, err
	}
	if o.build == nil {
		return nil, problemError(o.analysis)
	}
	kind, back := r.PostFormValue("kind"), "choice"
	if !slices.Contains(searchKinds, kind) {
		kind = "layouts"
	}
	if kind == "sure" {
		back = "trip"
	}
	f := searchForm{r.PostFormValue("among"), r.PostFormValue("most"), r.PostFormValue("prices"), r.PostFormValue("nights"), r.PostFormValue("fuel")}
	if len(f.Among)+len(f.Prices) > 2000 {
		return nil, wrong("at most 2000 letters")
	}
	b, options, money, err := f.options(o.build)
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithTimeout(context.Background(), longestSearch)
	x := &search{Kind: kind, Revision: o.Number, Asked: f, text: o.Text, currency: b.Currency, state: "runs", stop: stop}
	s.searches.put(o.Build, x)
	go s.runSearch(ctx, x, b, options, money, o.weather)
	return see(pathOf(o.Build, back)), nil
}

// runSearch computes; whatever happens, x tells how it ended.
func (s *Server) runSearch(ctx context.Context, x *search, b *build.Build, o choose.Options, m choose.Money, files map[string]forecast.Hourly) {
	defer x.stop()
	var err error
	defer func() {
		if p := recover(); p != nil {
			s.config.Log("search: %v\n%s", p, debug.Stack())
			err = errInternal
		}
		x.end(err)
	}()
	select {
	case s.searches.slot <- struct{}{}:
		defer func() { <-s.searches.slot }()
	case <-ctx.Done():
		err = ctx.Err()
		return
	}
	o.Progress = func(done, total int, best string) {
		x.mu.Lock()
		defer x.mu.Unlock()
		x.done, x.total, x.best = done, total, best
	}
	var a *choose.Arrangement
	var c *choose.Comparison
	var sure *bands.Answer
	switch x.Kind {
	case "types":
		o.Judged = typesJudged
		c, err = choose.Compare(ctx, b, o, m)
	case "sure":
		sure, err = bands.Run(ctx, b, bands.Options{Rows: sureRows, Seed: 1, Files: files, Progress: func(done, total int) { o.Progress(done, total, "") }})
	default:
		o.Judged = searchJudged
		a, err = choose.Arrange(ctx, b, o)
	}
	x.mu.Lock()
	x.layouts, x.types, x.sure = a, c, sure
	x.mu.Unlock()
}

// end says how a search ended.
func (x *search) end(err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	switch {
	case err == nil:
		x.state = "done"
	case errors.Is(err, context.Canceled):
		x.state = "stopped"
	case errors.Is(err, context.DeadlineExceeded):
		x.state, x.fault = "failed", fmt.Sprintf("it took longer than %v: ask for fewer types or modules", longestSearch)
	default:
		x.state, x.fault = "failed", err.Error()
	}
}

// stopSearch ends the searches of a build that run.
func (s *Server) stopSearch(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	name := r.PathValue("build")
	back := "choice"
	for _, kind := range searchKinds {
		if (kind == "sure") != (r.PostFormValue("kind") == "sure") {
			continue
		}
		if kind == "sure" {
			back = "trip"
		}
		if x := s.searches.of(name, kind); x != nil {
			x.stop()
		}
	}
	return see(pathOf(name, back)), nil
}

var searchKinds = []string{"layouts", "types", "sure"}

// sureView is what the trip's sheet says of how sure it is.
type sureView struct {
	Run *searchJSON // one that runs, was stopped or failed
	Has bool
}

// planSure puts the doubts that were drawn for this very text into a job.
func (s *Server) planSure(j *sheet.Job, o opened) *sureView {
	v := &sureView{}
	x := s.searches.of(o.Build, "sure")
	if x == nil || !bytes.Equal(x.text, o.analysis.text) {
		return v
	}
	far := x.far()
	if far.State != "done" {
		v.Run = &far
		return v
	}
	j.Sure, v.Has = x.sure, true
	return v
}

// searchJSON is how far a search is.
type searchJSON struct {
	Kind     string `json:"kind"`
	Revision int    `json:"revision"`
	State    string `json:"state"`
	Done     int    `json:"done"`
	Total    int    `json:"total"`
	Best     string `json:"best"`
	Error    string `json:"error,omitempty"`
}

// far tells how far a search is.
func (x *search) far() searchJSON {
	x.mu.Lock()
	defer x.mu.Unlock()
	return searchJSON{x.Kind, x.Revision, x.state, x.done, x.total, x.best, x.fault}
}

// apiSearch tells how far the searches of a build are.
func (s *Server) apiSearch(r *http.Request) (*reply, error) {
	out := struct {
		Searches []searchJSON `json:"searches"`
	}{[]searchJSON{}}
	for _, kind := range searchKinds {
		if x := s.searches.of(r.PathValue("build"), kind); x != nil {
			out.Searches = append(out.Searches, x.far())
		}
	}
	return jsonReply(out)
}

// choiceView is what the choice sheet has beyond the others.
type choiceView struct {
	Asked   searchForm
	Runs    []searchJSON // those that run, were stopped or failed
	Busy    bool
	Take    []takeView
	Old     []string // what was found for another revision
	Classes []string
}

// takeView is a layout that can become a revision.
type takeView struct {
	Kind  string
	Place int
	Words string
}

// planChoice puts what was searched into a job.
func (s *Server) planChoice(j *sheet.Job, o opened) *choiceView {
	v := &choiceView{Asked: searchForm{Most: "4"}}
	for i := range o.build.Types {
		v.Classes = append(v.Classes, o.build.Types[i].Name)
	}
	for _, c := range catalog.Modules() {
		v.Classes = append(v.Classes, c.Name)
	}
	for _, kind := range searchKinds[:2] {
		x := s.searches.of(o.Build, kind)
		if x == nil {
			continue
		}
		v.Asked = x.Asked
		far := x.far()
		if far.State != "done" {
			v.Runs = append(v.Runs, far)
			v.Busy = v.Busy || far.State == "runs"
			continue
		}
		if !bytes.Equal(x.text, o.Text) {
			v.Old = append(v.Old, fmt.Sprintf("The %s were computed for revision %d, this is %d: start again to see what changed.", kind, x.Revision, o.Number))
		}
		if x.layouts != nil {
			j.Layouts = x.layouts
			for i, c := range x.layouts.Candidates {
				v.Take = append(v.Take, takeView{kind, i, fmt.Sprintf("%d: %s", i+1, c.What)})
			}
		}
		if x.types != nil {
			j.Types = x.types
			for i := range x.types.Rows {
				if c := x.types.Rows[i].Best; c.Build != nil {
					v.Take = append(v.Take, takeView{kind, i, c.What})
				}
			}
		}
	}
	return v
}

// candidate returns a layout that was found.
func (s *Server) candidate(name, kind, place string) (choose.Candidate, error) {
	x := s.searches.of(name, kind)
	i, err := strconv.Atoi(place)
	if x != nil && err == nil && i >= 0 {
		x.mu.Lock()
		defer x.mu.Unlock()
		switch {
		case x.layouts != nil && i < len(x.layouts.Candidates):
			return x.layouts.Candidates[i], nil
		case x.types != nil && i < len(x.types.Rows) && x.types.Rows[i].Best.Build != nil:
			return x.types.Rows[i].Best, nil
		}
	}
	return choose.Candidate{}, fmt.Errorf("%w: that layout is not kept any more; search again", errNoPage)
}

// turnText writes a turn.
func turnText(a quantity.Angle) string { return fmt.Sprintf("%.0f°", a.Degrees()) }
