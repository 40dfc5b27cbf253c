package check

import (
	"fmt"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/bond"
)

// fullSun is the light of the hottest hour.
const fullSun = 1000 * quantity.WattPerSquareMetre

// mounted is a module with what its mounting rules need.
type mounted struct {
	b        *build.Build
	module   *build.Module
	kind     *build.ModuleType
	mount    *build.Mount
	surface  *build.Surface
	skin     bond.Skin
	glue     bond.Adhesive // zero when nothing is bonded
	glued    bool
	extremes Extremes
	known    bool                 // a place is known, so extremes are
	hot      quantity.Temperature // hottest hour of the module, and of the bond where it is bonded
	passing  bond.Passing
	q        quantity.Pressure
	box      bond.Box
	roof     bond.Roof
}

// Mounting returns the findings on how the modules are held, one for each module and rule, then those of
// the whole vehicle. Each says the value, the limit and the rule's source; what is missing is unknown,
// with how to find it. Speeds and adhesives that the file does not give are the build's assumed ones.
// It panics for a build that build.Resolve did not make.
func Mounting(b *build.Build) []Finding {
	if len(b.Mounting.Mounts) != len(b.Modules) {
		panic("check: a build without its mounting")
	}
	var out []Finding
	e := yearExtremes(b)
	for i := range b.Modules {
		m := holdOf(b, i, e)
		out = append(out, m.skinFits(), m.uplift(), m.unzip(), m.creep(), m.movement(), m.service(), m.skinHeat(), m.edgeCover(), m.fasteners())
		out = append(out, m.fabric()...)
	}
	out = append(out, cableSupport(b), cableEntry(b))
	out = append(out, securing(b)...)
	out = append(out, heatBelow(b, e)...)
	out = append(out, condensation(b)...)
	out = append(out, exits(b)...)
	kept := out[:0]
	for _, f := range out {
		if f.ID != "" { // a rule that does not apply gives none
			kept = append(kept, f)
		}
	}
	return kept
}

// holdOf returns module i with what its rules need.
func holdOf(b *build.Build, i int, e Extremes) *mounted {
	m := &mounted{b: b, module: &b.Modules[i], mount: &b.Mounting.Mounts[i], extremes: e, known: e.Low.Before(e.High)}
	m.kind, m.surface = &b.Types[m.module.Type], &b.Surfaces[m.module.Surface]
	var ok bool
	if m.skin, ok = bond.FindSkin(m.surface.Skin); !ok {
		panic("check: no skin " + m.surface.Skin)
	}
	m.glue, m.glued = bond.FindAdhesive(m.mount.Adhesive)
	if m.glued && m.mount.Peel != nil {
		m.glue.Peel = *m.mount.Peel
	}
	if m.glued && m.mount.Service != nil {
		m.glue.ServiceLong = *m.mount.Service
		if m.glue.ServiceShort.Before(m.glue.ServiceLong) {
			m.glue.ServiceShort = m.glue.ServiceLong
		}
	}
	if m.known {
		m.hot = forecast.PlateOf(m.kind, m.module.Attachment, m.module.Gap).Steady(fullSun, e.High, 0)
	}
	m.passing = bond.Passing{Road: b.Mounting.TopSpeed, Headwind: b.Mounting.Headwind, Gust: b.Mounting.Gust}
	m.q = bond.DynamicPressure(m.passing.Speed(), bond.StandardAir)
	m.place()
	return m
}

// place sets where the module lies on its surface.
func (m *mounted) place() {
	low, high := m.surface.Outline[0], m.surface.Outline[0]
	for _, p := range m.surface.Outline {
		low.X, low.Y, high.X, high.Y = min(low.X, p.X), min(low.Y, p.Y), max(high.X, p.X), max(high.Y, p.Y)
	}
	a, c := footprint(m.b, m.module)
	m.box = bond.Box{Front: a.X - low.X, Rear: c.X - low.X, Left: a.Y - low.Y, Right: c.Y - low.Y}
	m.roof = bond.Roof{Length: high.X - low.X, Width: high.Y - low.Y, Height: max(m.surface.Height, 1*quantity.Millimetre)}
}

