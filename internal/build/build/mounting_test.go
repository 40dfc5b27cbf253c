package build

import (
	"strings"
	"testing"

	"noonmark/internal/base/quantity"
)

// Without a mounting part all of it is assumed, once; with one, what is written stands and is not
// listed, and a module's own lines come before those of every module.
func TestMountingDefaults(t *testing.T) {
	b, problems := Resolve(one())
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	if b.Mounting.Written || len(b.Mounting.Mounts) != len(b.Modules) || b.Mounting.Mounts[0].Adhesive != "factory film" {
		t.Errorf("got %+v", b.Mounting)
	}
	count := func(b Build, path string) (n int) {
		for _, a := range b.Assumed {
			if a.Path == path {
				n++
			}
		}
		return n
	}
	for _, path := range []string{"mounting.top_speed", "mounting.headwind", "mounting.gust", "mounting.sleepers", "mounting.each_module.adhesive", "mounting.each_module.tape_thickness"} {
		if n := count(b, path); n != 1 {
			t.Errorf("%s is assumed %d times", path, n)
		}
	}
	d := one()
	d.Mounting = &MountingDoc{TopSpeed: ref(130 * quantity.KilometrePerHour), Insulation: ref(20 * quantity.Millimetre), CableEntry: &CableEntryDoc{By: ref("gland"), Faces: ref("rear")},
		Each:    &MountDoc{Adhesive: ref("Low-energy tape"), Share: ref(40 * quantity.Percent), Primer: ref(true), Thirst: ref(2.5)},
		Modules: []MountDoc{{Name: "b", Adhesive: ref("none"), Fasteners: ref(6), PullOut: ref(800 * quantity.Newton)}}}
	b, problems = Resolve(d)
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	first, second := b.Mounting.Mounts[0], b.Mounting.Mounts[1]
	if first.Adhesive != "low-energy tape" || first.Share != 40*quantity.Percent || first.Thickness != 1.1*quantity.Millimetre || first.Thirst != 2.5 || !first.Held() {
		t.Errorf("first: %+v", first)
	}
	if second.Adhesive != "" || second.Fasteners != 6 || !second.Primer || second.Held() {
		t.Errorf("second: %+v", second)
	}
	if e := b.Mounting.CableEntry; !e.Known || !e.Through || !e.Gland || e.Faces != Rear {
		t.Errorf("entry %+v", e)
	}
	if count(b, "mounting.top_speed") != 0 || count(b, "mounting.each_module.adhesive") != 0 || count(b, "mounting.each_module.primer_coverage") != 1 {
		t.Error("what was written is listed as assumed, or what was not is not")
	}
}

// Each bad value is reported at its place, all at once.
func TestMountingFaults(t *testing.T) {
	d := one()
	d.Mounting = &MountingDoc{TopSpeed: ref(900 * quantity.KilometrePerHour), Gust: ref(-1 * quantity.KilometrePerHour), CableEntry: &CableEntryDoc{}, FrontEdge: ref("blunt"),
		Each:    &MountDoc{Adhesive: ref("acrylic fome tape"), Share: ref(quantity.Ratio(0)), Peel: ref(9000 * quantity.NewtonPerCentimetre), Thirst: ref(0.2), Coats: ref(0), Cover: ref("velvet")},
		Modules: []MountDoc{{Name: "ghost"}, {Name: "b", Thickness: ref(80 * quantity.Millimetre)}}}
	_, list := Resolve(d)
	var lines []string
	for _, p := range list.All() {
		lines = append(lines, p.String())
	}
	all := strings.Join(lines, "\n")
	for _, path := range []string{"mounting.top_speed:", "mounting.gust:", "mounting.cable_entry.by:", "mounting.front_edge:", "mounting.each_module.adhesive:", "mounting.each_module.bonded_share:",
		"mounting.each_module.peel:", "mounting.each_module.primer_thirst:", "mounting.each_module.primer_coats:", "mounting.each_module.front_cover:", "mounting.modules.ghost:", "mounting.modules.b.tape_thickness:"} {
		if strings.Count(all, path) != 1 {
			t.Errorf("%s is not reported once:\n%s", path, all)
		}
	}
	if !strings.Contains(all, "most likely acrylic foam tape") {
		t.Errorf("no likely adhesive:\n%s", all)
	}
}
