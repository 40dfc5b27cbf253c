package dayplan

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/bond"
)

// van is a build with two thin modules bonded to a lid of the given skin and absorptance.
func van(skin string, absorptance quantity.Ratio) *build.Build {
	const m = quantity.Metre
	kind := build.ModuleType{Name: "thin", Technology: build.FlexibleMono, Front: build.Fluoropolymer, Pmax: 110 * quantity.Watt, Length: 1.1 * m, Width: 0.55 * m, Mass: 2.4 * quantity.Kilogram,
		Cells: build.CellGrid{Rows: 4, Columns: 9, Margin: 20 * quantity.Millimetre, Groups: 2}}
	mount := build.Mount{Adhesive: "factory film", Thickness: 0.4 * quantity.Millimetre, Share: 0.9, Primer: true, Coverage: bond.PrimerCoverage, Coats: 1, Container: 100 * quantity.Millilitre, Cover: "tape", CoverOn: 10 * quantity.Millimetre}
	return &build.Build{
		Surfaces: []build.Surface{{Name: "lid", Outline: []build.Point{{}, {X: 2.4 * m}, {X: 2.4 * m, Y: 1.5 * m}, {Y: 1.5 * m}}, Height: 2 * m, Skin: skin, Absorptance: absorptance, Insulated: true}},
		Types:    []build.ModuleType{kind},
		Modules:  []build.Module{{Name: "a", X: 0.3 * m, Y: 0.1 * m}, {Name: "b", X: 0.3 * m, Y: 0.8 * m}},
		Mounting: build.Mounting{TopSpeed: 110 * quantity.KilometrePerHour, Mounts: []build.Mount{mount, mount}},
	}
}

func where(lat, lon float64, zone string) build.Place {
	z, err := time.LoadLocation(zone)
	if err != nil {
		panic(err)
	}
	return build.Place{Name: "there", Latitude: quantity.Angle(lat) * quantity.Degree, Longitude: quantity.Angle(lon) * quantity.Degree, Elevation: 300 * quantity.Metre, Zone: z}
}

var (
	evora   = where(38.57, -7.91, "Europe/Lisbon")
	phoenix = where(33.45, -112.07, "America/Phoenix")
	uppsala = where(59.86, 17.64, "Europe/Stockholm")
)

