package parts

import (
	"fmt"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/wiring"
)

type fuse struct {
	amps        float64
	kind, where string
	asked       bool // in the build
}

// fuseList returns the fuses: those of the build; one at the battery for a run that has none; one in each
// string where three or more are in parallel. A suggested size is the next over 1.25 times the current.
func fuseList(b *build.Build) []fuse {
	const direct, atBattery = "for direct current, volts of the string cold", "for direct current, breaking the battery's short circuit"
	var out []fuse
	for _, c := range b.Chargers {
		for _, si := range c.Strings {
			s := &b.Strings[si]
			switch {
			case s.Cable.Fuse != nil:
				out = append(out, fuse{s.Cable.Fuse.Amperes(), direct, "string " + s.Name, true})
			case len(c.Strings) > 2:
				isc := 0.0
				for _, m := range s.Modules {
					isc = max(isc, b.Types[b.Modules[m].Type].Isc.Amperes())
				}
				if f, ok := wiring.SuggestFuse(quantity.Current(1.25*isc), quantity.Current(2.4*isc)); ok {
					out = append(out, fuse{f.Amperes(), direct, "string " + s.Name, false})
				}
			}
		}
		if c.InputCable.Fuse != nil {
			out = append(out, fuse{c.InputCable.Fuse.Amperes(), direct, "input of " + c.Name, true})
		}
		switch {
		case c.BatteryCable.Fuse != nil:
			out = append(out, fuse{c.BatteryCable.Fuse.Amperes(), atBattery, "battery side of " + c.Name, true})
		case c.BatteryCable.Length > 0 && c.BatteryCable.Area > 0:
			lay := wiring.Lay{Area: c.BatteryCable.Area, Rating: quantity.Celsius(90), Ambient: c.BatteryCable.Temperature, Bundle: 2}
			if amp, _, err := wiring.Ampacity(lay); err == nil {
				if f, ok := wiring.SuggestFuse(c.OutputCurrent, amp); ok {
					out = append(out, fuse{f.Amperes(), atBattery, "battery side of " + c.Name, false})
				}
			}
		}
	}
	return out
}

// merge returns one fuse of each size and kind.
func merge(list []fuse) []fuse {
	var out []fuse
	for _, f := range list {
		known := false
		for _, o := range out {
			known = known || o.amps == f.amps && o.kind == f.kind
		}
		if !known {
			out = append(out, f)
		}
	}
	return out
}

func fuses(b *build.Build) []Part {
	var out []Part
	for _, f := range fuseList(b) {
		note := f.where + ", " + f.kind
		if !f.asked {
			note += "; suggested: none is given"
		}
		out = append(out, pieces(Fuses, 1, fmt.Sprintf("fuse %.4g A with holder", f.amps), note))
	}
	for _, c := range b.Chargers {
		open := 0.0
		for _, si := range c.Strings {
			v := 0.0
			for _, m := range b.Strings[si].Modules {
				v += b.Types[b.Modules[m].Type].Voc.Volts()
			}
			open = max(open, v)
		}
		if len(c.Strings) > 0 {
			out = append(out, pieces(Fuses, 1, "two-pole disconnect, solar side of "+c.Name, fmt.Sprintf("for direct current, over the coldest string volts (%.0f V at 25 °C)", open)))
		}
	}
	for _, c := range b.Chargers {
		if !c.Integrated {
			return append(out, pieces(Fuses, 1, "battery disconnect", "for the largest current of charge and loads together"))
		}
	}
	return out
}
