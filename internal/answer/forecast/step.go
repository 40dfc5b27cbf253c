package forecast

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/circuit"
	"noonmark/internal/physics/heat"
	"noonmark/internal/physics/sky"
)

// seconds is the length of a step.
const seconds = float64(step / time.Second)

// now is the weather of a step.
type now struct {
	light sky.Light
	air   quantity.Temperature
	wind  quantity.Speed
	clear float64 // clearness of the sky: global light over that beyond the air
}

// runner carries a plant through a year. One goroutine owns it; a step allocates nothing.
type runner struct {
	plant   *plant
	tape    *tape
	views   [][][headings]view
	solvers []*circuit.Solver
	running []bool
	module  []quantity.Temperature // by bank
	cooling []heat.Cooling         // by bank, in air of the speed cooled
	cooled  quantity.Speed
	useful  []float64 // light used by unshaded cells, by bank, W/m²
	light   []onCells // its parts, by bank
	shadows shadows
	chart   *chart                // nil: the circuit is solved at every step
	cells   *cells                // what the battery's cells go through; nil: not asked for
	gain    *gain                 // what modules get and give; nil: not asked for
	lights  []quantity.Irradiance // of a module's cells
	each    []float64             // the same, W/m²
	span    []int                 // the span of each
	spans   [256]span
	vary    vary
	store   charge.Battery // of the year
	pace    charge.Pace    // of store
	usable  float64        // energy at full charge, J
	battery charge.State
	lag     time.Duration // between steps, for the modules' warmth
	dirt    float64
	same    float64 // how far lights may stand apart that are solved as one
	heading int
	speeds  []quantity.Speed // by leg; 0: it stands
	tamper  [items]float64   // 1; a test turns one to see the residual move
}

func newRunner(p *plant, t *tape, views [][][headings]view) *runner {
	r := &runner{plant: p, tape: t, views: views, lag: step, same: sameLight,
		running: make([]bool, len(p.units)),
		module:  make([]quantity.Temperature, len(p.banks)), useful: make([]float64, len(p.banks))}
	for i := range p.units {
		r.solvers = append(r.solvers, circuit.NewSolver(p.units[i].circuit))
	}
	r.speeds = make([]quantity.Speed, len(p.build.Trip.Legs))
	for i := range p.build.Trip.Legs {
		if p.build.Trip.Legs[i].Drive {
			r.speeds[i] = legSpeed(&p.build.Trip.Legs[i])
		}
	}
	for i := range r.tamper {
		r.tamper[i] = 1
	}
	most, all := 0, 0
	for i := range p.banks {
		most = max(most, p.banks[i].cells)
		all += p.banks[i].cells * p.banks[i].count
	}
	r.light = make([]onCells, len(p.banks))
	r.lights, r.each, r.span, r.shadows.beam = make([]quantity.Irradiance, most), make([]float64, most), make([]int, most), make([]float64, all)
	return r
}

// onCells is the light that gets into unshaded cells of a bank, W/m²: the parts that shadows take, and the
// rest.
type onCells struct{ direct, sky, ground float64 }

// outcome is what a step did.
type outcome struct {
	account
	harvest, demand, unmet float64 // J
	offered                float64 // at the battery, J
	plane                  float64 // open-sky light on the first bank, W/m²
}

// step computes one step: m from the tape, w the weather. The account balances within the step,
// battery included.
func (r *runner) step(m *moment, w now) (o outcome) {
	leg := &r.plant.build.Trip.Legs[m.leg]
	road := r.speeds[m.leg]
	r.sunlight(m, w, road, &o)
	if r.gain != nil && m.sin > 0 && w.light.Global > 0 {
		r.gain.note(r, w.light.Beam)
	}
	offered := 0.0
	for i := range r.plant.units {
		if r.chart != nil {
			offered += r.charted(i, m, w.clear, leg.Drive, road, &o)
		} else {
			offered += r.convert(i, leg.Drive, road, &o)
		}
	}
	o.offered = offered * seconds
	r.supply(m, w, leg.Drive, offered, &o)
	return o
}

