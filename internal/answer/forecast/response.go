package forecast

import (
	"context"
	"math"
	"sync"
	"sync/atomic"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/circuit"
	"noonmark/internal/physics/shade"
)

// A response says what shade does to a charger's array, so that many weather years need not solve the
// circuit at every step: for each direction of the sun in the vehicle's frame that the trip meets, some
// shares of direct light and some levels of all of it, what the cells could give is followed to what the array gives,
// at a warmth usual for them. Read between its places it differs from the full computation by up to
// 0.8 % of the energy of a single day in deep shade and 0.4 % of a week's, which a test holds.
type response struct {
	roof  *roof
	nodes map[int32]*reactions // by ring and bearing; shaded by direct light
	open  reactions            // no cell in shadow
}

// shares are the shares of direct light a response is laid out for: close together where clear skies have
// theirs.
var shares = [...]float64{0, 0.45, 0.7, 0.84, 0.95}

// levels are the lights on the first module that a response is laid out for, of what usual returns: weak
// cells leak what holds a string back, more of it the weaker the light.
var levels = [...]float64{0.5, 1.1}

// usual is the light that goes with a share of direct light, over fullSun: weak under cloud, all of it when
// clear. Our own estimate; it sets where the response is exact, not what it gives.
func usual(direct float64) float64 { return 0.25 + 0.75*direct }

// fullSun is about what a cell gets from a clear sky with the sun's sine of elevation sin, W/m².
func fullSun(sin float64) float64 { return 1050 * math.Pow(math.Max(0.02, sin), 1.15) }

// reactions are those of one direction, by level and share.
type reactions [len(levels)][len(shares)]reaction

// reaction is what becomes of the cells' own bests, as shares of their sum.
type reaction struct {
	top    float64 // at the highest point of the array, its cables' loss in it
	bypass float64
	within float64 // at the charger's window, the loss in it
	volts  float64 // there, of the open volts
	open   float64 // open volts, of those of even light
	weight float64 // the cells' bests over the light
}

// add adds a share of b. Watts, not their shares, change evenly from place to place.
func (a *reaction) add(b *reaction, w float64) {
	a.top += w * b.top * b.weight
	a.bypass += w * b.bypass * b.weight
	a.within += w * b.within * b.weight
	a.volts += w * b.volts
	a.open += w * b.open
	a.weight += w * b.weight
}

// places returns the four directions of the table about a sun and how far it is between them.
func places(sun shade.Vector) (at [4]int32, w [4]float64) {
	n, x := shade.WideAround(sun)
	for i := range n {
		at[i], w[i] = int32(n[i]), x[i]
	}
	return at, w
}

// at returns the reaction to a sun, a share of direct light and the light on the first module.
func (r *response) at(sun shade.Vector, direct, light float64) reaction {
	k, x := between(shares[:], direct)
	l, y := between(levels[:], light/fullSun(sun.Z)/usual(direct))
	var out reaction
	at, w := places(sun)
	for i := range at {
		n := r.nodes[at[i]]
		if n == nil {
			n = &r.open
		}
		out.add(&n[l][k], w[i]*(1-y)*(1-x))
		out.add(&n[l][k+1], w[i]*(1-y)*x)
		out.add(&n[l+1][k], w[i]*y*(1-x))
		out.add(&n[l+1][k+1], w[i]*y*x)
	}
	if out.weight > 0 {
		out.top, out.bypass, out.within = out.top/out.weight, out.bypass/out.weight, out.within/out.weight
	}
	return out
}

// between returns the place of v in a rising list and how far it is on the way to the next, 0 to 1.
func between(list []float64, v float64) (k int, x float64) {
	for k < len(list)-2 && v > list[k+1] {
		k++
	}
	return k, math.Max(0, math.Min(1, (v-list[k])/(list[k+1]-list[k])))
}