// footprint returns a module's least and greatest corner in the vehicle frame.
func footprint(b *build.Build, m *build.Module) (low, high build.Point) {
	t := &b.Types[m.Type]
	along, across := t.Length, t.Width
	if q := m.Turn.Degrees() / 90; int(q+100.5)%2 != 0 {
		along, across = across, along
	}
	return build.Point{X: m.X, Y: m.Y}, build.Point{X: m.X + along, Y: m.Y + across}
}

func (m *mounted) area() quantity.Area {
	return quantity.Area(m.kind.Length.Metres() * m.kind.Width.Metres())
}

func (m *mounted) bonded() quantity.Area {
	return quantity.Area(m.area().SquareMetres() * m.mount.Share.Float())
}

func (m *mounted) subject() string { return "module " + m.module.Name }

// pull returns the uplift with its factor, and how it came about in words.
func (m *mounted) pull() (quantity.Force, string) {
	eaves := bond.SharpEaves
	if m.b.Mounting.RoundedFront {
		eaves = bond.RoundedEaves
	}
	z := m.roof.ZoneAt(m.box)
	c := max(bond.LeastSuction, bond.Suction(z, eaves, m.area()))
	f := bond.Uplift(m.q, c, m.area(), bond.GustFactor)
	return f, fmt.Sprintf("%.0f N up with factor %.1f: it lies in the %s zone, suction %.1f, at %.0f km/h of air (%.0f on the road, %.0f headwind, %.0f gust), %.0f Pa; edge zones of the code have been measured too small, and no map for camper roofs exists",
		f.Newtons(), bond.GustFactor.Float(), z, c.Float(), m.passing.Speed().KilometresPerHour(), m.passing.Road.KilometresPerHour(), m.passing.Headwind.KilometresPerHour(), m.passing.Gust.KilometresPerHour(), m.q.Pascals())
}

// uplift judges the pull of the wind over the bonded area against the design tension on this skin.
func (m *mounted) uplift() Finding {
	f := Finding{ID: "uplift", Subject: m.subject(), Unit: "kPa", Source: bond.SuctionSource}
	pull, how := m.pull()
	switch {
	case m.module.Attachment == build.LooseFlat:
		f.Verdict, f.Unit, f.Value, f.Reason = Warn, "N", pull.Newtons(), "nothing holds it: a loose module is stowed before every drive and tied down in wind; on the move it would see "+how
		return f
	case m.module.Attachment == build.FabricPocket && !m.glued:
		f.Verdict, f.Unit, f.Value, f.Reason = Unknown, "N", pull.Newtons(), "the strength of the pocket's seams is missing: pull a sewn sample to tearing and hold a fifth of it against this; "+how
		return f
	case !m.glued:
		return Finding{} // fasteners are judged by their own rule
	case !m.glue.Structural:
		f.Verdict, f.Value, f.Reason = Fail, pull.Newtons()/m.bonded().SquareMetres()/1000, m.glue.Key+" carries no module: "+m.glue.Warning
		return f
	}
	f.Value = pull.Newtons() / m.bonded().SquareMetres() / 1000
	f.Limit = m.glue.Tension.Pascals() * m.skin.TensionShare.Float() / 1000
	need := bond.AreaForUplift(pull, quantity.Pressure(f.Limit*1000)).SquareMillimetres() / 100
	f.Reason = fmt.Sprintf("%s; it asks for %.0f cm² of %s on %s and has %.0f; design tension %.0f kPa on metal (from memory), %.0f %% of it on this skin. Area is almost never the problem: a lifted edge is, see unzip",
		how, need, m.glue.Key, m.skin.Key, m.bonded().SquareMillimetres()/100, m.glue.Tension.Pascals()/1000, m.skin.TensionShare.Percent())
	switch {
	case f.Value > f.Limit:
		f.Verdict = Fail
	case f.Value > 0.5*f.Limit:
		f.Verdict = Warn
	}
	return f
}

