package bench

import (
	"errors"
	"math"

	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
)

// ErrRange says that a light or temperature is outside what a procedure holds for.
var ErrRange = errors.New("outside the range of the correction")

// Condition is the light on the cells and their temperature.
type Condition struct {
	Light quantity.Irradiance
	Cell  quantity.Temperature
}

// Standard is the standard test condition.
var Standard = Condition{1000 * quantity.WattPerSquareMetre, quantity.Celsius(25)}

// Traits are the constants of a module for the procedures. Plain SI numbers; slopes are absolute for
// procedure 1 and relative for procedure 2.
type Traits struct {
	Short float64 // measured Isc, A: procedure 1
	Open  float64 // measured Voc, V: procedure 2 of 2009

	ShortSlope, OpenSlope                 float64 // A/K, V/K
	RelativeShortSlope, RelativeOpenSlope float64 // 1/K

	LightSlope float64 // a of the edition of 2009
	B1, B2     float64 // of the edition of 2021
	OpenStd    float64 // Voc at standard conditions, V: 2021
	Series     float64 // Rs, Ω
	Kappa      float64 // its slope with temperature, Ω/K
}

// step returns the change of temperature, K, and the ratio of lights of a move; it panics on light that
// is not above zero.
func step(from, to Condition) (dt, ratio float64) {
	a, b := from.Light.WattsPerSquareMetre(), to.Light.WattsPerSquareMetre()
	if !(a > 0 && b > 0) {
		panic("bench: a correction needs light")
	}
	return to.Cell.Sub(from.Cell).Kelvins(), b / a
}

func point(v, i float64) cell.Point {
	return cell.Point{Voltage: quantity.Voltage(v), Current: quantity.Current(i)}
}

// Procedure1 returns a point of a curve moved to another condition. The shift of Isc is added, so light
// may change by 20 to 30 % at most. It panics on light that is not above zero. Source: IEC 60891:2009,
// clause 4.2, eq. 1 and 2, from memory.
func Procedure1(p cell.Point, from, to Condition, t Traits) cell.Point {
	v1, i1 := p.Voltage.Volts(), p.Current.Amperes()
	dt, ratio := step(from, to)
	i2 := i1 + t.Short*(ratio-1) + t.ShortSlope*dt
	return point(v1-t.Series*(i2-i1)-t.Kappa*i2*dt+t.OpenSlope*dt, i2)
}

// Procedure2 is Procedure1 with the current scaled, for larger changes of light; it needs the measured
// open volts. Source: IEC 60891:2009, clause 4.3, eq. 3 and 4, from memory.
func Procedure2(p cell.Point, from, to Condition, t Traits) cell.Point {
	v1, i1 := p.Voltage.Volts(), p.Current.Amperes()
	dt, ratio := step(from, to)
	i2 := i1 * (1 + t.RelativeShortSlope*dt) * ratio
	return point(v1+t.Open*(t.RelativeOpenSlope*dt+t.LightSlope*math.Log(ratio))-t.Series*(i2-i1)-t.Kappa*i2*dt, i2)
}

// Procedure2Of2021 is Procedure2 with slopes that refer to standard conditions, and two terms for the
// light. Source: IEC 60891:2021, clause 4.3, from memory.
func Procedure2Of2021(p cell.Point, from, to Condition, t Traits) cell.Point {
	v1, i1 := p.Voltage.Volts(), p.Current.Amperes()
	dt, ratio := step(from, to)
	t1, t2 := from.Cell.Celsius()-25, to.Cell.Celsius()-25
	i2 := i1 * ratio * (1 + t.RelativeShortSlope*t2) / (1 + t.RelativeShortSlope*t1)
	f1, f2 := t.dim(from.Light), t.dim(to.Light)
	series := t.Series + t.Kappa*t1
	return point(v1-series*(i2-i1)-t.Kappa*i2*dt+t.OpenStd*(t.RelativeOpenSlope*t2*f2+1/f2-t.RelativeOpenSlope*t1*f1-1/f1), i2)
}

// dim is the f(G) of the edition of 2021: Voc at 1000 W/m² over that at G, at 25 °C.
func (t *Traits) dim(g quantity.Irradiance) float64 {
	l := math.Log(1000 / g.WattsPerSquareMetre())
	return 1 + t.B1*l + t.B2*l*l
}

// Procedure3 returns the point between two of curves of different conditions, of which weight is the
// share of the second: condition and point move together. Beyond 0 to 1 it extrapolates. Source: IEC
// 60891:2009, clause 4.4, eq. 5 and 6, from memory.
func Procedure3(a, b cell.Point, weight quantity.Ratio) cell.Point {
	w := weight.Float()
	v := a.Voltage.Volts() + w*(b.Voltage.Volts()-a.Voltage.Volts())
	i := a.Current.Amperes() + w*(b.Current.Amperes()-a.Current.Amperes())
	return point(v, i)
}

