package sheet

import (
	"fmt"
	"slices"
	"strings"

	"noonmark/internal/answer/check"
	"noonmark/internal/base/cite"
)

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
// unknown; what holds its rule has none.
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
			mark := len(out) + 1
			if v == check.Pass {
				mark = 0
			}
			out = append(out, Verdict{Word: verdictWords[v], Heavy: v == check.Fail, Title: spaced(f.ID) + ", " + f.Subject,
				Figure: figure, Reason: f.Reason, Source: f.Source.String(), Mark: mark, rule: f.ID, subject: f.Subject, finding: f})
		}
	}
	return out
}

func figureOf(f check.Finding) string {
	return counted(number(f.Value, 3), f.Unit) + ", limit " + counted(number(f.Limit, 4), f.Unit)
}

// singular are the units of findings that count things, as they read after a 1.
var singular = map[string]string{"bends": "bend", "faults": "fault", "fuses": "fuse", "guards": "guard", "kinds": "kind", "nights": "night", "open seams": "open seam",
	"pieces": "piece", "switches": "switch", "years": "year", "times": ""}

// counted puts a unit after a printed figure: "63.7 V", "1 fuse", "2 fuses".
func counted(figure, unit string) string {
	switch {
	case unit == "fine" && figure == "1": // of strands: 1 or 0
		return "fine"
	case unit == "fine":
		return "not fine"
	}
	if one, ok := singular[unit]; ok && figure == "1" {
		unit = one
	}
	return strings.TrimSpace(figure + " " + unit)
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

// spaced prints a rule's name.
func spaced(id string) string { return strings.ReplaceAll(id, "-", " ") }

// unknowns returns the findings that lack a figure as a table, none when there is none. Findings that say the
// same of several things share a row.
func unknowns(list []Verdict) []Table {
	t := Table{Title: "Unknown: what to find out", Head: []string{"mark", "rule", "reason [source]"}, Fine: true}
	same := map[[3]string]int{}
	for _, v := range list {
		if v.Word != verdictWords[check.Unknown] {
			continue
		}
		key := [3]string{v.rule, v.Reason, v.Source}
		if at, ok := same[key]; ok {
			t.Rows[at][0] += ", " + fmt.Sprint(v.Mark)
			t.Rows[at][1] += ", " + v.subject
			continue
		}
		same[key] = len(t.Rows)
		t.Rows = append(t.Rows, []string{fmt.Sprint(v.Mark), v.Title, v.Reason + " [" + v.Source + "]"})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return []Table{t}
}

// ends prints the ends of figures, one where they read alike.
func ends(r check.Range, n int) string {
	low, high := number(r.Low, n), number(r.High, n)
	if low == high {
		return low
	}
	return low + " to " + high
}

// shortSource names a source as far as a row has room: its title to the first comma, its place when that is
// short, and its standing in a word.
func shortSource(s cite.Source) string {
	title := s.Title
	if t, _, ok := strings.Cut(title, ", "); ok && len(t) > 3 {
		title = t
	}
	if len(s.Where) > 0 && len(s.Where) <= 24 {
		title += ", " + s.Where
	}
	if word := map[cite.Standing]string{cite.FromMemory: "memory", cite.CommonPractice: "practice", cite.Judgement: "own"}[s.Standing]; word != "" {
		title = strings.TrimPrefix(title+" ("+word+")", " ")
	}
	return title
}

// Rules returns the sheet of what holds: a row for each rule, with all it was applied to. What fails, is close
// or unknown stands with its reason on the sheet of its drawing.
func Rules(j Job) Sheet {
	s := Sheet{Key: "rules", Title: "Rules that hold", Columns: 2}
	t := Table{Title: "Within the stated rule", Head: []string{"rule", "of", "value", "limit", "source"}, Fine: true}
	n := 0
	for _, g := range check.Groups(j.Findings) {
		if g.Verdict != check.Pass {
			continue
		}
		n += len(g.Subjects)
		t.Rows = append(t.Rows, []string{spaced(g.ID), g.Together(), counted(ends(g.Value, 3), g.Unit), counted(ends(g.Limit, 3), g.Unit), shortSource(g.Source)})
	}
	s.Lead = fmt.Sprintf("%d findings by %d rules. Sources in full are on the sheet of what this rests on; a figure of a code is quoted: check the edition in force where you are.", n, len(t.Rows))
	if n == 0 {
		s.Lead = "No rule that was applied holds."
	} else {
		s.Tables = []Table{t}
	}
	return s
}

// Beside returns the verdicts that stand beside the drawing: those that fail or are close. Those that say the
// same of several things are one, with every subject and mark.
func Beside(list []Verdict) []Verdict {
	var out []Verdict
	var subjects [][]string
	var marks [][]string
	same := map[[4]string]int{}
	for _, v := range list {
		if v.InTable() {
			continue
		}
		key := [4]string{v.rule + v.Word, v.Figure, v.Reason, v.Source}
		at, ok := same[key]
		if !ok || v.rule == "" {
			at = len(out)
			same[key] = at
			out, subjects, marks = append(out, v), append(subjects, nil), append(marks, nil)
		}
		subjects[at], marks[at] = append(subjects[at], v.subject), append(marks[at], fmt.Sprint(v.Mark))
	}
	for i := range out {
		if len(marks[i]) > 1 {
			out[i].Title = fmt.Sprintf("%s, %s (marks %s)", spaced(out[i].rule), check.Group{Subjects: subjects[i]}.Together(), strings.Join(marks[i], ", "))
		}
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