func made(t *testing.T, b *build.Build, p build.Place, month time.Month) *Plan {
	t.Helper()
	plan, err := Make(b, Job{Day: time.Date(2027, month, 12, 12, 0, 0, 0, p.Zone), Place: p, Crew: 3})
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

// On a fine day of May at 38° N a white lid has a window; the bonding lies in it, tasks follow each other
// by daylight, nothing is primed before its hold, and the vehicle drives later the faster it goes.
func TestFineDay(t *testing.T) {
	p := made(t, van("painted aluminium", 0.25), evora, time.May)
	if !p.Window.Found || !p.Fits || p.Placed != 2 {
		t.Fatalf("window %+v, placed %d", p.Window, p.Placed)
	}
	if p.CrewLeast != 2 || p.Crew != 3 {
		t.Errorf("crew %d of %d", p.Crew, p.CrewLeast)
	}
	if start := hourAt(p.Hours, p.Window.Start); start.Skin.Celsius() < 21 {
		t.Errorf("bonding starts at %v on a skin of %v, with the day before it", start.From, start.Skin)
	}
	primed, placed := 0, 0
	last := time.Time{}
	for _, k := range p.Tasks {
		if k.BeforeDays > 0 {
			continue
		}
		if !k.To.After(k.From) || k.From.Before(p.Rise) || k.People < 1 {
			t.Errorf("task %+v", k)
		}
		if k.Gate {
			if k.From.Before(p.Window.From) || k.To.After(p.Window.Until) || k.From.Before(last) || !k.Hold {
				t.Errorf("outside the window or out of turn: %+v", k)
			}
			last = k.To
			for h := k.From; h.Before(k.To); h = h.Add(10 * time.Minute) {
				if !hourAt(p.Hours, h).Open {
					t.Errorf("%s at %v, when the gate is shut", k.Name, h)
				}
			}
		}
		if strings.HasPrefix(k.Name, "prime") {
			primed++
		}
		if strings.HasPrefix(k.Name, "place") {
			placed++
			if primed != placed {
				t.Errorf("placed %d with %d primed", placed, primed)
			}
		}
	}
	if primed != 2 || placed != 2 {
		t.Errorf("%d primed, %d placed", primed, placed)
	}
	if len(p.Drive) != 3 || p.Drive[0].Most != 0 || p.Drive[1].Most != 50*quantity.KilometrePerHour || p.Drive[2].Most != 110*quantity.KilometrePerHour {
		t.Fatalf("drive %+v", p.Drive)
	}
	for i, d := range p.Drive {
		if !d.Found || !d.From.After(last) || d.InSun.IsZero() || d.InSun.After(d.From) || i > 0 && d.From.Before(p.Drive[i-1].From) {
			t.Errorf("drive %+v", d)
		}
	}
	if days := p.Drive[2].From.Sub(last).Hours() / 24; days < 2 || days > 10 {
		t.Errorf("full speed after %.1f days; 3 at 21 °C", days)
	}
}

// Each hour is open when no reason stops and it is light; the window is a run of open hours and no
// longer one exists.
func TestHoursAndWindow(t *testing.T) {
	for _, p := range []*Plan{made(t, van("painted aluminium", 0.25), evora, time.May), made(t, van("painted steel", 0.93), phoenix, time.July), made(t, van("painted steel", 0.85), uppsala, time.April)} {
		if len(p.Hours) != 24 {
			t.Fatalf("%d hours", len(p.Hours))
		}
		run, most := 0, 0
		for _, h := range p.Hours {
			stops := len(h.Reasons) > 0 && h.Reasons[0].Stops()
			if h.Open == stops && h.Light > 0 || h.Open && h.Light <= 0 {
				t.Errorf("%v open %v with %v", h.From, h.Open, h.Reasons)
			}
			if h.Humidity > 1 || h.Humidity < 0 || h.Air.Before(h.Dew) {
				t.Errorf("%v: %v of humidity, dew %v over air %v", h.From, h.Humidity, h.Dew, h.Air)
			}
			if h.Open {
				run++
			} else {
				run = 0
			}
			most = max(most, run)
			if (h.Patch > 0) && !h.Open {
				t.Errorf("%v: a patch while shut", h.From)
			}
		}
		if got := p.Window.Until.Sub(p.Window.From); p.Window.Found && got != time.Duration(most)*time.Hour || p.Window.Found != (most > 0) {
			t.Errorf("window %+v, longest run %d h", p.Window, most)
		}
	}
}

// A black roof in an Arizona July is too hot for primer and hand at noon: both limits are shown.
func TestHotRoof(t *testing.T) {
	p := made(t, van("painted steel", 0.93), phoenix, time.July)
	if p.Window.HotFrom.IsZero() || p.Window.HotFrom.Hour() > 11 {
		t.Fatalf("hot from %v", p.Window.HotFrom)
	}
	noon := p.Hours[12]
	if noon.Open || noon.Reasons[0] != bond.TooHot || noon.Skin.Celsius() < 70 || noon.Touch > 2*time.Second {
		t.Errorf("noon: %+v", noon)
	}
	if len(p.Window.Runs) != 2 {
		t.Errorf("runs %v, want one in the morning and one in the evening", p.Window.Runs)
	}
	if p.Window.Found && p.Window.From.Before(p.Window.HotUntil) && p.Window.Until.After(p.Window.HotFrom) {
		t.Errorf("the window %v to %v runs through the hot hours", p.Window.From, p.Window.Until)
	}
	white := made(t, van("painted steel", 0.25), phoenix, time.July)
	if !white.Hours[12].Skin.Before(noon.Skin.Add(-20 * quantity.OneKelvin)) {
		t.Errorf("white %v, black %v", white.Hours[12].Skin, noon.Skin)
	}
}

// In January at 60° N there is no window, it says why, and nothing is primed or driven.
func TestWinter(t *testing.T) {
	p := made(t, van("painted aluminium", 0.25), uppsala, time.January)
	if p.Window.Found || p.Fits || p.Placed != 0 || len(p.Drive) != 0 || !strings.Contains(p.Window.Why, "cold") {
		t.Errorf("window %+v, placed %d, drive %v", p.Window, p.Placed, p.Drive)
	}
	for _, k := range p.Tasks {
		if k.Gate {
			t.Errorf("gated task %+v", k)
		}
	}
}

// What is needed, reckoned by hand: two faces of 1.1 by 0.55 m with 3.5 mm of margin, 15 m² a litre,
// three tenths waste, 25 kg a square metre.
func TestMaterials(t *testing.T) {
	m := made(t, van("painted aluminium", 0.25), evora, time.May).Materials
	masked := 2 * 1.107 * 0.557
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"masked, m²", m.Masked.SquareMetres(), masked}, {"mask tape, m", m.MaskTape.Metres(), 2 * 2 * 1.664 * 1.1}, {"foam tape, m", m.FoamTape.Metres(), 0},
		{"primer, ml", m.PrimerBuy.Millilitres(), masked / 15 * 1.3 * 1000}, {"containers", float64(m.Containers), 3}, {"weights, kg", m.WeightMass.Kilograms(), 2 * 0.605 * 25},
		{"bags", float64(m.Weights), 7}, {"weights of wet-out, %", m.WeightShare.Percent(), 0.25 * 9.80665 / 10}, {"covers", float64(len(m.Covers)), 2},
		{"cover's width, mm", m.Covers[0].Width.Millimetres(), 630}, {"cover off the cells, mm", m.Covers[0].OffCells.Millimetres(), 10},
	} {
		if math.Abs(c.got-c.want) > 1e-9*math.Max(1, c.want) {
			t.Errorf("%s: got %g, want %g", c.what, c.got, c.want)
		}
	}
	thirsty := made(t, van("coated fabric", 0.25), evora, time.May).Materials
	if r := thirsty.PrimerBuy.CubicMetres() / m.PrimerBuy.CubicMetres(); math.Abs(r-3) > 1e-9 || math.Abs(thirsty.PrimerLeast.CubicMetres()/m.PrimerBuy.CubicMetres()-2) > 1e-9 {
		t.Errorf("fabric drinks %g times", r)
	}
	own := van("coated fabric", 0.25)
	own.Mounting.Mounts[0].Thirst, own.Mounting.Mounts[1].Thirst = 2.5, 2.5
	if r := made(t, own, evora, time.May).Materials.PrimerBuy.CubicMetres() / m.PrimerBuy.CubicMetres(); math.Abs(r-2.5) > 1e-9 {
		t.Errorf("the user's thirst of 2.5 counts as %g", r)
	}
	strips := van("painted aluminium", 0.25)
	for i := range strips.Modules {
		strips.Modules[i].Attachment = build.FoamTape
		strips.Mounting.Mounts[i].Share, strips.Mounting.Mounts[i].Primer = 0.3, false
	}
	s := made(t, strips, evora, time.May).Materials
	if want := 2 * 0.605 * 0.3 / 0.025 * 1.1; math.Abs(s.FoamTape.Metres()-want) > 1e-9 || s.PrimerBuy != 0 || s.Containers != 0 || s.Masked >= m.Masked {
		t.Errorf("strips: %v of tape, want %g m; %v of primer; masked %v", s.FoamTape, want, s.PrimerBuy, s.Masked)
	}
}

