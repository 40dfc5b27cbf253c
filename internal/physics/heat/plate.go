package heat

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
)

// Mounting is how a module is held. The order is that of the build's attachments.
type Mounting int

const (
	Bonded        Mounting = iota // film or full adhesive, no air behind
	FoamTape                      // strips of foam tape: 1-2 mm of air that stands still
	StandOff                      // a gap the air can pass
	Rack                          // open behind
	FabricPocket                  // in a pocket on fabric with air below
	LooseOnGround                 // lying on the ground or the roof, not held
)

// mountings is the number of mountings.
const mountings = int(LooseOnGround) + 1

// Body is what a module is made of, for its heat capacity.
type Body int

const (
	GlassBody    Body = iota // one pane of 3.2 mm
	FlexibleBody             // polymer laminate of 2-3 mm
	FoilBody                 // thin film on steel foil
)

// Areal heat capacities, J/(m²·K): glass 3.2 mm with laminate 9300, flexible laminate 3900 (±30 %;
// recomputed from thickness, density and specific heat, consistent with the 4 to 10 kJ/(m²·K) implied
// by the 16.5 K/min of Hayakawa, Sato & Yamada 2022, Energies 15:4818). Foil 3000 and the share of
// a skin that a bonded module carries along, 3000 (steel 0.8 mm; GRP 2 mm 3600): our own estimate.
var bodyCapacity = [...]float64{GlassBody: 9300, FlexibleBody: 3900, FoilBody: 3000}

const skinCapacity = 3000

// Nature is all a plate is made from.
type Nature struct {
	Mounting    Mounting
	Gap         quantity.Length // of the air behind, for StandOff
	Body        Body
	Absorptance quantity.Ratio // of sunlight at right angles, front and cells
	Efficiency  quantity.Ratio // share of the light that leaves as electricity
}

// ReferenceAbsorptance and ReferenceEfficiency are those of the modules behind the published
// coefficients, which were at work at their best point: a plate of these follows the coefficients
// as printed. Our own estimate, ±0.03.
const (
	ReferenceAbsorptance quantity.Ratio = 0.90
	ReferenceEfficiency  quantity.Ratio = 0.14
)

// knot is the two sources' figures at a gap. The exponential gives the rise of the cell as
// G (exp(-W b)/u + d/1000), the linear one as G/(u0 + u1 v).
type knot struct {
	gap     float64 // m
	u, b    float64 // W/(m²·K), s/m of wind at 10 m
	d       float64 // K at 1000 W/m², cell over back
	u0, u1  float64 // W/(m²·K), W·s/(m³·K)
	scatter float64 // relative, of U, beside the sources' difference
}

// knots by gap:
//   - none: King insulated back; 16.6, 3.0 (recommendation of the trade's review, from that row in
//     still air and textbook convection of one face);
//   - 10 mm: King glass/glass close to roof; 19, 3.2 (same review);
//   - 30 mm: 1 m/s from the shift of NOCT by 25 and 75 mm, Fuentes 1987, SAND85-0330 (from memory), with
//     King's slope of close modules; 25, 3.5 (same review);
//   - 75 mm: 1 m/s from Fuentes; 25, 5, between its neighbours (our own estimate);
//   - 150 mm, open: King glass/polymer rack; Faiman 2008, 25, 6.84 (from memory).
var knots = [...]knot{
	{gap: 0, u: 16.610, b: 0.0455, d: 0, u0: 16.6, u1: 3.0, scatter: 0.08},
	{gap: 0.010, u: 19.688, b: 0.0471, d: 1, u0: 19, u1: 3.2, scatter: 0.08},
	{gap: 0.030, u: 21.8, b: 0.0471, d: 0, u0: 25, u1: 3.5, scatter: 0.10},
	{gap: 0.075, u: 28.0, b: 0.06, d: 0, u0: 25, u1: 5.0, scatter: 0.10},
	{gap: 0.150, u: 35.163, b: 0.0750, d: 3, u0: 25, u1: 6.84, scatter: 0.08},
}

