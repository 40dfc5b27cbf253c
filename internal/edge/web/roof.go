package web

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/shading"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/sheet/sheet"
)

// roofView is what the roof sheet has beyond the others: things a hand moves, the sun, and live figures.
type roofView struct {
	Hands []handView
	Stays []stayView
	Strip []stripView
	Day   string // the date first shown
	Leg   int
	Still bool // nothing may be moved
}

// stayView is a stay to choose.
type stayView struct {
	Leg        int
	Text       string
	From, Till string
}

// stripView is a figure of the live strip.
type stripView struct {
	Key  string `json:"key"`
	Name string `json:"name"`
	Text string `json:"text"`
	Bad  bool   `json:"bad"`
}

// handView is the layer of a plan that a hand moves: everything in millimetres of the sheet.
type handView struct {
	Figure    int         `json:"figure"`
	Width     float64     `json:"-"`
	Height    float64     `json:"-"`
	Zoom      float64     `json:"zoom"` // millimetres of the sheet for a metre of the roof
	Open      string      `json:"open"` // a path: the roof without what stands on it, even-odd
	Box       [4]float64  `json:"box"`
	Things    []thingView `json:"things"`
	Cells     []string    `json:"cells"`      // outlines, as forecast.SceneOf numbers them
	FirstCell int         `json:"first_cell"` // the number of the first
}

// thingView is a module or an obstacle.
type thingView struct {
	Kind  string  `json:"kind"` // "modules" or "obstacles"
	Name  string  `json:"name"`
	Text  string  `json:"text"` // said by a screen reader
	X     float64 `json:"x"`    // millimetres of the sheet
	Y     float64 `json:"y"`
	W     float64 `json:"w"`
	H     float64 `json:"h"`
	AtX   float64 `json:"at_x_m"` // as the text gives it
	AtY   float64 `json:"at_y_m"`
	Turn  float64 `json:"turn_deg"`
	Turns bool    `json:"turns"`
}

// roofOf returns what a hand moves on the plans, and the figures that follow.
func roofOf(o opened, still bool) *roofView {
	b := o.build
	v := &roofView{Still: still, Leg: -1}
	doc, _, _ := buildfile.Decode("", o.analysis.text)
	next := 0
	starts := make([]int, len(b.Surfaces))
	for s := range b.Surfaces { // as forecast.SceneOf numbers cells: surface by surface
		starts[s] = next
		for m := range b.Modules {
			if b.Modules[m].Surface == s {
				next += len(b.Cells(&b.Modules[m]))
			}
		}
	}
	for i, f := range sheet.PlanFrames(b) {
		h := handView{Figure: 2 * i, Width: f.Width, Height: f.Height, Zoom: 1000 / float64(f.Scale), FirstCell: starts[f.Surface]}
		outline := b.Surfaces[f.Surface].Outline
		h.Open = "M" + points(f, outline) + "z"
		low, high := outline[0], outline[0]
		for _, p := range outline {
			low.X, low.Y, high.X, high.Y = min(low.X, p.X), min(low.Y, p.Y), max(high.X, p.X), max(high.Y, p.Y)
		}
		p, q := f.Point(low), f.Point(high)
		h.Box = [4]float64{mm(p.X), mm(p.Y), mm(q.X - p.X), mm(q.Y - p.Y)}
		for m := range b.Modules {
			x := &b.Modules[m]
			if x.Surface != f.Surface {
				continue
			}
			low, high := b.Footprint(x)
			t := thingOf(f, "modules", x.Name, low, high)
			t.AtX, t.AtY, t.Turn, t.Turns = x.X.Metres(), x.Y.Metres(), math.Round(x.Turn.Degrees()), true
			t.Text = fmt.Sprintf("module %s, %s from the front, %s from the left", x.Name, lengthText(low.X), lengthText(low.Y))
			h.Things = append(h.Things, t)
			for _, c := range b.Cells(x) {
				var list []build.Point
				for _, k := range c.Outline {
					list = append(list, build.Point{X: quantity.Length(k.X), Y: quantity.Length(k.Y)})
				}
				h.Cells = append(h.Cells, points(f, list))
			}
		}
		for k := range b.Obstacles {
			x := &b.Obstacles[k]
			if x.Surface != f.Surface {
				continue
			}
			h.Open += "M" + points(f, x.Outline) + "z"
			at := slices.IndexFunc(doc.Obstacles, func(d build.ObstacleDoc) bool { return d.Name == x.Name })
			if at < 0 || doc.Obstacles[at].At == nil {
				continue // drawn by its corners: moved in the text
			}
			low, high := x.Outline[0], x.Outline[0]
			for _, p := range x.Outline {
				low.X, low.Y, high.X, high.Y = min(low.X, p.X), min(low.Y, p.Y), max(high.X, p.X), max(high.Y, p.Y)
			}
			t := thingOf(f, "obstacles", x.Name, low, high)
			t.AtX, t.AtY = doc.Obstacles[at].At.X.Metres(), doc.Obstacles[at].At.Y.Metres()
			t.Text = fmt.Sprintf("%s, %s from the front, %s from the left, %s high", x.Name, lengthText(low.X), lengthText(low.Y), lengthText(x.Height))
			h.Things = append(h.Things, t)
		}
		v.Hands = append(v.Hands, h)
	}
	longest := time.Duration(0)
	for i := range b.Trip.Legs {
		l := &b.Trip.Legs[i]
		if l.Drive || l.Place.Zone == nil {
			continue
		}
		from, till := l.From.In(l.Place.Zone), l.Until.In(l.Place.Zone)
		v.Stays = append(v.Stays, stayView{Leg: i, Text: l.Place.Name + ", " + from.Format("2 Jan") + " to " + till.Format("2 Jan"), From: from.Format("2006-01-02"), Till: till.Format("2006-01-02")})
		if span := l.Until.Sub(l.From); span > longest {
			longest, v.Leg, v.Day = span, i, l.From.Add(span/2).In(l.Place.Zone).Format("2006-01-02")
		}
	}
	v.Strip = stripOf(o.analysis)
	return v
}

