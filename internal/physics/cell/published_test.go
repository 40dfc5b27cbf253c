package cell

import (
	"math"
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

// oldK is the constants the papers of the data sets use, k/q in V/K.
const oldK = 1.3806503e-23 / 1.60217646e-19

var easwarakhanthan = cite.Source{Title: "Easwarakhanthan et al. 1986, Int. J. Solar Energy 4:1"}

// curve57 is the 57 mm silicon cell at 33 °C, 1000 W/m².
var curve57 = [2][]float64{
	{-0.2057, -0.1291, -0.0588, 0.0057, 0.0646, 0.1185, 0.1678, 0.2132, 0.2545, 0.2924, 0.3269, 0.3585, 0.3873, 0.4137, 0.4373, 0.4590, 0.4784, 0.4960, 0.5119, 0.5265, 0.5398, 0.5521, 0.5633, 0.5736, 0.5833, 0.5900},
	{0.7640, 0.7620, 0.7605, 0.7605, 0.7600, 0.7590, 0.7570, 0.7570, 0.7555, 0.7540, 0.7505, 0.7465, 0.7385, 0.7280, 0.7065, 0.6755, 0.6320, 0.5730, 0.4990, 0.4130, 0.3165, 0.2120, 0.1035, -0.0100, -0.1230, -0.2100},
}

// curve36 is the 36-cell module at 45 °C, 1000 W/m².
var curve36 = [2][]float64{
	{0.1248, 1.8093, 3.3511, 4.7622, 6.0538, 7.2364, 8.3189, 9.3097, 10.2163, 11.0449, 11.8018, 12.4929, 13.1231, 13.6983, 14.2221, 14.6995, 15.1346, 15.5311, 15.8929, 16.2229, 16.5241, 16.7987, 17.0499, 17.2793, 17.4885},
	{1.0315, 1.0300, 1.0260, 1.0220, 1.0180, 1.0155, 1.0140, 1.0100, 1.0035, 0.9880, 0.9630, 0.9255, 0.8725, 0.8075, 0.7265, 0.6345, 0.5345, 0.4275, 0.3185, 0.2085, 0.1010, -0.0080, -0.1110, -0.2090, -0.3030},
}

// rmse returns the errors of a state against a measured curve: implicit, with the measured current put
// into the equation, and explicit, the model's current at the measured voltage.
func rmse(s *State, curve [2][]float64) (implicit, explicit float64) {
	for k, v := range curve[0] {
		i := curve[1][k]
		u := v + i*s.rs
		d := s.il - s.i0*math.Expm1(u/s.a) - s.g*u - i
		implicit += d * d
		d = s.CurrentAt(quantity.Voltage(v)).Amperes() - i
		explicit += d * d
	}
	n := float64(len(curve[0]))
	return math.Sqrt(implicit / n), math.Sqrt(explicit / n)
}

// The published fits give their published errors on the published curves, and the published points.
//
// Source: Easwarakhanthan et al. 1986, data sets; best parameters and errors as commonly printed since.
func TestMeasuredCurves(t *testing.T) {
	c := State{il: 0.76077553, i0: 3.23020e-7, rs: 0.03637709, g: 1 / 53.71852, leak: 1 / 53.71852, a: 1.48118359 * oldK * 306.15, cells: 1}
	im, ex := rmse(&c, curve57)
	testkit.Published(t, im, testkit.Check{What: "57 mm cell, implicit error, A", Source: easwarakhanthan, Want: 9.860219e-4, Tol: 1e-8})
	testkit.Published(t, ex, testkit.Check{What: "57 mm cell, explicit error at the implicit optimum, A", Source: easwarakhanthan, Want: 7.75392e-4, Tol: 2e-7})
	best := c.Best()
	testkit.Published(t, best.Power().Watts(), testkit.Check{What: "57 mm cell, highest power, W", Source: easwarakhanthan, Want: 0.3107, Tol: 0.00005})
	testkit.Published(t, c.Open().Volts(), testkit.Check{What: "57 mm cell, open voltage, V", Source: easwarakhanthan, Want: 0.5728, Tol: 0.00005})
	testkit.Published(t, c.Short().Amperes(), testkit.Check{What: "57 mm cell, short-circuit current, A", Source: easwarakhanthan, Want: 0.7603, Tol: 0.00005})
	ex2 := State{il: 0.76078797, i0: 3.106846e-7, rs: 0.03654695, g: 1 / 52.889789, leak: 1 / 52.889789, a: 1.4772678 * oldK * 306.15, cells: 1}
	_, e := rmse(&ex2, curve57)
	testkit.Published(t, e, testkit.Check{What: "57 mm cell, explicit error at its optimum, A", Source: cite.Source{Title: "Energies 2024, 17:2284"}, Want: 7.73006e-4, Tol: 2e-7})
	m := State{il: 1.03051430, i0: 3.4822629e-6, rs: 1.20127101, g: 1 / 981.98224, leak: 1 / 981.98224, a: 48.64283 * oldK * 318.15, cells: 36}
	im, _ = rmse(&m, curve36)
	testkit.Published(t, im, testkit.Check{What: "36-cell module, implicit error, A", Source: cite.Source{Title: easwarakhanthan.Title, Where: "module", Standing: cite.FromMemory}, Want: 2.425075e-3, Tol: 1e-8})
	b := m.Best()
	testkit.Published(t, b.Voltage.Volts(), testkit.Check{What: "36-cell module, working voltage, V", Source: cite.Source{Title: easwarakhanthan.Title, Where: "module", Standing: cite.FromMemory}, Want: 12.645888, Tol: 2e-4, Why: "the optimum is flat"})
}

// A module fitted from its sheet: its own points, hot and dim.
//
// Source: Villalva, Gazoli & Ruppert 2009, IEEE Trans. Power Electronics 24:1198, 200 W module.
func TestVillalva(t *testing.T) {
	src := cite.Source{Title: "Villalva, Gazoli & Ruppert 2009, IEEE Trans. Power Electronics 24:1198"}
	const ns, a, rs, rp = 54, 1.3, 0.221, 415.405
	state := func(g, celsius float64) State {
		d := celsius - 25
		vt := ns * oldK * (celsius + 273.15)
		i0 := (8.21 + 0.0032*d) / math.Expm1((32.9-0.123*d)/(a*vt))
		return State{il: (8.21*(rp+rs)/rp + 0.0032*d) * g / 1000, i0: i0, rs: rs, g: 1 / rp, leak: 1 / rp, a: a * vt, cells: ns}
	}
	for _, c := range []struct{ g, celsius, voc, pmax float64 }{
		{1000, 25, 32.88349, 200.1447}, {800, 25, 32.47691, 159.3990}, {400, 25, 31.20660, 77.1865},
		{1000, 50, 29.80904, 175.7665}, {1000, 75, 26.73485, 151.5382}, {800, 47, 29.74182, 142.1105},
	} {
		s := state(c.g, c.celsius)
		b := s.Best()
		testkit.Published(t, b.Power().Watts(), testkit.Check{What: "200 W module, highest power, W", Source: src, Want: c.pmax, Tol: 1e-3})
		testkit.Published(t, s.Open().Volts(), testkit.Check{What: "200 W module, open voltage, V", Source: src, Want: c.voc, Tol: 1e-4})
	}
}

// Our own fit of that label reproduces the label and its slopes.
//
// Source: the same label; De Soto, Klein & Beckman 2006 for the five conditions.
func TestFitReproducesLabel(t *testing.T) {
	l := Label{Pmax: 200.143, Voc: 32.9, Vmp: 26.3, Isc: 8.21, Imp: 7.61, PmaxCoefficient: -0.0048, VocCoefficient: -0.123 / 32.9,
		IscCoefficient: 0.0032 / 8.21, Cells: 54, LowLight: 0.95, Technology: Poly}
	p, r, err := Fit(l)
	if err != nil {
		t.Fatal(err)
	}
	s := p.At(1000*quantity.WattPerSquareMetre, quantity.Celsius(25))
	b := s.Best()
	src := cite.Source{Title: "De Soto, Klein & Beckman 2006, Solar Energy 80:78", Where: "eq. 12 to 16, label of Villalva et al. 2009"}
	testkit.Published(t, b.Power().Watts(), testkit.Check{What: "fitted highest power, W", Source: src, Want: 200.143, Tol: 0.2})
	testkit.Published(t, b.Voltage.Volts(), testkit.Check{What: "fitted working voltage, V", Source: src, Want: 26.3, Tol: 0.03})
	testkit.Published(t, s.Open().Volts(), testkit.Check{What: "fitted open voltage, V", Source: src, Want: 32.9, Tol: 0.03})
	testkit.Published(t, r.VocCoefficient.PerKelvin()*32.9, testkit.Check{What: "fitted slope of the open voltage, V/K", Source: src, Want: -0.123, Tol: 0.0025, Why: "2 % of the label's"})
}

// Light and temperature by the De Soto law, with its constant gap: low light at 25 °C.
//
// Source: De Soto, Klein & Beckman 2006, scaling of light current and shunt.
func TestDeSotoLight(t *testing.T) {
	p := Params{Cells: 54, IL: 8.214, I0: 9.825e-8, Rs: 0.221, G: 1 / 415.405, A: 1.80362, Gap: 1.121, Shunt: 1}
	s := p.At(200*quantity.WattPerSquareMetre, quantity.Celsius(25))
	b := s.Best()
	src := cite.Source{Title: "De Soto, Klein & Beckman 2006, Solar Energy 80:78", Where: "scaling laws"}
	testkit.Published(t, s.Open().Volts(), testkit.Check{What: "open voltage at 200 W/m², V", Source: src, Want: 29.98215, Tol: 1e-4})
	testkit.Published(t, s.Short().Amperes(), testkit.Check{What: "short-circuit current at 200 W/m², A", Source: src, Want: 1.64263, Tol: 1e-5})
	testkit.Published(t, b.Power().Watts(), testkit.Check{What: "highest power at 200 W/m², W", Source: src, Want: 37.69173, Tol: 1e-4})
}

// Relative efficiency in weak light and heat, against a model fitted to measured crystalline modules.
//
// Source: Huld et al. 2011, Solar Energy Materials & Solar Cells 95:3359, crystalline silicon.
func TestHuld(t *testing.T) {
	p, _, err := Fit(Label{Pmax: 100, Voc: 22.1, Vmp: 18.2, Isc: 5.85, Imp: 5.4945, PmaxCoefficient: -0.0045, VocCoefficient: -0.0033, IscCoefficient: 0.0005,
		Cells: 36, LowLight: 0.93, Technology: Poly})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ g, celsius, want float64 }{{500, 25, 0.99251}, {200, 25, 0.92293}, {1000, 60, 0.84156}, {800, 50, 0.88679}} {
		s := p.At(quantity.Irradiance(c.g), quantity.Celsius(c.celsius))
		got := s.Best().Power().Watts() / (100 * c.g / 1000)
		testkit.Published(t, got, testkit.Check{What: "relative efficiency of crystalline silicon, ratio", Source: cite.Source{Title: "Huld et al. 2011, Sol. Energy Mater. Sol. Cells 95:3359", Where: "crystalline silicon"},
			Want: c.want, Tol: 0.02, Why: "modules of one kind scatter so; the label here is of their class"})
	}
}

