package parts

import (
	"math"
	"strings"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Figures of the handbook, sections A1 and A3.
const (
	primerPerArea = 65.0  // ml/m², thin film on a smooth surface; from memory
	primerWaste   = 1.3   // our own estimate
	thirstFabric  = 2.5   // a porous fabric against a smooth skin: 2 to 3; common practice
	tapeWidth     = 25.0  // mm
	tapePerMass   = 240.0 // mm of 25 mm tape for a kilogram held for years; a tape supplier's note (60 cm² a kilogram)
	wipePerArea   = 60.0  // ml/m² of alcohol and water for two passes; our own estimate
)

// Bond is what a module's bond takes.
type Bond struct {
	Module  string
	Area    quantity.Area   // of the module
	Around  quantity.Length // its edge
	Tape    quantity.Length // of 25 mm foam tape; 0: none
	Least   quantity.Length // of tape for its weight by the creep rule
	Primer  quantity.Volume
	Porous  bool
	Holding string // "bonded"
}

var holdings = map[build.Attachment]string{build.Bonded: "bonded", build.FoamTape: "foam tape", build.StandOff: "stand-off", build.Rack: "rack",
	build.FabricPocket: "fabric pocket", build.LooseFlat: "loose"}

// bondOf returns what module m takes. Tape runs round the edge and once along the middle.
func bondOf(b *build.Build, m *build.Module) Bond {
	t := &b.Types[m.Type]
	l, w := t.Length.Metres(), t.Width.Metres()
	skin := strings.ToLower(b.Surfaces[m.Surface].Skin)
	o := Bond{Module: m.Name, Area: quantity.Area(l * w), Around: quantity.Length(2 * (l + w)), Holding: holdings[m.Attachment],
		Porous: strings.Contains(skin, "fabric") || strings.Contains(skin, "canvas")}
	thirst, millilitres := 1.0, 0.0
	if o.Porous {
		thirst = thirstFabric
	}
	switch m.Attachment {
	case build.Bonded:
		millilitres = l * w * primerPerArea * primerWaste * thirst
	case build.FoamTape:
		tape := 2*(l+w) + l
		o.Tape = quantity.Length(tape)
		o.Least = quantity.Length(t.Mass.Kilograms() * tapePerMass / 1000)
		millilitres = tape * tapeWidth / 1000 * primerPerArea * primerWaste * thirst
	}
	o.Primer = quantity.Volume(millilitres * 1e-6)
	return o
}

// Bonds returns what each module's bond takes.
func Bonds(b *build.Build) []Bond {
	out := make([]Bond, len(b.Modules))
	for i := range b.Modules {
		out[i] = bondOf(b, &b.Modules[i])
	}
	return out
}

func consumables(b *build.Build) []Part {
	var out []Part
	film, tape, primer, mask, area, feet, front := 0.0, 0.0, 0.0, 0.0, 0.0, 0, 0.0
	porous := false
	for i, o := range Bonds(b) {
		m := &b.Modules[i]
		low, high := b.Footprint(m)
		switch m.Attachment {
		case build.Bonded:
			film += o.Area.SquareMetres()
			mask += o.Around.Metres()
			area += o.Area.SquareMetres()
			front += (high.Y - low.Y).Metres()
		case build.FoamTape:
			tape += o.Tape.Metres()
			mask += o.Around.Metres()
			area += o.Area.SquareMetres()
			front += (high.Y - low.Y).Metres()
		case build.StandOff, build.Rack:
			feet += 4
		}
		primer += o.Primer.Millilitres()
		porous = porous || o.Porous && o.Primer > 0
	}
	up := func(x, step float64) float64 { return math.Ceil(x/step-1e-9) * step }
	if film > 0 {
		out = append(out, part(Consumables, up(film*1.05, 0.1), "m²", "full-area adhesive film", "where the modules come without it; for the skin and the heat"))
	}
	if tape > 0 {
		out = append(out, part(Consumables, up(tape*1.1, 0.5), "m", "acrylic foam tape, 25 mm", "round each module and once along it; thickness by the movement rule"))
	}
	if primer > 0 {
		note := "65 ml a square metre of bonded area and three tenths over, one coat; where the adhesive's sheet asks for it"
		if porous {
			note = "as above times 2.5: fabric drinks two to three times what a smooth skin does; never plan on one container that runs out at the front edge"
		}
		out = append(out, part(Consumables, up(primer, 10), "ml", "primer", note), pieces(Consumables, 1, "spare container of primer", "a surface may be thirstier than the figure"))
	}
	if mask > 0 {
		out = append(out, part(Consumables, up(mask*1.15, 1), "m", "masking tape, 25 mm", "2 to 5 mm outside the bond; off before the primer sets"))
		out = append(out, part(Consumables, up(area*wipePerArea, 50), "ml", "alcohol and water, half and half", "two passes; flammable: no flame, no spark, vents open"))
		out = append(out, pieces(Consumables, 2*int(math.Ceil(area/0.25)), "clean lint-free cloth", "one side, one wipe"))
		out = append(out, pieces(Consumables, max(2, int(math.Ceil(area/0.5))), "fine abrasive pad", "matt, not deep"))
		out = append(out, part(Consumables, up(front*1.1, 0.5), "m", "front-edge cover", "wide tape or thin flashing over the front edges, kept off the cells"))
		out = append(out, part(Consumables, up(mask/12, 1), "tube", "edge sealant", "one the adhesive's sheet allows; no silicone near a bond to come"))
	}
	if feet > 0 {
		out = append(out, pieces(Consumables, feet, "foot or bracket with fastener and lock", "four to a module at the least: the mounting sheet has the last word"),
			part(Consumables, up(float64(feet)/8, 1), "tube", "sealant for the fasteners", "for the skin and the sun"))
	}
	fabric := 0
	for _, m := range b.Modules {
		if m.Attachment == build.FabricPocket {
			fabric++
		}
	}
	if fabric > 0 {
		out = append(out, pieces(Consumables, fabric, "fabric pocket with drain and front cover", "thread for the sun; seams sealed"))
	}
	return append(out, part(Consumables, 2, "m", "heat-shrink sleeve with glue", "over every crimp in the wet"), pieces(Consumables, 50, "cable tie for the sun", "inside only; outside, clips"))
}
