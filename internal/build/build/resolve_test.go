package build

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/catalog"
)

func ref[T any](v T) *T { return &v }

// simple is the smallest document that resolves, with the trip's legs.
func simple(start TimeDoc, legs ...LegDoc) *Document {
	return &Document{
		Noonmark: ref(1),
		Surfaces: []SurfaceDoc{{Name: "lid", Size: &SizeDoc{2.4 * quantity.Metre, 1.5 * quantity.Metre}}},
		Types:    []TypeDoc{{Name: "m", Technology: ref("flexible mono"), Pmax: ref(110 * quantity.Watt), Size: &SizeDoc{1.1 * quantity.Metre, 0.6 * quantity.Metre}}},
		Modules: []ModuleDoc{{Name: "a", At: &PointDoc{0.1 * quantity.Metre, 0.1 * quantity.Metre}},
			{Name: "b", At: &PointDoc{0.1 * quantity.Metre, 0.75 * quantity.Metre}}},
		Chargers: []ChargerDoc{{Name: "c"}},
		Battery:  &BatteryDoc{Energy: ref(1280 * quantity.WattHour)},
		Trip:     &TripDoc{Start: &start, Legs: legs},
	}
}

func stayAt(where string, nights int) LegDoc {
	return LegDoc{Stay: &StayDoc{At: &where, Nights: &nights}}
}

var spring = TimeDoc{Year: 2027, Month: 3, Day: 26, Dated: true}

// one is simple with a week in one place.
func one() *Document { return simple(spring, stayAt("Evora, PT", 7)) }

// problemsAt returns the wants of the problems of d at a path.
func problemsAt(d *Document, path string) (wants []string, all string) {
	_, list := Resolve(d)
	var lines []string
	for _, p := range list.All() {
		lines = append(lines, p.String())
		if p.Path == path {
			wants = append(wants, p.Want)
		}
	}
	return wants, strings.Join(lines, "\n")
}

// A document of few lines resolves; each default is listed once, with its value, why and source; a
// second reading of the same document finds the same: nothing was written into it.
func TestDefaults(t *testing.T) {
	d := one()
	b, problems := Resolve(d)
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	paths := map[string]bool{}
	for _, a := range b.Assumed {
		if a.Path == "" || a.Value == "" || a.Why == "" || a.Source == "" || paths[a.Path] {
			t.Errorf("assumed %+v, listed before: %v", a, paths[a.Path])
		}
		paths[a.Path] = true
	}
	for _, want := range []string{"types.m.voc", "types.m.voc_coefficient", "types.m.low_light", "types.m.cells", "modules.a.attached", "strings", "chargers.c.input_max",
		"battery.chemistry", "battery.lowest_charge", "soiling.per_day", "trip.legs[0].stay.surroundings", "trip.legs[0].stay.at.altitude", "surfaces.lid.height"} {
		if !paths[want] {
			t.Errorf("%s was filled in and is not listed", want)
		}
	}
	again, _ := Resolve(d)
	if !reflect.DeepEqual(b.Assumed, again.Assumed) {
		t.Error("a second reading assumes other things: the document was written into")
	}
}

