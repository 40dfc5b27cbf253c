// Package sheet turns answers into sheets: titled figures, values, tables, verdicts, cautions and what was
// assumed, as plain data without markup. The screen, the book and the terminal show the same sheets.
//
// A figure draws itself into any box of paper, so that its scale is chosen by the paper it lands on. Numbers
// are printed here and nowhere later: what a sheet says is text.
package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"noonmark/internal/answer/bands"
	"noonmark/internal/answer/battery"
	"noonmark/internal/answer/check"
	"noonmark/internal/answer/choose"
	"noonmark/internal/answer/dayplan"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/needs"
	"noonmark/internal/answer/parts"
	"noonmark/internal/answer/shading"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// Sheet is one question with its answer.
type Sheet struct {
	Key      string // "roof"
	Title    string
	Lead     string // the answer in a sentence or two
	Values   []Value
	Figures  []Figure
	Tables   []Table
	Lists    []List
	Verdicts []Verdict
	Notes    []string
	Cautions []string
	Assumed  []Assumption
	Sources  []string
	Columns  int // of tables and lists on a landscape page; below 1 counts as 1
}

// Value is a figure to look up.
type Value struct{ Name, Text string }

// Figure is a drawing with its title.
type Figure struct {
	Title string
	Share float64 // of a page's height, 0 to 1
	Least float64 // height it needs, mm; 0: little
	// Wanted is the height in millimetres that suits a screen 206 mm wide, which may scroll; 0: its share.
	Wanted float64
	Phone  float64 // the same for a screen half as wide; 0: as Wanted
	Draw   func(width, height float64) *draw.Scene
}

// Table is rows under heads. The last column may have bars beside it.
type Table struct {
	Title  string
	Head   []string
	Right  []int // columns set to the right
	Rows   [][]string
	Shares []float64 // a bar for each row, -1 to 1; nil: none
	Fine   bool      // long texts, in smaller type
}

// List is lines to read or to tick.
type List struct {
	Title string
	Tick  bool
	Lines []string
	Why   string // under the title
}

// Verdict is a rule's word on this build.
type Verdict struct {
	Word    string // "within the stated rule", "close", "fails", "unknown"
	Heavy   bool   // fails
	Title   string // "cold voltage, string lid"
	Figure  string // "64.1 V, limit 80 V"
	Reason  string
	Source  string
	Mark    int    // its number on the drawing; 0: none
	rule    string // "cold-voltage"
	subject string
	finding check.Finding
}

// Assumption is a value the user did not give.
type Assumption struct{ What, Value, Why, Source string }

// Job is what the sheets are made from.
type Job struct {
	Build    *build.Build
	Forecast *forecast.Answer
	Needs    needs.Answer
	Findings []check.Finding
	Assumed  []Assumption
	Climate  string // whom to thank for the weather
	Day      *dayplan.Plan
	NoDay    string // why Day is nil
	Shade    *shading.Answer
	NoShade  string // why Shade is nil

	Battery   *battery.Answer
	NoBattery string        // why Battery is nil
	Sure      *bands.Answer // on the trip's sheet; nil: not drawn

	Layouts *choose.Arrangement // nil: none searched
	Types   *choose.Comparison  // nil: none compared
}

// All returns the sheets of a job, in the order of the work.
func All(j Job) []Sheet {
	return []Sheet{Needs(j), Roof(j), Shade(j), Wiring(j), Trip(j), Battery(j), Mounting(j), DayPlan(j), Parts(j), Rules(j), Basis(j)}
}

// Keys are the sheets by name, in the order of All.
func Keys() []string {
	return []string{"needs", "roof", "shade", "wiring", "trip", "battery", "mounting", "dayplan", "parts", "rules", "basis"}
}

