package web

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/answer/parts"
	"noonmark/internal/build/catalog"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/partlist"
	"noonmark/internal/sheet/book"
	"noonmark/internal/sheet/draw"
	"noonmark/internal/sheet/sheet"
)

// Width and height of a drawing on the screen, in millimetres of the sheet: the field of an A4 page on its
// long side, so that screen and paper show the same.
const fieldWidth, fieldHeight = 206, 150

// sheetView is a sheet's page.
type sheetView struct {
	frame
	Key      string
	Lead     string
	Scale    string
	Figures  []figureView
	Margin   marginView
	Tables   []tableView
	Lists    []sheet.List
	Notes    []string
	Cautions []string
	Assumed  []assumedView
	Groups   []groupView
	Problems []problemView
	Quick    string // what is still to be computed; empty: nothing
	Roof     *roofView
	Day      *dayView
	Choice   *choiceView
	Sure     *sureView
	Mends    []mendView
	Missing  []missingView
	CanSeek  bool // changes that mend a rule can be looked for
	Sought   bool // they were
	Changes  *changesView
	Measured *measuredView
	Loads    []string // classes to add
	ReadOnly bool
}

// marginView is the column beside the drawing.
type marginView struct {
	Count    string
	Beside   []sheet.Verdict
	Values   []sheet.Value
	HasRules bool
}

// Any reports whether the column has a word.
func (m marginView) Any() bool { return m.HasRules || len(m.Values) > 0 }

type figureView struct {
	Number int
	Title  string
	Scale  string
	SVG    template.HTML
	Narrow template.HTML // the same for a phone; empty: it scrolls
	Hand   *handView     // what a hand moves on it; nil: nothing
}

type tableView struct {
	sheet.Table
	Cells [][]cellView
	Bars  bool
}

type cellView struct {
	Text  string
	Right bool
	Head  bool
}

// assumedView is an assumption with the place where its value would be written.
type assumedView struct {
	sheet.Assumption
	Path    string // empty: it has no place of its own
	Example string
	Now     string // the value assumed, where it can stand in the text
}

// groupView is a thing of the text with its values.
type groupView struct {
	Section, Name string
	Fields        []fieldView
}

type fieldView struct {
	buildfile.Field
	At    string   // its path
	Tried []string // values typed and not saved
}

// Changed reports whether a value of the thing is tried.
func (g groupView) Changed() bool {
	return slices.ContainsFunc(g.Fields, func(f fieldView) bool { return len(f.Tried) > 0 })
}

// Shown returns a field's i-th value as it stands in the form.
func (f fieldView) Shown(i int) string {
	switch {
	case i < len(f.Tried):
		return f.Tried[i]
	case i < len(f.Texts):
		return f.Texts[i]
	}
	return ""
}

func groupsOf(text []byte, of []string) []groupView {
	var out []groupView
	for _, g := range buildfile.Fields(text, of...) {
		v := groupView{Section: strings.ReplaceAll(g.Section, "_", " "), Name: g.Name}
		for _, f := range g.Fields {
			f.Key = strings.ReplaceAll(f.Key, "_", " ")
			v.Fields = append(v.Fields, fieldView{Field: f, At: joinPath(f.Path...)})
		}
		out = append(out, v)
	}
	return out
}

// sections are what the text says about a sheet.
var sections = map[string][]string{
	"needs":    {"people", "loads", "inverter", "battery"},
	"roof":     {"modules", "obstacles", "surfaces", "postures", "types"},
	"shade":    {"obstacles", "trip"},
	"choice":   {"types", "modules", "surfaces"},
	"wiring":   {"strings", "chargers", "battery", "alternator"},
	"mounting": {"mounting", "modules", "surfaces"},
	"dayplan":  {"mounting", "home"},
	"trip":     {"trip", "battery", "alternator", "loads"},
	"battery":  {"battery", "alternator", "loads"},
	"parts":    {"currency", "types"},
}

// everySection is what a text may say.
var everySection = []string{"name", "people", "units", "currency", "home", "surfaces", "postures", "vehicle", "obstacles", "types", "modules", "strings", "chargers", "battery",
	"alternator", "inverter", "loads", "mounting", "soiling", "trip"}

func (s *Server) firstSheet(r *http.Request) (*reply, error) {
	return see(pathOf(r.PathValue("build"), "needs")), nil
}

func (s *Server) sheetPage(r *http.Request) (*reply, error) {
	key := r.PathValue("sheet")
	if !known(key) {
		return nil, errNoPage
	}
	if spec, ok := measuredOf(key); ok {
		return s.measuredReply(r, spec, nil, 0)
	}
	o, err := s.open(r.Context(), r.PathValue("build"), atOf(r))
	if err != nil {
		return nil, err
	}
	v := sheetView{frame: s.frameOf(o, key, titleOf(key)), Key: key, ReadOnly: !o.Head || s.config.Shelf.ReadOnly(), Problems: lined(o.analysis)}
	v.Module = "sheet.js"
	if o.build == nil {
		return s.htmlReply("broken.html", v)
	}
	if key == "book" {
		return s.htmlReply("book.html", v)
	}
	wait := r.URL.Query().Has("full") && !slices.Contains(ownWait, key)
	j, err := s.job(r.Context(), o.analysis, key, wait)
	if err != nil {
		return nil, err
	}
	if err := s.fill(&v, o, j, r.URL.Query(), r.Context()); err != nil {
		return nil, err
	}
	if was := r.URL.Query().Get("was"); was != "" {
		if err := s.since(&v, o, j, was, r); err != nil {
			return nil, err
		}
	}
	return s.htmlReply("sheet.html", v)
}

