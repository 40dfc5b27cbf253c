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

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/needs"
	"noonmark/internal/answer/parts"
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
	// Wanted is the height in millimetres that suits a screen 206 mm wide, which may scroll; 0: its share.
	Wanted float64
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
}

// All returns the sheets of a job, in the order of the work.
func All(j Job) []Sheet {
	return []Sheet{Needs(j), Roof(j), Sun(j), Wiring(j), Mounting(j), Trip(j), Parts(j), Basis(j)}
}

// Keys are the sheets by name, in the order of All.
func Keys() []string {
	return []string{"needs", "roof", "sun", "wiring", "mounting", "trip", "parts", "basis"}
}

// rooms say on which sheet a finding stands, by a word of its name; the first that fits wins.
var rooms = []struct{ word, key string }{
	{"night", "trip"}, {"shortage", "trip"},
	{"fuse", "wiring"}, {"voltage", "wiring"}, {"input-", "wiring"}, {"current", "wiring"}, {"drop", "wiring"}, {"ampacity", "wiring"}, {"connector", "wiring"},
	{"disconnect", "wiring"}, {"polarity", "wiring"}, {"blocking", "wiring"}, {"loop", "wiring"}, {"start", "wiring"}, {"interrupt", "wiring"}, {"sixty", "wiring"},
	{"60-v", "wiring"}, {"charge", "wiring"}, {"cable-support", "mounting"}, {"cable-entry", "mounting"}, {"cable", "wiring"}, {"conductor", "wiring"}, {"string", "wiring"}, {"mismatch", "wiring"},
	{"uplift", "mounting"}, {"creep", "mounting"}, {"unzip", "mounting"}, {"tape", "mounting"}, {"skin", "mounting"}, {"bond", "mounting"}, {"adhes", "mounting"},
	{"service", "mounting"}, {"fasten", "mounting"}, {"movement", "mounting"}, {"fabric", "mounting"}, {"porosity", "mounting"}, {"entry", "mounting"},
	{"condens", "mounting"}, {"secur", "mounting"}, {"front-edge", "mounting"}, {"cover", "mounting"}, {"peel", "mounting"}, {"thread", "mounting"}, {"seam", "mounting"}, {"mount", "mounting"},
	{"roof", "roof"}, {"rack", "roof"}, {"exit", "roof"}, {"fit", "roof"}, {"gap", "roof"}, {"height", "roof"}, {"mass", "roof"}, {"strut", "roof"}, {"span", "roof"}, {"edge", "roof"}, {"walk", "roof"},
	{"load", "roof"}, {"camber", "roof"}, {"bend", "roof"}, {"centre", "roof"}, {"outline", "roof"}, {"expansion", "roof"}, {"hinge", "roof"}, {"lid", "roof"}, {"keep", "roof"},
}

// SheetOf returns the key of the sheet a finding of the given name stands on: mounting when no word of it
// is known, so that no finding is lost.
func SheetOf(id string) string {
	id = strings.ToLower(id)
	for _, r := range rooms {
		if strings.Contains(id, r.word) {
			return r.key
		}
	}
	return "mounting"
}

// verdictWords are a verdict as printed.
var verdictWords = map[check.Verdict]string{check.Pass: "within the stated rule", check.Warn: "close", check.Fail: "fails", check.Unknown: "unknown"}

// verdicts returns the findings of a sheet, what fails first. Marks number those that fail, are close or
// unknown, then the rest.
func (j *Job) verdicts(key string) []Verdict {
	var out []Verdict
	for _, v := range []check.Verdict{check.Fail, check.Warn, check.Unknown, check.Pass} {
		for _, f := range j.Findings {
			if f.Verdict != v || SheetOf(f.ID) != key {
				continue
			}
			figure := figureOf(f)
			if v == check.Unknown {
				figure = ""
			}
			out = append(out, Verdict{Word: verdictWords[v], Heavy: v == check.Fail, Title: strings.ReplaceAll(f.ID, "-", " ") + ", " + f.Subject,
				Figure: figure, Reason: f.Reason, Source: f.Source.String(), Mark: len(out) + 1, rule: f.ID, subject: f.Subject})
		}
	}
	return out
}

