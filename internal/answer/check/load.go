package check

import (
	"fmt"
	"math"
	"strings"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// extras is what tape, cable and sealant add to the mass of modules. Our own estimate.
const extras = 1.10

// roughRoad is the factor on masses off the road: racks are then rated at two thirds. Source: load guides
// of tents and racks, partly from memory.
const roughRoad = 1.5

// standingShare is how many times its rating on the move a roof is taken to carry at a stand, by the
// cautious rule of thumb: others say 3 to 5.
const standingShare = 2

var loadGuides = from("load guides of roof tents and racks", "weakest link of vehicle, rack, bars and feet", cite.LookedUp)

// moduleMass returns what modules with their tape and cable weigh, kg, and their centre from the
// surface's front left.
func moduleMass(b *build.Build, on []int) (kg, x, y float64) {
	for _, m := range on {
		a, w := boxOf(b, m), b.Types[b.Modules[m].Type].Mass.Kilograms()*extras
		kg += w
		x += w * (a.x0 + a.x1) / 2
		y += w * (a.y0 + a.y1) / 2
	}
	if kg > 0 {
		x, y = x/kg, y/kg
	}
	return kg, x, y
}

// shakes returns the factor on masses on the move, and its words.
func shakes(b *build.Build) (float64, string) {
	if b.Vehicle.OffRoad {
		return roughRoad, fmt.Sprintf(", times %.1f for rough tracks", roughRoad)
	}
	return 1, ""
}

// surfaceLoads judges the modules' mass against a surface's ratings, and where their centre lies.
func surfaceLoads(b *build.Build, surface int, on []int) []Finding {
	s := &b.Surfaces[surface]
	subject := "surface " + s.Name
	kg, x, y := moduleMass(b, on)
	factor, rough := shakes(b)
	moving := Finding{ID: "mass-moving", Subject: subject, Value: kg * factor, Unit: "kg", Source: loadGuides,
		Reason: fmt.Sprintf("modules with a tenth for tape and cable%s, without people, against what the surface carries on the move", rough)}
	standing := Finding{ID: "mass-standing", Subject: subject, Value: kg, Unit: "kg", Source: loadGuides,
		Reason: "modules with a tenth for tape and cable, against what the surface carries at a stand"}
	if p := b.Vehicle.Sleepers; p != nil && !s.HasHinge {
		standing.Value += p.Kilograms()
		standing.Reason += ", with the sleepers on it"
	}
	if s.LoadMoving == nil {
		moving = moving.missing("the rating of "+s.Name+" on the move (load_moving)", "ask its maker")
	} else {
		moving.Limit = s.LoadMoving.Kilograms()
		moving = moving.atMost(1)
	}
	switch {
	case s.LoadStanding != nil:
		standing.Limit = s.LoadStanding.Kilograms()
		standing = standing.atMost(1)
	case s.LoadMoving != nil:
		standing.Limit = standingShare * s.LoadMoving.Kilograms()
		standing.Reason += fmt.Sprintf("; derived: %d times the rating on the move, where others say 3 to 5 times", standingShare)
		standing.Source.Standing = cite.CommonPractice
		standing = standing.atMost(1)
	default:
		standing = standing.missing("the rating of "+s.Name+" at a stand (load_standing)", "ask its maker")
	}
	e := extent(s.Outline)
	aside := math.Abs(y - (e.y0+e.y1)/2)
	centre := Finding{ID: "centre-of-mass", Subject: subject, Value: 1000 * aside, Limit: 1000 * 0.15 * (e.y1 - e.y0), Unit: "mm", Source: from("balance left to right", "15 % of the width", cite.Judgement),
		Reason: fmt.Sprintf("centre of the modules' mass, %.2f m from the front edge, to one side of the middle: a lid twists and one strut does the work, a light vehicle leans; axle and gross mass are read off the vehicle's plates", x-e.x0)}
	return []Finding{moving, standing, centre.atMost(1).beside()}
}

// weigh is how to find a mass.
const weigh = "weigh it, or read its sheet"

// roofLoads judges all that the roof carries against the vehicle's and the rack's ratings, moving
// without people and standing with the sleepers.
func roofLoads(b *build.Build) []Finding {
	v := &b.Vehicle
	all := make([]int, 0, len(b.Modules))
	lids := 0.0
	var silent []string // what is not given
	for i := range b.Surfaces {
		on := modulesOn(b, i)
		all = append(all, on...)
		s := &b.Surfaces[i]
		switch {
		case s.Mass != nil:
			lids += s.Mass.Kilograms()
		case s.HasHinge && len(on) > 0:
			silent = append(silent, "the mass of "+s.Name+" (mass)")
		}
	}
	kg, _, _ := moduleMass(b, all)
	of := func(m *quantity.Mass, what string) float64 {
		if m == nil {
			silent = append(silent, what)
			return 0
		}
		return m.Kilograms()
	}
	bags := of(v.Bags, "the mass of bags (bags: 0 kg when none)")
	tent := of(v.Tent, "the mass of the tent (tent: 0 kg when none)")
	rack := of(v.Rack, "the mass of the rack (rack: 0 kg when none)")
	factor, rough := shakes(b)
	onRack := kg + lids + tent
	moving := Finding{ID: "roof-moving", Subject: "vehicle", Value: (onRack + bags + rack) * factor, Unit: "kg", Source: loadGuides,
		Reason: fmt.Sprintf("rack, lid, tent, bags and modules%s, without people, against the roof's rating on the move", rough)}
	switch {
	case v.RoofMoving == nil:
		moving = moving.missing("the roof's rating on the move (vehicle.roof_moving)", "read the vehicle's handbook; most cars carry 75 to 100 kg, rack included")
	case len(silent) > 0:
		moving = moving.missing(strings.Join(silent, ", "), weigh)
	default:
		moving.Limit = v.RoofMoving.Kilograms()
		moving = moving.atMost(1)
	}
	out := []Finding{moving}
	racked := rack > 0 && len(silent) == 0
	if racked {
		f := Finding{ID: "rack-moving", Subject: "rack", Value: (onRack + bags) * factor, Unit: "kg", Source: loadGuides,
			Reason: fmt.Sprintf("lid, tent, bags and modules%s against the rack's rating on the move", rough)}
		out = append(out, rated(f, v.RackMoving, "the rack's rating on the move (vehicle.rack_moving)"))
	}
	sleepers := of(v.Sleepers, "the mass of those who sleep up there (sleepers: 0 kg when nobody)")
	standing := Finding{ID: "roof-standing", Subject: "vehicle", Value: onRack + rack + sleepers, Unit: "kg", Source: loadGuides,
		Reason: "rack, lid, tent, modules and sleepers against the roof's rating at a stand"}
	switch {
	case len(silent) > 0:
		standing = standing.missing(strings.Join(silent, ", "), weigh)
	case v.RoofStanding == nil && v.RoofMoving != nil:
		standing.Limit = standingShare * v.RoofMoving.Kilograms()
		standing.Reason += fmt.Sprintf("; derived: %d times the rating on the move, where others say 3 to 5 times: ask the maker", standingShare)
		standing.Source.Standing = cite.CommonPractice
		standing = standing.atMost(1).beside()
	default:
		standing = rated(standing, v.RoofStanding, "the roof's rating at a stand (vehicle.roof_standing)")
	}
	out = append(out, standing)
	if racked && len(silent) == 0 {
		f := Finding{ID: "rack-standing", Subject: "rack", Value: onRack + sleepers, Unit: "kg", Source: loadGuides, Reason: "lid, tent, modules and sleepers against the rack's rating at a stand"}
		out = append(out, rated(f, v.RackStanding, "the rack's rating at a stand (vehicle.rack_standing)"))
	}
	return out
}

// rated judges a mass against a rating that may be missing.
func rated(f Finding, rating *quantity.Mass, what string) Finding {
	if rating == nil {
		return f.missing(what, "ask its maker")
	}
	f.Limit = rating.Kilograms()
	return f.atMost(1)
}

// heightMargin is what a height changes by with tyres, load and a ramp's crest, m. Our own choice.
const heightMargin = 0.05

// tallest returns the highest point of the vehicle as it drives, m, and what it is.
func tallest(b *build.Build) (top float64, what string, guessed bool) {
	for i := range b.Surfaces {
		s := &b.Surfaces[i]
		if h := s.Height.Metres(); h > top {
			top, what, guessed = h, s.Name, false
		}
		for _, m := range modulesOn(b, i) {
			t := &b.Types[b.Modules[m].Type]
			thick, guess := 0.0, t.Thickness == nil
			switch {
			case !guess:
				thick = t.Thickness.Metres()
			case t.Front == build.FloatGlass || t.Front == build.TexturedGlass:
				thick = 0.035
			default:
				thick = 0.015
			}
			if h := s.Height.Metres() + b.Modules[m].Gap.Metres() + thick; h > top {
				top, what, guessed = h, "module "+b.Modules[m].Name, guess
			}
		}
		for o := range b.Obstacles {
			x := &b.Obstacles[o]
			if x.Surface == i && drives(b, x) && s.Height.Metres()+x.Height.Metres() > top {
				top, what, guessed = s.Height.Metres()+x.Height.Metres(), x.Name, false
			}
		}
	}
	return top, what, guessed
}

// drives reports whether an obstacle stands so in a posture that drives.
func drives(b *build.Build, o *build.Obstacle) bool {
	for _, p := range o.Postures {
		if b.Postures[p].Moves {
			return true
		}
	}
	return len(o.Postures) == 0
}

// heights judges the vehicle's height, modules and fan counted, against the limits its user names.
func heights(b *build.Build) []Finding {
	top, what, guessed := tallest(b)
	reason := fmt.Sprintf("highest point on the move, %s, against a clear height named by the user; within 50 mm is close: tyres, load and a ramp's crest move it. Measure it again after any work on the roof", what)
	if guessed {
		reason += "; the module's thickness is taken as 15 mm, 35 mm with a glass frame"
	}
	f := Finding{ID: "height", Subject: "vehicle", Value: top, Unit: "m", Reason: reason, Source: from("the user's own limits; roads: 4.0 m in the EU from memory, 4.1 to 4.3 m elsewhere", "", cite.LookedUp)}
	if len(b.Vehicle.Heights) == 0 {
		return []Finding{f.missing("the heights it is to pass under (vehicle.heights)", fmt.Sprintf("measure garage, carport, ferry deck; it stands %.2f m high at %s", top, what))}
	}
	var out []Finding
	for _, h := range b.Vehicle.Heights {
		g := f
		g.Subject, g.Limit = "vehicle under "+h.Name, h.Limit.Metres()
		g = g.atMost(1)
		if g.Verdict == Pass && top > g.Limit-heightMargin {
			g.Verdict = Warn
		}
		out = append(out, g)
	}
	return out
}
