package parts

import (
	"math"
	"strings"
	"testing"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// van is a build with two bonded modules on a lid that lifts.
func van() *build.Build {
	price := 300.0
	fuse := 20 * quantity.Ampere
	run := func(name string, metres, mm2 float64, f *quantity.Current) build.Run {
		return build.Run{Name: name, Length: quantity.Length(metres), Area: quantity.Area(mm2) * quantity.SquareMillimetre, Temperature: quantity.Celsius(45), Fuse: f}
	}
	mount := build.Mount{Adhesive: "factory film", Share: 0.9, Primer: true, Coverage: 15 * quantity.SquareMetre, Coats: 1, Container: 100 * quantity.Millilitre, Cover: "tape", CoverOn: 10 * quantity.Millimetre}
	return &build.Build{
		Name: "van", Currency: "EUR",
		Surfaces: []build.Surface{{Name: "lid", Skin: "painted aluminium", HasHinge: true}},
		Types: []build.ModuleType{{Name: "foil", Pmax: 90 * quantity.Watt, Voc: 28 * quantity.Volt, Isc: 4.6 * quantity.Ampere, Vmp: 22 * quantity.Volt,
			Length: 1.6 * quantity.Metre, Width: 0.5 * quantity.Metre, Mass: 2 * quantity.Kilogram, Price: &price}},
		Modules:  []build.Module{{Name: "A", Attachment: build.Bonded}, {Name: "B", Attachment: build.Bonded, Y: 0.6 * quantity.Metre}},
		Strings:  []build.String{{Name: "lid", Modules: []int{0, 1}}},
		Chargers: []build.Charger{{Name: "roof", Strings: []int{0}, OutputCurrent: 15 * quantity.Ampere, InputCable: run("array", 4, 4, nil), BatteryCable: run("battery", 1, 6, &fuse)}},
		Battery:  build.Battery{Name: "house", Voltage: 12.8 * quantity.Volt},
		Mounting: build.Mounting{Mounts: []build.Mount{mount, mount}},
	}
}

// find returns the parts whose name holds a word.
func find(list []Part, word string) []Part {
	var out []Part
	for _, p := range list {
		if strings.Contains(p.Name, word) {
			out = append(out, p)
		}
	}
	return out
}

// A cut is its run, slack, loops and ends, to the next 50 mm, worked by hand: 4 m × 1.03 + 0.2 + 0.5 + 0.3 = 5.12 m,
// and 1 m × 1.03 + 0.3 = 1.33 m inside.
func TestCuts(t *testing.T) {
	cuts := Cuts(van())
	if len(cuts) != 4 {
		t.Fatalf("%d cuts, want two for each of two runs", len(cuts))
	}
	for i, want := range []float64{5.15, 5.15, 1.35, 1.35} {
		if got := cuts[i].Length.Metres(); math.Abs(got-want) > 1e-9 {
			t.Errorf("cut %d, %s %s: got %g m, want %g", i, cuts[i].Run, cuts[i].Pole, got, want)
		}
	}
	for _, c := range cuts {
		if sum := c.OneWay + c.Slack + c.Loops + c.Ends; c.Length < sum || c.Length > sum+50*quantity.Millimetre {
			t.Errorf("%s: cut %v, its parts %v", c.Run, c.Length, sum)
		}
	}
	// Without a hinge there is no hinge loop.
	b := van()
	b.Surfaces[0].HasHinge = false
	if got := Cuts(b)[0].Loops.Metres(); got != 0.2 {
		t.Errorf("loops %g m, want the drip loop alone", got)
	}
	// A run without a length is not cut.
	b.Chargers[0].InputCable.Length = 0
	if got := len(Cuts(b)); got != 2 {
		t.Errorf("%d cuts, want those of the run that was measured", got)
	}
}

// What is bought covers what is cut, in each size and colour.
func TestCableCoversCuts(t *testing.T) {
	b := van()
	for _, pole := range []string{"plus", "minus"} {
		colour := map[string]string{"plus": "red", "minus": "black"}[pole]
		for _, size := range []string{"4 mm²", "6 mm²"} {
			need := 0.0
			for _, c := range Cuts(b) {
				if c.Pole == pole && c.Size == size {
					need += c.Length.Metres()
				}
			}
			got := find(Of(b), "cable "+size+", "+colour)
			if len(got) != 1 || got[0].Number < need*1.05-1e-9 || got[0].Number > need*1.05+0.5 || got[0].Unit != "m" {
				t.Errorf("%s %s: %+v for %g m", size, colour, got, need)
			}
		}
	}
}

// Prices add up where they are given, and fuses that are given are bought with spares.
func TestPricesAndFuses(t *testing.T) {
	list := Of(van())
	if sum, unpriced := Total(list); sum != 600 || unpriced < 10 {
		t.Errorf("sum %g, %d lines without a price", sum, unpriced)
	}
	fuses := find(list, "fuse 20 A")
	if len(fuses) != 2 || fuses[0].Group != Fuses || fuses[1].Group != Spares {
		t.Errorf("%+v", fuses)
	}
	// A battery cable without a fuse gets one suggested, and the list says that it is.
	b := van()
	b.Chargers[0].BatteryCable.Fuse = nil
	suggested := false
	for _, p := range find(Of(b), "fuse") {
		suggested = suggested || strings.Contains(p.Note, "suggested")
	}
	if !suggested {
		t.Error("no fuse suggested for the battery cable")
	}
	for _, p := range list {
		if p.Name == "" || p.Number <= 0 || math.IsInf(p.Number, 0) || !strings.HasPrefix(p.Count, strings.Fields(p.Count)[0]) {
			t.Errorf("%+v", p)
		}
	}
}

// Three strings in parallel have a fuse each; two have none.
func TestStringFuses(t *testing.T) {
	b := van()
	count := func() int {
		n := 0
		for _, f := range fuseList(b) {
			if strings.HasPrefix(f.where, "string") {
				n++
			}
		}
		return n
	}
	b.Strings = append(b.Strings, build.String{Name: "two", Modules: []int{1}})
	b.Chargers[0].Strings = []int{0, 1}
	if count() != 0 {
		t.Errorf("%d fuses for two strings", count())
	}
	b.Strings = append(b.Strings, build.String{Name: "three", Modules: []int{1}})
	b.Chargers[0].Strings = []int{0, 1, 2}
	if count() != 3 {
		t.Errorf("%d fuses for three strings", count())
	}
}

// What is bought for the bonds is what the installation day uses, whatever the mounting says; a module that
// nothing glues uses nothing, and a stand-off its fasteners.
func TestBondsAgreeWithTheDay(t *testing.T) {
	b := van()
	b.Surfaces[0].Skin = "coated fabric"
	b.Modules[1].Attachment, b.Mounting.Mounts[1].Share = build.FoamTape, 0.3
	m := dayplan.MaterialsOf(b, 2)
	for name, want := range map[string]float64{"primer": m.PrimerBuy.Millilitres(), "foam tape": m.FoamTape.Metres(), "full-face": m.Film.SquareMetres(), "masking": m.MaskTape.Metres(), "abrasive": float64(m.Pads),
		"lint-free": float64(m.Wipes), "container": float64(m.Containers), "bag of 5 kg": float64(m.Weights)} {
		got := find(Of(b), name)
		if len(got) == 0 || got[0].Number < want || got[0].Number > want+10 || want == 0 {
			t.Errorf("%s: %+v, the day uses %g", name, got, want)
		}
	}
	for i := range b.Modules {
		b.Modules[i].Attachment = build.StandOff
		b.Mounting.Mounts[i] = build.Mount{Fasteners: 6}
	}
	list := Of(b)
	if got := find(list, "foot or bracket"); len(got) != 1 || got[0].Number != 12 {
		t.Errorf("%+v, want 12 feet", got)
	}
	for _, name := range []string{"primer", "foam tape", "masking", "bag of 5 kg", "front-edge"} {
		if got := find(list, name); len(got) > 0 {
			t.Errorf("nothing is glued, and the list has %+v", got)
		}
	}
}
