package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/answer/shading"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// apiTable is every route of the API; openapi.go describes the same, and a test holds the two together.
func (s *Server) apiTable() []route {
	out := []route{
		{"GET /api/openapi.json", 0, s.apiDocument},
		{"GET /api/schema.json", 0, s.apiSchema},
		{"GET /api/builds", 0, s.apiBuilds},
		{"POST /api/builds", textLimit, s.apiAdd},
		{"GET /api/builds/{build}", 0, s.apiBuild},
		{"POST /api/builds/{build}", textLimit, s.apiSave},
		{"GET /api/builds/{build}/revisions", 0, s.apiRevisions},
		{"POST /api/builds/{build}/try", smallLimit, s.apiTry},
		{"POST /api/builds/{build}/course", smallLimit, s.apiCourse},
		{"POST /api/builds/{build}/cells", smallLimit, s.apiCells},
		{"POST /api/builds/{build}/solid", smallLimit, s.apiSolid},
		{"POST /api/builds/{build}/energy", smallLimit, s.apiEnergy},
		{"GET /api/builds/{build}/search", 0, s.apiSearch},
		{"GET /api/builds/{build}/verdict", 0, s.apiVerdict},
		{"POST /api/problems", textLimit, s.apiProblems},
	}
	if s.config.Command != nil {
		for _, c := range commands {
			out = append(out, route{"POST /api/commands/" + c.Name, textLimit, s.apiCommand(c)})
		}
	}
	return out
}

// jsonReply writes an answer of the API.
func jsonReply(v any) (*reply, error) {
	body, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return &reply{kind: "application/json", body: body}, nil
}

// decode reads a JSON body; an unknown field is refused, and so is a body that does not say it is JSON.
func decode(r *http.Request, v any) error {
	if kind, _, _ := strings.Cut(r.Header.Get("Content-Type"), ";"); strings.TrimSpace(kind) != "application/json" {
		return wrong("send JSON, with Content-Type: application/json")
	}
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		if statusOf(err) == http.StatusRequestEntityTooLarge {
			return err
		}
		return wrong("the JSON cannot be read: %v", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return wrong("one JSON document, and nothing after it")
	}
	return nil
}

func (s *Server) apiSchema(*http.Request) (*reply, error) {
	body, err := buildfile.Schema()
	return &reply{kind: "application/schema+json", body: body}, err
}

type buildJSON struct {
	Name      string `json:"name"`
	Revision  int    `json:"revision"`
	Revisions int    `json:"revisions"`
	Changed   string `json:"changed"`
}

func (s *Server) apiBuilds(r *http.Request) (*reply, error) {
	list, err := s.config.Shelf.Builds(r.Context())
	if err != nil {
		return nil, err
	}
	out := struct {
		Builds []buildJSON `json:"builds"`
	}{[]buildJSON{}}
	for _, b := range list {
		out.Builds = append(out.Builds, buildJSON{b.Name, b.Head, b.Revisions, b.Changed.UTC().Format(time.RFC3339)})
	}
	return jsonReply(out)
}

// saveJSON is a text to save.
type saveJSON struct {
	Name string `json:"name,omitempty"`
	Base int    `json:"base,omitempty"`
	Text string `json:"text"`
	Note string `json:"note,omitempty"`
}

// revisionJSON is a revision with its text.
type revisionJSON struct {
	Name     string        `json:"name"`
	Revision int           `json:"revision"`
	Parent   int           `json:"parent,omitempty"`
	Head     bool          `json:"head"`
	At       string        `json:"at"`
	Note     string        `json:"note,omitempty"`
	Tags     []string      `json:"tags,omitempty"`
	Text     *string       `json:"text,omitempty"`
	Problems []problemView `json:"problems,omitempty"`
}

