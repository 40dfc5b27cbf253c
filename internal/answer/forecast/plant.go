package forecast

import (
	"fmt"
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/circuit"
	"noonmark/internal/physics/heat"
	"noonmark/internal/physics/load"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/wiring"
)

// bank is the modules of one type, held the same way on one surface: they see the same light and
// have the same temperature.
type bank struct {
	kind    *build.ModuleType
	surface int
	area    float64 // of one module, m²
	params  cell.Params
	plate   heat.Plate
	front   sky.Front
	count   int
	modules []int
	cells   int                     // of one module
	cool    [coolPlaces + 1]float64 // a module's best at 25 °C over its light, by coolAt, W m²/W
}

// slot is a module's place in a circuit.
type slot struct{ text, module, bank, index int }

// part is a unit's modules of one bank.
type part struct {
	bank  int
	count float64
}

// unit is a charger with its modules.
type unit struct {
	charger *build.Charger
	circuit circuit.Circuit
	slots   []slot
	parts   []part
	control charge.Controller
	input   float64   // Ω, strings joined to the charger
	strings []float64 // Ω, of each string's own cable
	output  float64   // Ω, charger to battery
}

// plant is a build made ready for computing; it is shared and never changes.
type plant struct {
	build    *build.Build
	banks    []bank
	units    []unit
	battery  charge.Battery
	inverter load.Inverter
	roofs    []*roof // by posture; nil: not in this trip
}

// assemble makes the plant of b, in the shade of all but omit. It fails with every module type whose label no cell fits.
func assemble(b *build.Build, omit ...Caster) (*plant, error) {
	p := &plant{build: b}
	fitted := make([]cell.Params, len(b.Types))
	for i := range b.Types {
		var err error
		if fitted[i], err = Fit(&b.Types[i]); err != nil {
			return nil, fmt.Errorf("types[%s]: %w", b.Types[i].Name, err)
		}
	}
	p.connect(fitted)
	p.layRoofs(omit)
	return p, nil
}

// connect makes banks, chargers and battery.
func (p *plant) connect(fitted []cell.Params) {
	b := p.build
	where := make([]int, len(b.Modules))
	for i := range b.Modules {
		where[i] = p.bankOf(i, fitted)
	}
	for i := range b.Chargers {
		p.units = append(p.units, p.wire(&b.Chargers[i], where))
	}
	p.battery = batteryOf(&b.Battery)
	if b.Inverter != nil {
		p.inverter = load.NewInverter(b.Inverter.Idle, b.Inverter.Rated, b.Inverter.Efficiency)
	}
}

// Fit returns the cell parameters of a module type's label.
func Fit(t *build.ModuleType) (cell.Params, error) {
	params, _, err := cell.Fit(LabelOf(t))
	return params, err
}

// LabelOf returns a module type's label as the cell model wants it.
func LabelOf(t *build.ModuleType) cell.Label {
	return cell.Label{
		Pmax: t.Pmax, Voc: t.Voc, Isc: t.Isc, Vmp: t.Vmp, Imp: t.Imp,
		PmaxCoefficient: t.PmaxCoefficient, VocCoefficient: t.VocCoefficient, IscCoefficient: t.IscCoefficient,
		Cells: t.Cells.Count(), LowLight: t.LowLight, Technology: cell.Technology(t.Technology),
	}
}

// bankOf returns the index of the module's bank, made when it is the first of its kind.
func (p *plant) bankOf(index int, fitted []cell.Params) int {
	m := &p.build.Modules[index]
	t := &p.build.Types[m.Type]
	plate := PlateOf(t, m.Attachment, m.Gap)
	for i := range p.banks {
		if b := &p.banks[i]; b.kind == t && b.surface == m.Surface && b.plate == plate {
			b.count++
			b.modules = append(b.modules, index)
			return i
		}
	}
	p.banks = append(p.banks, bank{
		kind: t, surface: m.Surface, area: t.Length.Metres() * t.Width.Metres(),
		params: fitted[m.Type], plate: plate, front: sky.FrontOf(sky.Material(t.Front)), count: 1,
		modules: []int{index}, cells: t.Cells.Count(),
	})
	p.banks[len(p.banks)-1].layCool()
	return len(p.banks) - 1
}

// coolFrom and coolTo are the lights, W/m², between which a cell's efficiency at 25 °C is laid out over the
// logarithm of the light; under and over them it is held.
const coolFrom, coolTo, coolPlaces = 1.0, 2000.0, 63

func (b *bank) layCool() {
	for k := range b.cool {
		g := coolFrom * math.Pow(coolTo/coolFrom, float64(k)/float64(len(b.cool)-1))
		st := b.params.At(quantity.Irradiance(g), quantity.Celsius(25))
		b.cool[k] = st.Best().Power().Watts() / g
	}
}

// coolStep is how many places of the lay-out go to a unit of the light's logarithm.
var coolStep = coolPlaces / math.Log(coolTo/coolFrom)

// coolPlace returns the place of a light above nothing in the lay-out.
func coolPlace(g float64) float64 {
	return max(0, min(coolPlaces-1e-6, math.Log(g/coolFrom)*coolStep))
}

// coolAt returns the best power of a module at 25 °C in an even light, W.
func (b *bank) coolAt(g float64) float64 {
	if g <= 0 {
		return 0
	}
	return b.coolIn(coolPlace(g), g)
}

// coolIn is coolAt with the light's place known.
func (b *bank) coolIn(place, g float64) float64 {
	k := int(place)
	return g * (b.cool[k] + (place-float64(k))*(b.cool[k+1]-b.cool[k]))
}