// sunlight follows the light from an open sky into the cells of every bank and moves the module
// temperatures.
func (r *runner) sunlight(m *moment, w now, road quantity.Speed, o *outcome) {
	dark := w.light.Global <= 0 || m.sin <= 0
	r.cool(heat.RoofAirSpeed(w.wind, road))
	dirt := min(mostDirt, r.dirt*r.vary.soiling)
	roof := r.plant.roofs[r.plant.build.Trip.Legs[m.leg].Posture]
	var dome sky.Dome
	if !dark {
		dome = m.instant.Dome(w.light)
		if r.chart == nil {
			r.castAt(m)
		}
	}
	for i := range r.plant.banks {
		b := &r.plant.banks[i]
		v := &r.views[i][m.leg][r.heading]
		var useful, warming float64
		r.light[i] = onCells{}
		if !dark {
			cos := quantity.Ratio(v.normal.Dot(m.where))
			on := dome.On(v.slope, cos)
			tau := b.front.BeamTransmittance(cos).Float()
			direct := on.Beam.WattsPerSquareMetre() + on.Circumsolar.WattsPerSquareMetre()
			diffuse := on.Isotropic.WattsPerSquareMetre() + on.Horizon.WattsPerSquareMetre()
			ground := on.Ground.WattsPerSquareMetre()
			if i == 0 {
				o.plane = direct + diffuse + ground
			}
			area := b.area * float64(b.count) * seconds
			o.account[Sunlight] += (direct + diffuse + ground) * area

			near, far := r.vary.through(m.beam), r.vary.through(m.sky)
			o.account[Surroundings] += (direct*(1-near) + diffuse*(1-far)) * area
			t := r.tamper[Surroundings]
			direct, diffuse, ground = direct*near*t, diffuse*far*t, ground*t

			full := onCells{direct: direct * tau, sky: diffuse * v.sky, ground: ground * v.ground}
			if roof.shades {
				beam, open := r.left(i, m, roof)
				o.account[RoofShade] += (direct*(1-beam) + diffuse*(1-open)) * area
				t := r.tamper[RoofShade]
				direct, diffuse, ground = direct*beam*t, diffuse*open*t, ground*t
			}

			o.account[Reflection] += (direct*(1-tau) + diffuse*(1-v.sky) + ground*(1-v.ground)) * area
			in := (direct*tau + diffuse*v.sky + ground*v.ground) * r.tamper[Reflection]
			warming = in

			o.account[Dirt] += in * dirt * area
			in *= (1 - dirt) * r.tamper[Dirt]

			label := b.kind.Pmax.Watts() / (1000 * b.area)
			o.account[NotConverted] += in * (1 - label) * area
			in *= r.tamper[NotConverted]
			o.account[Weaker] += in * label * (1 - r.vary.power) * area
			useful = in * r.vary.power * r.tamper[Weaker]
			clean := (1 - dirt) * r.vary.power * r.tamper[NotConverted] * r.tamper[Weaker]
			r.light[i] = onCells{full.direct * clean, full.sky * clean, full.ground * clean}
		}
		r.useful[i] = useful
		r.module[i] = r.cooling[i].Step(r.module[i], quantity.Irradiance(warming), w.air)
	}
}

// cool prepares the plates for the air over them.
func (r *runner) cool(speed quantity.Speed) {
	if speed == r.cooled && len(r.cooling) > 0 {
		return
	}
	r.cooled, r.cooling = speed, r.cooling[:0]
	for i := range r.plant.banks {
		r.cooling = append(r.cooling, r.plant.banks[i].plate.Every(r.lag, speed))
	}
}

// left is reaching, read from the chart where there is one.
func (r *runner) left(bank int, m *moment, roof *roof) (beam, open float64) {
	if r.chart == nil {
		return r.reaching(&r.plant.banks[bank])
	}
	return r.chart.beamAt(m, r.heading, bank), roof.open[bank]
}

// reaching returns the shares of direct and sky light that the roof's things leave to a bank's modules.
func (r *runner) reaching(b *bank) (beam, sky float64) {
	for _, m := range b.modules {
		x, y := r.shadows.parts(r.shadows.roof.first[m], b.cells)
		beam += x
		sky += y
	}
	n := float64(len(b.modules))
	return beam / n, sky / n
}

// shine puts the light on the cells of a module, and returns their mean light and what they would give at
// 25 °C, each alone. Cells in nearly the same light share their mean, the weakest and those next to it first:
// each light more costs the circuit, and none of them changes.
func (r *runner) shine(s *circuit.Solver, at *slot) (mean, cool float64) {
	b, full := &r.plant.banks[at.bank], r.light[at.bank]
	first := r.shadows.roof.first[at.index]
	weakest, brightest := math.Inf(1), 0.0
	for k := range b.cells {
		g := full.ground + full.sky*r.shadows.roof.sky[first+k]
		if r.shadows.even {
			g += full.direct
		} else {
			g += full.direct * r.shadows.beam[first+k]
		}
		r.each[k] = g
		weakest, brightest = min(weakest, g), max(brightest, g)
		mean += g
	}
	if brightest > 0 && !r.shadows.apart {
		r.merge(r.each[:b.cells], max(weakest, brightest*darkest))
	}
	last, watts := -1.0, 0.0
	for k, g := range r.each[:b.cells] {
		if g != last {
			last, watts = g, b.coolAt(g)/float64(b.cells)
		}
		r.lights[k] = quantity.Irradiance(g)
		cool += watts
	}
	s.SetCells(at.text, at.module, r.lights[:b.cells], r.module[at.bank])
	return mean / float64(b.cells), cool
}