func lengthText(l quantity.Length) string { return fmt.Sprintf("%.0f mm", l.Millimetres()) }

// thingOf places a thing on the sheet.
func thingOf(f sheet.PlanFrame, kind, name string, low, high build.Point) thingView {
	p, q := f.Point(low), f.Point(high)
	return thingView{Kind: kind, Name: name, X: mm(p.X), Y: mm(p.Y), W: mm(q.X - p.X), H: mm(q.Y - p.Y)}
}

// mm rounds a length on the sheet to a hundredth of a millimetre.
func mm(v float64) float64 { return math.Round(v*100) / 100 }

// points writes an outline for an SVG polygon.
func points(f sheet.PlanFrame, list []build.Point) string {
	var out strings.Builder
	for i, p := range list {
		if i > 0 {
			out.WriteByte(' ')
		}
		q := f.Point(p)
		out.WriteString(strconv.FormatFloat(mm(q.X), 'f', -1, 64))
		out.WriteByte(',')
		out.WriteString(strconv.FormatFloat(mm(q.Y), 'f', -1, 64))
	}
	return out.String()
}

// stripOf returns the live figures that need no weather.
func stripOf(x *analysis) []stripView {
	b := x.build
	watts, mass := 0.0, 0.0
	for i := range b.Modules {
		watts += b.Types[b.Modules[i].Type].Pmax.Watts()
		mass += b.Types[b.Modules[i].Type].Mass.Kilograms()
	}
	style := quantity.Style{Digits: 3}
	if b.Units == build.Imperial {
		style.System = quantity.Imperial
	}
	out := []stripView{{Key: "watts", Name: "label power", Text: fmt.Sprintf("%.0f W", watts)}, {Key: "mass", Name: "mass", Text: quantity.Mass(mass).Text(style)}}
	findings, err := x.found()
	if err != nil {
		return out
	}
	if f, ok := worst(findings, "cold-voltage", true); ok {
		out = append(out, stripView{"cold", "coldest", fmt.Sprintf("%.1f of %.0f V", f.Value, f.Limit), f.Verdict == check.Fail})
	}
	if f, ok := worst(findings, "hot-voltage", false); ok {
		out = append(out, stripView{"hot", "hottest", fmt.Sprintf("%.1f, needs %.1f V", f.Value, f.Limit), f.Verdict == check.Fail})
	}
	return out
}

