package web

import (
	"context"
	"fmt"
	"html/template"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"noonmark/internal/answer/shading"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/sheet/sheet"
)

// fill puts a sheet's answer into its page.
func (s *Server) fill(v *sheetView, o opened, j sheet.Job, q url.Values, ctx context.Context) error {
	sh, err := s.sheetIn(ctx, &j, o, v.Key, q)
	if err != nil {
		return err
	}
	switch v.Key {
	case "shade":
		if j.Shade == nil && len(shading.Casters(o.build)) > 0 {
			v.Quick = "What each thing costs is not computed yet."
		}
		v.Mends = mendsOf(j.Shade)
	case "battery":
		if j.Battery == nil {
			v.Quick = "Sizes, ageing and cold mornings are not computed yet."
		}
	case "trip":
		v.Sure = s.planSure(&j, o)
	case "choice":
		v.Choice = s.planChoice(&j, o)
		v.Module = "choice.js"
	case "dayplan":
		v.Day = &dayView{Date: q.Get("day"), Crew: q.Get("crew")}
		if j.Day != nil {
			v.Day = &dayView{Date: j.Day.Date.Format("2006-01-02"), Crew: strconv.Itoa(j.Day.Crew)}
		}
	}
	v.Lead, v.Lists, v.Notes, v.Cautions = sh.Lead, sh.Lists, sh.Notes, sh.Cautions
	v.Margin = marginOf(sh)
	for i, f := range sh.Figures {
		v.Figures = append(v.Figures, figureOf(v.Key, i, f))
		if !slices.Contains(drawnWide, v.Key) {
			v.Figures[i].narrow(v.Key, f)
		}
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
	if slices.Contains(ruledSheets, v.Key) {
		if q.Has("mends") {
			v.Sought = true
			if v.Mends, err = s.ruleMends(ctx, o, v.Key); err != nil {
				return err
			}
		}
		v.Missing = missingOf(o.build, o.Text, j.Findings, v.Key)
		v.CanSeek = len(v.Margin.Beside) > 0 && !v.Sought
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

// sheetIn puts into a job what its sheet needs beyond the trip, and makes the sheet.
func (s *Server) sheetIn(ctx context.Context, j *sheet.Job, o opened, key string, q url.Values) (sh sheet.Sheet, err error) {
	switch key {
	case "shade":
		if j.Shade, err = s.costs(ctx, o.analysis, q.Has("full")); err != nil {
			return sh, err
		}
	case "battery":
		if j.Battery, err = s.bankOf(ctx, o.analysis, q.Has("full")); err != nil {
			return sh, err
		}
	case "trip":
		s.planSure(j, o)
	case "choice":
		s.planChoice(j, o)
	case "dayplan":
		if err := planDay(j, q.Get("day"), q.Get("crew")); err != nil {
			return sh, err
		}
	}
	return sheetOf(*j, key)
}

// mendView is a change that a sheet names, to make with one press.
type mendView struct {
	Kind, Of, X, Y, Turn, What, Gain, Effort, Note string
	Sets                                           []triedView // values to write, where the kind is "set"
}

// mostMends is how many mends are offered.
const mostMends = 8

// mendsOf returns the mends that gain.
func mendsOf(a *shading.Answer) []mendView {
	var out []mendView
	if a == nil {
		return nil
	}
	for _, m := range a.Mends {
		if m.Gain.WattHours() < 50 || len(out) == mostMends {
			continue
		}
		v := mendView{Of: m.Of, What: m.What, Gain: fmt.Sprintf("+%.1f kWh a year", m.Gain.WattHours()/1000), Effort: m.Effort.String(), Note: m.Note}
		switch m.Effort {
		case shading.Replug:
			v.Kind = "parallel"
		case shading.Setting:
			v.Kind = "tracking"
		case shading.Obstacle:
			v.Kind = "without"
		default:
			v.Kind, v.Of = "place", m.Module
			v.X, v.Y, v.Turn = fmt.Sprintf("%.4f", m.X.Metres()), fmt.Sprintf("%.4f", m.Y.Metres()), fmt.Sprintf("%.0f", m.Turn.Degrees())
		}
		out = append(out, v)
	}
	return out
}

// marginOf returns the column beside the drawing.
func marginOf(sh sheet.Sheet) marginView {
	return marginView{Beside: sheet.Beside(sh.Verdicts), Values: sh.Values, HasRules: len(sh.Verdicts) > 0}
}

// ruledSheets are those whose rules may be mended by a change that is tried.
var ruledSheets = []string{"roof", "wiring", "mounting"}

// drawnWide are the sheets whose drawings need their width: on a phone they scroll.
var drawnWide = []string{"roof", "shade", "wiring", "dayplan"}

// narrowWidth is the width in millimetres of a drawing on a phone, where its words are read without scrolling.
const narrowWidth = 104

// figureOf draws a figure for the screen.
func figureOf(key string, i int, f sheet.Figure) figureView {
	height := max(36, fieldHeight*f.Share)
	if f.Wanted > 0 {
		height = f.Wanted
	}
	scene := f.Draw(fieldWidth, height)
	return figureView{Number: i, Title: f.Title, Scale: scene.Scale, SVG: template.HTML(scene.SVG(fmt.Sprintf("%s-%d", key, i)))} // SVG escapes every text
}

// narrow adds the figure as a phone shows it, where it can be drawn so small without words over each other.
func (v *figureView) narrow(key string, f sheet.Figure) {
	height := max(40, fieldHeight*f.Share)
	if f.Wanted > 0 {
		height = f.Wanted
	}
	if f.Phone > 0 {
		height = f.Phone
	}
	scene := f.Draw(narrowWidth, height)
	if len(scene.Clashes()) == 0 && len(scene.Outside()) == 0 {
		v.Narrow = template.HTML(scene.SVG(fmt.Sprintf("%s-n%d", key, v.Number)))
	}
}

// Many reports whether a table has more columns than a phone shows.
func (t tableView) Many() bool { return len(t.Head) > 6 }

// Prose reports whether a table's last column holds sentences: on a phone its rows then stand one under the other.
func (t tableView) Prose() bool {
	return t.Fine && !t.Bars && slices.ContainsFunc(t.Rows, func(row []string) bool { return len(row) > 1 && len(row[len(row)-1]) > 80 })
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