// number prints a value with n significant digits, whole numbers in full, a true minus sign and no exponent.
func number(v float64, n int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	if v != 0 && math.Abs(v) < math.Pow10(n) {
		p := math.Pow10(n - 1 - int(math.Floor(math.Log10(math.Abs(v)))))
		if r := math.Round(v*p) / p; !math.IsNaN(r) && !math.IsInf(r, 0) {
			v = r
		}
	}
	s := fmt.Sprintf("%.*f", 4, v)
	if math.Abs(v) >= 1 {
		s = fmt.Sprintf("%.*f", max(0, n-1-int(math.Floor(math.Log10(math.Abs(v))))), v)
	}
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

func wattHours(e quantity.Energy) string { return whole(e.WattHours()) + " Wh" }

// whole prints a number without decimals, and a true minus sign.
func whole(v float64) string {
	s := fmt.Sprintf("%.0f", v)
	if s == "-0" {
		s = "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

// style returns how b prints its quantities.
func style(b *build.Build) quantity.Style {
	s := quantity.Style{Digits: 3}
	if b.Units == build.Imperial {
		s.System = quantity.Imperial
	}
	return s
}

// measure prints a length of a drawing without its unit: millimetres, or inches to a tenth.
func measure(b *build.Build, l quantity.Length) string {
	if b.Units == build.Imperial {
		return number(math.Round(l.Metres()/0.0254*10)/10, 6)
	}
	return whole(l.Millimetres())
}

// unitOf names the unit of measure.
func unitOf(b *build.Build) string {
	if b.Units == build.Imperial {
		return "in"
	}
	return "mm"
}

// Parts returns the sheet of what to buy and to cut.
func Parts(j Job) Sheet {
	list := parts.Of(j.Build)
	s := Sheet{Key: "parts", Title: "Parts and cuts", Columns: 3}
	var group parts.Group
	for _, p := range list {
		if p.Group != group {
			group = p.Group
			s.Tables = append(s.Tables, Table{Title: "Parts: " + string(group), Head: []string{"", ""}, Right: []int{0}, Fine: true})
		}
		t := &s.Tables[len(s.Tables)-1]
		note := p.Note
		if p.Sum != nil {
			note += fmt.Sprintf("; %s %s", number(*p.Sum, 6), j.Build.Currency)
		}
		name := p.Name
		if note != "" {
			name += ": " + note
		}
		t.Rows = append(t.Rows, []string{p.Count, name})
	}
	cuts := Table{Title: "Cut list", Head: []string{"run", "pole", "size", "along run", "loops, ends", "cut"}, Right: []int{3, 4, 5}, Fine: true}
	metres := 0.0
	for _, c := range parts.Cuts(j.Build) {
		metres += c.Length.Metres()
		cuts.Rows = append(cuts.Rows, []string{c.Run, c.Pole, c.Size, fmt.Sprintf("%.2f m", c.OneWay.Metres()),
			fmt.Sprintf("%.2f m", c.Slack.Metres()+c.Loops.Metres()+c.Ends.Metres()), fmt.Sprintf("%.2f m", c.Length.Metres())})
	}
	if len(cuts.Rows) > 0 {
		s.Tables = append([]Table{cuts}, s.Tables...)
	}
	s.Lead = fmt.Sprintf("%d lines to buy or to have at hand; %.1f m of conductor in %d cuts.", len(list), metres, len(cuts.Rows))
	if sum, unpriced := parts.Total(list); sum > 0 {
		s.Lead += fmt.Sprintf(" Lines with a price together %s %s; %d have none, tools not counted.", number(sum, 6), j.Build.Currency, unpriced)
	}
	s.Lists = []List{{Title: "Cautions and notes", Lines: append(cautionsOf("parts"),
		"A cut is the run one way, 3 % slack, 150 mm at each end, 200 mm for the drip loop of a roof run and 500 mm for a lid's hinge. Common practice, no source.",
		"Lay a string along the real path before you cut; the drawing knows the run's length and not its corners.")}}
	return s
}

// Basis returns the sheet of what was assumed and where rules come from.
func Basis(j Job) Sheet {
	s := Sheet{Key: "basis", Title: "What this rests on", Columns: 4}
	t := List{Title: "Assumed, by source"}
	var order []string
	by := map[string][]string{}
	for _, a := range j.Assumed {
		source := a.Source
		if source == "" {
			source = "the program's own"
		}
		if by[source] == nil {
			order = append(order, source)
		}
		text := a.What + ": " + a.Value
		if a.Why != "" {
			text += " (" + a.Why + ")"
		}
		by[source] = append(by[source], text)
	}
	for _, source := range order {
		t.Lines = append(t.Lines, upper(source)+". "+strings.Join(by[source], "; ")+".")
	}
	if len(t.Lines) > 0 {
		s.Lists = append(s.Lists, t)
	}
	standings := map[cite.Standing][]string{}
	var sources []string
	for _, f := range j.Findings {
		if c := f.Source.String(); !slices.Contains(sources, c) {
			sources = append(sources, c)
			bare := cite.Source{Title: f.Source.Title, Where: f.Source.Where}
			standings[f.Source.Standing] = append(standings[f.Source.Standing], bare.String())
		}
	}
	slices.Sort(sources)
	rules := List{Title: "Sources of the rules and the weather", Why: "A limit from a code is a figure with its clause: check the edition in force where you are."}
	for _, standing := range []cite.Standing{cite.LookedUp, cite.FromMemory, cite.CommonPractice, cite.Judgement} {
		if list := standings[standing]; len(list) > 0 {
			slices.Sort(list)
			word := standing.String()
			rules.Lines = append(rules.Lines, strings.ToUpper(word[:1])+word[1:]+": "+strings.Join(list, "; ")+".")
		}
	}
	rules.Lines = append(rules.Lines, j.Climate)
	sources = append(sources, j.Climate)
	s.Lists = append(s.Lists, rules)
	s.Sources = sources
	s.Lead = fmt.Sprintf("%d values were assumed. Replace the one that matters most first: the figure it drives says how much.", len(j.Assumed))
	s.Lists = append(s.Lists, List{Title: "Notes", Lines: append(cautionsOf("basis"), "A source marked from memory was not looked up again: hold your own figure over it.",
		"Every number of this book comes from one file; the revision in the title block is a mark made from that file's text, so paper and file can be held together.")})
	return s
}
