package heat

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Row is a row of the table of King, Boyson & Kratochvil 2004.
type Row int

const (
	GlassGlassRack        Row = iota // glass/cell/glass, open rack
	GlassGlassClose                  // glass/cell/glass, close roof
	GlassPolymerRack                 // glass/cell/polymer, open rack
	GlassPolymerInsulated            // glass/cell/polymer, insulated back
	PolymerSteelRack                 // polymer/thin film/steel, open rack
	ConcentratorTracked              // linear concentrator
	rows                  = int(ConcentratorTracked) + 1
)

// sandia holds a, b (s/m) and the kelvins of the cell over the back at 1000 W/m². Source: King,
// Boyson & Kratochvil 2004, SAND2004-3535, table 1.
var sandia = [rows]struct{ a, b, d float64 }{
	GlassGlassRack:        {-3.47, -0.0594, 3},
	GlassGlassClose:       {-2.98, -0.0471, 1},
	GlassPolymerRack:      {-3.56, -0.0750, 3},
	GlassPolymerInsulated: {-2.81, -0.0455, 0},
	PolymerSteelRack:      {-3.58, -0.113, 3},
	ConcentratorTracked:   {-3.23, -0.130, 13},
}

// Sandia returns the temperature of a module's cells in light g on its plane, at the wind of 10 m height.
// Wind below zero counts as none; fitted to about 18 m/s, extrapolated beyond. Accuracy 5 K (source).
// It panics at an unknown row. Source: King, Boyson & Kratochvil 2004, SAND2004-3535, eq. 11 and 12.
func Sandia(r Row, g quantity.Irradiance, air quantity.Temperature, wind10m quantity.Speed) quantity.Temperature {
	if r < 0 || int(r) >= rows {
		panic("heat: unknown row")
	}
	k, e := sandia[r], g.WattsPerSquareMetre()
	back := air.Kelvin() + e*math.Exp(k.a+k.b*math.Max(0, wind10m.MetresPerSecond())) // eq. 11
	return finite(quantity.Kelvin(back + e/1000*k.d))                                 // eq. 12
}

// Linear is the pair of Faiman 2008: the loss in still air, and what each metre per second adds.
type Linear struct {
	Still    quantity.HeatTransfer
	PerSpeed quantity.HeatTransfer // for each 1 m/s
}

// Published pairs. Open racks; wind at the module's height.
var (
	// FaimanCrystalline: D. Faiman 2008, Prog. Photovolt. 16:307. From memory.
	FaimanCrystalline = Linear{25.0 * quantity.WattPerSquareMetreKelvin, 6.84 * quantity.WattPerSquareMetreKelvin}
	// The rest: M. Koehl et al. 2011, Sol. Energy Mater. Sol. Cells 95:1638; the CIS pair from memory.
	KoehlCrystalline = Linear{30.02 * quantity.WattPerSquareMetreKelvin, 6.28 * quantity.WattPerSquareMetreKelvin}
	KoehlAmorphous   = Linear{25.73 * quantity.WattPerSquareMetreKelvin, 10.67 * quantity.WattPerSquareMetreKelvin}
	KoehlCdTe        = Linear{23.37 * quantity.WattPerSquareMetreKelvin, 5.44 * quantity.WattPerSquareMetreKelvin}
	KoehlCIS         = Linear{22.19 * quantity.WattPerSquareMetreKelvin, 4.09 * quantity.WattPerSquareMetreKelvin}
)

// Faiman returns the temperature of a module in light g on its plane, at the wind of its own height:
// air + g/(U0 + U1 v). Wind below zero counts as none. It panics when the loss is not above zero.
// Source: D. Faiman 2008, Prog. Photovolt. 16:307, eq. 3; IEC 61853-2:2016.
func Faiman(u Linear, g quantity.Irradiance, air quantity.Temperature, wind quantity.Speed) quantity.Temperature {
	h := u.Still.WattsPerSquareMetreKelvin() + u.PerSpeed.WattsPerSquareMetreKelvin()*math.Max(0, wind.MetresPerSecond())
	if !(h > 0) {
		panic("heat: loss not above zero")
	}
	return finite(quantity.Kelvin(air.Kelvin() + g.WattsPerSquareMetre()/h))
}

// NOCT returns the temperature of a module's cells in light g from its nominal operating cell
// temperature, which is that at 800 W/m², 20 °C and 1 m/s on an open rack, without load. Worked is the
// efficiency at which it gives power, 0 for none; the light is absorbed at 0.9. Only for racks and the
// wind of the definition. Source: IEC 61215:2005, 10.5; Duffie & Beckman, Solar Engineering of Thermal
// Processes, eq. 23.3.2.
func NOCT(nominal quantity.Temperature, worked quantity.Ratio, g quantity.Irradiance, air quantity.Temperature) quantity.Temperature {
	rise := nominal.Celsius() - 20
	return finite(quantity.Kelvin(air.Kelvin() + g.WattsPerSquareMetre()/800*rise*(1-worked.Float()/0.9)))
}