// sameLight is how far lights may stand apart, relative, that are solved as one; a judge takes judgeLight.
const sameLight, judgeLight = 0.06, 0.15

// darkest is the light, of the brightest cell's, under which all is solved as one: the spans reach so far.
const darkest = 0.007

// merge gives lights of one span of sameLight, counted from the weakest, their mean.
func (r *runner) merge(each []float64, weakest float64) {
	spans := &r.spans
	used := 0
	for k, g := range each {
		n := 0
		if g > weakest {
			n = min(len(spans)-1, int(math.Log(g/weakest)/r.same))
		}
		r.span[k] = n
		for used <= n {
			spans[used] = span{}
			used++
		}
		spans[n].sum += g
		spans[n].count++
	}
	for k, n := range r.span[:len(each)] {
		each[k] = spans[n].sum / spans[n].count
	}
}

// span is the lights of a narrow range.
type span struct{ sum, count float64 }

// convert takes the light of a charger's modules to watts offered at the battery.
func (r *runner) convert(i int, drive bool, road quantity.Speed, o *outcome) float64 {
	u, s := &r.plant.units[i], r.solvers[i]
	var label, cold float64
	for k := range u.slots {
		at := &u.slots[k]
		g, cool := r.useful[at.bank], 0.0
		if r.shadows.roof != nil && r.shadows.roof.shades && g > 0 {
			g, cool = r.shine(s, at)
		} else {
			cool = r.plant.banks[at.bank].coolAt(g)
			s.SetModule(at.text, at.module, quantity.Irradiance(g), r.module[at.bank])
		}
		label += g / 1000 * r.plant.banks[at.bank].kind.Pmax.Watts()
		cold += cool
	}
	if label <= 0 {
		r.running[i] = false
		return 0
	}
	o.account[LowLight] += (label - cold) * seconds
	cold *= r.tamper[LowLight]
	sum := s.SumOfCells().Watts()
	warm := sum * r.tamper[LowLight]
	o.account[CellHeat] += (cold - warm) * seconds
	warm *= r.tamper[CellHeat]
	// The circuit is solved once; what a tamper adds upstream is carried along.
	carried := warm - sum
	return r.operate(i, sum, carried, drive, road, o)
}

// operate finds where the charger works the array, and follows the watts to the battery's posts.
func (r *runner) operate(i int, sum, carried float64, drive bool, road quantity.Speed, o *outcome) float64 {
	u, s := &r.plant.units[i], r.solvers[i]
	bus := r.store.Voltage(r.battery, 0)
	best := s.Best()
	top := best.Power().Watts()
	topLoss := r.cableLoss(i, best.Current.Amperes())
	bypassed := s.Bypassed().Watts()
	o.account[Bypass] += bypassed * seconds
	o.account[Mismatch] += (sum - top - topLoss - bypassed) * seconds
	top = (top + topLoss + carried) * r.tamper[Mismatch] * r.tamper[Bypass]

	voc := s.Open()
	r.running[i] = voc <= u.charger.InputMax && u.control.Running(r.running[i], voc, bus)
	if !r.running[i] {
		o.account[VoltageWindow] += top * seconds
		return 0
	}
	open := circuit.Window{Lowest: lowest(u.charger, bus), Highest: u.charger.InputMax, Habit: habit(u.charger), At: bus}
	within := best
	if best.Voltage < open.Lowest || open.Habit != circuit.Global {
		within = s.Operate(open)
	}
	mid := within.Power().Watts()
	midLoss := r.cableLoss(i, within.Current.Amperes())
	carried = top - (best.Power().Watts() + topLoss)
	o.account[VoltageWindow] += (best.Power().Watts() + topLoss - mid - midLoss) * seconds
	at := (mid + midLoss + carried) * r.tamper[VoltageWindow]

	op := within
	if within.Current > u.charger.InputCurrent || within.Power() > u.charger.InputPower {
		open.MaxCurrent, open.MaxPower = u.charger.InputCurrent, u.charger.InputPower
		op = s.Operate(open)
	}
	if r.gain != nil {
		for k := range u.slots {
			r.gain.energy[u.slots[k].index] += s.ModulePower(u.slots[k].text, u.slots[k].module).Watts() * seconds
		}
	}
	end := op.Power().Watts()
	loss := r.cableLoss(i, op.Current.Amperes())
	carried = at - (mid + midLoss)
	o.account[InputLimit] += (mid + midLoss - end - loss) * seconds
	p := (end + loss + carried) * r.tamper[InputLimit]

	return r.deliver(i, p, loss, drive, road, o)
}