// At a steady 21 °C a bond is at full speed after its 72 h, at 31 °C after half, in frost never.
func TestReach(t *testing.T) {
	from := time.Date(2027, 5, 1, 14, 0, 0, 0, time.UTC)
	steady := func(c float64) func(time.Time) quantity.Temperature {
		return func(time.Time) quantity.Temperature { return quantity.Celsius(c) }
	}
	need := bond.Needed(bond.MotorwaySpeed, 72*time.Hour)
	for c, want := range map[float64]time.Duration{21: 72 * time.Hour, 31: 36 * time.Hour, 11: 144 * time.Hour} {
		if when, ok := reach(from, need, steady(c)); !ok || when.Sub(from) != want {
			t.Errorf("%g °C: %v, %v", c, when.Sub(from), ok)
		}
	}
	if _, ok := reach(from, need, steady(-5)); ok {
		t.Error("a bond built in frost")
	}
}

// Without bonded modules or a place there is no plan, and it says which.
func TestNoPlan(t *testing.T) {
	b := van("painted aluminium", 0.25)
	if _, err := Make(b, Job{Day: time.Date(2027, 5, 1, 0, 0, 0, 0, time.UTC)}); !errors.Is(err, ErrNoPlace) {
		t.Errorf("no place: %v", err)
	}
	for i := range b.Mounting.Mounts {
		b.Mounting.Mounts[i].Adhesive = ""
	}
	if _, err := Make(b, Job{Day: time.Date(2027, 5, 1, 0, 0, 0, 0, time.UTC), Place: evora}); !errors.Is(err, ErrNothingBonded) {
		t.Errorf("nothing bonded: %v", err)
	}
}

