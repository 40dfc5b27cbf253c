package diagnose

import (
	"math"
	"strings"

	"noonmark/internal/base/problem"
)

// resolve finds a reading's place.
func (s *Session) resolve(r *Reading, ps *problem.List) (sample, bool) {
	path := "readings"
	if r.Kind < 0 || r.Kind >= kinds {
		panic("diagnose: unknown kind of reading")
	}
	path += "." + r.Kind.String()
	sm := sample{key: key{kind: r.Kind, unit: -1, line: -1, index: -1}, value: r.Value, over: r.Over}
	switch v := r.Value; {
	case r.Over:
		sm.value = 0
	case math.IsNaN(v) || math.Abs(v) > 1e12:
		ps.Addf(path, "wanted a number")
		return sm, false
	case r.Kind.seen() && v != 0 && v != 1:
		ps.Addf(path, "wanted yes or no")
		return sm, false
	case r.Kind.ohmic() && v < 0:
		ps.Addf(path, "wanted ohms not below zero")
		return sm, false
	}
	if math.IsNaN(r.Unsure) || math.IsInf(r.Unsure, 0) || r.Unsure < 0 {
		ps.Addf(path, "wanted an uncertainty not below zero")
		return sm, false
	}
	if !s.locate(r, &sm.key) {
		ps.Add(problem.Problem{Path: path, Found: r.At, Want: "wanted " + s.names(facts[r.Kind].at)})
		return sm, false
	}
	if r.Kind == JointDrop {
		n := len(s.build.Strings[s.build.Chargers[sm.key.unit].Strings[sm.key.line]].Modules)
		if sm.key.index = r.Joint; r.Joint < 0 || r.Joint > n {
			ps.Addf(path, "wanted a joint from 0 at the plus end to %d", n)
			return sm, false
		}
	}
	sm.unsure = r.Unsure
	if r.Unsure == 0 {
		sm.unsure = r.Kind.instrument(r.Value)
	}
	if r.Kind.ohmic() {
		if r.Over {
			sm.value = overOhms
		}
		if r.Unsure > 0 {
			sm.unsure = r.Unsure / math.Max(1e-3, r.Value)
		}
		sm.value, sm.over = math.Log(math.Max(1e-3, math.Min(overOhms, sm.value))), false
	}
	return sm, true
}

// locate finds the charger, string and module that a reading names.
func (s *Session) locate(r *Reading, k *key) bool {
	at := facts[r.Kind].at
	found := 0
	for u := range s.build.Chargers {
		c := &s.build.Chargers[u]
		if (at == ofCharger || at == ofAll) && (r.At == "" || r.At == c.Name) {
			if at == ofAll && found > 0 || len(c.Strings) == 0 {
				continue
			}
			k.unit = u
			found++
		}
		for l, st := range c.Strings {
			if at == ofString && (r.At == "" || r.At == s.build.Strings[st].Name) {
				k.unit, k.line = u, l
				found++
			}
			for m, mod := range s.build.Strings[st].Modules {
				if at == ofModule && (r.At == "" || r.At == s.build.Modules[mod].Name) {
					k.unit, k.line, k.index = u, l, m
					found++
				}
			}
		}
	}
	return found == 1
}

// names lists what a kind of reading may be at.
func (s *Session) names(at place) string {
	var out []string
	what := "a charger: "
	for u := range s.build.Chargers {
		if at == ofCharger {
			out = append(out, s.build.Chargers[u].Name)
		}
		for _, st := range s.build.Chargers[u].Strings {
			if at == ofString {
				what = "a string: "
				out = append(out, s.build.Strings[st].Name)
			}
			for _, m := range s.build.Strings[st].Modules {
				if at == ofModule {
					what = "a module: "
					out = append(out, s.build.Modules[m].Name)
				}
			}
		}
	}
	if at == ofAll {
		return "no place: there is one"
	}
	return what + strings.Join(out, ", ")
}
