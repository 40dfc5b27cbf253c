package choose

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/build/build"
)

// Refusal is a rule that layouts were left out for.
type Refusal struct {
	Rule  string // its name in check
	Why   string // of the first
	Kinds []string
}

// electrical are the rules that hang on modules and wiring alone: what breaks one is never proposed, even where
// the build as it stands breaks it too.
var electrical = []string{"cold-voltage", "hot-voltage", "input-current"}

// mended are the rules of wiring that a part put in or a thicker cable keeps: a layout that breaks one says so.
var mended = []string{"ampacity", "ampacity-other", "array-fuse", "battery-fuse", "blocking", "cable-drop", "cable-loss", "charge-cold", "charge-current", "charge-hot",
	"connectors", "fuse-breaks", "fuse-distance", "fuse-size", "loop-cycles", "loop-radius", "loop-strands", "reverse-polarity", "string-fuse"}

// rules are those that a build keeps and those it breaks.
type rules struct {
	met    map[string]bool // by name: kept by every finding
	refuse []Refusal
}

func rulesOf(b *build.Build) (*rules, error) {
	list, err := findings(b)
	if err != nil {
		return nil, err
	}
	r := &rules{met: map[string]bool{}}
	for _, f := range list {
		if _, known := r.met[f.ID]; !known || f.Verdict == check.Fail {
			r.met[f.ID] = f.Verdict != check.Fail
		}
	}
	return r, nil
}

func findings(b *build.Build) ([]check.Finding, error) {
	list, err := check.Wiring(b)
	if err != nil {
		return nil, err
	}
	return append(list, onRoof(b)...), nil
}

// onRoof are the findings that hang on the places of modules.
func onRoof(b *build.Build) []check.Finding {
	list := check.Roof(b)
	if len(b.Mounting.Mounts) != len(b.Modules) { // a build made by hand says nothing of it
		return list
	}
	return append(list, check.Mounting(b)...)
}

// still returns the rules of the findings that a layout is outside of as the build as it stands is.
func (r *rules) still(list []check.Finding) []string {
	var out []string
	for i := range list {
		f := &list[i]
		if kept, known := r.met[f.ID]; f.Verdict == check.Fail && known && !kept && !slices.Contains(out, f.ID) {
			out = append(out, f.ID)
		}
	}
	return out
}

// broken returns the first of the findings that a layout is refused for, and the rules that parts must mend.
func (r *rules) broken(list []check.Finding) (refused *check.Finding, mend []string) {
	for i := range list {
		f := &list[i]
		kept, known := r.met[f.ID]
		switch {
		case f.Verdict != check.Fail:
		case slices.Contains(mended, f.ID):
			if (kept || !known) && !slices.Contains(mend, f.ID) {
				mend = append(mend, f.ID)
			}
		case refused == nil && (kept || !known || slices.Contains(electrical, f.ID)):
			refused = f
		}
	}
	return refused, mend
}

// refused notes that a kind was left out for a finding.
func (r *rules) refused(what string, f *check.Finding) {
	for i := range r.refuse {
		if r.refuse[i].Rule == f.ID {
			if !slices.Contains(r.refuse[i].Kinds, what) {
				r.refuse[i].Kinds = append(r.refuse[i].Kinds, what)
			}
			return
		}
	}
	r.refuse = append(r.refuse, Refusal{Rule: f.ID, Why: fmt.Sprintf("%s: %s", f.Subject, f.Reason), Kinds: []string{what}})
}

// list returns the refusals, those of most kinds first.
func (r *rules) list() []Refusal {
	slices.SortStableFunc(r.refuse, func(x, y Refusal) int { return cmp.Compare(len(y.Kinds), len(x.Kinds)) })
	return r.refuse
}

// kind is what modules and wiring a layout has, wherever they stand.
type kind struct {
	first   *Candidate
	barred  *check.Finding // no layout of it is judged
	doubted bool           // the first met broke a rule of the roof: each is looked at
	tried   int
	passed  bool
	mend    []string
	best    []*Candidate // its best two
}

// barredAfter is how many layouts of a kind that all break rules of the roof bar the kind.
const barredAfter = 8

// meet looks at the kinds that are new in a list, each by its first layout.
func (s *search) meet(ctx context.Context, list []*Candidate) error {
	var fresh []*kind
	for _, c := range list {
		if s.kinds[c.What] == nil {
			k := &kind{first: c}
			s.kinds[c.What] = k
			fresh = append(fresh, k)
		}
	}
	return forecast.Each(ctx, len(fresh), func(i int) error {
		k := fresh[i]
		b := k.first.of(s.b)
		wired, err := check.Wiring(b)
		if err != nil {
			return err
		}
		if k.barred, k.mend = s.rules.broken(wired); k.barred == nil {
			broken, _ := s.rules.broken(onRoof(b))
			k.doubted = broken != nil
		}
		return nil
	})
}

// note keeps the best of the candidates judged, in all and of each kind, and, where not all are gone through, bars
// kinds of which many layouts were tried and none keeps the rules of the roof.
func (s *search) note(list []*Candidate) {
	for _, c := range list {
		k := s.kinds[c.What]
		if c.refused == nil {
			k.passed = true
			k.best = keep(k.best, c, 2)
			s.best = keep(s.best, c, parents/2)
			continue
		}
		if k.tried++; k.tried >= barredAfter && !k.passed && !s.exact {
			k.barred = c.refused
		}
	}
}

// before reports the order of candidates: by falling energy, then as they were met.
func before(x, y *Candidate) int {
	return cmp.Or(cmp.Compare(y.Judged, x.Judged), cmp.Compare(x.order, y.order))
}

// keep puts a candidate into a list in order, of at most so many.
func keep(list []*Candidate, c *Candidate, most int) []*Candidate {
	at, _ := slices.BinarySearchFunc(list, c, before)
	if at >= most {
		return list
	}
	if len(list) >= most {
		list = list[:most-1]
	}
	return slices.Insert(list, at, c)
}