// Our fit of the two measured curves reaches the published least errors and parameters.
//
// Source: Easwarakhanthan et al. 1986, data sets; best errors as commonly printed since.
func TestFitCurve(t *testing.T) {
	fit := func(curve [2][]float64, cells int, celsius float64) (Params, float64) {
		m := Measured{Cells: cells, Temperature: quantity.Celsius(celsius)}
		for k, v := range curve[0] {
			m.Points = append(m.Points, Point{Voltage: quantity.Voltage(v), Current: quantity.Current(curve[1][k])})
		}
		p, e, err := FitCurve(m)
		if err != nil {
			t.Fatal(err)
		}
		return p, e.Amperes()
	}
	p, e := fit(curve57, 1, 33)
	testkit.Published(t, e, testkit.Check{What: "57 mm cell, least implicit error of our own fit, A", Source: easwarakhanthan, Want: 9.860219e-4, Tol: 1e-8})
	testkit.Published(t, p.Rs, testkit.Check{What: "57 mm cell, series resistance of our own fit, Ω", Source: easwarakhanthan, Want: 0.0363771, Tol: 2e-6})
	testkit.Published(t, p.IL, testkit.Check{What: "57 mm cell, light current of our own fit, A", Source: easwarakhanthan, Want: 0.7607755, Tol: 2e-6})
	m, e := fit(curve36, 36, 45)
	module := cite.Source{Title: easwarakhanthan.Title, Where: "module", Standing: cite.FromMemory}
	testkit.Published(t, e, testkit.Check{What: "36-cell module, least implicit error of our own fit, A", Source: module, Want: 2.425075e-3, Tol: 1e-8})
	testkit.Published(t, m.Rs, testkit.Check{What: "36-cell module, series resistance of our own fit, Ω", Source: module, Want: 1.20127, Tol: 2e-4})
}