// respond lays out the responses of every unit in every posture of the trip, on all workers. It stops with
// ctx.
func (p *plant) respond(ctx context.Context, t *tape, views [][][headings]view, workers int) error {
	p.responses = make([][]*response, len(p.units))
	type task struct {
		unit, posture int
		node          int32 // -1: no shadow
		out           *reactions
	}
	var tasks []task
	for posture, roof := range p.roofs {
		if roof == nil || roof.table == nil {
			continue
		}
		met := p.met(t, posture, roof)
		for u := range p.units {
			if p.responses[u] == nil {
				p.responses[u] = make([]*response, len(p.roofs))
			}
			r := &response{roof: roof, nodes: make(map[int32]*reactions, len(met))}
			p.responses[u][posture] = r
			tasks = append(tasks, task{u, posture, -1, &r.open})
			for _, n := range met {
				out := new(reactions)
				r.nodes[n] = out
				tasks = append(tasks, task{u, posture, n, out})
			}
		}
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range max(1, workers) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			r := newRunner(p, t, views)
			for {
				k := int(next.Add(1) - 1)
				if k >= len(tasks) || ctx.Err() != nil {
					return
				}
				r.react(tasks[k].unit, tasks[k].posture, tasks[k].node, tasks[k].out)
			}
		}()
	}
	wg.Wait()
	return ctx.Err()
}

// met returns the shaded directions of the table that the trip's suns stand between, in a posture. A sun lower
// than lowSun is read as if nothing stood in its way: it gives next to nothing.
func (p *plant) met(t *tape, posture int, roof *roof) []int32 {
	seen := map[int32]bool{}
	var out []int32
	for i := range t.moments {
		m := &t.moments[i]
		leg := &p.build.Trip.Legs[m.leg]
		if m.idle || m.sun.Elevation() < lowSun || leg.Posture != posture {
			continue
		}
		note := func(heading quantity.Angle) {
			at, _ := places(shade.SunFrom(m.sun.Azimuth, m.sun.Elevation(), heading))
			for _, n := range at {
				if !seen[n] {
					seen[n] = true
					if roof.table.Shaded(int(n)) {
						out = append(out, n)
					}
				}
			}
		}
		switch {
		case leg.Drive:
			note(quantity.Angle(m.course))
		case leg.HeadingFree:
			for h := range headings {
				note(quantity.Angle(float64(h)*360/headings) * quantity.Degree)
			}
		default:
			note(leg.Heading)
		}
	}
	return out
}

// rise is how much warmer than the air modules are taken for, K over W/m². Source: 0.033 to 0.037 of glass on
// glass, Maturi et al. 2014; what shade does to a circuit moves little with it.
const rise = 0.035

// react computes the reactions at a direction. Modules are as warm as the light makes them at 20 °C.
func (r *runner) react(unit, posture int, node int32, out *reactions) {
	roof := r.plant.roofs[posture]
	r.shadows.roof = roof
	sun := shade.Vector{Z: 1}
	r.shadows.even = true
	if node >= 0 {
		sun = shade.NodeAt(int(node))
		r.shadows.even = false
		if !roof.table.Lit(sun, r.shadows.beam) {
			r.shadows.even = true
		}
	}
	if roof.curved {
		if r.shadows.even {
			for i := range roof.sky {
				r.shadows.beam[i] = 1
			}
			r.shadows.even = false
		}
		r.shadows.bend(sun)
	}
	lead := roof.plane[roof.first[r.plant.units[unit].slots[0].index]]
	for l := range levels {
		for k, direct := range shares {
			level := fullSun(sun.Z) * usual(direct) * levels[l]
			for i := range r.plant.banks {
				normal := roof.plane[roof.first[r.plant.banks[i].modules[0]]]
				r.light[i] = onCells{direct: level * direct * math.Max(0, normal.Dot(sun)) / math.Max(0.02, lead.Dot(sun)), sky: level * (1 - direct) * (1 + normal.Z) / (1 + lead.Z)}
				r.light[i].sky = math.Max(r.light[i].sky, 1)
				r.module[i] = quantity.Celsius(20 + rise*level)
			}
			out[l][k] = r.reactOf(unit)
			out[l][k].weight /= level
		}
	}
}

