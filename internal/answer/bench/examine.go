package bench

import (
	"fmt"
	"math"
	"sort"

	"noonmark/internal/build/build"
)

// Question is a set of readings with what is known of the modules.
type Question struct {
	Samples []Sample
	Kinds   map[string]*build.ModuleType // by module
	Default *build.ModuleType            // of modules not in Kinds; nil: they are not judged
	Setting Setting
}

// Report is all that readings say.
type Report struct {
	Readings []Normal // in the order of the samples
	Modules  []ModuleOutcome
	Pairs    []PairOutcome
	Day      *DayOutcome // nil: no day was logged
	Shade    []ShadeOutcome
	Heat     []HeatOutcome
	Findings []Finding // of all readings together

	withdrawn map[string]Finding // why a module's verdict was taken back
}

// mostPairs is the modules of which each is compared with each other.
const mostPairs = 8

// Examine normalises all readings, judges each module, compares modules that were read in turns or logged
// through a day, and works out shade and heat tests. The error is that of a label no cell has.
func Examine(q Question) (Report, error) {
	var r Report
	if q.Setting.Meters == (Meters{}) {
		q.Setting.Meters, _ = MetersOf("")
	}
	byKind := map[*build.ModuleType]*Normaliser{}
	normals := map[string][]Normal{}
	var names []string
	unknown := map[string]int{}
	for _, s := range q.Samples {
		kind := q.kind(s.Module)
		if kind == nil {
			unknown[s.Module]++
			r.Readings = append(r.Readings, Normal{Sample: s, Stopped: true, Findings: []Finding{{Line: s.Line, Module: s.Module, Kind: "no label", Stops: true,
				Text: "no label is known for it: nothing to hold it against", Settles: "the build file, or the label with --module"}}})
			continue
		}
		n := byKind[kind]
		if n == nil {
			var err error
			if n, err = NewNormaliser(kind, q.Setting); err != nil {
				return r, fmt.Errorf("%s: %w", kind.Name, err)
			}
			byKind[kind] = n
		}
		x := n.Normalise(s)
		r.Readings = append(r.Readings, x)
		if _, seen := normals[s.Module]; !seen {
			names = append(names, s.Module)
		}
		normals[s.Module] = append(normals[s.Module], x)
	}
	sort.Strings(names)
	for _, name := range names {
		kind := q.kind(name)
		plain := ofKind(normals[name], "") // tests of a kind of their own are no readings of the module as it is
		if len(plain) > 0 {
			r.Modules = append(r.Modules, Judge(name, kind, plain))
			r.mixedWithin(name, plain)
		}
		if hot := ofKind(normals[name], "heat"); len(hot) > 0 {
			r.Heat = append(r.Heat, Heat(name, kind, hot)...)
		} else {
			r.Heat = append(r.Heat, Heat(name, kind, plain)...)
		}
	}
	r.mixed(q, names, normals)
	fit, why := r.comparable()
	r.Shade = Shade(fit, q.Setting)
	r.compare(q, names, fit, why)
	if len(q.Samples) == 1 {
		r.Findings = append(r.Findings, Finding{Kind: "one reading", Text: "one reading in all: it can show a gross fault and pass nothing narrow", Settles: "a twin read in turns, A, B, A, B, A"})
	}
	return r, nil
}

// ofKind returns the readings of a kind of test.
func ofKind(normals []Normal, kind string) []Normal {
	var out []Normal
	for _, n := range normals {
		if n.Sample.Kind == kind {
			out = append(out, n)
		}
	}
	return out
}

// kind returns a module's type, nil where it is not known.
func (q *Question) kind(module string) *build.ModuleType {
	if k := q.Kinds[module]; k != nil {
		return k
	}
	return q.Default
}

// contestants returns the modules that can be compared.
func (q *Question) contestants(names []string) []Contestant {
	var out []Contestant
	for _, n := range names {
		out = append(out, Contestant{n, q.kind(n)})
	}
	return out
}

// incomparable are the findings that keep a reading out of a comparison too. Light and heat that are not
// known, or by a wrong meter, fall out of a ratio; a clock that says night, another module and watts that are
// not volts times amperes do not.
var incomparable = map[string]bool{"night": true, "wrong module": true, "watts differ": true}

