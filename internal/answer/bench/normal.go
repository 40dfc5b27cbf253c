package bench

import (
	"math"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
	"noonmark/internal/physics/sky"
)

// Quantities that are judged.
const (
	OpenVolts = "Voc"
	ShortAmps = "Isc"
	Power     = "power"
)

// Figure is a reading brought to standard conditions, V, A or W.
type Figure struct {
	Quantity string
	Read     float64
	Standard float64        // what it would read at 1000 W/m² and 25 °C
	Label    float64        // what the label says of that
	Now      Value          // what a module as its label should read at this light and temperature
	Ratio    quantity.Ratio // Standard over Label
	Budget   Budget         // of Ratio, relative, this reading alone
	Method   string
	light    float64 // on the cells, W/m²
	guessed  bool    // its light is of a sky that nobody noted
	bound    bool    // at least this: the working point is not the best one
}

// Normal is a sample brought to standard conditions.
type Normal struct {
	Sample    Sample
	Condition *Condition // nil: not known
	LightFrom string     // where the light is from
	CellFrom  string     // and the temperature of the cells
	Incidence quantity.Angle
	Figures   []Figure
	Findings  []Finding
	Stopped   bool // no verdict may rest on it
}

// Figure returns a quantity's figure, nil where there is none.
func (n *Normal) Figure(name string) *Figure {
	for i := range n.Figures {
		if n.Figures[i].Quantity == name {
			return &n.Figures[i]
		}
	}
	return nil
}

// Normaliser brings readings of one module type to standard conditions.
type Normaliser struct {
	kind   *build.ModuleType
	params cell.Params
	traits Traits
	front  sky.Front
	set    Setting
}

// NewNormaliser fits the type's curve; the error is that of a label no cell has.
func NewNormaliser(kind *build.ModuleType, set Setting) (*Normaliser, error) {
	p, err := forecast.Fit(kind)
	if err != nil {
		return nil, err
	}
	if set.Meters == (Meters{}) {
		set.Meters, _ = MetersOf("")
	}
	return &Normaliser{kind: kind, params: p, traits: TraitsOf(kind, &p), front: sky.FrontOf(sky.Material(kind.Front)), set: set}, nil
}

// light is the light on the cells with the parts of its uncertainty, relative.
type light struct {
	g     float64
	from  string
	parts []Part
	own   bool // from the sample's own Isc: it says nothing about the amps
	guess bool // of a sky that nobody noted
}

// Normalise brings one reading to 1000 W/m², AM1.5 and 25 °C.
//
// Light comes from the meter, the reference module, or the clear sky of the place and minute, in this
// order; for the volts alone, from the module's own short-circuit amps. The temperature of the cells comes
// from the back and 2.5 K at full light over it, from the open volts where they tell more than the thermal
// model and agree with it (IEC 60904-5; not for judging the volts), or from that model. Isc by the slope and light of IEC 60891; Voc by procedure 2 of 2021;
// power of a working point by procedure 2 where volts and amperes were read, else by the fitted curve.
// Each contribution of the uncertainty is listed; limits of error count as even within them (JCGM 100,
// 4.3.7). Whatever forbids a verdict is a finding that stops it.
func (n *Normaliser) Normalise(s Sample) Normal {
	set := n.set
	if m, known := MetersOf(s.Instrument); known {
		m.Light, m.LightFixed, m.Temperature = set.Meters.Light, set.Meters.LightFixed, set.Meters.Temperature
		set.Meters = m
	}
	j := &judge{s: &s, set: &set, kind: n.kind, params: &n.params, traits: n.traits, front: &n.front}
	out := Normal{Sample: s}
	j.air()
	j.signs()
	j.product()
	j.wrongModule()
	j.sun()
	if j.figures != nil {
		facing := set.Facing
		if s.Facing != nil {
			facing = *s.Facing
		}
		out.Incidence = quantity.Angle(math.Acos(math.Max(-1, math.Min(1, j.figures.seen.CosIncidence(facing).Float()))))
	}
	if !j.stopped {
		j.normalise(&out)
	}
	j.lowVolts(&out)
	out.Findings, out.Stopped = j.findings, j.stopped
	return out
}