// ownWait are the sheets whose long computation is not the trip's.
var ownWait = []string{"shade", "battery"}

func titleOf(key string) string {
	for _, t := range tabs {
		if t.Key == key {
			return t.Title
		}
	}
	return key
}

// drawing is one figure of a sheet alone, as SVG.
func (s *Server) drawing(r *http.Request) (*reply, error) {
	o, err := s.open(r.Context(), r.PathValue("build"), atOf(r))
	if err != nil {
		return nil, err
	}
	if o.build == nil {
		return nil, problemError(o.analysis)
	}
	key := r.PathValue("sheet")
	j, err := s.job(r.Context(), o.analysis, key, false)
	if err != nil {
		return nil, err
	}
	sh, err := sheetOf(j, key)
	if err != nil {
		return nil, err
	}
	n := 1
	if text := r.URL.Query().Get("figure"); text != "" {
		if n, err = strconv.Atoi(text); err != nil {
			return nil, wrong("figure %q: wanted a number", text)
		}
	}
	if n < 1 || n > len(sh.Figures) {
		return nil, fmt.Errorf("%w: this sheet has %d drawings", errNoPage, len(sh.Figures))
	}
	return &reply{kind: "image/svg+xml", body: sh.Figures[n-1].Draw(fieldWidth, fieldHeight).SVG(key), name: o.Build + " " + key + ".svg"}, nil
}

// bookPDF is the whole book; with ?sheet, one sheet.
func (s *Server) bookPDF(r *http.Request) (*reply, error) {
	o, err := s.open(r.Context(), r.PathValue("build"), atOf(r))
	if err != nil {
		return nil, err
	}
	if o.build == nil {
		return nil, problemError(o.analysis)
	}
	j, err := s.job(r.Context(), o.analysis, "", true)
	if err != nil {
		return nil, err
	}
	if err := planDay(&j, "", ""); err != nil {
		return nil, err
	}
	if j.Battery, err = s.bankOf(r.Context(), o.analysis, true); err != nil {
		return nil, err
	}
	s.planSure(&j, o)
	s.planChoice(&j, o)
	if j.Shade, err = s.costs(r.Context(), o.analysis, true); err != nil {
		return nil, err
	}
	stamp := book.Stamp{Build: o.build.Name, Revision: strconv.Itoa(o.Number), Made: s.config.Clock(), Program: s.config.Version}
	if strings.EqualFold(r.URL.Query().Get("paper"), "letter") {
		stamp.Paper = book.Letter
	}
	sheets := book.Sheets(j)
	if j.Layouts != nil || j.Types != nil {
		sheets = append(sheets, sheet.Choice(j))
	}
	var b bytes.Buffer
	if key := r.URL.Query().Get("sheet"); key != "" {
		at := slices.IndexFunc(sheets, func(x sheet.Sheet) bool { return x.Key == key })
		if at < 0 {
			return nil, errNoPage
		}
		d := draw.NewDocument(draw.About{Title: o.build.Name + ": " + sheets[at].Title, Made: stamp.Made})
		for _, p := range book.Single(stamp, at+1, sheets[at]) {
			d.Page(p)
		}
		if _, err := d.WriteTo(&b); err != nil {
			return nil, err
		}
		return &reply{kind: "application/pdf", body: b.Bytes(), name: o.Build + " " + key + ".pdf"}, nil
	}
	if err := book.Write(&b, stamp, sheets); err != nil {
		return nil, err
	}
	return &reply{kind: "application/pdf", body: b.Bytes(), name: o.Build + ".pdf"}, nil
}

// buildFile is the text exactly as it was typed.
func (s *Server) buildFile(r *http.Request) (*reply, error) {
	o, err := s.config.Shelf.Read(r.Context(), r.PathValue("build"), atOf(r))
	if err != nil {
		return nil, err
	}
	return &reply{kind: "application/yaml; charset=utf-8", body: o.Text, name: o.Build + ".yaml"}, nil
}

// partsFile is the parts and the cuts for a spreadsheet.
func (s *Server) partsFile(r *http.Request) (*reply, error) {
	o, err := s.open(r.Context(), r.PathValue("build"), atOf(r))
	if err != nil {
		return nil, err
	}
	if o.build == nil {
		return nil, problemError(o.analysis)
	}
	l := partlist.List{Build: o.build.Name, Currency: o.build.Currency, Parts: parts.Of(o.build), Cuts: parts.Cuts(o.build)}
	var b bytes.Buffer
	if path.Ext(r.URL.Path) == ".csv" {
		err = partlist.WriteCSV(&b, l)
		return &reply{kind: "text/csv; charset=utf-8", body: b.Bytes(), name: o.Build + " parts.csv"}, err
	}
	err = partlist.WriteXLSX(&b, l)
	return &reply{kind: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", body: b.Bytes(), name: o.Build + " parts.xlsx"}, err
}

// dateOf reads a date of a form; empty is none.
func dateOf(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse("2006-01-02", text)
	if err != nil || t.Year() < 1950 || t.Year() > 2100 {
		return time.Time{}, wrong("%q: wanted a date such as 2027-06-21, from 1950 to 2100", text)
	}
	return t, nil
}

// loadClasses are the loads of the catalogue, to add one of.
func loadClasses() []string {
	var out []string
	for _, l := range catalog.Loads() {
		out = append(out, l.Name)
	}
	return out
}

// Share returns the length of a row's bar, 0 to 1.
func (t tableView) Share(row int) float64 { return max(0, min(1, t.Shares[row])) }