// Translate moves a curve to another condition by the procedure that fits it and names it: the edition of
// 2021 of procedure 2 where the traits have its open volts, else procedure 1, which holds for changes of
// light of 30 % at most: ErrRange beyond.
func Translate(curve []cell.Point, from, to Condition, t Traits) ([]cell.Point, string, error) {
	_, ratio := step(from, to)
	move, name := Procedure2Of2021, "IEC 60891 procedure 2"
	if !(t.OpenStd > 0) {
		if ratio > 1/0.7 || ratio < 0.7 {
			return nil, "", ErrRange
		}
		move, name = Procedure1, "IEC 60891 procedure 1"
	}
	out := make([]cell.Point, len(curve))
	for i, p := range curve {
		out[i] = move(p, from, to, t)
	}
	return out, name, nil
}

// TraitsOf returns the constants of a module type, those that a label does not print from the curve
// fitted to it: B1 and B2 from its open volts at 500 and 200 W/m²; the inner resistance and its slope such
// that its best points at 500 W/m², and at 50 °C, move onto the label's power, as clauses 5 and 6 find them
// from measured curves. The resistance so found is no resistance of a wire and may be below zero.
func TraitsOf(kind *build.ModuleType, p *cell.Params) Traits {
	open := func(g float64) float64 {
		s := p.At(quantity.Irradiance(g), quantity.Celsius(25))
		return s.Open().Volts()
	}
	full := open(1000)
	l5, l2 := math.Log(2), math.Log(5)
	y5, y2 := full/open(500)-1, full/open(200)-1
	b2 := (y2/l2 - y5/l5) / (l2 - l5)
	b1 := y5/l5 - b2*l5
	voc, isc := kind.Voc.Volts(), kind.Isc.Amperes()
	t := Traits{
		Short: isc, Open: voc, OpenStd: voc,
		ShortSlope: isc * kind.IscCoefficient.PerKelvin(), OpenSlope: voc * kind.VocCoefficient.PerKelvin(),
		RelativeShortSlope: kind.IscCoefficient.PerKelvin(), RelativeOpenSlope: kind.VocCoefficient.PerKelvin(),
		LightSlope: p.A / voc, B1: b1, B2: b2,
	}
	want := kind.Pmax.Watts()
	// The power of a moved point is a straight line over either constant: two values give it.
	solve := func(from Condition, set func(x float64)) {
		s := p.At(from.Light, from.Cell)
		best := s.Best()
		power := func(x float64) float64 {
			set(x)
			return Procedure2Of2021(best, from, Standard, t).Power().Watts()
		}
		unit := 0.01 * voc / isc
		p0 := power(0)
		p1 := power(unit)
		if p1 == p0 {
			set(0)
			return
		}
		set(unit * (want - p0) / (p1 - p0))
	}
	solve(Condition{500 * quantity.WattPerSquareMetre, quantity.Celsius(25)}, func(x float64) { t.Series = x })
	solve(Condition{1000 * quantity.WattPerSquareMetre, quantity.Celsius(50)}, func(x float64) { t.Kappa = x })
	return t
}

// EquivalentCell returns the temperature of the cells that open volts show, the module sound and its open
// volts at standard conditions known. Light 50 to 1500 W/m², result -60 to 120 °C: ErrRange outside.
// Within 1 K of the fitted curve; 1 % of doubt in the volts is about 3 K. Source: IEC 60904-5:2011, clause
// 7, with the light term of IEC 60891:2021, from memory.
func EquivalentCell(open quantity.Voltage, light quantity.Irradiance, t Traits) (quantity.Temperature, error) {
	g := light.WattsPerSquareMetre()
	if !(g >= 50 && g <= 1500) || !(open > 0) || t.RelativeOpenSlope == 0 || !(t.OpenStd > 0) {
		return quantity.Temperature{}, ErrRange
	}
	f := t.dim(light)
	c := 25 + (open.Volts()/t.OpenStd-1/f)/(t.RelativeOpenSlope*f)
	if !(c >= -60 && c <= 120) {
		return quantity.Temperature{}, ErrRange
	}
	return quantity.Celsius(c), nil
}

// lightFor returns the light in which a sound module of the fitted curve reads the short-circuit amps at a
// temperature, 1 to 2000 W/m².
func lightFor(short quantity.Current, c quantity.Temperature, p *cell.Params) (quantity.Irradiance, error) {
	g, err := numeric.Brent(func(g float64) float64 {
		s := p.At(quantity.Irradiance(g), c)
		return s.Short().Amperes() - short.Amperes()
	}, 1, 2000, numeric.Limit{Steps: 100, Abs: 1e-3})
	return quantity.Irradiance(g), err
}