// worst returns the finding of a rule nearest to its limit, or furthest over it.
func worst(list []check.Finding, id string, upper bool) (out check.Finding, found bool) {
	for _, f := range list {
		if f.ID != id || f.Verdict == check.Unknown || f.Limit == 0 {
			continue
		}
		if !found || (f.Value/f.Limit > out.Value/out.Limit) == upper {
			out, found = f, true
		}
	}
	return out, found
}

// move is a thing put somewhere by hand.
type move struct {
	Kind string   `json:"kind"`
	Name string   `json:"name"`
	X    *float64 `json:"x_m"`
	Y    *float64 `json:"y_m"`
	Turn *float64 `json:"turn_deg"`
}

// tryJSON asks for a build with changes.
type tryJSON struct {
	Base    int          `json:"base"`
	Moves   []move       `json:"moves"`
	Changes []changeJSON `json:"changes"`
	Leg     int          `json:"leg"`
	Day     string       `json:"day"`
	Save    bool         `json:"save"`
	Span    string       `json:"span,omitempty"` // of the light of cells: day, trip or year
}

type changeJSON struct {
	Path  []string `json:"path"`
	Texts []string `json:"texts"`
}

// changes returns what moves and changes write into a text. A place is written in the unit it was typed in.
func (t *tryJSON) changes(text []byte) ([]buildfile.Change, error) {
	if len(t.Moves)+len(t.Changes) > 100 {
		return nil, wrong("at most 100 changes at once")
	}
	groups := buildfile.Fields(text, "modules", "obstacles")
	var out []buildfile.Change
	for _, m := range t.Moves {
		at := slices.IndexFunc(groups, func(g buildfile.Group) bool { return g.Section == m.Kind && g.Name == m.Name })
		if at < 0 {
			return nil, wrong("nothing is called %s in %s", m.Name, m.Kind)
		}
		if (m.X == nil) != (m.Y == nil) {
			return nil, wrong("a place has both x_m and y_m")
		}
		if m.X != nil {
			if math.Abs(*m.X) > 50 || math.Abs(*m.Y) > 50 || math.IsNaN(*m.X) || math.IsNaN(*m.Y) {
				return nil, wrong("a place at most 50 m away")
			}
			was := []string{"0 m", "0 m"}
			for _, f := range groups[at].Fields {
				if f.Key == "at" && len(f.Texts) == 2 {
					was = f.Texts
				}
			}
			out = append(out, buildfile.Change{Path: []string{m.Kind, m.Name, "at"}, Texts: []string{inUnitOf(was[0], *m.X), inUnitOf(was[1], *m.Y)}})
		}
		if m.Turn != nil {
			if m.Kind != "modules" || math.Mod(*m.Turn, 90) != 0 || math.Abs(*m.Turn) > 720 {
				return nil, wrong("a module turns by quarter turns")
			}
			out = append(out, buildfile.Change{Path: []string{m.Kind, m.Name, "turn"}, Texts: []string{fmt.Sprintf("%g°", math.Mod(*m.Turn+720, 360))}})
		}
	}
	for _, c := range t.Changes {
		if len(c.Path) == 0 || len(c.Path) > 12 || len(c.Texts) == 0 || len(c.Texts) > 12 {
			return nil, wrong("a change has a path and texts")
		}
		out = append(out, buildfile.Change{Path: c.Path, Texts: c.Texts})
	}
	return out, nil
}

