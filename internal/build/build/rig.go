package build

import (
	"cmp"
	"fmt"

	"noonmark/internal/base/quantity"
)

// Part is a part of the vehicle that a cable lies in.
type Part int

const (
	Anywhere Part = iota // not given
	OnRoof
	InLid
	EngineSide
	Indoors
)

// Lay is how a run lies and what is in it, for the rules; nil and Anywhere are not given.
type Lay struct {
	Where      Part
	Insulation *quantity.Temperature // class; 120 °C: solar cable
	Bundled    int                   // other current-carrying conductors tied to the pair
	Flexible   *bool                 // fine strands, class 5 or 6
	Connector  string                // plugs on it, as printed; "": not given
	Disconnect *bool
	FuseVolts  *quantity.Voltage // for direct current
	FuseBreaks *quantity.Current // fault current
	FuseAt     *quantity.Length  // along the cable from the battery's post
	Sheathed   bool              // from the post to the fuse
	Loop       *quantity.Length  // bend of the loop at a lid's hinge
	Diameter   *quantity.Length  // outside, of one cable
	Flexes     *int              // bends its maker rates it for
}

// Lid is what the rules ask of a surface beyond its shape; nil is not given.
type Lid struct {
	Mass          *quantity.Mass   // with what is fixed to it, modules apart
	MassFromHinge *quantity.Length // nil: half the depth
	Struts        *Struts
	Ribs          *quantity.Length // clear span under a module; 0: a flat skin
	Walked        *bool
}

// Struts are a lid's gas struts, alike. A body ball lies OnBody from the hinge, measured along the
// closed lid, and Below it; the lid's ball lies OnLid from the hinge. Arm, when given, stands for the
// three.
type Struts struct {
	Count                int
	Force                quantity.Force  // of one, at 20 °C, as printed
	Left                 quantity.Ratio  // of the force, by age
	Arm                  quantity.Length // least, square to the strut; 0: from the balls
	OnLid, OnBody, Below quantity.Length
}

// Vehicle is the ratings of what carries the surfaces, and the rest of the load; nil is not given.
type Vehicle struct {
	Heights                    []HeightLimit
	RoofMoving, RoofStanding   *quantity.Mass
	RackMoving, RackStanding   *quantity.Mass // of the rack on its own, what lies on it
	Rack, Tent, Bags, Sleepers *quantity.Mass
	OffRoad                    bool
	NightsAYear                int // on which a lid goes up and down
}

// HeightLimit is a height the vehicle is to pass under.
type HeightLimit struct {
	Name  string
	Limit quantity.Length
}

// VehicleDoc is the vehicle as written.
type VehicleDoc struct {
	Heights      []HeightDoc    `file:"heights" doc:"what it is to pass under, by name"`
	RoofMoving   *quantity.Mass `file:"roof_moving" doc:"the roof's rating on the move, by the handbook" eg:"100 kg"`
	RoofStanding *quantity.Mass `file:"roof_standing" doc:"the roof's rating at a stand" eg:"300 kg"`
	RackMoving   *quantity.Mass `file:"rack_moving" doc:"the rack's rating on the move" eg:"90 kg"`
	RackStanding *quantity.Mass `file:"rack_standing" doc:"the rack's rating at a stand" eg:"300 kg"`
	Rack         *quantity.Mass `file:"rack" doc:"mass of rack and bars; 0 kg: none" eg:"18 kg"`
	Tent         *quantity.Mass `file:"tent" doc:"mass of a roof tent without its lid; 0 kg: none" eg:"40 kg"`
	Bags         *quantity.Mass `file:"bags" doc:"mass of bags and boxes up there on the move" eg:"5 kg"`
	Sleepers     *quantity.Mass `file:"sleepers" doc:"mass of those who sleep up there, bedding too; 0 kg: nobody" eg:"160 kg"`
	OffRoad      *bool          `file:"off_road" doc:"driven on rough tracks" eg:"false"`
	Nights       *int           `file:"nights_a_year" doc:"on which a lid goes up and down" eg:"60"`
}

// HeightDoc is a height limit as written.
type HeightDoc struct {
	Name  string           `file:"-"`
	Limit *quantity.Length `file:"limit" doc:"clear height" eg:"2.4 m" short:"true"`
}