// reactOf solves a unit in the light set.
func (r *runner) reactOf(i int) reaction {
	u, s := &r.plant.units[i], r.solvers[i]
	means := make([]float64, len(u.slots))
	for k := range u.slots {
		means[k], _ = r.shine(s, &u.slots[k])
	}
	bus := r.plant.build.Battery.Voltage
	sum := s.SumOfCells().Watts()
	best := s.Best()
	top, byp := best.Power().Watts()+r.cableLoss(i, best.Current.Amperes()), s.Bypassed().Watts()
	open := s.Open().Volts()
	within := best
	if w := (circuit.Window{Lowest: lowest(u.charger, bus), Habit: habit(u.charger), At: bus}); best.Voltage < w.Lowest || w.Habit != circuit.Global {
		within = s.Operate(w)
	}
	mid := within.Power().Watts() + r.cableLoss(i, within.Current.Amperes())
	for k := range u.slots {
		at := &u.slots[k]
		s.SetModule(at.text, at.module, quantity.Irradiance(means[k]), r.module[at.bank])
	}
	even := s.Open().Volts()
	if !(sum > 0) || !(even > 0) || !(open > 0) {
		return reaction{top: 1, within: 0, volts: 0.8, open: 1, weight: math.Max(0, sum)}
	}
	volts := within.Voltage.Volts() / open
	if volts <= 0 {
		volts = 0.8
	}
	return reaction{top: top / sum, bypass: byp / sum, within: mid / sum, volts: volts, open: open / even, weight: sum}
}

// responding is convert by the unit's response.
func (r *runner) responding(i int, m *moment, drive bool, road quantity.Speed, o *outcome) float64 {
	u, s := &r.plant.units[i], r.solvers[i]
	first := &r.light[u.slots[0].bank]
	total := first.direct + first.sky + first.ground
	if total <= 0 {
		r.running[i] = false
		return 0
	}
	var label, cold, sum float64
	for k := range u.slots {
		at := &u.slots[k]
		b, full := &r.plant.banks[at.bank], r.light[at.bank]
		beam, open := r.shadows.parts(r.shadows.roof.first[at.index], b.cells)
		g := full.ground + full.sky*open + full.direct*beam
		s.SetModule(at.text, at.module, quantity.Irradiance(g), r.module[at.bank])
		label += g / 1000 * b.kind.Pmax.Watts()
		cold += b.coolAt(g) * float64(b.cells)
	}
	sum = s.SumOfCells().Watts()
	o.account[LowLight] += (label - cold) * seconds
	o.account[CellHeat] += (cold*r.tamper[LowLight] - sum) * seconds
	re := r.plant.responses[i][r.plant.build.Trip.Legs[m.leg].Posture].at(r.sunward, first.direct/total, total)
	o.account[Bypass] += re.bypass * sum * seconds
	o.account[Mismatch] += (1 - re.top - re.bypass) * sum * seconds
	top := re.top * sum * r.tamper[Mismatch]

	bus := r.store.Voltage(r.battery, 0)
	voc := quantity.Voltage(s.Open().Volts() * re.open)
	r.running[i] = voc <= u.charger.InputMax && u.control.Running(r.running[i], voc, bus)
	if !r.running[i] {
		o.account[VoltageWindow] += top * seconds
		return 0
	}
	mid := math.Min(re.within*sum, top)
	o.account[VoltageWindow] += (top - mid) * seconds
	volts := math.Max(re.volts*voc.Volts(), lowest(u.charger, bus).Volts())
	amps := mid / volts
	limit := math.Min(1, math.Min(u.charger.InputCurrent.Amperes()/math.Max(amps, 1e-9), u.charger.InputPower.Watts()/math.Max(mid, 1e-9)))
	o.account[InputLimit] += mid * (1 - limit) * seconds
	mid *= limit
	amps *= limit
	loss := amps * amps * u.input
	for _, ohms := range u.strings {
		a := amps / float64(len(u.strings))
		loss += a * a * ohms
	}
	return r.deliver(i, mid, math.Min(loss, mid), drive, road, o)
}