// Every class of the catalogue resolves, and its own figures fit together.
func TestClasses(t *testing.T) {
	for _, c := range catalog.Modules() {
		r := &resolver{doc: &Document{}, build: &Build{}}
		m := r.moduleType(&TypeDoc{Name: c.Name, Like: &c.Name}, "types."+c.Name)
		if err := r.problems.Err(); err != nil {
			t.Errorf("%s: %v", c.Name, err)
			continue
		}
		sound(t, &m, c.Name)
		if m.Cells.Count() != c.Rows*c.Columns {
			t.Errorf("%s: %d cells, want %d", c.Name, m.Cells.Count(), c.Rows*c.Columns)
		}
	}
	for _, c := range catalog.Chargers() {
		d := one()
		d.Chargers[0].Like = &c.Name
		if wants, all := problemsAt(d, ""); len(wants) > 0 || all != "" {
			t.Errorf("%s: %s", c.Name, all)
		}
	}
	for _, c := range catalog.Batteries() {
		d := one()
		d.Battery = &BatteryDoc{Like: &c.Name}
		b, list := Resolve(d)
		if list.Len() > 0 || b.Battery.Energy != c.Energy {
			t.Errorf("%s: %v, %v", c.Name, b.Battery.Energy, list.All())
		}
	}
	for _, c := range catalog.Inverters() {
		d := one()
		d.Inverter = &InverterDoc{Like: &c.Name}
		b, list := Resolve(d)
		if list.Len() > 0 || b.Inverter.Rated != c.Rated || b.Inverter.Idle != c.Idle {
			t.Errorf("%s: %+v, %v", c.Name, b.Inverter, list.All())
		}
	}
	for _, c := range catalog.Loads() {
		d := one()
		d.Inverter = &InverterDoc{}
		d.Loads = []LoadDoc{{Name: c.Name, Like: &c.Name}}
		b, list := Resolve(d)
		if list.Len() > 0 {
			t.Errorf("%s: %v", c.Name, list.All())
			continue
		}
		if l := b.Loads[0]; (l.Kind == Fridge) != c.Fridge || l.Mains != c.Mains || l.Kind == Hourly && l.Watts == [24]quantity.Power{} {
			t.Errorf("%s: got %+v", c.Name, l)
		}
	}
}

// A class's value stands only where none was written.
func TestClassUnderWritten(t *testing.T) {
	d := one()
	d.Battery = &BatteryDoc{Like: ref("lfp-100"), Energy: ref(1000 * quantity.WattHour)}
	d.Chargers[0].Like, d.Chargers[0].InputMax = ref("unit-60"), ref(55*quantity.Volt)
	b, list := Resolve(d)
	if err := list.Err(); err != nil {
		t.Fatal(err)
	}
	if b.Battery.Energy != 1000*quantity.WattHour || b.Chargers[0].InputMax != 55*quantity.Volt || !b.Chargers[0].Integrated {
		t.Errorf("got %v, %v", b.Battery.Energy, b.Chargers[0].InputMax)
	}
}

// Instants are local: summer time begins on 28 March 2027 in Portugal and takes an hour from a stay.
func TestSummerTime(t *testing.T) {
	b, list := Resolve(simple(spring, stayAt("Evora, PT", 5)))
	if err := list.Err(); err != nil {
		t.Fatal(err)
	}
	l := b.Trip.Legs[0]
	if got, want := l.Until.Sub(l.From), 5*24*time.Hour-2*time.Hour-time.Hour; got != want {
		t.Errorf("from noon to ten, five nights over summer time: got %v, want %v", got, want)
	}
	if h := l.Until.In(l.Place.Zone).Hour(); h != 10 {
		t.Errorf("departure at %d local, want 10", h)
	}
}

// Legs follow each other without a gap, over the date line, near the pole, through 400 days.
func TestTrips(t *testing.T) {
	drive := func(to string, hours float64) LegDoc { return LegDoc{Drive: &DriveDoc{To: &to, Hours: &hours}} }
	for name, legs := range map[string][]LegDoc{
		"date line":   {stayAt("-13.8, -171.8", 2), drive("-14.3, -170.7", 4), {Stay: &StayDoc{Nights: ref(2)}}},
		"Fiji":        {stayAt("-17, 179.9", 2), drive("-17, -179.9", 1), {Stay: &StayDoc{Nights: ref(2)}}},
		"pole":        {stayAt("90, 0", 3)},
		"south pole":  {stayAt("-90, 0", 3)},
		"400 days":    {stayAt("60, 10", 400)},
		"one country": {stayAt("Evora, PT", 1), drive("Tavira, PT", 3), {Stay: &StayDoc{Nights: ref(1)}}},
	} {
		b, list := Resolve(simple(spring, legs...))
		if err := list.Err(); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for i, l := range b.Trip.Legs {
			if !l.Until.After(l.From) || l.Place.Zone == nil || i > 0 && !l.From.Equal(b.Trip.Legs[i-1].Until) {
				t.Errorf("%s: leg %d runs from %v to %v", name, i, l.From, l.Until)
			}
		}
	}
}

