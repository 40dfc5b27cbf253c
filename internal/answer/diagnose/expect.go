package diagnose

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Expectation is what a sound array of the build would read where a reading was taken.
type Expectation struct {
	Reading  int     // of the readings given
	Value    float64 // in the reading's unit
	Over     bool    // a sound one is over the meter's range, as of insulation
	Unsure   float64 // standard uncertainty of reading less value: meter, model, light and temperature
	Distance float64 // reading less value, over Unsure; 0 for what is seen
	Twins    int     // like readings of other modules of the type
	Ratio    float64 // reading over the twins' mean; 0: no twin was read
	URatio   float64 // its expanded uncertainty, 95 %
}

// twin is the standard uncertainty of the ratio of two readings by one meter within minutes: its gain and
// the sun cancel. Source: handbook E2, calculated there, u about 0.5 %.
const twin = 0.005

// Expect returns what a sound array would read, reading by reading, and each against its twins. Problems
// are those of Start.
func Expect(b *build.Build, r []Reading, o Options) ([]Expectation, error) {
	s, err := Start(b, r, o)
	if err != nil {
		return nil, err
	}
	healthy := &chain{unit: -1, line: -1, index: -1}
	out := make([]Expectation, len(s.samples))
	for j := range s.samples {
		sm := &s.samples[j]
		n := node{core: s.sound[sm.key.unit]}
		f := n.predict(healthy, sm.key)
		v := expected(sm, &f)
		e := Expectation{Reading: s.given[j], Value: f.value, Over: sm.key.kind.ohmic() && f.value > overOhms/10}
		if sm.key.kind.seen() {
			out[j] = e
			continue
		}
		u := math.Sqrt(sq(sm.unsure) + sq(modelOf(sm, &f)) + sq(f.spread) + sq(f.value*sm.light*s.nu.light) + sq(f.value*sm.warm*s.nu.warm))
		e.Unsure = u
		if !sm.over {
			e.Distance = (sm.value - v) / u
		}
		if sm.key.kind.ohmic() {
			e.Unsure = f.value * math.Min(1, u)
		}
		s.twins(j, &e)
		out[j] = e
	}
	return out, nil
}

// twins sets a module's reading against the like ones of modules of its type.
func (s *Session) twins(j int, e *Expectation) {
	k := s.samples[j].key
	if k.kind != ModuleOpen && k.kind != ModuleShort || s.samples[j].over {
		return
	}
	sum := 0.0
	for i := range s.samples {
		other := s.samples[i].key
		if i == j || other.kind != k.kind || s.samples[i].over || s.typeOf(other) != s.typeOf(k) || other == k {
			continue
		}
		e.Twins++
		sum += s.samples[i].value
	}
	if e.Twins == 0 || !(sum > 0) {
		e.Twins = 0
		return
	}
	mean := sum / float64(e.Twins)
	e.Ratio = s.samples[j].value / mean
	e.URatio = 2 * e.Ratio * twin * math.Sqrt((1+1/float64(e.Twins))/2)
}

// typeOf returns the type of a key's module.
func (s *Session) typeOf(k key) int {
	return s.build.Modules[s.plants[k.unit].lines[k.line][k.index]].Type
}

// left sets what the module of a cause has left of a sound one's power, over the sizes the readings allow.
func (s *Session) left(g *group) {
	c := g.chain
	g.cause.Left = 1
	if c.line < 0 || c.index < 0 || c.fault == JointResistance || c.fault == HalfConnector || c.fault == ReversedModule {
		return
	}
	p := s.plants[c.unit]
	healthy, _ := p.solve([]text{{modules: p.healthy.lines[c.line].modules[c.index : c.index+1]}}, 0)
	full := healthy.Best().Power().Watts()
	if !(full > 0) {
		return
	}
	sum, mean, square := 0.0, 0.0, 0.0
	for i := range s.chains {
		d := &s.chains[i]
		if d.fault != c.fault || d.where != c.where {
			continue
		}
		for n, w := range s.weights[i] {
			if w < 1e-3*g.best {
				continue
			}
			m := d.nodes[n].core.plan.lines[c.line].modules[c.index]
			x := 0.0
			if !m.open && len(m.pieces) > 0 {
				m.reversed = false
				sv, _ := p.solve([]text{{modules: []made{m}}}, 0)
				x = sv.Best().Power().Watts() / full
			}
			sum, mean, square = sum+w, mean+w*x, square+w*x*x
		}
	}
	if sum <= 0 {
		return
	}
	mean /= sum
	g.cause.Left = quantity.Ratio(mean)
	// The sizes' spread, and 2 % for the curve's shape: our own estimate.
	g.cause.LeftUnsure = quantity.Ratio(math.Sqrt(math.Max(0, square/sum-mean*mean) + sq(0.02)))
}

// Guarantee is the share of the label's power that a warranty promises at an age: First after the first
// year, less PerYear in each year that follows, until Years; before that the label.
type Guarantee struct {
	First     quantity.Ratio
	PerYear   quantity.Ratio
	Years     float64
	Tolerance quantity.Ratio // of the label, deducted
	Lab       quantity.Ratio // of the laboratory, deducted
}

// At returns the share promised at an age in years; ok is false when the warranty is over or the age below
// zero. Source: handbook E6, often 90 % of the label less tolerance, after a laboratory's uncertainty of
// about 3 %, from memory.
func (g Guarantee) At(age float64) (share quantity.Ratio, ok bool) {
	if !(age >= 0) || age > g.Years {
		return 0, false
	}
	x := g.First.Float() - g.PerYear.Float()*math.Max(0, age-1)
	x *= (1 - g.Tolerance.Float()) * (1 - g.Lab.Float())
	return quantity.Ratio(math.Max(0, math.Min(1, x))), true
}

// Shortfall is whether what is left is under what is promised, with a guard band of twice the uncertainty.
type Shortfall int

const (
	CannotShow  Shortfall = iota // the uncertainty reaches over the limit
	UnderLimit                   // less than promised, beyond the uncertainty
	WithinLimit                  // as promised, beyond the uncertainty
)

// String returns the shortfall in words.
func (f Shortfall) String() string {
	return [...]string{"these readings cannot show it: the uncertainty reaches over the limit", "under what is promised, beyond the uncertainty", "within what is promised"}[f]
}

// Against holds a share that is left, with its standard uncertainty, against a promised one. Source:
// handbook E2, guard band.
func Against(left, unsure, promised quantity.Ratio) Shortfall {
	u := 2 * unsure.Float()
	switch {
	case left.Float()+u < promised.Float():
		return UnderLimit
	case left.Float()-u > promised.Float():
		return WithinLimit
	}
	return CannotShow
}