func figureOf(f check.Finding) string {
	unit := f.Unit
	if unit != "" {
		unit = " " + unit
	}
	return number(f.Value, 3) + unit + ", limit " + number(f.Limit, 4) + unit
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

// sourcesOf gathers the sources of verdicts, each once.
func sourcesOf(list []Verdict) []string {
	var out []string
	for _, v := range list {
		if v.Source != "" && !slices.Contains(out, v.Source) {
			out = append(out, v.Source)
		}
	}
	return out
}

// ruleTables returns the findings that hold their rules, and those that lack a figure, as tables for paper:
// what fails or is close stands beside the drawing. Findings that say the same of several things share a row.
func ruleTables(list []Verdict) []Table {
	var out []Table
	for _, word := range []string{verdictWords[check.Unknown], verdictWords[check.Pass]} {
		t := Table{Title: "Unknown: what to find out", Head: []string{"mark", "rule", "figure", "reason [source]"}, Fine: true}
		if word == verdictWords[check.Pass] {
			t.Title = "Within the stated rule"
		}
		same := map[[4]string]int{}
		for _, v := range list {
			if v.Word != word {
				continue
			}
			key := [4]string{v.rule, v.Figure, v.Reason, v.Source}
			if at, ok := same[key]; ok {
				t.Rows[at][0] += ", " + fmt.Sprint(v.Mark)
				t.Rows[at][1] += ", " + v.subject
				continue
			}
			same[key] = len(t.Rows)
			t.Rows = append(t.Rows, []string{fmt.Sprint(v.Mark), v.Title, v.Figure, v.Reason + " [" + v.Source + "]"})
		}
		if len(t.Rows) > 0 {
			out = append(out, t)
		}
	}
	return out
}

// Beside returns the verdicts that stand beside the drawing: those that fail or are close. Those that say the
// same of several things are one, with every subject and mark.
func Beside(list []Verdict) []Verdict {
	var out []Verdict
	same := map[[4]string]int{}
	for _, v := range list {
		if v.InTable() {
			continue
		}
		key := [4]string{v.rule + v.Word, v.Figure, v.Reason, v.Source}
		at, ok := same[key]
		if !ok || v.rule == "" {
			same[key] = len(out)
			out = append(out, v)
			continue
		}
		out[at].Title += fmt.Sprintf(", %s (mark %d)", v.subject, v.Mark)
	}
	return out
}

// InTable reports whether the verdict stands in a table of rules rather than beside the drawing.
func (v Verdict) InTable() bool {
	return v.Word == verdictWords[check.Pass] || v.Word == verdictWords[check.Unknown]
}

// count says how many verdicts fail, are close and unknown, as a sentence.
func count(list []Verdict) string {
	if len(list) == 0 {
		return "No rule was applied here."
	}
	n := map[string]int{}
	for _, v := range list {
		n[v.Word]++
	}
	var words []string
	for _, w := range []string{"fails", "close", "unknown", "within the stated rule"} {
		if n[w] > 0 {
			if w == "fails" && n[w] > 1 {
				words = append(words, fmt.Sprintf("%d fail", n[w]))
				continue
			}
			words = append(words, fmt.Sprintf("%d %s", n[w], w))
		}
	}
	return fmt.Sprintf("Of %d rules %s.", len(list), strings.Join(words, ", "))
}

// Parts returns the sheet of what to buy and to cut.
func Parts(j Job) Sheet {
	list := parts.Of(j.Build)
	s := Sheet{Key: "parts", Title: "Parts and cuts", Columns: 3}
	var group parts.Group
	for _, p := range list {
		if p.Group != group {
			group = p.Group
			s.Tables = append(s.Tables, Table{Title: "Parts: " + string(group), Head: []string{"", ""}, Right: []int{0}})
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
	cuts := Table{Title: "Cut list", Head: []string{"run", "pole", "size", "along run", "loops, ends", "cut"}, Right: []int{3, 4, 5}}
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
	t := List{Title: "Assumed, because it was not given"}
	for _, a := range j.Assumed {
		why := a.Why
		if a.Source != "" {
			why += " [" + a.Source + "]"
		}
		t.Lines = append(t.Lines, a.What+": "+a.Value+". "+why)
	}
	if len(t.Lines) > 0 {
		s.Lists = append(s.Lists, t)
	}
	var sources []string
	for _, f := range j.Findings {
		if c := f.Source.String(); !slices.Contains(sources, c) {
			sources = append(sources, c)
		}
	}
	slices.Sort(sources)
	sources = append(sources, j.Climate)
	s.Lists = append(s.Lists, List{Title: "Sources of the rules and the weather", Lines: sources,
		Why: "A limit from a code is a figure with its clause: check the edition in force where you are."})
	s.Sources = sources
	s.Lead = fmt.Sprintf("%d values were assumed. Replace the one that matters most first: the figure it drives says how much.", len(j.Assumed))
	s.Lists = append(s.Lists, List{Title: "Notes", Lines: append(cautionsOf("basis"), "A source marked from memory was not looked up again: hold your own figure over it.",
		"Every number of this book comes from one file; the revision in the title block is a mark made from that file's text, so paper and file can be held together.")})
	return s
}
