package check

import (
	"fmt"
	"slices"
	"strings"

	"noonmark/internal/base/cite"
	"noonmark/internal/build/build"
)

// fittings returns the findings on what joins, parts and bends a charger's cables.
func fittings(b *build.Build, c *build.Charger) []Finding {
	out := []Finding{connectors(b, c), disconnect("array", &c.InputCable, Fail)}
	if !enclosed(c) {
		out = append(out, disconnect("battery", &c.BatteryCable, Warn))
	}
	out = append(out, polarity(c), blocking(b, c))
	if crossesHinge(b, c) {
		out = append(out, loop(b, &c.InputCable)...)
	}
	return out
}

// connectors judges whether all that is plugged together on a charger's array is of one make, and counts
// the pairs.
func connectors(b *build.Build, c *build.Charger) Finding {
	var kinds, silent []string
	note := func(kind, who string) {
		if kind == "" {
			if !slices.Contains(silent, who) {
				silent = append(silent, who)
			}
			return
		}
		kind = strings.ToLower(strings.Join(strings.Fields(kind), " "))
		if !slices.Contains(kinds, kind) {
			kinds = append(kinds, kind)
		}
	}
	pairs := 0
	for _, si := range c.Strings {
		s := &b.Strings[si]
		pairs += len(s.Modules) + 1 // between the modules, and one at each end
		for _, m := range s.Modules {
			t := &b.Types[b.Modules[m].Type]
			note(t.Connector, "module type "+t.Name)
		}
		if s.Cable.Length > 0 {
			note(s.Cable.Connector, "cable "+s.Cable.Name)
		}
	}
	if len(c.Strings) > 1 {
		pairs += 2 // from the branch to the trunk
	}
	note(c.InputCable.Connector, "cable "+c.InputCable.Name)
	f := Finding{ID: "connectors", Subject: "charger " + c.Name, Value: float64(len(kinds)), Limit: 1, Unit: "kinds",
		Reason: fmt.Sprintf("%d pairs of plugs; both halves of a pair are of one maker and type, or they heat and burn: found %s", pairs, strings.Join(kinds, ", ")) + inForce,
		Source: from("NEC 690.33(C), UL 6703", "", cite.LookedUp)}
	f = f.atMost(1)
	if f.Verdict == Pass && len(silent) > 0 {
		return f.missing("the plugs (connector) of "+strings.Join(silent, ", "), fmt.Sprintf("read maker and type on both halves; %d pairs are plugged", pairs))
	}
	return f
}

// disconnect judges whether a cable can be made dead; without says how bad it is when it cannot.
func disconnect(id string, r *build.Run, without Verdict) Finding {
	f := Finding{ID: id + "-disconnect", Subject: "cable " + r.Name, Limit: 1, Unit: "switches", Source: from("NEC 690.13 and 690.15", "", cite.FromMemory),
		Reason: "a switch or breaker for direct current at its volts: plugs are not parted under load, the arc pits them and burns" + inForce}
	switch {
	case r.Disconnect == nil:
		return f.missing("whether the cable has a switch (disconnect)", "look along it; a plug is none")
	case *r.Disconnect:
		f.Value = 1
	default:
		f.Verdict = without
	}
	return f
}

func polarity(c *build.Charger) Finding {
	f := Finding{ID: "reverse-polarity", Subject: "charger " + c.Name, Limit: 1, Unit: "guards", Source: practice("commonest killers of controllers"),
		Reason: "a reversed array kills an input without a guard: measure plus and minus with a meter before it is plugged, battery first"}
	switch {
	case c.Reversed == nil:
		return f.missing("whether the input stands a reversed array (reverse_protected)", "read its manual; measure plus and minus before plugging in any case")
	case *c.Reversed:
		f.Value = 1
	default:
		f.Verdict = Warn
	}
	return f
}

// blocking judges whether the battery can drive current back through the modules: the charger does not
// let it, or each string has its diode.
func blocking(b *build.Build, c *build.Charger) Finding {
	diodes := len(c.Strings) > 0
	for _, si := range c.Strings {
		diodes = diodes && b.Strings[si].Blocking
	}
	f := Finding{ID: "blocking", Subject: "charger " + c.Name, Limit: 1, Unit: "guards", Source: practice("controller practice"),
		Reason: "without it the battery drives current back through the modules at night; tracking controllers commonly have it"}
	switch {
	case diodes:
		f.Value = 1
		f.Reason += "; each string has a diode, which costs about half a volt and does not stand for a fuse"
	case c.Blocks == nil:
		return f.missing("whether the charger lets current back at night (blocks_at_night)", "read its manual, or measure the array's cable in the dark")
	case *c.Blocks:
		f.Value = 1
	default:
		f.Verdict = Fail
	}
	return f
}

// crossesHinge reports whether a charger's array lies on a surface that turns.
func crossesHinge(b *build.Build, c *build.Charger) bool {
	for _, si := range c.Strings {
		for _, m := range b.Strings[si].Modules {
			if i := b.Modules[m].Surface; i < len(b.Surfaces) && b.Surfaces[i].HasHinge {
				return true
			}
		}
	}
	return false
}

// flexYears is how long a loop at a hinge should last. Our own choice.
const flexYears = 10

// loop judges the loop of a cable at a lid's hinge.
func loop(b *build.Build, r *build.Run) []Finding {
	subject := "cable " + r.Name
	radius := Finding{ID: "loop-radius", Subject: subject, Unit: "mm", Source: from("NEC 551 (RV)", "bends of wiring", cite.LookedUp),
		Reason: "bend of the loop at the hinge, lid closed, against five times the cable's outside diameter; a loop longer than the travel, held at both ends" + inForce}
	if r.Loop == nil || r.Diameter == nil {
		radius = radius.missing("the loop's bend or the cable's diameter (loop_radius, diameter)", "close the lid and measure the tightest bend; a caliper on one cable")
	} else {
		radius.Value, radius.Limit = r.Loop.Millimetres(), 5*r.Diameter.Millimetres()
		radius = radius.atLeast(1)
	}
	strands := Finding{ID: "loop-strands", Subject: subject, Limit: 1, Unit: "fine", Source: practice("flexible conductor, IEC 60228 class 5 or 6, where it moves"),
		Reason: "coarse strands break where a lid bends them" + inForce}
	switch {
	case r.Flexible == nil:
		strands = strands.missing("whether the strands are fine (flexible)", "look at a cut end: hairs, class 5 or 6, or a few thick wires")
	case *r.Flexible:
		strands.Value = 1
	default:
		strands.Verdict = Fail
	}
	cycles := Finding{ID: "loop-cycles", Subject: subject, Limit: float64(2 * flexYears * b.Vehicle.NightsAYear), Unit: "bends", Source: from("two bends a night", "ten years", cite.Judgement),
		Reason: fmt.Sprintf("bends the cable is rated for against %d nights a year over ten years, up and down", b.Vehicle.NightsAYear)}
	if r.Flexes == nil {
		cycles = cycles.missing("the bends the cable is rated for (flexes)", fmt.Sprintf("ask its maker; it will see %.0f in ten years. Without a figure look at the loop every quarter", cycles.Limit))
	} else {
		cycles.Value = float64(*r.Flexes)
		cycles = cycles.atLeast(1)
	}
	return []Finding{radius, strands, cycles}
}
