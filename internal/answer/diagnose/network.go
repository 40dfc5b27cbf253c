package diagnose

import (
	"fmt"
	"math"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
	"noonmark/internal/physics/circuit"
	"noonmark/internal/physics/wiring"
)

// piece is a part of a module in the circuit, with its light.
type piece struct {
	circuit circuit.Module
	share   float64   // of the light
	cells   []float64 // share on each cell; nil: even
	dead    bool      // an open group: its diode alone carries
}

// made is a module as it stands in the circuit.
type made struct {
	pieces   []piece
	open     bool // nothing passes
	reversed bool
}

// text is a string as it stands in the circuit.
type text struct {
	modules  []made
	series   float64 // Ω, cable and joints, joint faults included
	open     bool
	blocking bool
}

// plan is what a charger's array is in one hypothesis.
type plan struct {
	lines   []text
	series  float64 // Ω of the common cable
	open    bool    // of the common cable
	leak    float64 // Ω over the array's terminals; 0: none
	control control
	part    float64 // of the best current, for throttled
	back    bool    // all strings the wrong way round: the array's volts are below zero
}

// control is what the charger does.
type control int

const (
	tracking control = iota
	throttled
	stopped // the array stands open
)

// plant is a charger with its array, healthy, at the light and temperature of the readings.
type plant struct {
	build   *build.Build
	charger *build.Charger
	lines   [][]int // modules of each string
	healthy plan
	window  circuit.Window
	start   float64 // V that the open array must have
	battery float64 // V
	light   float64 // W/m²
	warm    quantity.Temperature
	types   []circuit.Module // by module of the build
}

// schottky is a bypass diode, 0.41 V at 5 A and 25 °C. Source: 0.3 to 0.6 V, from memory.
var schottky = circuit.Diode{Saturation: 1e-6 * quantity.Ampere, Ideality: 1.02, Series: 2 * quantity.Milliohm}

// newPlant returns the charger's plant.
func newPlant(b *build.Build, unit int, o Options) (*plant, error) {
	p := &plant{build: b, charger: &b.Chargers[unit], light: o.Light.WattsPerSquareMetre(), warm: o.Cells, battery: o.Battery.Volts(), types: make([]circuit.Module, len(b.Modules))}
	fitted, backward := map[int]cell.Params{}, map[int]*cell.Backward{}
	for _, s := range p.charger.Strings {
		st := &b.Strings[s]
		p.lines = append(p.lines, st.Modules)
		line := text{series: ohms(st.Cable), blocking: st.Blocking}
		for _, m := range st.Modules {
			t := b.Modules[m].Type
			params, ok := fitted[t]
			if !ok {
				var err error
				if params, err = forecast.Fit(&b.Types[t]); err != nil {
					return nil, fmt.Errorf("types[%s]: %w", b.Types[t].Name, err)
				}
				fitted[t] = params
			}
			p.types[m] = forecast.ModuleCircuit(&b.Types[t], params)
			p.types[m].Bypass = schottky
			if backward[t] == nil {
				backward[t] = cell.NewBackward(params.Avalanche)
			}
			p.types[m].Backward = backward[t]
			line.modules = append(line.modules, made{pieces: []piece{{circuit: p.types[m], share: 1}}})
		}
		p.healthy.lines = append(p.healthy.lines, line)
	}
	p.healthy.series = ohms(p.charger.InputCable)
	c := p.charger
	p.window = circuit.Window{Lowest: max(c.InputMin, quantity.Voltage(p.battery)+c.RunMargin), Highest: c.InputMax, MaxCurrent: c.InputCurrent, MaxPower: c.InputPower}
	p.window.Habit = [...]circuit.Habit{build.GlobalPeak: circuit.Global, build.NearestPeak: circuit.Nearest, build.NoTracking: circuit.Fixed}[c.Tracking]
	if p.window.Habit == circuit.Fixed {
		p.window.At, p.window.Lowest = quantity.Voltage(p.battery), 0
	} else if out := c.OutputCurrent.Amperes() * p.battery / math.Max(0.5, c.Efficiency.Float()); out > 0 && (p.window.MaxPower <= 0 || out < p.window.MaxPower.Watts()) {
		p.window.MaxPower = quantity.Power(out)
	}
	p.start = math.Max(c.InputMin.Volts(), p.battery+c.StartMargin.Volts())
	if p.window.Habit == circuit.Fixed {
		p.start = p.battery
	}
	return p, nil
}

// ohms returns the resistance of a run, out and back, at 40 °C where none is given.
func ohms(r build.Run) float64 {
	if r.Length <= 0 || r.Area <= 0 {
		return 0
	}
	return wiring.Resistance(wiring.Run{Length: r.Length, Area: r.Area, Temperature: r.Temperature}).Ohms()
}

