package check

import (
	"slices"
	"strings"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/build/catalog"
	"noonmark/internal/physics/bond"
)

func ref[T any](v T) *T { return &v }

// lid is a build whose mounting is within every stated rule that its file can decide: two thin modules
// on a painted steel lid with thick tape, primed and tested, in a mild place.
func lid() *build.Build {
	const m = quantity.Metre
	here := build.Place{Name: "Evora", Latitude: 38.57 * quantity.Degree, Longitude: -7.91 * quantity.Degree, Elevation: 300 * m, Zone: time.UTC}
	kind := build.ModuleType{Name: "thin", Technology: build.FlexibleMono, Front: build.Fluoropolymer, Pmax: 110 * quantity.Watt, Voc: 22.4 * quantity.Volt, Isc: 6.3 * quantity.Ampere,
		Vmp: 18.6 * quantity.Volt, Imp: 5.914 * quantity.Ampere, PmaxCoefficient: -0.38 * quantity.PercentPerKelvin, VocCoefficient: -0.3 * quantity.PercentPerKelvin, LowLight: 0.93,
		Length: 1.1 * m, Width: 0.55 * m, Mass: 2.4 * quantity.Kilogram, Cells: build.CellGrid{Rows: 4, Columns: 9, Margin: 20 * quantity.Millimetre, Groups: 2}}
	mount := build.Mount{Adhesive: "acrylic foam tape", Thickness: 1.1 * quantity.Millimetre, Share: 0.5, Peel: ref(30 * quantity.NewtonPerCentimetre), Service: ref(quantity.Celsius(110)),
		PeelTest: "torn foam", Primer: true, Coverage: bond.PrimerCoverage, Coats: 1, Container: 100 * quantity.Millilitre, Cover: "tape", CoverOn: 10 * quantity.Millimetre}
	return &build.Build{
		Surfaces:  []build.Surface{{Name: "lid", Outline: []build.Point{{}, {X: 2.4 * m}, {X: 2.4 * m, Y: 1.5 * m}, {Y: 1.5 * m}}, Height: 2 * m, Skin: "painted steel", Absorptance: 0.85, Insulated: true, HasHinge: true}},
		Postures:  []build.Posture{{Name: "driving", Moves: true}, {Name: "parked"}, {Name: "camped", Tilts: []build.Tilt{{Surface: 0, Angle: 15 * quantity.Degree}}}},
		Obstacles: []build.Obstacle{{Name: "hatch", Outline: []build.Point{{X: 1.7 * m, Y: 0.5 * m}, {X: 2.1 * m, Y: 0.5 * m}, {X: 2.1 * m, Y: 0.9 * m}, {X: 1.7 * m, Y: 0.9 * m}}, Height: 0.06 * m}},
		Types:     []build.ModuleType{kind},
		Modules:   []build.Module{{Name: "a", X: 0.3 * m, Y: 0.1 * m, Attachment: build.FoamTape}, {Name: "b", X: 0.3 * m, Y: 0.8 * m, Attachment: build.FoamTape}},
		Battery:   build.Battery{Name: "house", Energy: 1280 * quantity.WattHour},
		Mounting: build.Mounting{Written: true, TopSpeed: 110 * quantity.KilometrePerHour, Headwind: 30 * quantity.KilometrePerHour, Gust: 10 * quantity.KilometrePerHour, BondedAt: quantity.Celsius(25),
			Insulation: ref(25 * quantity.Millimetre), CableSupport: ref(250 * quantity.Millimetre), CableEntry: build.CableEntry{Known: true, Through: true, Gland: true, Faces: build.Rear, DripLoop: true, Tested: true},
			Restraint: build.Restraint{Known: true, Straps: 2, Rating: 2500 * quantity.Newton, Blocked: true},
			Mounts:    []build.Mount{mount, mount}},
		Trip: build.Trip{Legs: []build.Leg{{Place: here, From: time.Date(2027, 5, 1, 0, 0, 0, 0, time.UTC), Until: time.Date(2027, 5, 20, 0, 0, 0, 0, time.UTC)}}},
	}
}

// with returns the lid with its first module's mount or the build changed.
func with(change func(*build.Build, *build.Mount)) *build.Build {
	b := lid()
	change(b, &b.Mounting.Mounts[0])
	return b
}