// normalise fills in condition and figures.
func (j *judge) normalise(out *Normal) {
	l, ok := j.light(out)
	if !ok {
		j.ownLight(out)
		return
	}
	t, ok := j.cells(l)
	if !ok {
		return
	}
	out.LightFrom, out.CellFrom = l.from, t.from
	c := Condition{quantity.Irradiance(l.g), quantity.Celsius(t.celsius)}
	out.Condition = &c
	j.soak()
	j.amperes(out, c, l, t)
	warm := t
	if m, ok := j.model(l); ok && t.volts { // volts are not judged by the temperature they gave
		warm = m
	}
	j.voltsOpen(out, Condition{c.Light, quantity.Celsius(warm.celsius)}, l, warm)
	j.power(out, c, l, t)
	if len(out.Figures) == 0 {
		j.say("nothing read", true, "", "no Voc, Isc or power was read")
	}
}

// light finds the light on the cells.
func (j *judge) light(out *Normal) (light, bool) {
	s := j.s
	incidence := 45 * math.Pi / 180
	if j.figures != nil {
		incidence = out.Incidence.Radians()
	}
	tilt := Part{Name: "tilt, 2°", Standard: Bound(quantity.Ratio(2 * math.Pi / 180 * math.Min(8, math.Tan(math.Min(incidence, 1.45)))))}
	spectrum := Part{Name: "spectrum", Standard: 1 * quantity.Percent}
	if thinFilm(j.kind.Technology) {
		spectrum.Standard = 2 * quantity.Percent
	}
	switch {
	case s.Light != nil:
		g := s.Light.WattsPerSquareMetre()
		if !j.possible(g) {
			return light{}, false
		}
		m := j.set.Meters
		gain := math.Max(m.Light.Float(), m.LightFixed.WattsPerSquareMetre()/g)
		l := light{g: g, from: "meter", parts: []Part{{Name: "light meter", Standard: Bound(quantity.Ratio(gain))}, tilt, spectrum}}
		if f := j.figures; f != nil && f.plane > 0 {
			through := f.useful / f.plane
			l.g *= through
			l.parts = append(l.parts, Part{Name: "incidence", Standard: quantity.Ratio(math.Abs(1-through) / 2)})
			if g > 1.25*f.plane+50 {
				j.say("more than clear sky", false, "", "the meter's %.0f W/m² is above the %.0f W/m² of a clear sky at this minute: a cloud's edge, a mirror or another tilt; wait until it is steady", g, f.plane)
			}
			if f.plane > 300 && g < 0.5*f.plane {
				j.say("dim", false, "", "the meter's %.0f W/m² is half of a clear sky's or less: under cloud light changes by the second", g)
			}
		}
		return l, true
	case s.Reference != nil && j.set.Reference != nil:
		r := j.set.Reference
		dt := 0.0
		if s.Back != nil {
			dt = s.Back.Celsius() + backToCell - 25
		} else if j.figures != nil {
			dt = j.figures.module - 25
		}
		amps := math.Abs(s.Reference.Amperes())
		g := 1000 * amps / r.Short.Amperes() / (1 + r.Slope.PerKelvin()*dt)
		if !j.possible(g) {
			return light{}, false
		}
		return light{g: g, from: "reference module", parts: []Part{{Name: "reference module's own amps", Standard: Bound(r.Unsure)},
			{Name: "amps of the reference", Standard: j.unsureAmps(amps)}, {Name: "side by side", Standard: Bound(1 * quantity.Percent)}}}, true
	case j.figures != nil && j.figures.useful > 0:
		f := j.figures
		sc, _ := j.scene()
		u := sc.lightUnsure()
		if s.Cloud == nil && !j.set.SkySaid {
			u = 0.10
			j.say("sky not said", false, "the sky as seen, or a light meter", "neither light nor sky was noted: a clear sky is taken, with 10 %% of doubt")
		}
		if f.plane < 100 {
			j.say("too dim", true, "the hours about noon", "a clear sky gives %.0f W/m² on this plane at this minute: too little to judge by", f.plane)
			return light{}, false
		}
		return light{g: f.useful, guess: s.Cloud == nil && !j.set.SkySaid, from: "clear sky of this place and minute", parts: []Part{{Name: "light from the sky model", Standard: quantity.Ratio(u)}, tilt, spectrum}}, true
	}
	return light{}, false
}

