package bond

import (
	"math"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
)

// ThinThread is the engagement at which screws without a lock shook out of a leading edge, more than half
// of them. Source: expedition-truck report.
const ThinThread = 3 * quantity.Millimetre

// Fasteners returns how many fasteners hold a pull when each is allowed a share of its tested pull-out
// force, the share being 1/factor. The pull-out of a bare screw in thin skin or 3 mm ply is small and
// loosens with shaking: it has to be tested. At least 4 for any pull above zero, one at each corner; 0
// for none. It panics at a pull-out or factor not above zero.
func Fasteners(pull, each quantity.Force, factor quantity.Ratio) int {
	e, k := each.Newtons(), factor.Float()
	if !(e > 0 && k > 0) {
		panic("bond: fastener without pull-out or factor")
	}
	if pull <= 0 {
		return 0
	}
	return max(4, int(math.Ceil(math.Min(pull.Newtons()*k/e, 1e6)-1e-9)))
}

// Securing is the share of a load's weight that its restraint must hold, by direction.
type Securing struct {
	Key                     string
	Forward, Rearward, Side quantity.Ratio
	Up                      quantity.Ratio // of the weight, where nothing else holds it down
	Against                 string         // what must not be exceeded
	Source                  cite.Source
}

// Securings returns the codes. They are static equivalents; pitching and rolling raise them, and 1.0
// forward may be right for good brakes. Check the edition in force where you are.
func Securings() []Securing {
	return []Securing{
		{Key: "49 CFR 393.102 breaking", Forward: 0.8, Rearward: 0.5, Side: 0.5, Up: 0.2, Against: "breaking strength", Source: cite.Source{Title: "49 CFR 393.102", Where: "(a)(1); check the edition in force where you are"}},
		{Key: "49 CFR 393.102 working", Forward: 0.435, Rearward: 0.5, Side: 0.25, Up: 0.2, Against: "working load limit", Source: cite.Source{Title: "49 CFR 393.102", Where: "(a)(2); check the edition in force where you are"}},
		{Key: "Quebec", Forward: 0.8, Rearward: 0.5, Side: 0.5, Up: 0.2, Against: "breaking strength", Source: cite.Source{Title: "Quebec C-24.2 r.30", Where: "check the edition in force where you are"}},
		{Key: "EN 12195-1", Forward: 0.8, Rearward: 0.5, Side: 0.5, Up: 0, Against: "lashing capacity", Source: cite.Source{Title: "EN 12195-1", Where: "German insurers' load-securing text; 1.0 forward in some states; check the edition in force where you are"}},
	}
}

// Hold returns the force a restraint must take: a share of g times the mass. Negative values count as none.
func Hold(m quantity.Mass, share quantity.Ratio) quantity.Force {
	return quantity.Force(math.Max(0, m.Kilograms()) * gravity * math.Max(0, share.Float()))
}

// Lid is a lid on gas struts at one angle.
type Lid struct {
	Mass   quantity.Mass
	Centre quantity.Length // hinge to centre of mass, level
	Arm    quantity.Length // hinge to the strut's line, square to it: shortest near closed
	Struts int
}

// StrutForce returns the force each strut needs to balance the lid, without friction or margin: m·g·x/(n·r).
// It panics without struts or at an arm not above zero. Source: gas-spring sizing articles; moments
// about the hinge.
func StrutForce(l Lid) quantity.Force {
	r := l.Arm.Metres()
	if l.Struts < 1 || !(r > 0) {
		panic("bond: lid without struts or arm")
	}
	return quantity.Force(l.Mass.Kilograms() * gravity * l.Centre.Metres() / (float64(l.Struts) * r))
}

// ColdStrut returns the force of a gas strut at a temperature over that at 20 °C: nitrogen in a fixed
// volume. Oil, seals and loss of a few per cent a year are left out. It panics at a temperature not above
// absolute zero. Source: ideal gas.
func ColdStrut(t quantity.Temperature) quantity.Ratio {
	if !(t.Kelvin() > 0) {
		panic("bond: strut not above absolute zero")
	}
	return quantity.Ratio(t.Kelvin() / 293.15)
}

// Support is the largest distance between a cable's supports by a rule.
type Support struct {
	Key     string
	Spacing quantity.Length
	Source  cite.Source
}

// Supports returns the rules, the one for a roof in the wind first.
func Supports() []Support {
	const mm = quantity.Millimetre
	return []Support{
		{"roof in the wind", 300 * mm, cite.Source{Title: "roof cables", Where: "150 to 300 mm", Standing: cite.CommonPractice}},
		{"marine", 450 * mm, cite.Source{Title: "ABYC E-11", Where: "cable support", Standing: cite.FromMemory}},
		{"exposed PV cable", 600 * mm, cite.Source{Title: "NEC 690.31", Where: "small exposed cable", Standing: cite.FromMemory}},
		{"caravan, horizontal", 250 * mm, cite.Source{Title: "IEC 60364-7-721", Where: "low-voltage cable", Standing: cite.FromMemory}},
		{"caravan, vertical", 400 * mm, cite.Source{Title: "IEC 60364-7-721", Where: "low-voltage cable", Standing: cite.FromMemory}},
	}
}

// Clips returns how many supports a run needs: one within half a spacing of each end and none farther
// apart than the spacing. 0 for no run; it panics at a spacing not above zero.
func Clips(run, spacing quantity.Length) int {
	s := spacing.Metres()
	if !(s > 0) {
		panic("bond: spacing not above zero")
	}
	if run <= 0 {
		return 0
	}
	return max(1, int(math.Ceil(math.Min(run.Metres()/s, 1e6)-1e-9)))
}