// behind is the gap a mounting counts as, m. Our own estimates: still air behind foam tape insulates
// as the skin does; a pocket's fabric passes heat to the air below about as a close gap does; a
// framed glass module on the ground shuts in air that hardly moves, as a close one does, and a limp
// module touches the ground in places only.
func (n Nature) behind() float64 {
	switch n.Mounting {
	case Bonded, FoamTape:
		return 0
	case StandOff:
		return n.Gap.Metres()
	case Rack:
		return knots[len(knots)-1].gap
	case FabricPocket:
		return 0.010
	case LooseOnGround:
		if n.Body == GlassBody {
			return 0.010
		}
		return 0.005
	}
	panic("heat: unknown mounting")
}

// Plate is a module that warms in the light and cools in the air. It is comparable.
type Plate struct {
	k     knot
	c     float64 // J/(m²·K), with what is bonded behind
	share float64 // of the light that becomes heat
}

// Share of the light that becomes heat in the modules behind the coefficients.
const referenceShare = float64(ReferenceAbsorptance - ReferenceEfficiency)

// Plate returns the plate of n. A gap beyond 150 mm counts as open; it panics at a negative gap, an
// unknown mounting or body, and an efficiency that is not below the absorptance within 0 to 1.
func (n Nature) Plate() Plate {
	a, e := n.Absorptance.Float(), n.Efficiency.Float()
	if !(e >= 0 && e < a && a <= 1) {
		panic("heat: efficiency and absorptance not in 0 <= efficiency < absorptance <= 1")
	}
	if !(n.Gap >= 0) {
		panic("heat: negative gap")
	}
	if n.Body < 0 || int(n.Body) >= len(bodyCapacity) {
		panic("heat: unknown body")
	}
	p := Plate{k: between(n.behind()), c: bodyCapacity[n.Body], share: a - e}
	if n.Mounting == Bonded || n.Mounting == FoamTape {
		p.c += skinCapacity
	}
	return p
}

// NewPlate returns the plate of a module held in the given way, with the reference absorptance and
// efficiency; glass says it has a pane in front, else it is a polymer laminate. Gap counts for
// StandOff only. It panics as Nature.Plate does.
func NewPlate(m Mounting, gap quantity.Length, glass bool) Plate {
	n := Nature{Mounting: m, Gap: gap, Body: FlexibleBody, Absorptance: ReferenceAbsorptance, Efficiency: ReferenceEfficiency}
	if glass {
		n.Body = GlassBody
	}
	return n.Plate()
}

// between interpolates the knots at a gap in metres.
func between(gap float64) knot {
	for i := 1; i < len(knots); i++ {
		if a, b := knots[i-1], knots[i]; gap <= b.gap {
			w := (gap - a.gap) / (b.gap - a.gap)
			mix := func(x, y float64) float64 { return x + w*(y-x) }
			return knot{gap: gap, u: mix(a.u, b.u), b: mix(a.b, b.b), d: mix(a.d, b.d), u0: mix(a.u0, b.u0), u1: mix(a.u1, b.u1), scatter: mix(a.scatter, b.scatter)}
		}
	}
	return knots[len(knots)-1]
}

// roofShare is the wind at the roof over that at 10 m. Source: the trade's review of modules on
// vehicles; a logarithmic profile over 0.03 m of roughness gives 0.72 at 2.2 m.
const roofShare = 0.7

// fastest is the air speed up to which a plate is computed, m/s: 216 km/h.
const fastest = 60

// RoofAirSpeed returns the speed of the air over the roof: 0.7 of the wind at 10 m, plus the road
// speed. The two are added without direction: over many headings the error is of second order in
// their ratio. Negative speeds count as none.
func RoofAirSpeed(wind10m, road quantity.Speed) quantity.Speed {
	return quantity.Speed(roofShare*max(0, wind10m.MetresPerSecond()) + max(0, road.MetresPerSecond()))
}

// Speeds between which the weight of the linear form rises from one half to one, m/s.
const mixed, linear = 5, 15

