// Package parts lists what a build is made of, to buy and to cut: modules and devices, cable cut by cut,
// plugs, fuses, labels, what is used up, tools and spares.
//
// Lengths of cable are the build's, one way along the run; slack, loops, ends and waste come on top by the
// rules named here, which are common practice without a source unless one is named. Which plug family, which
// tape and which primer is the user's choice: the list says what they must do, never whose they are.
package parts

import (
	"fmt"
	"math"
	"strconv"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/wiring"
)

// Group is a section of the list.
type Group string

// The groups, in the order of the list.
const (
	Modules     Group = "modules and devices"
	Cable       Group = "cable"
	Connectors  Group = "plugs, terminals and entry"
	Fuses       Group = "fuses and disconnects"
	Labels      Group = "labels"
	Consumables Group = "used up"
	Tools       Group = "tools"
	Spares      Group = "spares"
)

// Part is a line of the list.
type Part struct {
	Group  Group    `json:"group"`
	Count  string   `json:"count"` // number and unit as printed
	Name   string   `json:"name"`
	Note   string   `json:"note"`
	Number float64  `json:"number"`
	Unit   string   `json:"unit"` // "m", "ml"; empty: pieces
	Price  *float64 `json:"price_each,omitempty"`
	Sum    *float64 `json:"price_sum,omitempty"`
}

func part(g Group, n float64, unit, name, note string) Part {
	count := strconv.FormatFloat(n, 'f', -1, 64)
	if unit != "" {
		count += " " + unit
	}
	return Part{Group: g, Count: count, Name: name, Note: note, Number: n, Unit: unit}
}

func pieces(g Group, n int, name, note string) Part { return part(g, float64(n), "", name, note) }

// Of returns the parts of b, by group.
func Of(b *build.Build) []Part {
	out := devices(b)
	out = append(out, cables(b)...)
	out = append(out, connectors(b)...)
	out = append(out, fuses(b)...)
	out = append(out, labels(b)...)
	out = append(out, consumables(b)...)
	out = append(out, tools(b)...)
	return append(out, spares(b)...)
}

// Total returns the sum of the priced lines and how many lines have no price, tools not counted.
func Total(list []Part) (sum float64, unpriced int) {
	for _, p := range list {
		switch {
		case p.Sum != nil:
			sum += *p.Sum
		case p.Group != Tools:
			unpriced++
		}
	}
	return sum, unpriced
}

// ModuleCount returns how many modules of a type are placed.
func moduleCount(b *build.Build, kind int) int {
	n := 0
	for _, m := range b.Modules {
		if m.Type == kind {
			n++
		}
	}
	return n
}

func devices(b *build.Build) []Part {
	var out []Part
	for i := range b.Types {
		n := moduleCount(b, i)
		if n == 0 {
			continue
		}
		t := &b.Types[i]
		p := pieces(Modules, n, t.Name, fmt.Sprintf("%.0f W, %.2f × %.2f m, %.1f kg; equal ones of one delivery", t.Pmax.Watts(), t.Length.Metres(), t.Width.Metres(), t.Mass.Kilograms()))
		if t.Price != nil {
			each := *t.Price
			sum := each * float64(n)
			p.Price, p.Sum = &each, &sum
		}
		out = append(out, p)
	}
	for _, c := range b.Chargers {
		kind := "charge controller "
		if c.Integrated {
			kind = "solar input "
		}
		out = append(out, pieces(Modules, 1, kind+c.Name, fmt.Sprintf("input to %.0f V, output %.0f A", c.InputMax.Volts(), c.OutputCurrent.Amperes())))
	}
	bank := pieces(Modules, 1, "battery "+b.Battery.Name, fmt.Sprintf("%.0f Wh, %.1f V", b.Battery.Energy.WattHours(), b.Battery.Voltage.Volts()))
	if b.Battery.Price != nil {
		each := *b.Battery.Price
		sum := each
		bank.Price, bank.Sum = &each, &sum
	}
	out = append(out, bank)
	if b.Inverter != nil {
		out = append(out, pieces(Modules, 1, "inverter", fmt.Sprintf("%.0f W", b.Inverter.Rated.Watts())))
	}
	return out
}

// sizeName returns a conductor's size as it is sold: by gauge when it is one.
func sizeName(a quantity.Area) string {
	for _, s := range wiring.Sizes() {
		if math.Abs(s.Area.SquareMillimetres()-a.SquareMillimetres()) < 0.005*s.Area.SquareMillimetres() {
			return s.Name
		}
	}
	return fmt.Sprintf("%.4g mm²", a.SquareMillimetres())
}

func labels(b *build.Build) []Part {
	out := []Part{
		pieces(Labels, 2, "label: solar, live whenever there is light", "at the roof entry and at the controller"),
		pieces(Labels, 1, "label: disconnect solar here", "at the switch"),
		pieces(Labels, 1, "label: battery disconnect", "at the switch"),
	}
	for _, s := range b.Strings {
		open := 0.0
		for _, m := range s.Modules {
			open += b.Types[b.Modules[m].Type].Voc.Volts()
		}
		out = append(out, pieces(Labels, 2, "label: string "+s.Name, fmt.Sprintf("%.0f V open at 25 °C, plus and minus, at both ends", open)))
	}
	return append(out, pieces(Labels, len(fuseList(b)), "label: fuse size", "beside each fuse, so that the next one is right"))
}

func tools(b *build.Build) []Part {
	var out []Part
	for _, t := range [][2]string{
		{"multimeter, volts to 100 V direct, amps to 10 A", "and its own spare fuse"},
		{"clamp meter for direct current", "amps without opening a circuit"},
		{"opaque cover for every module", "on before any plug is touched"},
		{"crimping tool for the plugs bought", "the die must fit the contact; pliers do not make a joint"},
		{"crimping tool for ring terminals", ""},
		{"plug spanners, a pair", ""},
		{"cable cutter and stripper", ""},
		{"insulated spanner for the battery posts", "rings and watches off"},
		{"steel rule, square, soft pencil", "check the template's scale bar first"},
		{"hand roller, firm", "where modules are bonded"},
		{"thermometer for surfaces, and one for air with humidity", "skin 3 K over the dew point, below 40 °C"},
		{"ladder, platform, gloves, knee pad", "a second person on the ground"},
	} {
		out = append(out, pieces(Tools, 1, t[0], t[1]))
	}
	if m := dayplan.MaterialsOf(b, leastCrew); m.Weights > 0 {
		out = append(out, pieces(Tools, m.Weights, "bag of 5 kg on a foam-backed board", "along the edges, for an hour or more; the roller bonds, they do not"))
	}
	return out
}

func spares(b *build.Build) []Part {
	var out []Part
	for _, f := range merge(fuseList(b)) {
		out = append(out, pieces(Spares, 2, fmt.Sprintf("fuse %.4g A, %s", f.amps, f.kind), "kept beside its holder"))
	}
	return append(out,
		pieces(Spares, 1, "pair of plugs, with contacts and seals", "the same maker and family as those fitted"),
		pieces(Spares, 1, "patch of the adhesive or tape used", "for an edge that lifts on the road"),
		pieces(Spares, 1, "roll of wide cover tape", "to hold a front edge until it is mended"))
}