// worse lists the rules of a list that are not passed.
func worse(list []Finding) (out []string) {
	for _, f := range list {
		if f.Verdict != Pass {
			out = append(out, f.ID+" "+f.Subject+" "+f.Verdict.String())
		}
	}
	return out
}

func named(list []Finding, id, subject string) (Finding, bool) {
	i := slices.IndexFunc(list, func(f Finding) bool { return f.ID == id && strings.Contains(f.Subject, subject) })
	if i < 0 {
		return Finding{}, false
	}
	return list[i], true
}

// A sound lid passes every rule.
func TestSoundLid(t *testing.T) {
	list := Mounting(lid())
	if w := worse(list); len(w) > 0 {
		t.Errorf("not passed: %v", w)
	}
	for _, id := range []string{"uplift", "unzip", "creep", "movement", "skin", "service-temperature", "skin-heat", "edge-cover", "cable-support", "cable-entry", "heat-below", "condensation", "exit-clear", "securing"} {
		f, ok := named(list, id, "")
		if !ok || f.Reason == "" || f.Source.String() == "" {
			t.Errorf("%s: %+v", id, f)
		}
	}
}

// Each single fault moves exactly its own rule, to the verdict it should have, and no other.
func TestSingleFaults(t *testing.T) {
	const mm = quantity.Millimetre
	for _, c := range []struct {
		what   string
		want   []string // rule and verdict
		change func(*build.Build, *build.Mount)
	}{
		{"a thousandth bonded", []string{"uplift module a fail", "creep module a fail"}, func(b *build.Build, m *build.Mount) { m.Share = 0.001 }},
		{"heavy on a steep lid", []string{"creep module a fail"}, func(b *build.Build, m *build.Mount) {
			b.Postures[2].Tilts[0].Angle = 60 * quantity.Degree
			b.Types = append(b.Types, b.Types[0])
			b.Modules[0].Type, b.Types[1].Mass = 1, 70*quantity.Kilogram
		}},
		{"weak peel", []string{"unzip module a warn"}, func(b *build.Build, m *build.Mount) { m.Peel = ref(10 * quantity.NewtonPerCentimetre) }},
		{"hardly any peel", []string{"unzip module a fail"}, func(b *build.Build, m *build.Mount) { m.Peel = ref(3 * quantity.NewtonPerCentimetre) }},
		{"film of 0.2 mm", []string{"movement module a warn"}, func(b *build.Build, m *build.Mount) { m.Thickness = 0.2 * mm }},
		{"film of 0.05 mm", []string{"movement module a fail"}, func(b *build.Build, m *build.Mount) { m.Thickness = 0.05 * mm }},
		{"tape for 60 °C", []string{"service-temperature module a warn"}, func(b *build.Build, m *build.Mount) { m.Service = ref(quantity.Celsius(60)) }},
		{"no primer, no test", []string{"skin module a warn"}, func(b *build.Build, m *build.Mount) { m.Primer, m.PeelTest = false, "" }},
		{"lifted clean", []string{"skin module a fail", "unzip module a fail"}, func(b *build.Build, m *build.Mount) { m.PeelTest = "lifted clean" }},
		{"no cover", []string{"edge-cover module a warn"}, func(b *build.Build, m *build.Mount) { m.Cover = "none" }},
		{"cover in the cells' shadow", []string{"edge-cover module a warn"}, func(b *build.Build, m *build.Mount) { m.CoverOn = 18 * mm }},
		{"cover on the cells", []string{"edge-cover module a fail"}, func(b *build.Build, m *build.Mount) { m.CoverOn = 25 * mm }},
		{"clips 400 mm apart", []string{"cable-support cables on the roof warn"}, func(b *build.Build, m *build.Mount) { b.Mounting.CableSupport = ref(400 * mm) }},
		{"clips a metre apart", []string{"cable-support cables on the roof fail"}, func(b *build.Build, m *build.Mount) { b.Mounting.CableSupport = ref(1000 * mm) }},
		{"clips not said", []string{"cable-support cables on the roof unknown"}, func(b *build.Build, m *build.Mount) { b.Mounting.CableSupport = nil }},
		{"entry not said", []string{"cable-entry cables through the skin unknown"}, func(b *build.Build, m *build.Mount) { b.Mounting.CableEntry = build.CableEntry{} }},
		{"a bare hole", []string{"cable-entry cables through the skin fail"}, func(b *build.Build, m *build.Mount) { b.Mounting.CableEntry.Gland = false }},
		{"entry to the front", []string{"cable-entry cables through the skin warn"}, func(b *build.Build, m *build.Mount) { b.Mounting.CableEntry.Faces = build.Front }},
		{"hatch at the module", []string{"exit-clear hatch warn"}, func(b *build.Build, m *build.Mount) { b.Modules[0].X = 0.58 * quantity.Metre }},
		{"no hatch drawn", []string{"exit-clear exits and vents unknown"}, func(b *build.Build, m *build.Mount) { b.Obstacles = nil }},
		{"bare steel inside", []string{"condensation surface lid warn"}, func(b *build.Build, m *build.Mount) {
			b.Mounting.Insulation = ref(quantity.Length(0))
			b.Trip.Legs[0].From = time.Date(2027, 4, 1, 0, 0, 0, 0, time.UTC)
		}},
		{"insulation not said", []string{"condensation surface lid unknown"}, func(b *build.Build, m *build.Mount) { b.Mounting.Insulation = nil }},
		{"white lid", []string{"heat-below surface lid warn"}, func(b *build.Build, m *build.Mount) { b.Surfaces[0].Absorptance = 0.25 }},
		{"butyl alone", []string{"uplift module a fail", "fasteners module a unknown"}, func(b *build.Build, m *build.Mount) {
			m.Adhesive, m.Thickness = "butyl tape", 2*mm
		}},
		{"a bead without peel", []string{"unzip module a unknown"}, func(b *build.Build, m *build.Mount) { m.Adhesive, m.Thickness, m.Peel = "MS polymer bead", 3*mm, nil }},
	} {
		if got := worse(Mounting(with(c.change))); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.what, got, c.want)
		}
	}
}