func (s *Server) revision(r store.Revision) revisionJSON {
	out := revisionJSON{Name: r.Build, Revision: r.Number, Parent: r.Parent, Head: r.Head, At: r.At.UTC().Format(time.RFC3339), Note: r.Note, Tags: r.Tags}
	if r.Text != nil {
		text := string(r.Text)
		out.Text, out.Problems = &text, problemsOf(s.analyses.of(r.Text, r.Folder).problems)
	}
	return out
}

func (s *Server) apiAdd(r *http.Request) (*reply, error) {
	var in saveJSON
	if err := decode(r, &in); err != nil {
		return nil, err
	}
	rev, err := s.config.Shelf.Add(r.Context(), in.Name, store.Draft{Text: []byte(in.Text), Note: in.Note})
	if err != nil {
		return nil, err
	}
	return jsonReply(s.revision(rev))
}

func (s *Server) apiBuild(r *http.Request) (*reply, error) {
	rev, err := s.config.Shelf.Read(r.Context(), r.PathValue("build"), atOf(r))
	if err != nil {
		return nil, err
	}
	return jsonReply(s.revision(rev))
}

// conflictJSON is the answer to a stale change: nothing was saved.
type conflictJSON struct {
	Error  string `json:"error"`
	Base   int    `json:"base"`
	Head   int    `json:"head"`
	Theirs string `json:"theirs"`
}

// conflictReply answers a stale change, nil for another error.
func conflictReply(err error) *reply {
	var c *store.Conflict
	if !errors.As(err, &c) {
		return nil
	}
	body, _ := json.Marshal(conflictJSON{c.Error(), c.Base, c.Head, string(c.Theirs)})
	return &reply{status: http.StatusConflict, kind: "application/json", body: body}
}

func (s *Server) apiSave(r *http.Request) (*reply, error) {
	var in saveJSON
	if err := decode(r, &in); err != nil {
		return nil, err
	}
	rev, err := s.config.Shelf.Save(r.Context(), r.PathValue("build"), in.Base, store.Draft{Text: []byte(in.Text), Note: in.Note})
	if out := conflictReply(err); out != nil {
		return out, nil
	}
	if err != nil {
		return nil, err
	}
	return jsonReply(s.revision(rev))
}

func (s *Server) apiRevisions(r *http.Request) (*reply, error) {
	list, err := s.config.Shelf.History(r.Context(), r.PathValue("build"))
	if err != nil {
		return nil, err
	}
	out := struct {
		Revisions []revisionJSON `json:"revisions"`
	}{[]revisionJSON{}}
	for _, x := range list {
		out.Revisions = append(out.Revisions, s.revision(x))
	}
	return jsonReply(out)
}

// tried returns a build with the changes of a request, saved when it asks for that.
func (s *Server) tried(r *http.Request) (opened, tryJSON, bool, error) {
	var in tryJSON
	if err := decode(r, &in); err != nil {
		return opened{}, in, false, err
	}
	name := r.PathValue("build")
	if in.Base < 1 {
		return opened{}, in, false, wrong("base: the revision the change is made from")
	}
	rev, err := s.config.Shelf.Read(r.Context(), name, strconv.Itoa(in.Base))
	if err != nil {
		return opened{}, in, false, err
	}
	changes, err := in.changes(rev.Text)
	if err != nil {
		return opened{}, in, false, err
	}
	if len(changes) == 0 {
		return opened{rev, s.analyses.of(rev.Text, rev.Folder)}, in, false, nil
	}
	if in.Save {
		o, err := s.change(r, name, in.Base, changes)
		return o, in, true, err
	}
	text, err := buildfile.Set(rev.Text, changes...)
	if err != nil {
		return opened{}, in, false, err
	}
	return opened{rev, s.analyses.of(text, rev.Folder)}, in, false, nil
}

// apiTry redraws the roof with changes, and saves them when asked.
func (s *Server) apiTry(r *http.Request) (*reply, error) {
	o, _, saved, err := s.tried(r)
	if out := conflictReply(err); out != nil {
		return out, nil
	}
	if err != nil {
		return nil, err
	}
	out, err := s.redraw(r.Context(), o)
	if err != nil {
		return nil, err
	}
	out.Saved = saved
	return jsonReply(out)
}