// wire makes the unit of a charger.
func (p *plant) wire(c *build.Charger, where []int) unit {
	u := unit{charger: c, input: resistance(c.InputCable), output: resistance(c.BatteryCable)}
	u.circuit.Series = quantity.Resistance(u.input)
	for si, s := range c.Strings {
		text := &p.build.Strings[s]
		ohms := resistance(text.Cable)
		u.strings = append(u.strings, ohms)
		line := circuit.String{Series: quantity.Resistance(ohms), Blocking: text.Blocking}
		for mi, m := range text.Modules {
			line.Modules = append(line.Modules, ModuleCircuit(&p.build.Types[p.build.Modules[m].Type], p.banks[where[m]].params))
			u.slots = append(u.slots, slot{text: si, module: mi, bank: where[m], index: m})
		}
		u.circuit.Strings = append(u.circuit.Strings, line)
	}
	for _, at := range u.slots {
		u.join(at.bank)
	}
	u.control = controllerOf(c, &p.build.Battery)
	return u
}

// join counts a module of a bank.
func (u *unit) join(bank int) {
	for k := range u.parts {
		if u.parts[k].bank == bank {
			u.parts[k].count++
			return
		}
	}
	u.parts = append(u.parts, part{bank, 1})
}

// ModuleCircuit returns a module's cells and bypass paths.
func ModuleCircuit(t *build.ModuleType, params cell.Params) circuit.Module {
	return circuit.Module{Params: params, Cells: t.Cells.Count(), Groups: t.Cells.GroupSizes(), DiodePerCell: t.Cells.DiodePerCell}
}

// PlateOf returns a module held in the given way as a plate that warms and cools.
func PlateOf(t *build.ModuleType, a build.Attachment, gap quantity.Length) heat.Plate {
	glass := t.Front == build.FloatGlass || t.Front == build.TexturedGlass
	return heat.NewPlate(heat.Mounting(a), gap, glass)
}

// ohmsMissing is the resistance of a run of no length.
const ohmsMissing = 0

func resistance(r build.Run) float64 {
	if r.Length <= 0 || r.Area <= 0 {
		return ohmsMissing
	}
	return wiring.Resistance(wiring.Run{Length: r.Length, Area: r.Area, Temperature: r.Temperature}).Ohms()
}

// view is how a bank lies in a leg, with the vehicle heading one way.
type view struct {
	normal  shape.Direction
	heading quantity.Angle
	slope   sky.Slope
	open    float64 // share of an even sky that the plane sees
	sky     float64 // transmittance of the front for diffuse light, over that at right angles
	ground  float64
}

// views returns, by bank, leg and heading, how the banks lie. A surface that is level, or a heading
// that is fixed, has the same view for every heading.
func (p *plant) views() [][][headings]view {
	out := make([][][headings]view, len(p.banks))
	for i := range p.banks {
		bk := &p.banks[i]
		out[i] = make([][headings]view, len(p.build.Trip.Legs))
		for l := range p.build.Trip.Legs {
			leg := &p.build.Trip.Legs[l]
			for h := range headings {
				heading := leg.Heading
				if leg.HeadingFree {
					heading = quantity.Angle(float64(h)*360/headings) * quantity.Degree
				}
				f := FacingOf(p.build, bk.surface, leg.Posture, heading)
				out[i][l][h] = view{normal: f.Normal(), slope: sky.NewSlope(f.Tilt, p.build.Trip.Albedo), open: (1 + math.Cos(f.Tilt.Radians())) / 2, heading: heading, sky: bk.front.SkyTransmittance(f.Tilt).Float(), ground: bk.front.GroundTransmittance(f.Tilt).Float()}
			}
		}
	}
	return out
}

// batteryOf returns the document's battery as the physics has it.
func batteryOf(b *build.Battery) charge.Battery {
	return charge.Battery{
		Chemistry: charge.Chemistry(b.Chemistry), Energy: b.Energy, Nominal: b.Voltage, Health: b.Health,
		LowestCharge: b.LowestCharge, HighestCharge: b.HighestCharge, ChargeEfficiency: b.ChargeEfficiency,
		DischargeEfficiency: b.DischargeEfficiency, SelfDischargePerMonth: b.SelfDischargePerMonth,
		MaxChargeCurrent: b.MaxChargeCurrent, MaxDischargeCurrent: b.MaxDischargeCurrent,
		TimeConstant: b.TimeConstant, HeaterPower: b.HeaterPower,
	}
}

// lowest returns the lowest volts a charger works at.
func lowest(c *build.Charger, battery quantity.Voltage) quantity.Voltage {
	return max(c.InputMin, battery+c.RunMargin)
}

// habit returns how a charger tracks.
func habit(c *build.Charger) circuit.Habit {
	return [...]circuit.Habit{build.GlobalPeak: circuit.Global, build.NearestPeak: circuit.Nearest, build.NoTracking: circuit.Fixed}[c.Tracking]
}

// controllerOf returns the charger's controller, rated for the less of its input and its output.
func controllerOf(c *build.Charger, b *build.Battery) charge.Controller {
	rated := quantity.Power(c.OutputCurrent.Amperes() * b.Voltage.Volts())
	if c.InputPower > 0 && c.InputPower < rated {
		rated = c.InputPower
	}
	return charge.NewController(charge.Rating{Rated: max(rated, 1*quantity.Watt), Efficiency: c.Efficiency, FixedLoss: c.FixedLoss,
		StartMargin: c.StartMargin, RunMargin: c.RunMargin, InputMin: c.InputMin})
}
