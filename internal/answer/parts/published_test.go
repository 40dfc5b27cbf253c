package parts

import (
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/testkit"
)

// Source: a tape supplier's note on area per mass, trade handbook A1: 60 cm² a kilogram, or 240 mm of 25 mm tape.
func TestTapeForWeight(t *testing.T) {
	b := van()
	b.Types[0].Mass = 1 * quantity.Kilogram
	b.Modules[0].Attachment = build.FoamTape
	source := cite.Source{Title: "tape supplier's note on area per mass", Where: "trade handbook A1"}
	least := Bonds(b)[0].Least.Millimetres()
	testkit.Published(t, least, testkit.Check{What: "25 mm tape for 1 kg, mm", Source: source, Want: 240, Tol: 0.5})
	testkit.Published(t, least*25/100, testkit.Check{What: "tape for 1 kg, cm²", Source: source, Want: 60, Tol: 0.5})
}

// Source: trade handbook A3, primer coverage about 15 m² a litre or 65 ml/m², V = area / 15 × coats × 1.3, from memory.
func TestPrimer(t *testing.T) {
	b := van()
	b.Types[0].Length, b.Types[0].Width = 1*quantity.Metre, 1*quantity.Metre
	testkit.Published(t, Bonds(b)[0].Primer.Millilitres(), testkit.Check{What: "primer for 1 m², smooth, with waste, ml",
		Source: cite.Source{Title: "primer coverage", Where: "trade handbook A3", Standing: cite.FromMemory}, Want: 1.3 * 1000 / 15, Tol: 3, Why: "65 ml/m² and 15 m² a litre differ by 2.5 %"})
}

// Source: trade handbook B7, cable support on a windblown roof every 150 to 300 mm, common practice.
func TestClips(t *testing.T) {
	b := van() // 4 m on the roof
	clips := find(Of(b), "cable clip")
	if len(clips) != 1 {
		t.Fatal(clips)
	}
	testkit.Published(t, 4000/clips[0].Number, testkit.Check{What: "roof cable for each clip bought, mm",
		Source: cite.Source{Title: "cable support on a roof in the wind", Where: "trade handbook B7", Standing: cite.CommonPractice}, Want: 225, Tol: 75, Why: "the source gives 150 to 300 mm"})
}