// Hot and cold by the De Soto law. Its gap that falls in a line with the temperature is exactly a constant
// one, Eg (1 + 0.0002677 × 298.15 K) = 1.2105 eV, in the form used here.
//
// Source: De Soto, Klein & Beckman 2006, Solar Energy 80:78, eq. 8 to 12; cell of Villalva et al. 2009.
func TestDeSotoTemperature(t *testing.T) {
	p := Params{Cells: 54, IL: 8.214, I0: 9.825e-8, Rs: 0.221, G: 1 / 415.405, A: 1.80362, IscSlope: 0.0032, Gap: 1.121 * (1 + 0.0002677*298.15), Shunt: 1}
	src := cite.Source{Title: "De Soto, Klein & Beckman 2006, Solar Energy 80:78", Where: "eq. 8 to 12"}
	why := "the reference is computed with a Boltzmann constant rounded to seven digits"
	for _, c := range []struct{ g, celsius, voc, pmax float64 }{
		{800, 45, 28.60224, 135.5818}, {1000, 75, 23.21498, 125.573}, {1000, -10, 39.56958, 252.295},
	} {
		s := p.At(quantity.Irradiance(c.g), quantity.Celsius(c.celsius))
		b := s.Best()
		testkit.Published(t, s.Open().Volts(), testkit.Check{What: "open voltage, V", Source: src, Want: c.voc, Tol: 2e-4, Why: why})
		testkit.Published(t, b.Power().Watts(), testkit.Check{What: "highest power, W", Source: src, Want: c.pmax, Tol: 2e-3, Why: why})
	}
	hot := p.At(1000*quantity.WattPerSquareMetre, quantity.Celsius(75))
	testkit.Published(t, hot.i0, testkit.Check{What: "saturation current at 75 °C, A", Source: src, Want: 1.357973e-4, Tol: 5e-9, Why: why})
}