// StrutsDoc is gas struts as written.
type StrutsDoc struct {
	Count  *int             `file:"count" doc:"how many" eg:"2"`
	Force  *quantity.Force  `file:"force" doc:"of one, as printed" eg:"400 N"`
	Left   *quantity.Ratio  `file:"left" doc:"of the force, by age" eg:"95 %"`
	Arm    *quantity.Length `file:"arm" doc:"from the hinge square to the strut where it is shortest; or the next three" eg:"0.25 m"`
	OnLid  *quantity.Length `file:"on_lid" doc:"ball on the lid, from the hinge" eg:"0.9 m"`
	OnBody *quantity.Length `file:"on_body" doc:"ball on the body, from the hinge along the closed lid" eg:"0.45 m"`
	Below  *quantity.Length `file:"below" doc:"ball on the body, under the hinge" eg:"0.3 m"`
}

var partWords = []word[Part]{{"roof", OnRoof}, {"lid", InLid}, {"engine", EngineSide}, {"inside", Indoors}}

// hotPlaces is the air round a cable in summer sun, by part. Our own estimates but for the engine side,
// 50 °C, ABYC E-11 and 33 CFR 183.425.
var hotPlaces = map[Part]quantity.Temperature{Anywhere: quantity.Celsius(50), OnRoof: quantity.Celsius(70), InLid: quantity.Celsius(60), EngineSide: quantity.Celsius(50), Indoors: quantity.Celsius(45)}

// within demands that a value, where it was written, lies from low to high.
func within[T cmp.Ordered](r *resolver, v *T, path string, low, high T) {
	if v == nil || *v >= low && *v <= high {
		return
	}
	r.wrong(path, "%v to %v", any(low), any(high))
}

// within is for lengths, the commonest.
func (r *resolver) within(v *quantity.Length, path string, low, high quantity.Length) {
	within(r, v, path, low, high)
}

// lay reads how a run lies.
func (r *resolver) lay(d *RunDoc, at string) Lay {
	l := Lay{Where: choice(r, d.Where, at+".where", partWords, Anywhere), Insulation: d.Insulation, Bundled: quiet(d.Bundled, 0), Flexible: d.Flexible,
		Connector: quiet(d.Connector, ""), Disconnect: d.Disconnect, FuseVolts: d.FuseVolts, FuseBreaks: d.FuseBreaks, FuseAt: d.FuseAt,
		Sheathed: quiet(d.Sheathed, false), Loop: d.Loop, Diameter: d.Diameter, Flexes: d.Flexes}
	if d.Bundled == nil {
		r.assume(at+".bundled", "0: the pair alone", "not tied to other cables", estimate)
	}
	within(r, d.Bundled, at+".bundled", 0, 100)
	within(r, d.Flexes, at+".flexes", 1, 1000000)
	if t := d.Insulation; t != nil && (t.Celsius() < 60 || t.Celsius() > 250) {
		r.wrong(at+".insulation", "60 °C to 250 °C: the class printed on the cable")
		l.Insulation = nil
	}
	within(r, d.FuseVolts, at+".fuse_volts", 1*quantity.Volt, 2000*quantity.Volt)
	within(r, d.FuseBreaks, at+".fuse_breaks", 1*quantity.Ampere, largestFault)
	if d.Fuse != nil && (*d.Fuse <= 0 || *d.Fuse > 1000*quantity.Ampere) {
		r.wrong(at+".fuse", "above 0 and up to 1000 A")
	}
	r.within(d.FuseAt, at+".fuse_from_battery", 0, 20*quantity.Metre)
	r.within(d.Loop, at+".loop_radius", 1*quantity.Millimetre, 2*quantity.Metre)
	r.within(d.Diameter, at+".diameter", 1*quantity.Millimetre, 60*quantity.Millimetre)
	if (d.FuseVolts != nil || d.FuseBreaks != nil || d.FuseAt != nil) && d.Fuse == nil {
		r.wrong(at+".fuse", "the fuse's rating, such as 20 A: its other figures are given")
	}
	return l
}

// largestFault is the greatest fault current that is read: beyond what fuses break.
const largestFault = 300000 * quantity.Ampere

// heaviest is the greatest mass on a roof that is read: a lorry's.
const heaviest = 5000 * quantity.Kilogram