// loss returns U of the plate, W/(m²·K) of light, at v m/s: the chosen one.
func (k *knot) loss(v float64) float64 {
	if v >= linear {
		return k.u0 + k.u1*v
	}
	w := 0.5
	if v > mixed {
		w += 0.5 * (v - mixed) / (linear - mixed)
	}
	return (1-w)*k.exponential(v) + w*(k.u0+k.u1*v)
}

// exponential returns U by King's form.
func (k *knot) exponential(v float64) float64 {
	return 1 / (math.Exp(-k.b*v/roofShare)/k.u + k.d/1000)
}

func held(v quantity.Speed) float64 { return min(fastest, max(0, v.MetresPerSecond())) }

// Steady returns the temperature of the cells after long in the same light and air.
//
// Light is what falls on the plane and enters the front: the coefficients hold for the light on the
// plane at near right angles, so a slant loss of reflection and dirt belong taken off. Negative light
// counts as none, air speed is held to 0..60 m/s. Accuracy: see Band.
func (p Plate) Steady(light quantity.Irradiance, air quantity.Temperature, airSpeed quantity.Speed) quantity.Temperature {
	rise := p.share / referenceShare * max(0, light.WattsPerSquareMetre()) / p.k.loss(held(airSpeed))
	return finite(air.Add(quantity.TempDiff(rise)))
}

// Step returns the temperature after dt in the given light and air, from now: the exponential approach
// to Steady, exact for light and air that stay, stable for any dt. It panics at a negative dt.
// Accuracy of the time constant: 30 %.
func (p Plate) Step(now quantity.Temperature, light quantity.Irradiance, air quantity.Temperature, airSpeed quantity.Speed, dt time.Duration) quantity.Temperature {
	c := p.Every(dt, airSpeed)
	return c.Step(now, light, air)
}

// Cooling is a plate in air of one speed, by steps of one length: for many of them.
type Cooling struct{ rise, left float64 }

// Every returns the plate's cooling by steps of dt in air of a speed. It panics at a negative step.
func (p Plate) Every(dt time.Duration, airSpeed quantity.Speed) Cooling {
	if dt < 0 {
		panic("heat: negative time step")
	}
	u := p.k.loss(held(airSpeed))
	return Cooling{rise: p.share / referenceShare / u, left: math.Exp(-dt.Seconds() * referenceShare * u / p.c)}
}

// Step is Plate.Step.
func (c Cooling) Step(now quantity.Temperature, light quantity.Irradiance, air quantity.Temperature) quantity.Temperature {
	steady := air.Kelvin() + c.rise*max(0, light.WattsPerSquareMetre())
	return finite(quantity.Kelvin(steady + (now.Kelvin()-steady)*c.left))
}

// Lag returns the time constant at the given air speed: heat capacity over loss. Accuracy 30 %.
func (p Plate) Lag(airSpeed quantity.Speed) time.Duration {
	return time.Duration(p.c / (referenceShare * p.k.loss(held(airSpeed))) * float64(time.Second))
}

// Range is a band of temperatures, about 95 in 100 cases: our own estimate.
type Range struct{ Low, High quantity.Temperature }

// Band returns the band about Steady: it spans what the two sources give alone, each widened by the
// scatter of fitted modules (8 to 10 % of U).
func (p Plate) Band(light quantity.Irradiance, air quantity.Temperature, airSpeed quantity.Speed) Range {
	v := held(airSpeed)
	g := p.share / referenceShare * max(0, light.WattsPerSquareMetre())
	a, b, c := p.k.exponential(v), p.k.u0+p.k.u1*v, p.k.loss(v)
	least := min(c, min(a, b)) * (1 - p.k.scatter)
	most := max(c, max(a, b)) * (1 + p.k.scatter)
	return Range{finite(air.Add(quantity.TempDiff(g / most))), finite(air.Add(quantity.TempDiff(g / least)))}
}

// finite returns t, and panics when it is none: an argument was NaN or infinite.
func finite(t quantity.Temperature) quantity.Temperature {
	if k := t.Kelvin(); math.IsNaN(k) || math.IsInf(k, 0) {
		panic("heat: argument not finite")
	}
	return t
}