// inUnitOf writes a length in the unit of another as typed.
func inUnitOf(was string, metres float64) string {
	was = strings.TrimSpace(was)
	trim := func(v float64, digits int) string {
		s := strconv.FormatFloat(v, 'f', digits, 64)
		if strings.Contains(s, ".") {
			s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
		}
		if s == "" || s == "-0" {
			return "0"
		}
		return s
	}
	switch {
	case strings.HasSuffix(was, "mm"):
		return trim(metres*1000, 0) + " mm"
	case strings.HasSuffix(was, "cm"):
		return trim(metres*100, 1) + " cm"
	case strings.HasSuffix(was, "in"), strings.HasSuffix(was, `"`), strings.HasSuffix(was, "″"):
		return trim(metres/0.0254, 2) + " in"
	case strings.HasSuffix(was, "ft"), strings.HasSuffix(was, "'"):
		return trim(metres/0.3048, 3) + " ft"
	}
	return trim(metres, 3) + " m"
}

// planJSON is the roof redrawn.
type planJSON struct {
	Revision int           `json:"revision"`
	Saved    bool          `json:"saved"`
	Figures  []svgJSON     `json:"figures"`
	Hands    []handView    `json:"hands"`
	Margin   template.HTML `json:"margin_html"`
	Lead     string        `json:"lead"`
	Strip    []stripView   `json:"strip"`
}

type svgJSON struct {
	SVG template.HTML `json:"svg"`
}

// redraw computes and draws the roof of an analysis.
func (s *Server) redraw(ctx context.Context, o opened) (*planJSON, error) {
	if o.build == nil {
		return nil, problemError(o.analysis)
	}
	j, err := s.job(ctx, o.analysis, "roof", false)
	if err != nil {
		return nil, err
	}
	sh := sheet.Roof(j)
	v := roofOf(o, false)
	out := &planJSON{Revision: o.Number, Hands: v.Hands, Strip: v.Strip, Lead: sh.Lead}
	for i, f := range sh.Figures {
		out.Figures = append(out.Figures, svgJSON{figureOf("roof", i, f).SVG})
	}
	html, err := s.htmlReply("margin", marginOf(sh))
	if err != nil {
		return nil, err
	}
	out.Margin = template.HTML(html.body)
	return out, nil
}

// courseJSON is the sun's day over the roof.
type courseJSON struct {
	Place   string       `json:"place"`
	Date    string       `json:"date"`
	Posture string       `json:"posture"`
	Heading float64      `json:"heading_deg"`
	Free    bool         `json:"heading_free"`
	Moments []momentJSON `json:"moments"`
}

type momentJSON struct {
	Hour      float64      `json:"hour"` // of the place's clock
	Azimuth   float64      `json:"azimuth_deg"`
	Elevation float64      `json:"elevation_deg"`
	Open      float64      `json:"open_W"`
	Left      float64      `json:"left_W"`
	Lit       []int        `json:"lit"` // by cell, percent; those of the day's moments only
	Shadows   []shadowJSON `json:"shadows"`
}

type shadowJSON struct {
	Figure int    `json:"figure"`
	Points string `json:"points"`
}

// courseStep is how often the sun is looked at.
const courseStep = 10 * time.Minute

// courseOf computes the sun's day over the roof.
func courseOf(x *analysis, leg int, day time.Time) (*courseJSON, error) {
	c, err := shading.CourseOf(x.build, leg, day, courseStep)
	if err != nil {
		return nil, wrong("%v", err)
	}
	out := &courseJSON{Place: c.Place, Date: c.Date.Format("2006-01-02"), Posture: c.Posture, Heading: math.Round(c.Heading.Degrees()), Free: c.Free}
	frames := sheet.PlanFrames(x.build)
	for _, m := range c.Moments {
		j := momentJSON{Hour: math.Round(m.At.Sub(c.Date).Hours()*1000) / 1000, Azimuth: math.Round(m.Azimuth.Degrees()*10) / 10, Elevation: math.Round(m.Elevation.Degrees()*10) / 10,
			Open: math.Round(m.Open.Watts()), Left: math.Round(m.Left.Watts())}
		for _, l := range m.Lit {
			j.Lit = append(j.Lit, int(math.Round(100*l)))
		}
		for _, sh := range m.Shadows {
			for i, f := range frames {
				if f.Surface == sh.Surface {
					j.Shadows = append(j.Shadows, shadowJSON{Figure: 2 * i, Points: points(f, sh.Outline)})
				}
			}
		}
		out.Moments = append(out.Moments, j)
	}
	return out, nil
}
