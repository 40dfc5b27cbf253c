package parts

import (
	"fmt"
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// What comes on top of a run's length. Common practice, no source.
const (
	slack     = 0.03                  // of the run: bends and heat
	endLength = 0.15 * quantity.Metre // at each end: strip, terminal, a second try
	hingeLoop = 0.5 * quantity.Metre  // a lid's travel and its strain relief
	dripLoop  = 0.2 * quantity.Metre  // before the entry, so that water drips off
	leftover  = 0.05                  // waste when several cuts come off a reel
	clipSpan  = 0.25 * quantity.Metre // of cable on a roof in the wind; handbook B7: 150 to 300 mm
)

// Cut is one conductor to cut.
type Cut struct {
	Run    string // the run's name in the build
	Pole   string // "plus", "minus"
	Size   string // "4 mm²"
	Area   quantity.Area
	OneWay quantity.Length // along the run
	Slack  quantity.Length
	Loops  quantity.Length // hinge and drip loops
	Ends   quantity.Length
	Length quantity.Length // to cut
	Why    string          // which loops
}

// runs calls f with every run that has a length: those of strings and of inputs come from the roof.
func runs(b *build.Build, f func(r build.Run, roof bool, lid bool)) {
	lid := false
	for _, m := range b.Modules {
		lid = lid || b.Surfaces[m.Surface].HasHinge
	}
	for _, s := range b.Strings {
		if s.Cable.Length > 0 {
			f(s.Cable, true, lid)
		}
	}
	for _, c := range b.Chargers {
		if c.InputCable.Length > 0 {
			f(c.InputCable, true, lid)
		}
		if c.BatteryCable.Length > 0 {
			f(c.BatteryCable, false, false)
		}
	}
}

// Cuts returns the cut list: two conductors for each run. A run from the roof has a drip loop, one from a
// lid a hinge loop. Runs without a length are left out: measure them first.
func Cuts(b *build.Build) []Cut {
	var out []Cut
	runs(b, func(r build.Run, roof, lid bool) {
		loops, why := 0.0, "no loop"
		if roof {
			loops, why = dripLoop.Metres(), "drip loop"
		}
		if lid {
			loops, why = loops+hingeLoop.Metres(), "drip loop and hinge loop"
		}
		l := r.Length.Metres()
		ends := 2 * endLength.Metres()
		total := math.Ceil((l*(1+slack)+loops+ends)*20-1e-9) / 20
		for _, pole := range []string{"plus", "minus"} {
			out = append(out, Cut{Run: r.Name, Pole: pole, Size: sizeName(r.Area), Area: r.Area, OneWay: r.Length, Slack: quantity.Length(l * slack),
				Loops: quantity.Length(loops), Ends: quantity.Length(ends), Length: quantity.Length(total), Why: why})
		}
	})
	return out
}

// cables returns what to buy for the cuts, by size and colour, to the next half metre with waste.
func cables(b *build.Build) []Part {
	type key struct{ size, pole string }
	var order []key
	metres, names := map[key]float64{}, map[key]int{}
	for _, c := range Cuts(b) {
		k := key{c.Size, c.Pole}
		if _, ok := metres[k]; !ok {
			order = append(order, k)
		}
		metres[k] += c.Length.Metres()
		names[k]++
	}
	var out []Part
	for _, k := range order {
		buy := math.Ceil(metres[k]*(1+leftover)*2-1e-9) / 2
		colour := "red"
		if k.pole == "minus" {
			colour = "black"
		}
		out = append(out, part(Cable, buy, "m", "cable "+k.size+", "+colour,
			fmt.Sprintf("%s of %.2f m together, waste in; fine-stranded, for sun where it lies outside", plural(names[k], "cut"), metres[k])))
	}
	return out
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// connectors counts plugs, terminals, the entry and what holds the cable.
func connectors(b *build.Build) []Part {
	var out []Part
	strings, parallel := 0, 0
	for _, c := range b.Chargers {
		strings += len(c.Strings)
		if len(c.Strings) > 1 {
			parallel += len(c.Strings)
		}
	}
	if strings > 0 {
		kind := "the family and maker of the modules' own plugs"
		for _, m := range b.Modules {
			if k := b.Types[m.Type].Connector; k != "" {
				kind = k + ", the same maker on both halves"
				break
			}
		}
		out = append(out, pieces(Connectors, strings, "plug, socket half", kind), pieces(Connectors, strings, "plug, pin half", kind))
	}
	if parallel > 1 {
		out = append(out, pieces(Connectors, 1, fmt.Sprintf("pair of %d-way branches", parallel), "joins the strings; rated for the sum of their currents"))
	}
	roof, ends, devices := 0.0, 0, 0
	runs(b, func(r build.Run, onRoof, _ bool) {
		if onRoof {
			roof += r.Length.Metres()
			devices += 2
		} else {
			ends += 2
			devices += 2
		}
	})
	if ends > 0 {
		out = append(out, pieces(Connectors, ends, "ring terminal", "for the battery posts, hole to suit; crimped, then covered"))
	}
	if devices > 0 {
		out = append(out, pieces(Connectors, devices, "wire end sleeve", "for the controller's clamps"))
	}
	out = append(out, pieces(Connectors, 1, "cable gland or entry box, two cables", "on a face that looks to the rear, sealed on clean paint, drip loop before it"))
	if roof > 0 {
		out = append(out, pieces(Connectors, int(math.Ceil(roof/clipSpan.Metres()*1.1)), "cable clip or saddle", "one every 250 mm, one within 100 mm of every edge, a tenth over"),
			part(Connectors, 0.5, "m", "edge strip", "wherever cable goes over a bare edge"))
	}
	return out
}