// readBuild is tried for what saves nothing and needs a build without problems.
func (s *Server) readBuild(r *http.Request) (opened, tryJSON, time.Time, error) {
	o, in, _, err := s.tried(r)
	if err != nil {
		return o, in, time.Time{}, err
	}
	if o.build == nil {
		return o, in, time.Time{}, problemError(o.analysis)
	}
	day, err := dateOf(in.Day)
	if err == nil && day.IsZero() {
		err = wrong("day: a date such as 2027-06-21")
	}
	return o, in, day, err
}

func (s *Server) apiCourse(r *http.Request) (*reply, error) {
	o, in, day, err := s.readBuild(r)
	if err != nil {
		return nil, err
	}
	out, err := courseOf(o.analysis, in.Leg, day)
	if err != nil {
		return nil, err
	}
	return jsonReply(out)
}

// cellsJSON is the light of cells over a span.
type cellsJSON struct {
	Span  string `json:"span"`
	Light []int  `json:"light"` // by cell, percent of an unshaded one's, numbered as in a course
	Text  string `json:"text"`
}

func (s *Server) apiCells(r *http.Request) (*reply, error) {
	o, in, day, err := s.readBuild(r)
	if err != nil {
		return nil, err
	}
	span, ok := map[string]shading.Span{"day": shading.OneDay, "trip": shading.WholeTrip, "year": shading.WholeYear}[in.Span]
	if !ok {
		return nil, wrong("span %q: wanted day, trip or year", in.Span)
	}
	list, err := s.light(r.Context(), o.analysis, span, in.Leg, day)
	if err != nil {
		return nil, tripError(err)
	}
	out := cellsJSON{Span: in.Span, Light: []int{}}
	least, where := 2.0, ""
	for surface := range o.build.Surfaces { // as forecast.SceneOf numbers cells
		for m := range o.build.Modules {
			if o.build.Modules[m].Surface != surface || m >= len(list) {
				continue
			}
			for _, c := range list[m] {
				out.Light = append(out.Light, int(math.Round(100*c.Float())))
				if c.Float() < least {
					least, where = c.Float(), o.build.Modules[m].Name
				}
			}
		}
	}
	if where != "" {
		out.Text = fmt.Sprintf("darkest cell %.0f %%, in %s", 100*least, where)
	}
	return jsonReply(out)
}

// energyJSON is a clear day's energy.
type energyJSON struct {
	Date    string  `json:"date"`
	Offered float64 `json:"offered_Wh"`
	Demand  float64 `json:"demand_Wh"`
	Text    string  `json:"text"`
}

func (s *Server) apiEnergy(r *http.Request) (*reply, error) {
	o, in, day, err := s.readBuild(r)
	if err != nil {
		return nil, err
	}
	a, err := shading.ClearDay(r.Context(), o.build, in.Leg, day)
	if errors.Is(err, context.Canceled) {
		return nil, err
	}
	if err != nil {
		return nil, wrong("%v", err)
	}
	out := energyJSON{Date: in.Day, Offered: round1(a.Offered.WattHours()), Demand: round1(a.Demand.WattHours())}
	out.Text = strconv.FormatFloat(a.Offered.WattHours(), 'f', 0, 64) + " Wh"
	return jsonReply(out)
}

func round1(v float64) float64 { return float64(int64(v*10+0.5)) / 10 }

// apiProblems reads a text and answers with its problems.
func (s *Server) apiProblems(r *http.Request) (*reply, error) {
	var in saveJSON
	if err := decode(r, &in); err != nil {
		return nil, err
	}
	out := struct {
		Problems []problemView `json:"problems"`
	}{problemsOf(s.analyses.of([]byte(in.Text), "").problems)}
	if out.Problems == nil {
		out.Problems = []problemView{}
	}
	return jsonReply(out)
}