// Polyethylene at 130 km/h fails by its skin, and asks for fasteners; ABS without a peel test is unknown.
func TestPlasticLids(t *testing.T) {
	b := with(func(b *build.Build, m *build.Mount) {
		b.Surfaces[0].Skin, b.Mounting.TopSpeed = "polyethylene", 130*quantity.KilometrePerHour
		m.PeelTest, m.Peel, b.Mounting.Mounts[1].PeelTest = "", nil, ""
	})
	list := Mounting(b)
	for id, want := range map[string]Verdict{"skin": Fail, "movement": Fail, "fasteners": Unknown, "unzip": Warn} {
		if f, ok := named(list, id, "module a"); !ok || f.Verdict != want {
			t.Errorf("polyethylene, %s: %v %s, want %v", id, f.Verdict, f.Reason, want)
		}
	}
	b = with(func(b *build.Build, m *build.Mount) { b.Surfaces[0].Skin = "ABS"; m.PeelTest = "" })
	if f, _ := named(Mounting(b), "skin", "module a"); f.Verdict != Unknown || !strings.Contains(f.Reason, "25 mm strip") {
		t.Errorf("ABS without a test: %v %s", f.Verdict, f.Reason)
	}
}

// Fasteners: missing figures are unknown and say how to find them; short threads without a lock fail.
func TestFasteners(t *testing.T) {
	screwed := func(change func(*build.Mount)) Finding {
		b := with(func(b *build.Build, m *build.Mount) {
			b.Modules[0].Attachment, b.Modules[0].Gap = build.StandOff, 30*quantity.Millimetre
			m.Adhesive, m.Share, m.Fasteners, m.PullOut, m.Engagement, m.Locked, m.Backed = "", 0, 8, ref(800*quantity.Newton), ref(6*quantity.Millimetre), true, true
			change(m)
		})
		f, ok := named(Mounting(b), "fasteners", "module a")
		if !ok {
			t.Fatal("no finding on fasteners")
		}
		return f
	}
	for _, c := range []struct {
		what   string
		want   Verdict
		change func(*build.Mount)
	}{
		{"eight of 800 N", Pass, func(m *build.Mount) {}},
		{"none", Unknown, func(m *build.Mount) { m.Fasteners = 0 }},
		{"pull-out not said", Unknown, func(m *build.Mount) { m.PullOut = nil }},
		{"two", Fail, func(m *build.Mount) { m.Fasteners = 2 }},
		{"weak", Fail, func(m *build.Mount) { m.PullOut = ref(60 * quantity.Newton) }},
		{"3 mm without a lock", Fail, func(m *build.Mount) { m.Engagement, m.Locked = ref(3*quantity.Millimetre), false }},
		{"thread not said", Unknown, func(m *build.Mount) { m.Engagement, m.Locked = nil, false }},
		{"no plate", Warn, func(m *build.Mount) { m.Backed = false }},
	} {
		if f := screwed(c.change); f.Verdict != c.want {
			t.Errorf("%s: %v %s, want %v", c.what, f.Verdict, f.Reason, c.want)
		}
	}
}

