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
	"noonmark/internal/answer/shading"
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
	Hand   *handView // what a hand moves on it; nil: nothing
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
	At string // its path
}

func groupsOf(text []byte, of []string) []groupView {
	var out []groupView
	for _, g := range buildfile.Fields(text, of...) {
		v := groupView{Section: strings.ReplaceAll(g.Section, "_", " "), Name: g.Name}
		for _, f := range g.Fields {
			f.Key = strings.ReplaceAll(f.Key, "_", " ")
			v.Fields = append(v.Fields, fieldView{f, joinPath(f.Path...)})
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
	"wiring":   {"strings", "chargers", "battery", "alternator"},
	"mounting": {"mounting", "modules", "surfaces"},
	"dayplan":  {"mounting", "home"},
	"trip":     {"trip", "battery", "alternator", "loads"},
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
	wait := r.URL.Query().Has("full") && key != "shade"
	j, err := s.job(r.Context(), o.analysis, key, wait)
	if err != nil {
		return nil, err
	}
	if err := s.fill(&v, o, j, r); err != nil {
		return nil, err
	}
	return s.htmlReply("sheet.html", v)
}

func titleOf(key string) string {
	for _, t := range tabs {
		if t.Key == key {
			return t.Title
		}
	}
	return key
}

// fill puts a sheet's answer into its page.
func (s *Server) fill(v *sheetView, o opened, j sheet.Job, r *http.Request) error {
	var err error
	switch q := r.URL.Query(); v.Key {
	case "shade":
		if j.Shade, err = s.costs(r.Context(), o.analysis, q.Has("full")); err != nil {
			return err
		}
		if j.Shade == nil && len(shading.Casters(o.build)) > 0 {
			v.Quick = "What each thing costs is not computed yet."
		}
	case "dayplan":
		if err := planDay(&j, q.Get("day"), q.Get("crew")); err != nil {
			return err
		}
		v.Day = &dayView{Date: q.Get("day"), Crew: q.Get("crew")}
		if j.Day != nil {
			v.Day = &dayView{Date: j.Day.Date.Format("2006-01-02"), Crew: strconv.Itoa(j.Day.Crew)}
		}
	}
	sh, err := sheetOf(j, v.Key)
	if err != nil {
		return err
	}
	v.Lead, v.Lists, v.Notes, v.Cautions = sh.Lead, sh.Lists, sh.Notes, sh.Cautions
	v.Margin = marginOf(sh)
	for i, f := range sh.Figures {
		v.Figures = append(v.Figures, figureOf(v.Key, i, f))
	}
	if len(v.Figures) > 0 {
		v.Scale = v.Figures[0].Scale
	}
	for _, t := range sh.Tables {
		v.Tables = append(v.Tables, tableOf(t))
	}
	if j.Forecast != nil && j.Forecast.Years < fullYears && v.Key != "shade" {
		v.Quick = fmt.Sprintf("From %d weather year.", j.Forecast.Years)
	}
	v.Groups = groupsOf(o.Text, sections[v.Key])
	v.Assumed = assumedOf(j.Assumed, o.Text, sections[v.Key], v.Key == "basis")
	switch v.Key {
	case "roof":
		v.Module = "roof.js"
		v.Roof = roofOf(o, v.ReadOnly)
		for i := range v.Roof.Hands {
			if at := 2 * i; at < len(v.Figures) { // plan and section follow one another
				v.Figures[at].Hand = &v.Roof.Hands[i]
			}
		}
	case "needs":
		v.Loads = loadClasses()
	}
	return nil
}

// marginOf returns the column beside the drawing.
func marginOf(sh sheet.Sheet) marginView {
	return marginView{Beside: sheet.Beside(sh.Verdicts), Values: sh.Values, HasRules: len(sh.Verdicts) > 0}
}

// figureOf draws a figure for the screen.
func figureOf(key string, i int, f sheet.Figure) figureView {
	height := max(36, fieldHeight*f.Share)
	if f.Wanted > 0 {
		height = f.Wanted
	}
	scene := f.Draw(fieldWidth, height)
	return figureView{Number: i, Title: f.Title, Scale: scene.Scale, SVG: template.HTML(scene.SVG(fmt.Sprintf("%s-%d", key, i)))} // SVG escapes every text
}

// tableOf lays a table out, cell by cell.
func tableOf(t sheet.Table) tableView {
	v := tableView{Table: t, Bars: len(t.Shares) == len(t.Rows) && len(t.Shares) > 0}
	for _, row := range t.Rows {
		var cells []cellView
		for k, text := range row {
			cells = append(cells, cellView{Text: text, Right: slices.Contains(t.Right, k), Head: k == 0})
		}
		v.Cells = append(v.Cells, cells)
	}
	return v
}

// IsRight reports whether a column is set to the right.
func (t tableView) IsRight(column int) bool { return slices.Contains(t.Right, column) }

// HasHead reports whether the table has words over its columns.
func (t tableView) HasHead() bool {
	return slices.ContainsFunc(t.Head, func(h string) bool { return h != "" })
}

// assumedOf returns the assumptions that a sheet rests on, with the place in the text for each.
func assumedOf(list []sheet.Assumption, text []byte, of []string, all bool) []assumedView {
	var out []assumedView
	absent := map[string]buildfile.Field{}
	for _, g := range buildfile.Fields(text, everySection...) {
		for _, f := range g.Fields {
			if len(f.Texts) == 0 {
				absent[joinPath(f.Path...)] = f
			}
		}
	}
	for _, a := range list {
		top, _, _ := strings.Cut(a.What, ".")
		top, _, _ = strings.Cut(top, "[")
		if !all && !slices.Contains(of, top) {
			continue
		}
		v := assumedView{Assumption: a}
		f, ok := absent[joinPath(placeOf(a.What)...)]
		if !ok { // a place's height is written beside the place
			f, ok = absent[joinPath(placeOf(strings.NewReplacer(".at.altitude", ".altitude", ".to.altitude", ".altitude").Replace(a.What))...)]
		}
		if ok {
			v.Path, v.Example = joinPath(f.Path...), f.Example
			if a.Value != "" && strings.ContainsRune("-0123456789", rune(a.Value[0])) && !strings.ContainsAny(a.Value, ",:;") {
				v.Now = a.Value
			}
		}
		out = append(out, v)
	}
	return out
}

// placeOf turns a path such as trip.legs[1].stay.posture into its keys; nil when it is none.
func placeOf(text string) []string {
	if strings.ContainsAny(text, " ") && !strings.Contains(text, ".") {
		return nil
	}
	var out []string
	for part := range strings.SplitSeq(text, ".") {
		for {
			head, rest, ok := strings.Cut(part, "[")
			if head != "" {
				out = append(out, head)
			}
			if !ok {
				break
			}
			number, after, ok := strings.Cut(rest, "]")
			if !ok {
				return nil
			}
			out = append(out, number)
			part = after
			if part == "" {
				break
			}
		}
	}
	return out
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
	if j.Shade, err = s.costs(r.Context(), o.analysis, true); err != nil {
		return nil, err
	}
	stamp := book.Stamp{Build: o.build.Name, Revision: strconv.Itoa(o.Number), Made: s.config.Clock(), Program: s.config.Version}
	if strings.EqualFold(r.URL.Query().Get("paper"), "letter") {
		stamp.Paper = book.Letter
	}
	sheets := book.Sheets(j)
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
