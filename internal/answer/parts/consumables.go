package parts

import (
	"fmt"
	"math"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/build/build"
)

// leastCrew is for whom gloves are counted: a sheet is never placed alone. Common practice, no source.
const leastCrew = 2

// consumables returns what is used up. What the bonds take is the day plan's reckoning, so that what is bought
// is what the day uses.
func consumables(b *build.Build) []Part {
	var out []Part
	around, front, porous := 0.0, 0.0, false
	for _, o := range dayplan.Bonds(b) {
		around += o.Around.Metres()
		porous = porous || o.Porous && o.PrimerMost > 0
	}
	m := dayplan.MaterialsOf(b, leastCrew)
	for _, c := range m.Covers {
		front += c.Width.Metres()
	}
	up := func(x, step float64) float64 { return math.Ceil(x/step-1e-9) * step }
	if m.Film > 0 {
		out = append(out, part(Consumables, up(m.Film.SquareMetres(), 0.1), "m²", "full-face adhesive film or tape", "where the modules come without it; for the skin and the heat"))
	}
	if m.FoamTape > 0 {
		out = append(out, part(Consumables, up(m.FoamTape.Metres(), 0.5), "m", "foam tape, 25 mm", "by the bonded share of each module; thickness by the movement rule"))
	}
	if m.Containers > 0 {
		note := "one of them spare; where the adhesive's sheet asks for primer"
		if porous {
			note = "one of them spare; fabric drinks two to three times what a smooth skin does: never plan on one container that runs out at the front edge"
		}
		out = append(out, part(Consumables, up(m.PrimerBuy.Millilitres(), 10), "ml", "primer", fmt.Sprintf("%.0f ml at the least thirst; sold by %.0f ml", m.PrimerLeast.Millilitres(), m.Container.Millilitres())),
			pieces(Consumables, m.Containers, "container of primer", note))
	}
	if m.Masked > 0 {
		out = append(out, part(Consumables, up(m.MaskTape.Metres(), 1), "m", "masking tape, 25 mm", "2 to 5 mm outside the bond; off before the primer sets"),
			part(Consumables, up(m.Alcohol.Millilitres(), 50), "ml", "alcohol and water, half and half", "two passes; flammable: no flame, no spark, vents open"),
			pieces(Consumables, m.Wipes, "clean lint-free cloth", "one side, one wipe"),
			pieces(Consumables, m.Pads, "fine abrasive pad", "matt, not deep"),
			pieces(Consumables, m.Gloves, "pair of gloves", "clean ones after every wipe"),
			part(Consumables, up(around/12, 1), "tube", "edge sealant", "one the adhesive's sheet allows; no silicone near a bond to come"))
	}
	if front > 0 {
		out = append(out, part(Consumables, up(front*1.1, 0.5), "m", "front-edge cover", "wide tape, trim or sewn fabric over the front edges, kept off the cells: cut by the day plan's pattern"))
	}
	feet, fabric := 0, 0
	for i := range b.Modules {
		switch b.Modules[i].Attachment {
		case build.StandOff, build.Rack:
			feet += max(4, b.Mounting.Mounts[i].Fasteners)
		case build.FabricPocket:
			fabric++
		}
	}
	if feet > 0 {
		out = append(out, pieces(Consumables, feet, "foot or bracket with fastener and lock", "four to a module at the least: the mounting sheet has the last word"),
			part(Consumables, up(float64(feet)/8, 1), "tube", "sealant for the fasteners", "for the skin and the sun"))
	}
	if fabric > 0 {
		out = append(out, pieces(Consumables, fabric, "fabric pocket with drain and front cover", "thread for the sun; seams sealed"))
	}
	return append(out, part(Consumables, 2, "m", "heat-shrink sleeve with glue", "over every crimp in the wet"), pieces(Consumables, 50, "cable tie for the sun", "inside only; outside, clips"))
}
