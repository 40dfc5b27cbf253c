package diagnose

import (
	"math"
	"sort"

	"noonmark/internal/base/quantity"
)

// answer ranks the causes.
func (s *Session) answer() *Answer {
	var groups []*group
	index := map[string]*group{}
	for i := range s.chains {
		c := &s.chains[i]
		where := s.groupName(c)
		id := c.fault.String() + "|" + where
		g := index[id]
		if g == nil {
			g = &group{cause: Cause{Fault: c.fault, Where: where}, joints: map[string]float64{}}
			index[id] = g
			groups = append(groups, g)
		}
		for n, w := range s.weights[i] {
			g.cause.Probability += quantity.Ratio(w)
			g.joints[c.where] += w
			if g.chain == nil || w > g.best {
				g.best, g.chain, g.number, g.node = w, c, i, n
				g.cause.Size = c.nodes[n].text
			}
		}
	}
	sort.SliceStable(groups, func(i, j int) bool { return groups[i].cause.Probability > groups[j].cause.Probability })
	a := &Answer{Light: s.options.Light, Cells: s.options.Cells}
	for k, g := range groups {
		if k >= 3 && g.cause.Probability < 0.005 || k >= 12 {
			break
		}
		for where, w := range g.joints {
			if quantity.Ratio(w) > 0.8*g.cause.Probability {
				g.cause.Where = where
			}
		}
		s.bring(g)
		g.cause.Predicted = s.predicted(g)
		if k < 3 {
			s.left(g)
		}
		a.Causes = append(a.Causes, g.cause)
	}
	first := groups[0]
	f := s.fits[first.number][first.node]
	a.Fit = tail(f.chi, s.counted())
	a.Overturn = causes[first.cause.Fault].overturn
	p := first.cause.Probability
	a.alike()
	switch {
	case len(s.samples) < 2: // one reading carries no verdict: it may be a slip
	case first.cause.Fault == NoneOfThese || a.Fit < misfit || f.worst > far:
		a.Verdict = NoneFits
	case p >= proven && a.untold() < untoldMost:
		a.Verdict = Proven
	case p >= likely:
		a.Verdict = Likely
	}
	if a.Verdict != Proven {
		a.Next = s.next(s.hidden(a))
	}
	return a
}

// alike finds the causes that say of every reading what the first says.
func (a *Answer) alike() {
	if a.Causes[0].Fault == NoneOfThese {
		return // it says nothing of its own
	}
	first := a.Causes[0].Predicted
	for k, c := range a.Causes[1:] {
		if c.Fault == NoneOfThese || c.Probability < 0.002 {
			continue
		}
		apart := 0.0
		for n, p := range c.Predicted {
			d := p.Distance - first[n].Distance
			if apart += d * d; p.Over != first[n].Over {
				apart++
			}
			apart += sq(3 * (p.Yes - first[n].Yes).Float())
		}
		if apart < 0.5 {
			a.Alike = append(a.Alike, k+1)
		}
	}
}

// untoldMost is the probability of causes that the readings cannot tell from the first beyond which nothing is
// proven: an open bypass diode behind a healthy array in full sun. Our own choice.
const untoldMost = 0.01

// untold is the probability of the causes that these readings cannot tell from the first.
func (a *Answer) untold() float64 {
	sum := 0.0
	for _, k := range a.Alike {
		sum += a.Causes[k].Probability.Float()
	}
	return sum
}

// hidden returns a filter of the causes that the next test must tell apart: all of them, but where what these
// readings cannot tell from the first outweighs the other causes, the first and those alone.
func (s *Session) hidden(a *Answer) func(*chain) bool {
	keep := map[string]bool{a.Causes[0].Fault.String() + "|" + a.Causes[0].Where: true}
	mass, first := a.untold(), a.Causes[0].Probability.Float()
	for _, k := range a.Alike {
		keep[a.Causes[k].Fault.String()+"|"+a.Causes[k].Where] = true
	}
	if mass < untoldMost || first < proven && mass < 1-first-mass {
		return func(*chain) bool { return true }
	}
	return func(c *chain) bool {
		return keep[c.fault.String()+"|"+s.groupName(c)] || keep[c.fault.String()+"|"+c.where]
	}
}

// bring has a node say and be judged by all readings where it was left out as hopeless.
func (s *Session) bring(g *group) {
	if s.weights[g.number][g.node] > 0 {
		return
	}
	all := make([]int, len(s.samples))
	for j := range all {
		all[j] = j
	}
	c := &s.chains[g.number]
	for n := max(0, g.node-1); n <= min(len(c.nodes)-1, g.node+1); n++ {
		s.ask(c, n, &s.said[g.number], all)
	}
	s.slopes(c, &s.said[g.number], all)
	s.fits[g.number][g.node] = s.judge(c, &s.said[g.number], g.node, all)
}

// groupName is where a chain is ranked: joints of a string stand together.
func (s *Session) groupName(c *chain) string {
	if c.fault == JointResistance || c.fault == HalfConnector {
		return "a joint of string " + s.build.Strings[s.build.Chargers[c.unit].Strings[c.line]].Name
	}
	return c.where
}

// counted returns how many readings a fit counts.
func (s *Session) counted() int {
	n := 0
	for j := range s.samples {
		if !s.samples[j].key.kind.seen() {
			n++
		}
	}
	return n
}

// moved returns what a node says of a sample at the light, temperature and size the readings brought it to.
func moved(sm *sample, f *forecastOf, slope float64, x [3]float64) float64 {
	v := expected(sm, f)
	if sm.key.kind.seen() || f.over {
		return v
	}
	return v + f.value*(sm.light*x[0]+sm.warm*x[1]) + slope*x[2]
}

// predicted returns what a cause says of each reading.
func (s *Session) predicted(g *group) []Predicted {
	o, ft := &s.said[g.number], s.fits[g.number][g.node]
	out := make([]Predicted, len(s.samples))
	for j := range s.samples {
		sm, f := &s.samples[j], &o.said[g.node][j]
		v := moved(sm, f, o.slope[g.node][j], ft.shift)
		sigma := math.Sqrt(sq(sm.unsure) + sq(modelOf(sm, f)) + sq(f.spread))
		p := Predicted{Reading: s.given[j], Value: v, Over: f.over, Yes: quantity.Ratio(f.yes)}
		switch {
		case sm.key.kind.seen():
			p.Value = f.yes
		case !sm.over && !f.over:
			p.Distance = (sm.value - v) / sigma
		}
		if sm.key.kind.ohmic() {
			p.Value = math.Exp(v)
			if p.Value > overOhms/10 {
				p.Over = true
			}
		}
		out[j] = p
	}
	return out
}