// Each fault of sense is named at its place.
func TestFaultsOfSense(t *testing.T) {
	for name, c := range map[string]struct {
		change     func(*Document)
		path, want string
	}{
		"zero nights": {func(d *Document) { d.Trip.Legs[0].Stay.Nights = ref(0) }, "trip.legs[0].stay.nights", "nights"},
		"no legs":     {func(d *Document) { d.Trip.Legs = nil }, "trip.legs", "zero days"},
		"too long": {func(d *Document) {
			d.Trip.Legs = append(d.Trip.Legs, stayAt("Evora, PT", 700), stayAt("Evora, PT", 700))
		}, "trip.legs", "at most"},
		"latitude":      {func(d *Document) { d.Trip.Legs[0].Stay.At = ref("95, 10") }, "trip.legs[0].stay.at", "-90 to 90"},
		"no start":      {func(d *Document) { d.Trip.Start = nil }, "trip.start", "date"},
		"drive first":   {func(d *Document) { d.Trip.Legs = []LegDoc{{Drive: &DriveDoc{To: ref("Evora, PT")}}} }, "trip.legs[0].drive", "a stay first"},
		"zero battery":  {func(d *Document) { d.Battery.Energy = ref(0 * quantity.WattHour) }, "battery.energy", "above 0"},
		"empty battery": {func(d *Document) { d.Battery = &BatteryDoc{} }, "battery.energy", "its energy"},
		"no such class": {func(d *Document) { d.Battery = &BatteryDoc{Like: ref("lfp-10")} }, "battery.like", "class of battery"},
		"crossing outline": {func(d *Document) {
			d.Surfaces[0] = SurfaceDoc{Name: "lid", Outline: []PointDoc{{0, 0}, {2, 2}, {2, 0}, {0, 2}}}
		}, "surfaces.lid.outline", "cross"},
		"flat outline": {func(d *Document) {
			d.Surfaces[0] = SurfaceDoc{Name: "lid", Outline: []PointDoc{{0, 0}, {2, 0}, {1, 0}}}
		}, "surfaces.lid.outline", "cross"},
		"outside":        {func(d *Document) { d.Modules[0].At.X = 1.5 * quantity.Metre }, "modules.a.at", "outside"},
		"turned outside": {func(d *Document) { d.Modules[1].Turn = ref(90 * quantity.Degree) }, "modules.b.at", "outside"},
		"overlap":        {func(d *Document) { d.Modules[1].At.Y = 0.5 * quantity.Metre }, "modules.b.at", "overlap"},
		"half turn":      {func(d *Document) { d.Modules[0].Turn = ref(45 * quantity.Degree) }, "modules.a.turn", "quarter"},
		"skin":           {func(d *Document) { d.Surfaces[0].Skin = ref("chocolate") }, "surfaces.lid.skin", "one of"},
		"in no string":   {func(d *Document) { d.Strings = []StringDoc{{Name: "s", Modules: []string{"a"}}} }, "modules.b", "in none"},
		"in two strings": {func(d *Document) {
			d.Strings = []StringDoc{{Name: "s", Modules: []string{"a", "b"}}, {Name: "u", Modules: []string{"a"}}}
		}, "strings.u.modules", "already"},
		"inverter missing": {func(d *Document) { d.Loads = []LoadDoc{{Name: "k", Like: ref("kettle")}} }, "loads.k.on", "an inverter"},
		"under a fan": {func(d *Document) {
			d.Obstacles = []ObstacleDoc{{Name: "fan", At: &PointDoc{0.5, 0.3}, Size: &SizeDoc{0.4, 0.4}, Height: ref(0.1 * quantity.Metre)}}
		}, "modules.a.at", "clear of fan"},
		"too good":   {func(d *Document) { d.Types[0].Pmax = ref(250 * quantity.Watt) }, "types.m.size", "W/m²"},
		"positive":   {func(d *Document) { d.Types[0].Pmax = ref(-5 * quantity.Watt) }, "types.m.pmax", "above zero"},
		"people":     {func(d *Document) { d.People = ref(0) }, "people", "1 to 20"},
		"month":      {func(d *Document) { d.Loads = []LoadDoc{{Name: "f", Like: ref("fan"), Months: []int{13}}} }, "loads.f.months", "1 to 12"},
		"no version": {func(d *Document) { d.Noonmark = nil }, "noonmark", "version"},
		"obstacle's base": {func(d *Document) {
			d.Obstacles = []ObstacleDoc{{Name: "bar", At: &PointDoc{0.5, 0}, Size: &SizeDoc{0.1, 1.5}, Height: ref(0.1 * quantity.Metre), Base: ref(0.2 * quantity.Metre)}}
		}, "obstacles.bar.base", "under its height"},
		"zone": {func(d *Document) { d.Trip.Legs[0].Stay.Zone = ref("Mars/Base") }, "trip.legs[0].stay.at.zone", "time zone"},
	} {
		d := one()
		c.change(d)
		wants, all := problemsAt(d, c.path)
		if !slices.ContainsFunc(wants, func(w string) bool { return strings.Contains(w, c.want) }) {
			t.Errorf("%s: no problem at %s with %q; got\n%s", name, c.path, c.want, all)
		}
		if n := strings.Count(all, "\n"); n > 0 {
			t.Errorf("%s: one fault gave %d problems:\n%s", name, n+1, all)
		}
	}
}

