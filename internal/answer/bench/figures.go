package bench

import (
	"fmt"
	"math"
	"strings"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// warmth is the temperature of the cells with its standard uncertainty.
type warmth struct {
	celsius, unsure float64 // °C, K
	from            string
	volts           bool // from the open volts
}

// backToCell is how much warmer the cells are than the back at 1000 W/m², 2 to 3 K. Source: handbook E4,
// after the field guides; King et al. 2004, SAND2004-3535, table 1: 3 K on glass.
const backToCell = 2.5

// cells finds the temperature of the cells.
func (j *judge) cells(l light) (warmth, bool) {
	var equivalent *float64
	if j.open > 0 {
		if c, err := EquivalentCell(quantity.Voltage(j.open), quantity.Irradiance(l.g), j.traits); err == nil {
			x := c.Celsius()
			equivalent = &x
		}
	}
	if back := j.s.Back; back != nil {
		b := back.Celsius()
		air := j.s.Air
		settle := "a sensor taped to the back behind a cell, shaded, five minutes"
		switch {
		case b < -40 || b > 115:
			j.say("temperature", true, settle, "%.0f °C is no temperature of a module in the sun", b)
			return warmth{}, false
		case air != nil && b < air.Celsius()-3:
			j.say("temperature", true, settle, "the back reads %.0f °C in air of %.0f °C: in the sun it is never the colder; sensor off, sign or unit wrong", b, air.Celsius())
			return warmth{}, false
		case b < 0 && l.g > 400 && air == nil:
			j.say("temperature", true, "the air's temperature in the shade; the sign and the unit checked", "%.0f °C at the back in %.0f W/m²: only in hard frost, and no air temperature stands beside it; sign or unit may be wrong", b, l.g)
			return warmth{}, false
		}
		t := warmth{celsius: b + backToCell*l.g/1000, from: "back",
			unsure: math.Hypot(j.set.Meters.Temperature.Kelvins()/math.Sqrt(3), 1*l.g/1000)}
		if equivalent != nil && math.Abs(*equivalent-t.celsius) > 12 && !l.own {
			j.say("temperatures differ", false, settle, "Voc shows cells at %.0f °C, the back %.0f °C: the sensor sits badly, the light is not what it was taken for, or the volts are not the label's", *equivalent, b)
		}
		return t, true
	}
	model, modelled := j.model(l)
	if equivalent != nil && !l.own {
		c := *equivalent
		beta := math.Abs(j.kind.VocCoefficient.PerKelvin())
		u := math.Hypot(j.unsureVolts(j.open).Float(), 0.015) / math.Max(beta, 1e-4)
		switch {
		case c >= -40 && c <= 100 && (!modelled || u < model.unsure && math.Abs(c-model.celsius) < 2*model.unsure):
			return warmth{celsius: c, from: "Voc", unsure: u, volts: true}, true
		case !modelled:
			j.say("temperature", true, "the back's temperature", "Voc %.4g V would want cells at %.0f °C: it is not the label's module, or not sound, or the light is wrong", j.open, c)
			return warmth{}, false
		}
	}
	if modelled {
		if j.s.Air == nil && j.set.Air == nil {
			j.say("no temperature", false, "the back's temperature, or the air's in the shade", "no temperature was read: the thermal model with air of %.0f °C ± 10 K stands for it", j.airCelsius())
		}
		return model, true
	}
	j.say("no temperature", true, "the back's temperature, or the air's in the shade", "no temperature is known: 20 K are 7 %% of the power and 6 %% of the volts")
	return warmth{}, false
}

// model is the temperature of the cells by the thermal model; ok is false where place, time or light is
// not known.
func (j *judge) model(l light) (warmth, bool) {
	f := j.figures
	if f == nil || l.own {
		return warmth{}, false
	}
	air := 5.0
	switch {
	case j.s.Air != nil:
		air = 1
	case j.set.Air != nil:
		air = j.set.airUnsure().Kelvins()
	}
	rise := 0.0
	if f.useful > 0 { // the light is not that of the model's sky
		rise = (f.module - j.airCelsius()) * (l.g/f.useful - 1)
	}
	return warmth{celsius: f.module + rise, from: "thermal model", unsure: math.Hypot(air, 5*l.g/1000)}, true
}

// airCelsius is the air's temperature that the scene used.
func (j *judge) airCelsius() float64 {
	sc, _ := j.scene()
	return sc.Air.Celsius()
}

// soak finds a module that had not had its time in the sun.
func (j *judge) soak() {
	short := j.s.InSun == nil || *j.s.InSun < 30*time.Minute
	said := "it was not noted how long it had lain in the sun"
	if j.s.InSun != nil {
		said = fmt.Sprintf("it had %.0f minutes of sun", j.s.InSun.Minutes())
	}
	switch t := j.kind.Technology; {
	case !short:
	case t == build.CIGS || t == build.CIGSFoil:
		j.say("light soak", false, "30 to 60 minutes of sun first, working", "%s: CIGS gives 3 to 5 %% less until it has lain 30 to 60 minutes in the sun", said)
	case t == build.AmorphousSilicon:
		j.say("first light", false, "the history of the module", "%s: amorphous silicon loses 20 to 35 %% in its first weeks of light, and the label is of after", said)
	}
}

// soaked is the part of the uncertainty for time in the sun.
func (j *judge) soaked() []Part {
	short := j.s.InSun == nil || *j.s.InSun < 30*time.Minute
	switch t := j.kind.Technology; {
	case short && (t == build.CIGS || t == build.CIGSFoil):
		return []Part{{Name: "light soak", Standard: Bound(5 * quantity.Percent)}}
	case t == build.AmorphousSilicon:
		return []Part{{Name: "history of light", Standard: Bound(6 * quantity.Percent)}}
	}
	return nil
}

// slope is the part that an unsure temperature and an unsure slope make: limits of the slope are taken as
// 15 % of it.
func slope(name string, coefficient quantity.PerKelvin, t warmth) []Part {
	k := math.Abs(coefficient.PerKelvin())
	return []Part{{Name: "temperature of the cells", Standard: quantity.Ratio(k * t.unsure)},
		{Name: "slope of " + name, Standard: Bound(quantity.Ratio(0.15 * k * math.Abs(t.celsius-25)))}}
}

func (j *judge) add(out *Normal, f Figure, parts []Part) {
	f.Ratio = quantity.Ratio(f.Standard / f.Label)
	f.Budget = Combine(parts, level95)
	f.light = out.Condition.Light.WattsPerSquareMetre()
	out.Figures = append(out.Figures, f)
}

// amperes brings Isc to standard conditions.
func (j *judge) amperes(out *Normal, c Condition, l light, t warmth) {
	if j.short <= 0 {
		return
	}
	dt := t.celsius - 25
	std := j.short * 1000 / l.g / (1 + j.kind.IscCoefficient.PerKelvin()*dt)
	st := j.params.At(c.Light, c.Cell)
	parts := append([]Part{{Name: "ammeter", Standard: j.unsureAmps(j.short)}}, l.parts...)
	parts = append(parts, slope("Isc", j.kind.IscCoefficient, t)...)
	parts = append(parts, j.soaked()...)
	f := Figure{Quantity: ShortAmps, guessed: l.guess, Read: j.short, Standard: std, Label: j.kind.Isc.Amperes(), Method: "IEC 60891, scaled by the light"}
	f.Now = j.now(st.Short().Amperes(), parts)
	j.add(out, f, parts)
}

// now is the expected value of a sound module with the band of the conditions and of its label, 1.5 %.
func (j *judge) now(expected float64, parts []Part) Value {
	b := Combine(append(append([]Part(nil), parts...), Part{Name: "label", Standard: 1.5 * quantity.Percent}), level95)
	u := b.Expanded.Float() * expected
	return Value{expected, math.Max(0, expected-u), expected + u}
}

// voltsOpen brings Voc to standard conditions by procedure 2 of the edition of 2021, at no current.
func (j *judge) voltsOpen(out *Normal, c Condition, l light, t warmth) {
	if j.open <= 0 || t.volts {
		return
	}
	f1 := j.traits.dim(c.Light)
	share := 1/f1 + j.traits.RelativeOpenSlope*(t.celsius-25)*f1
	if !(share > 0.3) {
		return
	}
	st := j.params.At(c.Light, c.Cell)
	dim := 0.0
	for _, p := range l.parts {
		dim = math.Hypot(dim, p.Standard.Float())
	}
	parts := append([]Part{{Name: "voltmeter", Standard: j.unsureVolts(j.open)}, {Name: "light", Standard: quantity.Ratio(j.traits.B1 * dim)}}, slope("Voc", j.kind.VocCoefficient, t)...)
	f := Figure{Quantity: OpenVolts, Read: j.open, Standard: j.open / share, Label: j.kind.Voc.Volts(), Method: "IEC 60891 procedure 2"}
	f.Now = j.now(st.Open().Volts(), parts)
	j.add(out, f, parts)
}

// power brings the power to standard conditions.
func (j *judge) power(out *Normal, c Condition, l light, t warmth) {
	if j.watts <= 0 || l.own {
		return
	}
	st := j.params.At(c.Light, c.Cell)
	best := st.Best()
	expected := best.Power().Watts()
	if expected <= 0 {
		return
	}
	f := Figure{Quantity: Power, guessed: l.guess, Read: j.watts, Label: j.kind.Pmax.Watts(), Method: "the label's fitted curve"}
	parts := append([]Part(nil), l.parts...)
	if j.volts > 0 && j.amps > 0 {
		off := j.volts/best.Voltage.Volts() - 1
		at := j.volts * st.CurrentAt(quantity.Voltage(j.volts)).Amperes()
		loss := math.Max(0, 1-at/expected)
		parts = append(parts, Part{Name: "voltmeter", Standard: j.unsureVolts(j.volts)}, Part{Name: "ammeter", Standard: j.unsureAmps(j.amps)})
		if math.Abs(off) > 0.10 {
			f.bound = true
			f.Standard = j.watts * f.Label / expected
			j.say("not the best point", false, "the load or battery changed until volts are within 10 % of the best point's", "%.4g V is %.0f %% off the best point's %.4g V: the module gives at least the watts read, and could give more; a tracker that is full, or a switch, holds it there", j.volts, 100*off, best.Voltage.Volts())
		} else {
			p := Procedure2Of2021(point(j.volts, j.amps), c, Standard, j.traits)
			f.Standard, f.Method = p.Power().Watts(), "IEC 60891 procedure 2"
			parts = append(parts, Part{Name: "working point", Standard: Bound(quantity.Ratio(math.Max(loss, 0.003)))})
		}
	} else {
		f.Standard = j.watts * f.Label / expected
		parts = append(parts, Part{Name: "watt meter", Standard: j.unsureWatts(j.watts)}, Part{Name: "tracking", Standard: Bound(2 * quantity.Percent)})
	}
	parts = append(parts, slope("power", j.kind.PmaxCoefficient, t)...)
	parts = append(parts, j.soaked()...)
	f.Now = j.now(expected, parts)
	j.add(out, f, parts)
}

// lowVolts finds open volts so low that they are near the label's working voltage: heat alone can do that,
// and so can a fault.
func (j *judge) lowVolts(out *Normal) {
	vmp, imp := j.kind.Vmp.Volts(), j.kind.Imp.Amperes()
	if j.open <= 0.5*vmp || j.open > 1.10*vmp {
		return
	}
	how := fmt.Sprintf("Voc %.4g V is only %.0f %% above the label's working voltage, %.4g V", j.open, 100*(j.open/vmp-1), vmp)
	if j.open < vmp {
		how = fmt.Sprintf("Voc %.4g V is %.0f %% below the label's working voltage, %.4g V", j.open, 100*(1-j.open/vmp), vmp)
	}
	g, of := 1000.0, "full light"
	switch {
	case out.Condition != nil:
		g = out.Condition.Light.WattsPerSquareMetre()
		of = fmt.Sprintf("the %.0f W/m² of this minute", g)
	case j.short > 0:
		g = math.Min(1400, 1000*j.short/j.kind.Isc.Amperes())
		of = fmt.Sprintf("the %.0f W/m² that its Isc shows if it is sound", g)
	}
	if j.short > 0 && j.short < imp {
		how += fmt.Sprintf(", and Isc %.4g A is %.1f %% under its working current, %.4g A, with nothing drawn off", j.short, 100*(1-j.short/imp), imp)
	}
	sound := fmt.Sprintf("by its label Voc is %.0f %% above it in the laboratory", 100*(j.kind.Voc.Volts()/vmp-1))
	var heat string
	c, err := EquivalentCell(quantity.Voltage(j.open), quantity.Irradiance(math.Max(50, g)), j.traits)
	switch {
	case err != nil:
		heat = "no heat makes a sound one read that: a shorted section, a diode or another module"
	case c.Celsius() > 85:
		heat = fmt.Sprintf("a sound one reads that with its cells at %.0f °C in %s, hotter than a module gets: a shorted section, a diode, or another module is likely", c.Celsius(), of)
	case j.s.Back != nil:
		heat = fmt.Sprintf("a sound one reads that with its cells at %.0f °C in %s; its back reads %.0f °C", c.Celsius(), of, j.s.Back.Celsius())
	default:
		heat = fmt.Sprintf("a sound one reads that with its cells at %.0f °C in %s: heat alone can be it, and so can a lost section", c.Celsius(), of)
	}
	var need []string
	if j.s.Back == nil {
		need = append(need, "the back's temperature, taped and shaded")
	}
	if j.s.Light == nil && j.s.Reference == nil {
		need = append(need, "the light in its plane, by a meter or a reference module")
	}
	if j.watts <= 0 {
		need = append(need, "volts and amperes under load, at a controller that is not full")
	}
	need = append(need, "a twin read in the same minute, A-B-A")
	j.say("low volts", false, strings.Join(need, "; "), "%s; %s; %s. This reading is not enough to pass it", how, sound, heat)
}