// lid reads what the rules ask of a surface.
func (r *resolver) lid(d *SurfaceDoc, at string) Lid {
	l := Lid{Mass: d.Mass, MassFromHinge: d.MassAt, Ribs: d.Ribs, Walked: d.Walked}
	within(r, d.Mass, at+".mass", 0, heaviest)
	within(r, d.LoadMoving, at+".load_moving", 0, heaviest)
	within(r, d.LoadStanding, at+".load_standing", 0, heaviest)
	r.within(d.MassAt, at+".mass_from_hinge", 0, largestSurface)
	r.within(d.Ribs, at+".ribs", 0, 2*quantity.Metre)
	s := d.Struts
	if s == nil {
		return l
	}
	where := at + ".struts"
	if d.Hinge == nil {
		r.wrong(where, "a hinge on the surface: hinge: front")
	}
	if s.Count == nil || *s.Count < 1 || *s.Count > 8 {
		r.wrong(where+".count", "1 to 8")
		return l
	}
	if s.Force == nil || *s.Force <= 0 || *s.Force > 10000*quantity.Newton {
		r.wrong(where+".force", "the force printed on one, above 0 and up to 10 kN, such as 400 N")
		return l
	}
	out := &Struts{Count: *s.Count, Force: *s.Force, Left: or(r, s.Left, where+".left", 95*quantity.Percent, "a few % a year is lost", "handbook B6, from memory")}
	if out.Left <= 0 || out.Left > 1 {
		r.wrong(where+".left", "above 0 and up to 100 %%")
	}
	balls := s.OnLid != nil && s.OnBody != nil && s.Below != nil
	switch {
	case s.Arm != nil:
		out.Arm = *s.Arm
		if out.Arm <= 0 || out.Arm > 3*quantity.Metre {
			r.wrong(where+".arm", "above 0 and up to 3 m")
		}
	case balls:
		out.OnLid, out.OnBody, out.Below = *s.OnLid, *s.OnBody, *s.Below
		if out.OnLid <= 0 || out.OnLid > largestSurface || out.OnBody < -1*quantity.Metre || out.OnBody > largestSurface || out.Below <= 0 || out.Below > 3*quantity.Metre {
			r.wrong(where, "on_lid and below above zero, on_body -1 m or more: measured from the hinge")
		}
	default:
		r.wrong(where+".arm", "the arm, or on_lid, on_body and below: measured from the hinge")
	}
	l.Struts = out
	return l
}

// vehicle reads the ratings and the load.
func (r *resolver) vehicle() {
	var v Vehicle
	d := r.doc.Vehicle
	if d == nil {
		d = &VehicleDoc{}
	}
	for i := range d.Heights {
		h := &d.Heights[i]
		if h.Limit == nil || *h.Limit < 0.5*quantity.Metre || *h.Limit > 10*quantity.Metre {
			r.wrong("vehicle.heights."+h.Name, "a clear height of 0.5 m to 10 m, such as 2.4 m")
			continue
		}
		v.Heights = append(v.Heights, HeightLimit{h.Name, *h.Limit})
	}
	mass := func(m *quantity.Mass, key string) *quantity.Mass {
		within(r, m, "vehicle."+key, 0, heaviest)
		return m
	}
	v.RoofMoving, v.RoofStanding = mass(d.RoofMoving, "roof_moving"), mass(d.RoofStanding, "roof_standing")
	v.RackMoving, v.RackStanding = mass(d.RackMoving, "rack_moving"), mass(d.RackStanding, "rack_standing")
	v.Rack, v.Tent, v.Bags, v.Sleepers = mass(d.Rack, "rack"), mass(d.Tent, "tent"), mass(d.Bags, "bags"), mass(d.Sleepers, "sleepers")
	v.OffRoad = quiet(d.OffRoad, false)
	v.NightsAYear = 200
	if d.Nights != nil {
		v.NightsAYear = *d.Nights
		within(r, d.Nights, "vehicle.nights_a_year", 0, 366)
	} else if r.hinged() {
		r.assume("vehicle.nights_a_year", fmt.Sprint(v.NightsAYear), "a lid opened and shut twice as often", "handbook B7")
	}
	r.build.Vehicle = v
}

// hinged reports whether a surface has a hinge.
func (r *resolver) hinged() bool {
	for i := range r.build.Surfaces {
		if r.build.Surfaces[i].HasHinge {
			return true
		}
	}
	return false
}