// Faults in distant parts are reported together.
func TestFaultsTogether(t *testing.T) {
	d := one()
	d.Modules[1].At.Y = 0.5 * quantity.Metre
	d.Battery.Energy = ref(0 * quantity.WattHour)
	d.Trip.Legs = []LegDoc{stayAt("Nowhereville, PT", 2), {Drive: &DriveDoc{To: ref("Elsewhere, PT")}}, {Stay: &StayDoc{Nights: ref(3)}}}
	_, all := problemsAt(d, "")
	for _, want := range []string{"overlap", "battery.energy", "Nowhereville", "Elsewhere"} {
		if !strings.Contains(all, want) {
			t.Errorf("%q is not among\n%s", want, all)
		}
	}
	if n := strings.Count(all, "\n") + 1; n != 4 {
		t.Errorf("got %d problems, want 4:\n%s", n, all)
	}
}

// A bar over the modules shades them and is no fault.
func TestBarOver(t *testing.T) {
	d := one()
	d.Obstacles = []ObstacleDoc{{Name: "bar", At: &PointDoc{0.5, 0}, Size: &SizeDoc{0.1, 1.5}, Height: ref(0.1 * quantity.Metre), Base: ref(0.06 * quantity.Metre)}}
	if _, list := Resolve(d); list.Len() > 0 {
		t.Error(list.All())
	}
}

func TestNearest(t *testing.T) {
	names := []string{"foil CIGS", "CIGS", "poly", "mono PERC"}
	for typed, want := range map[string]string{"foil cgis": "foil CIGS", "ploy": "poly", "mono-perk": "mono PERC", "zzz": "", "": "", "CIGSS": "CIGS"} {
		if got := Nearest(typed, names); got != want {
			t.Errorf("%q: got %q, want %q", typed, got, want)
		}
	}
}

// The energy of a load by day is what was written, whatever its hours.
func TestDayEnergy(t *testing.T) {
	d := one()
	h := HoursDoc{}
	h.Hours[23], h.Hours[0], h.Hours[5] = 0.5, 1, 0.25
	d.Loads = []LoadDoc{{Name: "x", Day: ref(35 * quantity.WattHour), Hours: &h}, {Name: "y", Day: ref(48 * quantity.WattHour)}}
	b, list := Resolve(d)
	if err := list.Err(); err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{35, 48} {
		sum := 0.0
		for _, w := range b.Loads[i].Watts {
			sum += w.Watts()
		}
		if math.Abs(sum-want) > 1e-9 {
			t.Errorf("load %d: got %v Wh a day, want %v", i, sum, want)
		}
	}
}