// deliver follows p watts that the array gives, loss of them in its cables, to the battery's posts.
func (r *runner) deliver(i int, p, loss float64, drive bool, road quantity.Speed, o *outcome) float64 {
	u := &r.plant.units[i]
	bus := r.store.Voltage(r.battery, 0)
	track := charge.TrackingEfficiency(drive, road).Float() * (1 - u.charger.TrackingLoss.Float())
	o.account[TrackingMiss] += p * (1 - track) * seconds
	p *= track * r.tamper[TrackingMiss]

	wire := loss * track
	o.account[ArrayCable] += wire * seconds
	p = (p - wire) * r.tamper[ArrayCable]

	out, lost := u.control.Output(quantity.Power(p))
	o.account[ControllerLoss] += lost.Watts() * seconds
	w := out.Watts() * r.tamper[ControllerLoss]

	limit := u.charger.OutputCurrent.Amperes() * bus.Volts()
	over := max(0, w-limit)
	o.account[OutputLimit] += over * seconds
	w = (w - over) * r.tamper[OutputLimit]

	amps := w / bus.Volts()
	cable := min(w, amps*amps*u.output)
	o.account[BatteryCable] += cable * seconds
	return (w - cable) * r.tamper[BatteryCable]
}

// cableLoss returns the watts lost between modules and charger at the charger's input current.
func (r *runner) cableLoss(i int, amps float64) float64 {
	u := &r.plant.units[i]
	loss := amps * amps * u.input
	for k, ohms := range u.strings {
		a := r.solvers[i].StringCurrent(k).Amperes()
		loss += a * a * ohms
	}
	return loss
}

// supply meets the loads from what is offered, the alternator and the battery, and charges with the
// rest.
func (r *runner) supply(m *moment, w now, drive bool, offered float64, o *outcome) {
	p := r.plant
	before := r.battery.Charge.Joules()
	surround := w.air
	if p.build.Battery.Inside && surround.Before(p.build.Battery.InsideTemperature) {
		surround = p.build.Battery.InsideTemperature
	}
	heater := r.store.HeaterDraw(r.battery).Watts()
	self := 0.0
	for i := range p.units {
		self += p.units[i].charger.SelfUse.Watts()
	}
	fdc, fmains := r.tape.fridge(m, drive, w.air)
	dc, mains := (m.dc+fdc)*r.vary.loads, (m.mains+fmains)*r.vary.loads
	inverter := 0.0
	if p.build.Inverter != nil && (m.mainsOn || mains > 0) {
		inverter = p.inverter.Input(quantity.Power(mains)).Watts()
	}
	need := dc + inverter + self + heater
	alternator := 0.0
	if drive && p.build.Alternator != nil {
		alternator = p.build.Alternator.Current.Amperes() * r.store.Voltage(r.battery, 0).Volts()
	}

	accept := r.store.AcceptPower(r.battery).Watts()
	take := min(offered, need+accept)
	unused := offered - take
	cold := 0.0
	if unused > 0 {
		cold = min(unused, max(0, r.store.AcceptWarm(r.battery).Watts()-accept))
		o.account[BatteryCold] += cold * seconds
		o.account[BatteryFull] += (unused - cold) * seconds
	}
	take *= r.tamper[BatteryFull]
	helped := min(alternator, max(0, need+accept-take))
	net := take + helped - need
	unmet := 0.0
	if net < 0 {
		given := min(-net, r.store.DeliverPower(r.battery).Watts())
		unmet = -net - given
		net = -given
	}
	state, flow := r.pace.Step(r.battery, quantity.Power(net))
	r.battery = state
	if r.cells != nil {
		r.cells.note(r, math.Abs(net)*seconds, cold*seconds)
	}
	r.battery = r.pace.Warm(r.battery, surround, quantity.Power(heater))

	served := 1.0
	if need > 0 {
		served = (need - unmet) / need
	}
	a := &o.account
	a[FromAlternator] += helped * seconds
	a[BatteryLoss] += flow.Loss.Joules()
	a[ControllerUse] += self * served * seconds
	a[Heater] += heater * served * seconds
	a[InverterLoss] += (inverter - mainsServed(inverter, mains)) * served * seconds
	a[MainsLoads] += mainsServed(inverter, mains) * served * seconds
	a[DCLoads] += dc * served * seconds
	a[BatteryBefore] += before
	a[BatteryAfter] += r.battery.Charge.Joules() * r.tamper[BatteryLoss]
	o.harvest, o.demand, o.unmet = take*seconds, need*seconds, unmet*seconds
}

// mainsServed returns the watts that reach the plugs: none without an inverter.
func mainsServed(inverter, mains float64) float64 {
	if inverter <= 0 {
		return 0
	}
	return mains
}
