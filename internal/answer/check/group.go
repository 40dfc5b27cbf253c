package check

import (
	"slices"
	"strings"

	"noonmark/internal/base/cite"
)

// Range is the least and the greatest of figures, in the unit of their findings.
type Range struct{ Low, High float64 }

func (r *Range) take(v float64) { r.Low, r.High = min(r.Low, v), max(r.High, v) }

// Group is a rule with all that it says the same of.
type Group struct {
	ID       string
	Verdict  Verdict
	Subjects []string // each once
	Value    Range
	Limit    Range
	Unit     string
	Reason   string // of the first, where figures differ
	Source   cite.Source
}

// Groups puts findings together that say the same, in the order of the findings: those that hold by rule, unit
// and source, whatever their figures; others where figures and reason are alike too.
func Groups(list []Finding) []Group {
	type key struct {
		id, unit, source, reason string
		verdict                  Verdict
		value, limit             float64
	}
	var out []Group
	at := map[key]int{}
	for _, f := range list {
		k := key{id: f.ID, unit: f.Unit, source: f.Source.String(), verdict: f.Verdict}
		if f.Verdict != Pass {
			k.reason, k.value, k.limit = f.Reason, f.Value, f.Limit
		}
		i, ok := at[k]
		if !ok {
			i = len(out)
			at[k] = i
			out = append(out, Group{ID: f.ID, Verdict: f.Verdict, Value: Range{f.Value, f.Value}, Limit: Range{f.Limit, f.Limit}, Unit: f.Unit, Reason: f.Reason, Source: f.Source})
		}
		g := &out[i]
		g.Value.take(f.Value)
		g.Limit.take(f.Limit)
		if !slices.Contains(g.Subjects, f.Subject) {
			g.Subjects = append(g.Subjects, f.Subject)
		}
	}
	return out
}

// Together names the subjects of g: a first word that all share is said once.
func (g Group) Together() string {
	if len(g.Subjects) == 0 {
		return ""
	}
	first, _, shared := strings.Cut(g.Subjects[0], " ")
	for _, s := range g.Subjects {
		w, _, more := strings.Cut(s, " ")
		shared = shared && more && w == first
	}
	if !shared || len(g.Subjects) < 2 {
		return strings.Join(g.Subjects, "; ")
	}
	out := g.Subjects[0]
	for _, s := range g.Subjects[1:] {
		out += ", " + strings.TrimPrefix(s, first+" ")
	}
	return out
}
