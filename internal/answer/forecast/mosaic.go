package forecast

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/circuit"
)

// A Mosaic judges arrays of one build by the thousand. Modules shade nothing but what they cover, so the curve of a
// module in its place is the same whatever stands beside it: it is computed once, a Tile, and arrays are put together
// of tiles. Its years are those of the judge, at the same moments, but for the steps of the curves and for the warmth
// of modules, which is each one's own and not the mean of all alike: within 0.5 %, and 3 % where a charger stays on the
// nearest peak, for a faint one may lie between two steps. Goroutines may share one.
type Mosaic struct {
	judge  *Judge
	boards []board // by charger
	nodes  int     // of a tile's curves
	ideal  float64 // the most of an array's power that any charger passes on
}

// board is a charger as a mosaic needs it.
type board struct {
	charger *build.Charger
	control charge.Controller
	habit   circuit.Habit
	input   float64 // Ω, strings joined to the charger
	ohms    float64 // Ω, a string's own cable
	output  float64 // Ω, charger to battery
	drop    float64 // V, of a string's blocking diode
	blocked bool    // strings have one
	bus     float64 // V, of the battery
	lowest  float64 // V, at which it works
	track   float64
}

// Wired is an array put together of tiles: by charger of the build, by string, in series.
type Wired [][][]*Tile

// A Tile is one module in its place through the judge's moments.
type Tile struct {
	alone quantity.Energy
	tops  []float32 // by pick: the last current of its curve, A; 0: dark
	volts []float32 // by pick and current, nodes of them from none to the top
	nodes int
}

// A tile's curve has fewNodes currents, and manyNodes where a charger stays on the nearest peak, for a faint one may
// lie between two; strings in parallel are added up at half as many volts again.
const fewNodes, manyNodes = 64, 160

// spare is how far a tile's curve goes past what an unshaded module gives: warm cells give a little more.
const spare = 1.05

// NewMosaic returns a mosaic for arrays on the judge's chargers. A charger's strings have the cable of the first it
// has in the build, or else of the first of all.
func (j *Judge) NewMosaic() *Mosaic {
	m := &Mosaic{judge: j, nodes: fewNodes}
	b := j.build
	store := batteryOf(&b.Battery)
	full := charge.State{Charge: quantity.Energy(store.Capacity().Joules() * b.Battery.StartCharge.Float()), Cell: quantity.Celsius(15)} // as Run starts
	bus := store.Voltage(full, 0)
	for i := range b.Chargers {
		c := &b.Chargers[i]
		s := &b.Strings[0]
		if len(c.Strings) > 0 {
			s = &b.Strings[c.Strings[0]]
		}
		d := board{charger: c, control: controllerOf(c, &b.Battery), habit: habit(c), input: resistance(c.InputCable), ohms: resistance(s.Cable), output: resistance(c.BatteryCable),
			blocked: s.Blocking, bus: bus.Volts(), lowest: lowest(c, bus).Volts(), track: charge.TrackingEfficiency(false, 0).Float() * (1 - c.TrackingLoss.Float())}
		if s.Blocking {
			d.drop = circuit.BlockingDrop.Volts()
		}
		m.boards = append(m.boards, d)
		if d.habit == circuit.Nearest {
			m.nodes = manyNodes
		}
		for w := 1.0; w < 1e4; w *= 1.02 {
			m.ideal = math.Max(m.ideal, d.passes(w)/w)
		}
	}
	m.ideal = math.Min(1, m.ideal*1.001)
	return m
}

// Alone returns what the module gives in a year by itself, at its own best point, without cables, through the best of
// the chargers at its best: an array's year is under the sum of its modules'.
func (t *Tile) Alone() quantity.Energy { return t.alone }