// unzip judges how far the front edge may already be loose: against what an inspection still finds.
func (m *mounted) unzip() Finding {
	if !m.glued || !m.glue.Structural {
		return Finding{}
	}
	f := Finding{ID: "unzip", Subject: m.subject(), Unit: "cm", Limit: bond.LooseReject.Millimetres() / 10,
		Source: cite.Source{Title: "handbook B3", Where: "2·q·a against a tenth over three to a fifth over two of fresh peel", Standing: cite.FromMemory}}
	if m.mount.PeelTest == "lifted clean" {
		f.Verdict, f.Reason = Fail, "the peel test lifted clean: no figure of the sheet holds on this skin; clean, abrade, prime and test again until the foam tears"
		return f
	}
	if m.glue.Peel <= 0 {
		f.Verdict, f.Reason = Unknown, "no peel figure for a "+m.glue.Key+": bond a 25 mm strip on the very skin, pull it at 90° hot and slowly, and give a tape's peel or keep the edge covered and beaded all along"
		return f
	}
	fresh := quantity.LineForce(m.glue.Peel.NewtonsPerMetre() * m.skin.PeelShare.Float())
	r := bond.SustainedPeel(fresh)
	low, high := bond.LooseAllowed(m.q, r.Low), bond.LooseAllowed(m.q, r.High)
	f.Value = low.Millimetres() / 10
	speed := bond.UnzipSpeed(bond.LooseReject, r.Low, bond.StandardAir)
	f.Reason = fmt.Sprintf("a front edge already loose by %.1f cm peels on at %.0f km/h of air (%.1f cm at the hopeful end); fresh peel %.1f N/cm on %s, of which %.2f to %.2f N/cm hold when hot and pulled for long; a 2 cm edge peels on from %.0f km/h. An upper bound: full stagnation under the flap. Look before each long leg; do not drive from 2 cm loose",
		f.Value, m.passing.Speed().KilometresPerHour(), high.Millimetres()/10, fresh.NewtonsPerCentimetre(), m.skin.Key, r.Low.NewtonsPerCentimetre(), r.High.NewtonsPerCentimetre(), speed.KilometresPerHour())
	switch {
	case high < bond.LooseReject:
		f.Verdict = Fail
	case low < bond.LooseReject:
		f.Verdict = Warn
	}
	return f
}

// creep judges the lasting shear on the steepest lid.
func (m *mounted) creep() Finding {
	if !m.glued || !m.glue.Structural {
		return Finding{}
	}
	steepest, where := quantity.Angle(0), ""
	for _, p := range m.b.Postures {
		for _, t := range p.Tilts {
			if t.Surface == m.module.Surface && max(t.Angle, -t.Angle) > steepest {
				steepest, where = max(t.Angle, -t.Angle), p.Name
			}
		}
	}
	f := Finding{ID: "creep", Subject: m.subject(), Unit: "kPa", Source: cite.Source{Title: "tape supplier's note on area for mass", Where: "60 cm² per kg, 1.64 kPa"}}
	if m.glue.Creep != bond.CreepLimit() {
		f.Source = m.glue.Source
	}
	f.Limit = m.glue.Creep.Pascals() * m.skin.TensionShare.Float() / 1000
	f.Value = bond.CreepShear(m.kind.Mass, steepest, m.bonded()).Pascals() / 1000
	f.Reason = "the surface lies level in every posture: its own weight presses the module on"
	if steepest > 0 {
		need := bond.AreaForMass(m.kind.Mass).SquareMetres() * 1e4
		f.Reason = fmt.Sprintf("%.1f kg on a lid tilted %.0f° (%s) shears for nights on end; by the rule of 60 cm² a kilogram %.0f cm² would carry all of it, and %.0f are bonded; the limit is %.0f %% of metal's on %s",
			m.kind.Mass.Kilograms(), steepest.Degrees(), where, need, m.bonded().SquareMetres()*1e4, m.skin.TensionShare.Percent(), m.skin.Key)
	}
	if f.Value > f.Limit {
		f.Verdict = Fail
	}
	return f
}

// expansionOf returns a module's thermal expansion, and of what.
func expansionOf(t *build.ModuleType) (quantity.PerKelvin, string) {
	name := "flexible laminate"
	switch {
	case t.Technology == build.CIGSFoil:
		name = "ferritic stainless foil"
	case t.Front == build.FloatGlass || t.Front == build.TexturedGlass:
		name = "glass"
	}
	a, _ := bond.Expansion(name)
	return a, name
}