// possible finds light that no sun gives and light too weak to judge by.
func (j *judge) possible(g float64) bool {
	switch {
	case g < 20:
		j.say("no light", true, "a reading in the sun, above 700 W/m²", "%.4g W/m² is no sunlight: the sensor was covered, off, or in other units; nothing can be normalised by it", g)
	case g < 200:
		j.say("too dim", true, "a reading above 700 W/m²", "%.0f W/m² is too weak to judge a module by: small errors of light and leaks grow large", g)
	case g > 1450:
		j.say("too much light", true, "the light meter's range and unit checked", "%.0f W/m² is more than the sun gives on the ground (about 1100, for seconds 1400 at a cloud's edge): unit, range or a mirror; nothing can be normalised by it", g)
	default:
		if g > 1200 {
			j.say("cloud edge", false, "a steady clear sky", "%.0f W/m² occurs at the edge of a cloud alone, for seconds", g)
		} else if g < 600 {
			j.say("weak light", false, "a reading above 700 W/m²", "%.0f W/m²: IEC 60891 wants more; the correction is long and the band wide", g)
		}
		return true
	}
	return false
}

// ownLight judges the volts alone by the light that the module's own amps show.
func (j *judge) ownLight(out *Normal) {
	if j.stopped {
		return
	}
	settle := "light in the module's plane by a meter or a reference module, or place, time and sky"
	if j.open <= 0 || j.short <= 0 || j.s.Back == nil {
		j.say("no light known", true, settle, "neither light nor place and time are known: a reading without its light proves nothing")
		return
	}
	c := j.s.Back.Celsius() + backToCell
	g, err := lightFor(quantity.Current(j.short), quantity.Celsius(c), j.params)
	if err != nil || !j.possible(g.WattsPerSquareMetre()) {
		return
	}
	j.say("light from own amps", false, settle, "light is not known: taken as the %.0f W/m² that its own Isc shows, which tells the volts and cannot tell the amps or watts", g.WattsPerSquareMetre())
	l := light{g: g.WattsPerSquareMetre(), from: "its own Isc", parts: []Part{{Name: "light from its own amps", Standard: 5 * quantity.Percent}}, own: true}
	t, ok := j.cells(l)
	if !ok {
		return
	}
	out.LightFrom, out.CellFrom = l.from, t.from
	cond := Condition{g, quantity.Celsius(t.celsius)}
	out.Condition = &cond
	j.voltsOpen(out, cond, l, t)
}

// thinFilm reports whether a technology is of thin film.
func thinFilm(t build.Technology) bool {
	return t == build.CIGS || t == build.CIGSFoil || t == build.CdTe || t == build.AmorphousSilicon
}

// unsureAmps and the next two are the meter's relative standard uncertainty at a reading.
func (j *judge) unsureAmps(i float64) quantity.Ratio {
	m := j.set.Meters
	return Bound(quantity.Ratio(m.Amps.Float() + m.AmpsFixed.Amperes()/i))
}

func (j *judge) unsureVolts(v float64) quantity.Ratio {
	m := j.set.Meters
	return Bound(quantity.Ratio(m.Volts.Float() + m.VoltsFixed.Volts()/v))
}

func (j *judge) unsureWatts(p float64) quantity.Ratio {
	m := j.set.Meters
	return Bound(quantity.Ratio(m.Watts.Float() + m.WattsFixed.Watts()/p))
}
