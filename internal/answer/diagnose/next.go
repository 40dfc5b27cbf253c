package diagnose

import (
	"fmt"
	"math"
	"sort"

	"noonmark/internal/base/quantity"
)

// Test is a reading still to take.
type Test struct {
	Kind    Kind
	At      string
	Joint   int
	Where   string // place in words
	How     string
	Caution string
	Sweep   bool    // nothing is unplugged: take it at every like place while there
	Bits    float64 // of information on the cause that it is expected to give
	Trouble float64 // unplugging and danger, 1: a look
	Expect  []Outcome
}

// Outcome is what a cause lets a test read.
type Outcome struct {
	Cause string
	Value float64
	Yes   quantity.Ratio
	Over  bool
}

// heavy is a node that still counts.
type heavy struct {
	chain, node int
	cause       int // number of the cause it stands for
	weight      float64
}

// most nodes are looked at for the next test.
const most = 48

// next returns the tests not yet done that tell most for their trouble, at most five.
func (s *Session) next(of func(*chain) bool) []Test {
	nodes, names := s.heaviest(of)
	done := map[key]bool{}
	for j := range s.samples {
		done[s.samples[j].key] = true
	}
	var out []Test
	for _, k := range s.candidates() {
		if done[k] {
			continue
		}
		bits, expect := s.tells(k, nodes, names)
		f := &facts[k.kind]
		if bits < 0.01 {
			continue
		}
		t := Test{Kind: k.kind, How: f.how, Caution: f.caution, Sweep: f.unplug == 0 && f.at != ofAll && f.at != ofCharger || k.kind == ModuleVoltage || k.kind == JointDrop, Bits: bits, Trouble: 1 + f.unplug + 1.5*f.danger, Expect: expect}
		t.At, t.Where = s.placeOf(k)
		if k.kind == JointDrop {
			t.Joint = k.index
		}
		out = append(out, t)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Bits/out[i].Trouble > out[j].Bits/out[j].Trouble })
	return out[:min(5, len(out))]
}

// heaviest returns the nodes that carry the posterior, and the causes they stand for.
func (s *Session) heaviest(of func(*chain) bool) (nodes []heavy, names []string) {
	number := map[string]int{}
	for i := range s.chains {
		c := &s.chains[i]
		if c.fault == NoneOfThese || !of(c) {
			continue
		}
		for n, w := range s.weights[i] {
			if w < 1e-4 {
				continue
			}
			id := c.fault.String()
			if c.where != "" {
				id += ": " + c.where
			}
			if _, ok := number[id]; !ok {
				number[id] = len(names)
				names = append(names, id)
			}
			nodes = append(nodes, heavy{chain: i, node: n, cause: number[id], weight: w})
		}
	}
	sort.SliceStable(nodes, func(i, j int) bool { return nodes[i].weight > nodes[j].weight })
	nodes = nodes[:min(most, len(nodes))]
	sum := 0.0
	for _, n := range nodes {
		sum += n.weight
	}
	for k := range nodes {
		nodes[k].weight /= sum
	}
	return nodes, names
}

// candidates returns every reading that could be taken.
func (s *Session) candidates() []key {
	var out []key
	all := false
	for u, p := range s.plants {
		if p == nil {
			continue
		}
		for k := range kinds {
			switch facts[k].at {
			case ofAll:
				if !all {
					out = append(out, key{k, u, -1, -1})
				}
			case ofCharger:
				out = append(out, key{k, u, -1, -1})
			case ofString:
				for l := range p.lines {
					if k != JointDrop {
						out = append(out, key{k, u, l, -1})
						continue
					}
					for j := range len(p.lines[l]) + 1 {
						out = append(out, key{k, u, l, j})
					}
				}
			case ofModule:
				for l := range p.lines {
					for m := range p.lines[l] {
						out = append(out, key{k, u, l, m})
					}
				}
			}
		}
		all = true
	}
	return out
}

// tells returns the expected information of a reading, bits: the entropy of the cause less what would be
// left of it, taken at what each node says.
func (s *Session) tells(k key, nodes []heavy, names []string) (bits float64, expect []Outcome) {
	sm := sample{key: k}
	s.follow(&sm)
	said := make([]forecastOf, len(nodes))
	value := make([]float64, len(nodes))
	sigma := make([]float64, len(nodes))
	for i, n := range nodes {
		c := &s.chains[n.chain]
		f := s.say(c, n.node, k)
		ft := s.fits[n.chain][n.node]
		said[i], value[i] = f, moved(&sm, &f, 0, ft.shift)
		unsure := k.kind.instrument(f.value)
		sigma[i] = math.Sqrt(sq(unsure) + sq(modelOf(&sm, &f)) + sq(f.spread) + sq(f.value*sm.light*ft.spread[0]) + sq(f.value*sm.warm*ft.spread[1]))
	}
	prior := make([]float64, len(names))
	for _, n := range nodes {
		prior[n.cause] += n.weight
	}
	left := 0.0
	post := make([]float64, len(names))
	for i := range nodes {
		outcomes := []float64{1}
		if k.kind.seen() {
			outcomes = []float64{said[i].yes, 1 - said[i].yes}
		}
		for o, p := range outcomes {
			clear(post)
			for j := range nodes {
				l := 0.0
				switch {
				case k.kind.seen() && o == 0:
					l = said[j].yes
				case k.kind.seen():
					l = 1 - said[j].yes
				case said[i].over || said[j].over:
					if l = 1e-3; said[i].over == said[j].over {
						l = 1
					}
				default:
					z := (value[i] - value[j]) / sigma[j]
					l = math.Exp(-z*z/2)/sigma[j] + 1e-4/math.Max(sigma[i], sigma[j])
				}
				post[nodes[j].cause] += nodes[j].weight * l
			}
			left += nodes[i].weight * p * entropy(post)
		}
	}
	bits = math.Max(0, entropy(prior)-left)
	return bits, s.outcomes(k, nodes, names, said, value)
}

// outcomes lists what the three first causes say of a reading.
func (s *Session) outcomes(k key, nodes []heavy, names []string, said []forecastOf, value []float64) []Outcome {
	var out []Outcome
	seen := map[int]bool{}
	for i, n := range nodes {
		if seen[n.cause] || len(out) == 3 {
			continue
		}
		seen[n.cause] = true
		o := Outcome{Cause: names[n.cause], Value: value[i], Over: said[i].over, Yes: quantity.Ratio(said[i].yes)}
		if k.kind.ohmic() {
			o.Value = math.Exp(value[i])
			o.Over = o.Value > overOhms/10
		}
		out = append(out, o)
	}
	return out
}

// entropy returns the entropy of weights, bits.
func entropy(w []float64) float64 {
	sum, h := 0.0, 0.0
	for _, x := range w {
		sum += x
	}
	for _, x := range w {
		if x > 0 {
			h -= x / sum * math.Log2(x/sum)
		}
	}
	return h
}

// placeOf names the place of a key.
func (s *Session) placeOf(k key) (at, where string) {
	c := &s.build.Chargers[k.unit]
	switch facts[k.kind].at {
	case ofModule:
		at = s.build.Modules[s.plants[k.unit].lines[k.line][k.index]].Name
		return at, "module " + at
	case ofString:
		at = s.build.Strings[c.Strings[k.line]].Name
		if k.kind == JointDrop {
			m := maker{plant: s.plants[k.unit]}
			return at, m.jointName(k.line, k.index)
		}
		return at, "string " + at
	case ofCharger:
		return c.Name, "charger " + c.Name
	}
	return "", fmt.Sprintf("battery %s", s.build.Battery.Name)
}