// movement judges the shear of the adhesive at the module's ends, hot and cold.
func (m *mounted) movement() Finding {
	if !m.glued {
		return Finding{}
	}
	f := Finding{ID: "movement", Subject: m.subject(), Unit: "%", Limit: m.glue.Strain.Percent(),
		Source: cite.Source{Title: "practice of structural glazing tape", Where: "half of the thickness each cycle; expansion from Callister & Rethwisch, appendix B, and tables", Standing: cite.FromMemory}}
	if !m.known {
		f.Verdict, f.Reason = Unknown, "no place is known, so neither is the heat or the frost: give a trip"
		return f
	}
	a, name := expansionOf(m.kind)
	bondedAt := m.b.Mounting.BondedAt
	move := func(at quantity.Temperature) quantity.Length {
		d := at.Sub(bondedAt)
		return bond.Movement(bond.Swing{Expansion: a, Change: d}, bond.Swing{Expansion: m.skin.Expansion, Change: d}, m.kind.Length)
	}
	hot, cold := move(m.hot), move(m.extremes.Low)
	worst := max(hot, cold)
	f.Value = bond.Strain(worst, m.mount.Thickness).Percent()
	f.Reason = fmt.Sprintf("%s of %.2f m on %s, bonded at %.0f °C: the ends move %.2f mm at %.0f °C and %.2f mm at %.0f °C; %.2f mm of adhesive, %.1f mm would hold the rule",
		name, m.kind.Length.Metres(), m.skin.Key, bondedAt.Celsius(), hot.Millimetres(), m.hot.Celsius(), cold.Millimetres(), m.extremes.Low.Celsius(), m.mount.Thickness.Millimetres(), bond.Thickness(worst, m.glue.Strain).Millimetres())
	switch {
	case f.Value > m.glue.Most.Percent():
		f.Verdict = Fail
		f.Reason += fmt.Sprintf("; over %.0f %% it tears: short pads, one end floating, or bolts", m.glue.Most.Percent())
	case f.Value > f.Limit:
		f.Verdict = Warn
		f.Reason += "; a thin full-face film hands part of this to the module as stress: thicker tape, or shorter modules"
	}
	return f
}

// service judges the adhesive at the hottest bonded hour.
func (m *mounted) service() Finding {
	if !m.glued {
		return Finding{}
	}
	f := Finding{ID: "service-temperature", Subject: m.subject(), Unit: "°C", Limit: m.glue.ServiceLong.Celsius(), Source: m.glue.Source}
	if m.mount.Service != nil {
		f.Source = cite.Source{Title: "the tape's sheet, as given"}
	}
	if !m.known {
		f.Verdict, f.Reason = Unknown, "no place is known, so neither is its hottest hour: give a trip"
		return f
	}
	f.Value = m.hot.Celsius()
	f.Reason = fmt.Sprintf("hottest hour of the bond: full sun, no wind, air %.0f °C (%s); %s is held for years to %.0f °C and for hours to %.0f °C. Peel falls as it warms; below %.0f °C it takes blows badly",
		m.extremes.High.Celsius(), m.extremes.HighAt, m.glue.Key, m.glue.ServiceLong.Celsius(), m.glue.ServiceShort.Celsius(), m.glue.Cold.Celsius())
	switch {
	case m.glue.ServiceShort.Before(m.hot):
		f.Verdict = Fail
	case m.glue.ServiceLong.Before(m.hot):
		f.Verdict = Warn
	}
	return f
}

// skinHeat judges the skin under a bonded module at its hottest hour.
func (m *mounted) skinHeat() Finding {
	if !m.glued {
		return Finding{}
	}
	f := Finding{ID: "skin-heat", Subject: m.subject(), Unit: "°C", Limit: m.skin.HeatLimit.Celsius(),
		Source: cite.Source{Title: "softening and core bonds of skins", Where: "installers' reports of discoloured and cracked GRP roofs", Standing: cite.FromMemory}}
	if !m.known {
		f.Verdict, f.Reason = Unknown, "no place is known, so neither is its hottest hour: give a trip"
		return f
	}
	f.Value = m.hot.Celsius()
	f.Reason = fmt.Sprintf("%s under a bonded module in full sun without wind; over the limit it softens, discolours or parts from its core. A 20 mm gap was measured 11 K cooler (one owner)", m.skin.Key)
	if m.skin.HeatLimit.Before(m.hot) {
		f.Verdict = Warn
		if m.hot.Sub(m.skin.HeatLimit) > 40*quantity.OneKelvin {
			f.Verdict = Fail
		}
	}
	return f
}