// copied returns the healthy plan, free to change its lines and their modules.
func (p *plant) copied() plan {
	q := p.healthy
	q.lines = append([]text(nil), q.lines...)
	for k := range q.lines {
		q.lines[k].modules = append([]made(nil), q.lines[k].modules...)
	}
	return q
}

// cut returns n cells of a module as a module of their own, with the given bypass groups.
func cut(m circuit.Module, n int, groups []int) circuit.Module {
	f := float64(n) / float64(m.Cells)
	m.Params.A, m.Params.Rs, m.Params.G, m.Params.Cells = m.Params.A*f, m.Params.Rs*f, m.Params.G/f, n
	m.Cells, m.Groups = n, groups
	return m
}

// firstGroup splits a module in its first bypass group and the rest; the rest has no cells when the group
// is the whole module.
func firstGroup(m circuit.Module) (first, rest circuit.Module) {
	switch {
	case m.DiodePerCell:
		return cut(m, 1, nil), cut(m, m.Cells-1, nil)
	case len(m.Groups) < 2:
		return m, circuit.Module{}
	}
	n := m.Groups[0]
	return cut(m, n, []int{n}), cut(m, m.Cells-n, m.Groups[1:])
}

// around returns pieces of the first group as given and the rest of the module.
func around(first piece, rest circuit.Module) []piece {
	out := []piece{first}
	if rest.Cells > 0 {
		out = append(out, piece{circuit: rest, share: 1})
	}
	return out
}

// bypassed reports whether any diode can carry the current past an open cell.
func bypassed(m circuit.Module) bool { return m.DiodePerCell || len(m.Groups) > 0 }

// groupsOf returns how many diodes lie over groups of a module.
func groupsOf(m circuit.Module) int { return len(m.Groups) }

// leaking returns a module whose cells leak constantly beside their own shunt, at the light g (1: full).
func leaking(m circuit.Module, leak, g float64) circuit.Module {
	own := m.Params.G
	if m.Params.Shunt != 0 {
		own *= math.Pow(math.Max(g, 0.01), m.Params.Shunt)
	}
	m.Params.G, m.Params.Shunt = own+leak, 0
	return m
}

// dark is a cell that lets through nothing by itself, either way.
func dark(m circuit.Module) circuit.Module {
	d := cut(m, 1, []int{1})
	d.DiodePerCell, d.Backward = false, nil
	d.Params.IL, d.Params.IscSlope, d.Params.G, d.Params.I0, d.Params.A = 0, 0, 1e-9, 1e-12, 1e4
	d.Params.Avalanche = cell.Avalanche{}
	return d
}

// solve puts lines in a solver; open lines are left out, and number tells where each one went, -1: out.
func (p *plant) solve(lines []text, series float64) (s *circuit.Solver, number []int) {
	c := circuit.Circuit{Series: quantity.Resistance(series)}
	number = make([]int, len(lines))
	var in []int
	for k := range lines {
		l := &lines[k]
		number[k] = -1
		shut := l.open
		for m := range l.modules {
			shut = shut || l.modules[m].open
		}
		if shut {
			continue
		}
		st := circuit.String{Series: quantity.Resistance(l.series), Blocking: l.blocking}
		for m := range l.modules {
			for _, pc := range l.modules[m].pieces {
				mc := pc.circuit
				if pc.dead {
					mc = dark(mc)
				}
				mc.Reversed = l.modules[m].reversed
				st.Modules = append(st.Modules, mc)
			}
		}
		if len(st.Modules) == 0 {
			continue // nothing but wire: a leak over the array, by newCore
		}
		number[k] = len(c.Strings)
		in = append(in, k)
		c.Strings = append(c.Strings, st)
	}
	s = circuit.NewSolver(c)
	for n, k := range in {
		at := 0
		for m := range lines[k].modules {
			for _, pc := range lines[k].modules[m].pieces {
				p.lightOn(s, n, at, pc)
				at++
			}
		}
	}
	return s, number
}

func (p *plant) lightOn(s *circuit.Solver, line, at int, pc piece) {
	switch {
	case pc.dead:
		s.SetModule(line, at, 0, p.warm)
	case pc.cells == nil:
		s.SetModule(line, at, quantity.Irradiance(p.light*pc.share), p.warm)
	default:
		out := make([]quantity.Irradiance, len(pc.cells))
		for k, c := range pc.cells {
			out[k] = quantity.Irradiance(p.light * c)
		}
		s.SetCells(line, at, out, p.warm)
	}
}
