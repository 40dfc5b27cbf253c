package dayplan

import (
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/testkit"
)

// Source: a tape supplier's note on area per mass, trade handbook A1: 60 cm² a kilogram, or 240 mm of 25 mm tape.
func TestTapeForWeight(t *testing.T) {
	b := van("painted aluminium", 0.25)
	b.Types[0].Mass = 1 * quantity.Kilogram
	b.Modules[0].Attachment = build.FoamTape
	source := cite.Source{Title: "tape supplier's note on area per mass", Where: "trade handbook A1"}
	least := Bonds(b)[0].Least.Millimetres()
	testkit.Published(t, least, testkit.Check{What: "25 mm tape for 1 kg, mm", Source: source, Want: 240, Tol: 0.5})
	testkit.Published(t, least*25/100, testkit.Check{What: "tape for 1 kg, cm²", Source: source, Want: 60, Tol: 0.5})
}

// Source: trade handbook A3, primer coverage about 15 m² a litre or 65 ml/m², V = area / 15 × coats × 1.3, from memory.
func TestPrimer(t *testing.T) {
	b := van("painted aluminium", 0.25)
	b.Types[0].Length, b.Types[0].Width = 1*quantity.Metre, 1*quantity.Metre
	testkit.Published(t, Bonds(b)[0].PrimerMost.Millilitres(), testkit.Check{What: "primer for 1 m² and its mask line, smooth, with waste, ml",
		Source: cite.Source{Title: "primer coverage", Where: "trade handbook A3", Standing: cite.FromMemory}, Want: 1.3 * 1000 / 15, Tol: 4, Why: "65 ml/m² and 15 m² a litre differ by 2.5 %; the mask line adds 1.4 %"})
}

// Source: trade handbook A3, a porous fabric drinks two to three times what a smooth skin does, common practice.
func TestThirst(t *testing.T) {
	smooth, fabric := Bonds(van("painted aluminium", 0.25))[0], Bonds(van("coated fabric", 0.25))[0]
	source := cite.Source{Title: "primer on a porous fabric", Where: "trade handbook A3", Standing: cite.CommonPractice}
	testkit.Published(t, fabric.PrimerLeast.Millilitres()/smooth.PrimerLeast.Millilitres(), testkit.Check{What: "least primer on fabric against smooth", Source: source, Want: 2, Tol: 0.01})
	testkit.Published(t, fabric.PrimerMost.Millilitres()/smooth.PrimerMost.Millilitres(), testkit.Check{What: "most primer on fabric against smooth", Source: source, Want: 3, Tol: 0.01})
}
