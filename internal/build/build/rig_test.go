package build

import (
	"slices"
	"strings"
	"testing"

	"noonmark/internal/base/quantity"
)

// Each figure no vehicle can have is reported at its own place.
func TestRigFaults(t *testing.T) {
	cold, hot := quantity.Celsius(20), quantity.Celsius(500)
	for path, put := range map[string]func(*Document){
		"vehicle.heights.gate":      func(d *Document) { d.Vehicle = &VehicleDoc{Heights: []HeightDoc{{Name: "gate"}}} },
		"vehicle.roof_moving":       func(d *Document) { d.Vehicle = &VehicleDoc{RoofMoving: ref(-1 * quantity.Kilogram)} },
		"vehicle.sleepers":          func(d *Document) { d.Vehicle = &VehicleDoc{Sleepers: ref(90000 * quantity.Kilogram)} },
		"vehicle.nights_a_year":     func(d *Document) { d.Vehicle = &VehicleDoc{Nights: ref(400)} },
		"surfaces.lid.mass":         func(d *Document) { d.Surfaces[0].Mass = ref(-3 * quantity.Kilogram) },
		"surfaces.lid.load_moving":  func(d *Document) { d.Surfaces[0].LoadMoving = ref(-3 * quantity.Kilogram) },
		"surfaces.lid.ribs":         func(d *Document) { d.Surfaces[0].Ribs = ref(9 * quantity.Metre) },
		"surfaces.lid.struts.count": func(d *Document) { d.Surfaces[0].Hinge, d.Surfaces[0].Struts = ref("front"), &StrutsDoc{} },
		"surfaces.lid.struts.force": func(d *Document) { d.Surfaces[0].Hinge, d.Surfaces[0].Struts = ref("front"), &StrutsDoc{Count: ref(2)} },
		"surfaces.lid.struts.arm": func(d *Document) {
			d.Surfaces[0].Hinge, d.Surfaces[0].Struts = ref("front"), &StrutsDoc{Count: ref(2), Force: ref(400 * quantity.Newton)}
		},
		"surfaces.lid.struts": func(d *Document) {
			d.Surfaces[0].Struts = &StrutsDoc{Count: ref(2), Force: ref(400 * quantity.Newton), Arm: ref(0.2 * quantity.Metre)}
		},
		"types.m.thickness":                   func(d *Document) { d.Types[0].Thickness = ref(2 * quantity.Metre) },
		"types.m.max_span":                    func(d *Document) { d.Types[0].MaxSpan = ref(9 * quantity.Metre) },
		"battery.short_circuit":               func(d *Document) { d.Battery.ShortCircuit = ref(-1 * quantity.Ampere) },
		"battery.cold_cranking":               func(d *Document) { d.Battery.Cranking = ref(-1 * quantity.Ampere) },
		"chargers.c.input_cable.where":        func(d *Document) { d.Chargers[0].Input = &RunDoc{Where: ref("bonnet")} },
		"chargers.c.input_cable.insulation":   func(d *Document) { d.Chargers[0].Input = &RunDoc{Insulation: &cold} },
		"chargers.c.battery_cable.insulation": func(d *Document) { d.Chargers[0].Output = &RunDoc{Insulation: &hot} },
		"chargers.c.input_cable.bundled":      func(d *Document) { d.Chargers[0].Input = &RunDoc{Bundled: ref(-1)} },
		"chargers.c.input_cable.flexes":       func(d *Document) { d.Chargers[0].Input = &RunDoc{Flexes: ref(0)} },
		"chargers.c.input_cable.loop_radius":  func(d *Document) { d.Chargers[0].Input = &RunDoc{Loop: ref(-1 * quantity.Millimetre)} },
		"chargers.c.input_cable.diameter":     func(d *Document) { d.Chargers[0].Input = &RunDoc{Diameter: ref(1 * quantity.Metre)} },
		"chargers.c.battery_cable.fuse":       func(d *Document) { d.Chargers[0].Output = &RunDoc{FuseVolts: ref(32 * quantity.Volt)} },
		"chargers.c.battery_cable.fuse_volts": func(d *Document) {
			d.Chargers[0].Output = &RunDoc{Fuse: ref(20 * quantity.Ampere), FuseVolts: ref(-1 * quantity.Volt)}
		},
		"chargers.c.battery_cable.fuse_breaks": func(d *Document) {
			d.Chargers[0].Output = &RunDoc{Fuse: ref(20 * quantity.Ampere), FuseBreaks: ref(-1 * quantity.Ampere)}
		},
		"chargers.c.battery_cable.fuse_from_battery": func(d *Document) {
			d.Chargers[0].Output = &RunDoc{Fuse: ref(20 * quantity.Ampere), FuseAt: ref(-1 * quantity.Metre)}
		},
	} {
		d := one()
		put(d)
		if wants, all := problemsAt(d, path); len(wants) != 1 || strings.Count(all, "\n") != 0 {
			t.Errorf("%s: %d problems there, in all:\n%s", path, len(wants), all)
		}
	}
}

// A cable's place sets the air round it, and says so; the user's own figure goes before it.
func TestPlaceOfCable(t *testing.T) {
	d := one()
	d.Chargers[0].Input = &RunDoc{Where: ref("roof")}
	b, problems := Resolve(d)
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	listed := slices.ContainsFunc(b.Assumed, func(a Assumed) bool {
		return a.Path == "chargers.c.input_cable.lies_at" && strings.Contains(a.Value, "70")
	})
	if got := b.Chargers[0].InputCable; got.Where != OnRoof || got.Temperature.Celsius() != 70 || !listed {
		t.Errorf("on the roof: %v, %v, listed %v", got.Where, got.Temperature, listed)
	}
	own := quantity.Celsius(85)
	d.Chargers[0].Input.Temperature = &own
	if b, _ = Resolve(d); b.Chargers[0].InputCable.Temperature != own {
		t.Errorf("own figure: %v", b.Chargers[0].InputCable.Temperature)
	}
}

// Nights a year and the age of struts are assumed where there is a hinge, and listed.
func TestLidAssumes(t *testing.T) {
	d := one()
	d.Surfaces[0].Hinge = ref("front")
	d.Surfaces[0].Struts = &StrutsDoc{Count: ref(2), Force: ref(400 * quantity.Newton), Arm: ref(0.2 * quantity.Metre)}
	b, problems := Resolve(d)
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"vehicle.nights_a_year", "surfaces.lid.struts.left", "chargers.c.input_cable.bundled"} {
		if !slices.ContainsFunc(b.Assumed, func(a Assumed) bool { return a.Path == path }) {
			t.Errorf("%s was filled in and is not listed", path)
		}
	}
	if s := b.Surfaces[0].Struts; s == nil || s.Left >= 1 || b.Vehicle.NightsAYear != 200 {
		t.Errorf("struts %+v, %d nights", s, b.Vehicle.NightsAYear)
	}
}