// comparable returns the samples that may stand in a comparison, and by module why others may not.
func (r *Report) comparable() (fit []Sample, why map[string]Finding) {
	why = map[string]Finding{}
	for i := range r.Readings {
		out := false
		for _, f := range r.Readings[i].Findings {
			if out = f.Stops && incomparable[f.Kind]; out {
				if _, said := why[f.Module]; !said {
					why[f.Module] = f
				}
				break
			}
		}
		if !out {
			fit = append(fit, r.Readings[i].Sample)
		}
	}
	for module, f := range r.withdrawn {
		why[module] = f
	}
	return fit, why
}

// compare compares what was read in turns, and a day that was logged; why is why readings of a module may not
// stand in a comparison.
func (r *Report) compare(q Question, names []string, fit []Sample, why map[string]Finding) {
	who := q.contestants(names)
	if len(who) < 2 {
		return
	}
	if d, ok := CompareDay(who, q.Samples, q.Setting); ok {
		r.Day = &d
		return // a log's rows stand side by side: its intervals are the day's
	}
	if len(who) > mostPairs {
		r.Findings = append(r.Findings, Finding{Kind: "many modules", Text: fmt.Sprintf("%d modules: the first %d are compared with one another", len(who), mostPairs)})
		who = who[:mostPairs]
	}
	for i := range who {
		for k := i + 1; k < len(who); k++ {
			a, b := who[i].Module, who[k].Module
			p := PairOutcome{A: a, B: b}
			_, lost := r.withdrawn[a]
			_, other := r.withdrawn[b]
			if !lost && !other {
				p = Compare(who[i], who[k], fit, q.Setting)
			}
			for _, name := range []string{a, b} {
				if f, ok := why[name]; ok && len(p.Pairs) == 0 {
					p.Says, p.Settle = fmt.Sprintf("%s and %s are not compared: %s", a, b, f.Text), f.Settles
					break
				}
			}
			if len(p.Pairs) > 0 || len(who) == 2 {
				r.Pairs = append(r.Pairs, p)
			}
		}
	}
}

// withdraw takes back a module's verdict.
func (r *Report) withdraw(module, why, settle string) {
	if r.withdrawn == nil {
		r.withdrawn = map[string]Finding{}
	}
	r.withdrawn[module] = Finding{Module: module, Text: why, Settles: settle}
	for i := range r.Modules {
		if m := &r.Modules[i]; m.Module == module {
			m.Verdict, m.Why, m.Settle = CannotTell, why, settle
		}
	}
}

// mixedWithin finds two modules under one name: standardised volts or amps that no one module scatters by.
func (r *Report) mixedWithin(name string, normals []Normal) {
	for _, q := range []string{OpenVolts, ShortAmps} {
		low, high := math.Inf(1), 0.0
		for i := range normals {
			if f := normals[i].Figure(q); f != nil && !normals[i].Stopped {
				low, high = math.Min(low, f.Standard), math.Max(high, f.Standard)
			}
		}
		if high > 1.25*low {
			text := fmt.Sprintf("readings under the name %q differ: standardised %s from %.3g to %.3g. Two modules under one name, a string among them, or shade", name, q, low, high)
			settle := "each module under its own name or serial"
			r.Findings = append(r.Findings, Finding{Module: name, Kind: "mixed modules", Text: text, Stops: true, Settles: settle})
			r.withdraw(name, text, settle)
			return
		}
	}
}

// mixed finds modules of different kinds under the one label that stands for all.
func (r *Report) mixed(q Question, names []string, normals map[string][]Normal) {
	if q.Default == nil {
		return
	}
	var shared []string
	low, high := math.Inf(1), 0.0
	lowName, highName := "", ""
	for _, name := range names {
		if q.Kinds[name] != nil {
			continue
		}
		shared = append(shared, name)
		for i := range normals[name] {
			if s := &normals[name][i].Sample; s.Open != nil && s.Kind == "" {
				v := math.Abs(s.Open.Volts())
				if v > 0 && v < low {
					low, lowName = v, name
				}
				if v > high {
					high, highName = v, name
				}
			}
		}
	}
	if len(shared) < 2 || lowName == highName || high < 1.3*low {
		return
	}
	text := fmt.Sprintf("one label stands for all, and the open volts go from %.3g V (%s) to %.3g V (%s): these are modules of different kinds, or a string among them", low, lowName, high, highName)
	settle := "each module's own label, in a build file"
	r.Findings = append(r.Findings, Finding{Kind: "mixed modules", Text: text, Stops: true, Settles: settle})
	for _, name := range shared {
		r.withdraw(name, text, settle)
	}
}