// A fabric lid: what is not said is unknown, an uncoated one and open needle holes fail, soft PVC under
// an ordinary tape fails and under a tape made for it, tested, passes.
func TestFabric(t *testing.T) {
	fabric := func(change func(*build.Mount)) []Finding {
		return Mounting(with(func(b *build.Build, m *build.Mount) {
			b.Surfaces[0].Skin = "coated fabric"
			m.Adhesive, m.Coating, m.HolesSealed, m.FabricYears = "plasticiser-resistant tape", "pvc", ref(true), ref(2.0)
			change(m)
		}))
	}
	for _, c := range []struct {
		id     string
		want   Verdict
		change func(*build.Mount)
	}{
		{"skin", Pass, func(m *build.Mount) {}}, {"fabric-coating", Pass, func(m *build.Mount) {}}, {"fabric-needle-holes", Pass, func(m *build.Mount) {}}, {"fabric-uv", Pass, func(m *build.Mount) {}},
		{"skin", Fail, func(m *build.Mount) { m.Adhesive = "acrylic foam tape" }},
		{"skin", Unknown, func(m *build.Mount) { m.Coating, m.Adhesive = "", "acrylic foam tape" }},
		{"fabric-coating", Unknown, func(m *build.Mount) { m.Coating = "" }}, {"fabric-coating", Fail, func(m *build.Mount) { m.Coating = "none" }},
		{"fabric-needle-holes", Unknown, func(m *build.Mount) { m.HolesSealed = nil }}, {"fabric-needle-holes", Fail, func(m *build.Mount) { m.HolesSealed = ref(false) }},
		{"fabric-uv", Unknown, func(m *build.Mount) { m.FabricYears = nil }}, {"fabric-uv", Warn, func(m *build.Mount) { m.FabricYears = ref(10.0) }}, {"fabric-uv", Fail, func(m *build.Mount) { m.FabricYears = ref(20.0) }},
	} {
		if f, ok := named(fabric(c.change), c.id, "module a"); !ok || f.Verdict != c.want {
			t.Errorf("%s: %v %s, want %v", c.id, f.Verdict, f.Reason, c.want)
		}
	}
}

// Without a place heat and frost are unknown, never a pass.
func TestNoPlace(t *testing.T) {
	b := lid()
	b.Trip = build.Trip{}
	list := Mounting(b)
	for _, id := range []string{"movement", "service-temperature", "skin-heat"} {
		if f, ok := named(list, id, "module a"); !ok || f.Verdict != Unknown {
			t.Errorf("%s without a place: %v", id, f.Verdict)
		}
	}
}

// Every skin of the catalogue is known here, and no text promises more than a rule.
func TestSkinsKnown(t *testing.T) {
	for _, k := range catalog.Skins() {
		if _, ok := bond.FindSkin(k); !ok {
			t.Errorf("no bond data of %s", k)
		}
	}
	for _, f := range Mounting(lid()) {
		if strings.Contains(" "+f.Reason+" ", " safe ") {
			t.Errorf("%s says safe: %s", f.ID, f.Reason)
		}
	}
}

// The worked uplift of the handbook: 1.05 by 0.55 m in the front corner at 150 km/h of air pulls 2303 N
// with its factor.
func TestUpliftOfBuild(t *testing.T) {
	b := with(func(b *build.Build, m *build.Mount) {
		b.Modules[0].X, b.Modules[0].Y, b.Types[0].Length, m.Share = 0, 0, 1.05*quantity.Metre, 1
	})
	f, _ := named(Mounting(b), "uplift", "module a")
	if want := 2303.0 / (1.05 * 0.55) / 1000; f.Value < want-0.01 || f.Value > want+0.01 {
		t.Errorf("got %.3f kPa, want %.3f kPa: %s", f.Value, want, f.Reason)
	}
}