// Tile computes a module in its place. It fails where its label fits no cell.
func (m *Mosaic) Tile(at build.Module) (*Tile, error) {
	j := m.judge
	c := *j.build
	c.Modules, c.Strings, c.Chargers = []build.Module{at}, []build.String{{Modules: []int{0}}}, []build.Charger{*m.boards[0].charger}
	c.Chargers[0].Strings, c.Chargers[0].InputCable = []int{0}, build.Run{}
	r, err := j.stand(&c, nil)
	if err != nil {
		return nil, err
	}
	short := c.Types[at.Type].Isc.Amperes() / 1000
	t := &Tile{tops: make([]float32, len(j.picks)), volts: make([]float32, m.nodes*len(j.picks)), nodes: m.nodes}
	s, place := r.solvers[0], &r.plant.units[0].slots[0]
	sum := 0.0
	for p := range j.picks {
		var o outcome
		r.look(&j.picks[p], &o)
		if r.useful[0] <= 0 {
			continue
		}
		bent := 1.0 // on a curved surface cells may face the sun more than the plane
		if !r.shadows.even {
			for _, x := range r.shadows.beam[:r.plant.banks[0].cells] {
				bent = math.Max(bent, x)
			}
		}
		full := r.light[0]
		r.shine(s, place)
		t.tops[p] = float32(spare * short * (full.direct*bent + full.sky + full.ground))
		curve := t.curve(p)
		best := 0.0
		for k := range curve {
			i := float64(t.tops[p]) * float64(k) / float64(m.nodes-1)
			v := s.StringVoltage(0, quantity.Current(i)).Volts()
			curve[k] = float32(v)
			best = math.Max(best, v*i)
		}
		sum += best * (1 + most) * m.ideal * j.picks[p].stands
	}
	t.alone = quantity.Energy(sum)
	return t, nil
}

func (t *Tile) curve(pick int) []float32 { return t.volts[pick*t.nodes : (pick+1)*t.nodes] }

// Year returns what an array of tiles offers at the battery in a year. It panics where w has more chargers than the
// build.
func (m *Mosaic) Year(w Wired) quantity.Energy {
	sum := 0.0
	var c, one locus
	for i := range w {
		if len(w[i]) == 0 {
			continue
		}
		d := &m.boards[i]
		running := false
		for p := range m.judge.picks {
			if !d.inParallel(w[i], p, &c, &one) {
				running = false
				continue
			}
			open := c.volts[0]
			running = open <= d.charger.InputMax.Volts() && d.control.Running(running, quantity.Voltage(open), quantity.Voltage(d.bus))
			if running {
				sum += d.passes(d.operate(&c)) * m.judge.picks[p].stands
			}
		}
	}
	return quantity.Energy(sum)
}

// locus is the curve of an array at the junction of its strings: amperes rising, volts falling, even steps of the one
// or the other.
type locus struct {
	n           int
	amps, volts [manyNodes * 3 / 2]float64
}

// inSeries lays out the curve of tiles in series; false in the dark.
func (d *board) inSeries(tiles []*Tile, pick int, c *locus) bool {
	top := float32(0)
	for _, t := range tiles {
		top = max(top, t.tops[pick])
	}
	if top <= 0 {
		return false
	}
	nodes := tiles[0].nodes
	c.n = nodes
	for k := range nodes {
		c.amps[k] = float64(top) * float64(k) / float64(nodes-1)
		c.volts[k] = -c.amps[k]*d.ohms - d.drop
	}
	for _, t := range tiles {
		curve := t.curve(pick)
		switch t.tops[pick] {
		case top:
			for k, v := range curve {
				c.volts[k] += float64(v)
			}
		case 0: // no light at all: nothing to lose, for the sky lights every plane while the sun is up
		default: // past its own end a curve stays where it is: its diodes carry the rest
			ratio := float64(top) / float64(t.tops[pick])
			for k := range nodes {
				x := float64(k) * ratio
				n := int(x)
				if n >= nodes-1 {
					c.volts[k] += float64(curve[nodes-1])
					continue
				}
				a, b := float64(curve[n]), float64(curve[n+1])
				c.volts[k] += a + (b-a)*(x-float64(n))
			}
		}
	}
	return c.volts[0] > 0
}

