package bench

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// ShadeOutcome is what is left of a module's reading under a shade.
type ShadeOutcome struct {
	Module   string
	Shade    string // what shaded it, as noted
	Quantity string
	Pairs    int
	Left     quantity.Ratio // of the unshaded reading
	Budget   Budget
	Says     string
}

// Shade returns what each shade leaves of a module: readings of kind "shade" between two unshaded ones of
// the same module within ten minutes, as in Compare. Readings of the same note are of the same shade.
func Shade(samples []Sample, set Setting) []ShadeOutcome {
	if set.Meters == (Meters{}) {
		set.Meters, _ = MetersOf("")
	}
	type key struct{ module, note string }
	shaded := map[key][]Sample{}
	for _, s := range samples {
		if strings.EqualFold(s.Kind, "shade") && !s.Time.IsZero() {
			k := key{s.Module, s.Note}
			shaded[k] = append(shaded[k], s)
		}
	}
	keys := make([]key, 0, len(shaded))
	for k := range shaded {
		keys = append(keys, k)
	}
	sort.Slice(keys, func(i, j int) bool { return keys[i].module+keys[i].note < keys[j].module+keys[j].note })
	var out []ShadeOutcome
	for _, k := range keys {
		for _, q := range []string{Power, ShortAmps} {
			if o, ok := shade(k.module, k.note, q, readings(samples, k.module, q), shaded[k], set); ok {
				out = append(out, o)
				break
			}
		}
	}
	return out
}

func shade(module, note, q string, clear, shaded []Sample, set Setting) (ShadeOutcome, bool) {
	o := ShadeOutcome{Module: module, Shade: note, Quantity: q}
	one := &build.ModuleType{Pmax: 1 * quantity.Watt, Isc: 1 * quantity.Ampere, Voc: 1 * quantity.Volt}
	c := &comparison{a: Contestant{module, one}, b: Contestant{module, one}, set: set}
	var used []float64
	size := 0.0
	for i := range shaded {
		if _, ok := shaded[i].value(q); !ok {
			continue
		}
		if p, ok := c.between(clear, &shaded[i], q, false); ok && !p.Left {
			used = append(used, p.Ratio.Float())
			size = p.A
		}
	}
	if len(used) == 0 {
		return o, false
	}
	mean, spread := meanSpread(used)
	n := float64(len(used))
	o.Pairs, o.Left = len(used), quantity.Ratio(mean)
	parts := []Part{{Name: "last digit of the meter", Standard: Bound(quantity.Ratio(set.Meters.WattsFixed.Watts() / size))}}
	if q == ShortAmps {
		parts[0].Standard = Bound(quantity.Ratio(set.Meters.AmpsFixed.Amperes() / 3 / size))
	}
	if n > 1 {
		parts = append(parts, Part{Name: "scatter of the pairs", Standard: quantity.Ratio(spread / math.Sqrt(n)), Freedom: n - 1})
	} else {
		parts = append(parts, Part{Name: "scatter, not seen", Standard: 2 * quantity.Percent})
	}
	o.Budget = Combine(parts, level95)
	o.Says = fmt.Sprintf("%s under %s keeps %.0f %% ± %.0f %% of its %s, by %s", module, orWord(note, "the shade"), 100*mean, o.Budget.Expanded.Percent(), q, pairsOf(len(used)))
	if q == ShortAmps {
		o.Says += "; Isc of a shaded module tells little of its power: read it under load"
	}
	return o, true
}

func orWord(s, word string) string {
	if s == "" {
		return word
	}
	return s
}

// HeatOutcome is the slope of a module with temperature, as read.
type HeatOutcome struct {
	Module   string
	Quantity string
	Readings int
	Cold     quantity.Temperature // range of the cells
	Hot      quantity.Temperature
	Slope    quantity.PerKelvin // relative to the reading at 25 °C
	Expanded quantity.PerKelvin // 95 %
	Label    quantity.PerKelvin
	Says     string
}

// Heat returns the slopes of volts and power with temperature of the normalised readings of one module,
// which need its back's temperature, and for power the light by a meter or a reference module, by a straight line through at least four
// readings over at least 10 K; the interval is by Student. Voc is first brought to 1000 W/m².
func Heat(module string, kind *build.ModuleType, normals []Normal) []HeatOutcome {
	var out []HeatOutcome
	for _, q := range []string{Power, OpenVolts} {
		var t, y []float64
		for i := range normals {
			n := &normals[i]
			f := n.Figure(q)
			if q == Power && n.LightFrom != "meter" && n.LightFrom != "reference module" {
				continue // a modelled sky's error runs with the hour, as the heat does
			}
			if f == nil || n.Stopped || n.CellFrom != "back" || f.bound || n.Condition == nil {
				continue
			}
			dt := n.Condition.Cell.Celsius() - 25
			_, k := label(kind, q)
			t = append(t, dt)
			y = append(y, f.Standard/f.Label*(1+k*dt)) // the correction for temperature undone
		}
		if o, ok := fitHeat(t, y); ok {
			_, k := label(kind, q)
			o.Module, o.Quantity, o.Label = module, q, quantity.PerKelvin(k)
			s, u := o.Slope.PercentPerKelvin(), o.Expanded.PercentPerKelvin()
			o.Says = fmt.Sprintf("%s of %s falls %.2f ± %.2f %% for each kelvin, label %.2f %%", q, module, -s, u, -100*k)
			if math.Abs(s-100*k) > u {
				o.Says += ": the difference is more than these readings scatter"
			} else {
				o.Says += ": no difference is shown"
			}
			out = append(out, o)
		}
	}
	return out
}

// fitHeat fits y = a (1 + slope t).
func fitHeat(t, y []float64) (HeatOutcome, bool) {
	n := float64(len(t))
	if n < 4 {
		return HeatOutcome{}, false
	}
	mt, _ := meanSpread(t)
	my, _ := meanSpread(y)
	stt, sty, low, high := 0.0, 0.0, math.Inf(1), math.Inf(-1)
	for i := range t {
		stt += (t[i] - mt) * (t[i] - mt)
		sty += (t[i] - mt) * (y[i] - my)
		low, high = math.Min(low, t[i]), math.Max(high, t[i])
	}
	if high-low < 10 || stt <= 0 {
		return HeatOutcome{}, false
	}
	b := sty / stt
	a := my - b*mt
	rest := 0.0
	for i := range t {
		d := y[i] - a - b*t[i]
		rest += d * d
	}
	if a <= 0 {
		return HeatOutcome{}, false
	}
	u := math.Sqrt(rest/(n-2)/stt) / a * Coverage(level95, n-2)
	return HeatOutcome{Readings: len(t), Cold: quantity.Celsius(25 + low), Hot: quantity.Celsius(25 + high), Slope: quantity.PerKelvin(b / a), Expanded: quantity.PerKelvin(u)}, true
}