// A long module asks for more hands, and too few are said; removal never heats a skin past its limit;
// nothing is called safe.
func TestCrewAndRemoval(t *testing.T) {
	b := van("coated fabric", 0.25)
	b.Types[0].Length = 2.6 * quantity.Metre
	p, err := Make(b, Job{Day: time.Date(2027, 5, 1, 0, 0, 0, 0, evora.Zone), Place: evora})
	if err != nil {
		t.Fatal(err)
	}
	if p.CrewLeast != 3 || p.Crew != 2 || !strings.Contains(p.Cautions[0], "too few hands") {
		t.Errorf("crew %d of %d, %s", p.Crew, p.CrewLeast, p.Cautions[0])
	}
	limit := quantity.Celsius(70)
	for _, r := range p.Removals {
		if !r.Heat.Before(limit) || r.Time != time.Hour || r.Risk == "" || len(r.Steps) < 8 {
			t.Errorf("removal %+v", r)
		}
	}
	all := strings.Join(append(append(append([]string{}, p.Cautions...), p.Notes...), p.Trial...), " ")
	if strings.Contains(" "+all+" ", " safe ") {
		t.Error("a text says safe")
	}
}

// Before a departure in May the day is a fortnight before; before one in January it is one of the autumn, on which
// everything fits, with the crew that the module asks for; where a year has none the fortnight before is shown.
func TestLatest(t *testing.T) {
	b := van("painted aluminium", 0.25)
	for month, want := range map[time.Month]time.Month{time.May: time.May, time.January: time.October} {
		leave := time.Date(2027, month, 28, 9, 0, 0, 0, uppsala.Zone)
		p, err := Latest(b, Job{Day: leave, Place: uppsala})
		if err != nil {
			t.Fatal(err)
		}
		if !p.Fits || p.Date.After(leave.AddDate(0, 0, -13)) || p.Crew != p.CrewLeast || month == time.May && p.Date.Day() != 14 {
			t.Errorf("before %v: %v, fits %v, crew %d", leave, p.Date, p.Fits, p.Crew)
		}
		if got := p.Date.Month(); month == time.May && got != want || month == time.January && (got < time.August || got > time.November) {
			t.Errorf("before %v: %v, want about %v", leave, got, want)
		}
	}
	for range 60 {
		b.Modules = append(b.Modules, b.Modules[0])
		b.Mounting.Mounts = append(b.Mounting.Mounts, b.Mounting.Mounts[0])
	}
	p, err := Latest(b, Job{Day: time.Date(2027, 5, 28, 9, 0, 0, 0, evora.Zone), Place: evora})
	if err != nil || p.Fits || p.Date.Day() != 14 {
		t.Errorf("62 modules: %v, fits %v, %v", p.Date, p.Fits, err)
	}
}