// inParallel lays out the curve of strings in parallel; false in the dark.
func (d *board) inParallel(strings [][]*Tile, pick int, c, one *locus) bool {
	if len(strings) == 1 {
		return d.inSeries(strings[0], pick, c)
	}
	open := 0.0
	for _, s := range strings {
		if d.inSeries(s, pick, one) {
			open = math.Max(open, one.volts[0])
		}
	}
	if open <= 0 {
		return false
	}
	c.n = strings[0][0].nodes * 3 / 2
	for k := range c.n {
		c.volts[k] = open * (1 - float64(k)/float64(c.n-1))
		c.amps[k] = 0
	}
	for _, s := range strings {
		if !d.inSeries(s, pick, one) {
			continue
		}
		// Over its open volts a string is driven backwards: along its slope, which is less than it takes.
		slope := one.amps[1] / math.Max(one.volts[0]-one.volts[1], 1e-6)
		at := 0
		for k := range c.n {
			v := c.volts[k]
			if v > one.volts[0] {
				if !d.blocked {
					c.amps[k] -= slope * (v - one.volts[0])
				}
				continue
			}
			for at < one.n-2 && one.volts[at+1] > v {
				at++
			}
			a, b := one.volts[at], one.volts[at+1]
			share := 1.0
			if a > b && v > b {
				share = (a - v) / (a - b)
			}
			c.amps[k] += one.amps[at] + share*(one.amps[at+1]-one.amps[at])
		}
	}
	return true
}

// most is how much higher than the highest step of a curve its peak is taken to stand at most.
const most = 0.002

// operate returns the watts at the charger's terminals where it works the array: as circuit.Solver.Operate.
func (d *board) operate(c *locus) float64 {
	limit := math.Inf(1)
	if x := d.charger.InputCurrent.Amperes(); x > 0 {
		limit = x
	}
	lowest := d.lowest
	power := func(k int) float64 { return c.amps[k] * (c.volts[k] - c.amps[k]*d.input) }
	best, at := 0.0, -1
	for k := range c.n {
		volts := c.volts[k] - c.amps[k]*d.input
		if volts < lowest || c.amps[k] > limit {
			if k > 0 && c.amps[k-1] <= limit { // the edge lies between
				if p := d.edge(c, k, lowest, limit); p > best {
					best, at = p, -1
				}
			}
			break
		}
		p := power(k)
		if p > best {
			best, at = p, k
		} else if d.habit == circuit.Nearest && best > 0 && p < best {
			break
		}
	}
	if d.habit == circuit.Fixed {
		best, at = 0, -1
		for k := 1; k < c.n; k++ {
			volts := c.volts[k] - c.amps[k]*d.input
			if volts < math.Max(d.bus, lowest) || c.amps[k] > limit {
				best = math.Max(0, d.edge(c, k, math.Max(d.bus, lowest), limit))
				break
			}
		}
	}
	if at > 0 && at < c.n-1 {
		a, b := power(at-1), power(at+1)
		if bend := 2*best - a - b; bend > 0 {
			best += math.Min(most*best, (a-b)*(a-b)/(8*bend))
		}
	}
	if x := d.charger.InputPower.Watts(); x > 0 {
		best = math.Min(best, x)
	}
	return best
}

// edge returns the power where the curve, between k-1 and k, leaves the volts or the amperes a charger works at.
func (d *board) edge(c *locus, k int, lowest, limit float64) float64 {
	i0, i1 := c.amps[k-1], c.amps[k]
	u0, u1 := c.volts[k-1]-i0*d.input, c.volts[k]-i1*d.input
	share := 1.0
	if u1 < lowest && u0 > u1 {
		share = math.Max(0, (u0-lowest)/(u0-u1))
	}
	if i1 > limit && i1 > i0 {
		share = math.Min(share, math.Max(0, (limit-i0)/(i1-i0)))
	}
	i := i0 + share*(i1-i0)
	return i * (u0 + share*(u1-u0))
}

// passes returns what of w at a charger's terminals reaches the battery, as runner.deliver.
func (d *board) passes(w float64) float64 {
	out, _ := d.control.Output(quantity.Power(w * d.track))
	p := math.Min(out.Watts(), d.charger.OutputCurrent.Amperes()*d.bus)
	amps := p / d.bus
	return p - math.Min(p, amps*amps*d.output)
}
