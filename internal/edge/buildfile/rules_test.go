package buildfile

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"noonmark/examples"
	"noonmark/internal/answer/check"
)

// findingsOf returns the findings of a text: wiring, roof, mounting.
func findingsOf(t *testing.T, text string) []check.Finding {
	t.Helper()
	b, err := Build("rules.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	out, err := check.Wiring(&b)
	if err != nil {
		t.Fatal(err)
	}
	out = append(out, check.Roof(&b)...)
	return append(out, check.Mounting(&b)...)
}

// idsOf returns the ids of findings of a verdict, each once.
func idsOf(found []check.Finding, v check.Verdict) []string {
	ids := map[string]bool{}
	for _, f := range found {
		if f.Verdict == v {
			ids[f.ID] = true
		}
	}
	return slices.Sorted(maps.Keys(ids))
}

// example returns an example's text.
func example(t *testing.T, name string) string {
	t.Helper()
	for _, e := range append(examples.All(), examples.Bad()...) {
		if e.Name == name {
			return string(e.Text)
		}
	}
	t.Fatalf("no example %s", name)
	return ""
}

// swap replaces a text that stands there at least once, the first time it does.
func swap(t *testing.T, text, old, put string) string {
	t.Helper()
	if !strings.Contains(text, old) {
		t.Fatalf("the example has no %q", old)
	}
	return strings.Replace(text, old, put, 1)
}

// The good build fails nothing and leaves nothing unknown.
func TestGoodBuild(t *testing.T) {
	for _, f := range findingsOf(t, example(t, "avocet-pickup")) {
		if f.Verdict == check.Fail || f.Verdict == check.Unknown {
			t.Errorf("%s, %s: %v: %s", f.ID, f.Subject, f.Verdict, f.Reason)
		}
	}
}

// fault is one change of the good build that must fail exactly one rule; mended is what stands there
// when it is put right, the original text where empty.
type fault struct{ id, old, bad, mended string }

var faults = []fault{
	{"cold-voltage", "like: controller-32a", "like: controller-32a\n    input_max: 48 V", ""},
	{"hot-voltage", "like: controller-32a", "like: controller-32a\n    input_min: 30 V", ""},
	{"input-current", "like: controller-32a", "like: controller-32a\n    short_circuit_max: 15 A", ""},
	{"cable-drop", "length: 4.5 m", "length: 60 m", ""},
	{"ampacity", "insulation: 90 °C", "insulation: 60 °C\n      bundled: 8", "insulation: 90 °C\n      bundled: 1"},
	{"string-fuse", "max_fuse: 15 A", "max_fuse: 5 A", ""},
	{"string-fuse", "{length: 0.8 m,", "{fuse: 30 A, fuse_volts: 60 V, length: 0.8 m,", "{fuse: 15 A, fuse_volts: 60 V, length: 0.8 m,"},
	{"string-fuse-volts", "{length: 0.8 m,", "{fuse: 15 A, fuse_volts: 32 V, length: 0.8 m,", "{fuse: 15 A, fuse_volts: 60 V, length: 0.8 m,"},
	{"array-fuse", "loop_radius: 60 mm", "loop_radius: 60 mm\n      fuse: 80 A\n      fuse_volts: 80 V", "loop_radius: 60 mm\n      fuse: 25 A\n      fuse_volts: 80 V"},
	{"array-fuse-volts", "loop_radius: 60 mm", "loop_radius: 60 mm\n      fuse: 25 A\n      fuse_volts: 32 V", "loop_radius: 60 mm\n      fuse: 25 A\n      fuse_volts: 80 V"},
	{"battery-fuse", "      fuse: 40 A\n      fuse_volts: 32 V\n      fuse_breaks: 20 kA\n      fuse_from_battery: 150 mm\n", "", ""},
	{"fuse-size", "fuse: 40 A", "fuse: 150 A", ""},
	{"fuse-size", "fuse: 40 A", "fuse: 20 A", ""},
	{"fuse-distance", "fuse_from_battery: 150 mm", "fuse_from_battery: 600 mm", "fuse_from_battery: 600 mm\n      sheathed: true"},
	{"fuse-breaks", "cold_cutoff: true", "cold_cutoff: true, short_circuit: 25 kA", "cold_cutoff: true, short_circuit: 6 kA"},
	{"battery-fuse-volts", "fuse_volts: 32 V", "fuse_volts: 12 V", ""},
	{"connectors", "connector: latching 4 mm, one maker", "connector: latching 4 mm, another maker", ""},
	{"array-disconnect", "disconnect: true", "disconnect: false", ""},
	{"blocking", "blocks_at_night: true", "blocks_at_night: false", ""},
	{"loop-radius", "loop_radius: 60 mm", "loop_radius: 20 mm", ""},
	{"loop-strands", "flexible: true", "flexible: false", ""},
	{"loop-cycles", "flexes: 5000", "flexes: 500", ""},
	{"charge-current", "name: house, inside: true", "name: house, max_charge_current: 20 A, inside: true", ""},
	{"charge-cold", "inside: true, inside_lowest: 12 °C, cold_cutoff: true", "inside: false, cold_cutoff: false", "inside: false, cold_cutoff: true"},
	{"module-gap", "[1.2 m, 0.1 m]", "[1.1603 m, 0.1 m]", ""},
	{"edge-gap", "[0.06 m, 0.1 m]", "[0.06 m, 0 m]", ""},
	{"hinge-gap", "[0.06 m, 0.1 m]", "[0 m, 0.1 m]", ""},
	{"bend-radius", "ribs: 0 mm", "ribs: 0 mm\n    camber: 400 mm", "ribs: 0 mm\n    camber: 100 mm"},
	{"span", "ribs: 0 mm", "ribs: 80 mm", "ribs: 30 mm"},
	{"walking-strip", "walked: false", "walked: true", ""},
	{"mass-moving", "load_moving: 40 kg", "load_moving: 8 kg", ""},
	{"mass-standing", "load_standing: 80 kg", "load_standing: 9 kg", ""},
	{"struts-cold", "force: 880 N", "force: 500 N", ""},
	{"roof-moving", "roof_moving: 150 kg", "roof_moving: 70 kg", ""},
	{"roof-standing", "roof_standing: 350 kg", "roof_standing: 200 kg", ""},
	{"rack-moving", "rack: 0 kg", "rack: 15 kg\n  rack_moving: 50 kg\n  rack_standing: 400 kg", "rack: 15 kg\n  rack_moving: 90 kg\n  rack_standing: 400 kg"},
	{"rack-standing", "rack: 0 kg", "rack: 15 kg\n  rack_moving: 90 kg\n  rack_standing: 200 kg", "rack: 15 kg\n  rack_moving: 90 kg\n  rack_standing: 400 kg"},
	{"height", "home garage: 2.4 m", "home garage: 2.1 m", ""},
}

// Each fault put into the good build fails its own rule and no other, and none when mended.
func TestOneFault(t *testing.T) {
	good := example(t, "avocet-pickup")
	for _, c := range faults {
		text := good
		if c.id == "bend-radius" { // needs a stiffer module than the example's
			text = swap(t, text, "bend_radius: 0.5 m", "bend_radius: 2 m")
		}
		got := idsOf(findingsOf(t, swap(t, text, c.old, c.bad)), check.Fail)
		if !slices.Equal(got, []string{c.id}) {
			t.Errorf("%q: fails %v, want %s alone", c.bad, got, c.id)
		}
		mended := c.mended
		if mended == "" {
			mended = c.old
		}
		found, passed := findingsOf(t, swap(t, text, c.old, mended)), false
		for _, f := range found {
			passed = passed || f.ID == c.id && f.Verdict == check.Pass
		}
		if fails := idsOf(found, check.Fail); len(fails) > 0 || !passed {
			t.Errorf("%s mended: fails %v, passes its rule: %v", c.id, fails, passed)
		}
	}
}

// Each line taken out leaves its own rule unknown, and no other, and the reason names the key.
func TestMissing(t *testing.T) {
	good := example(t, "avocet-pickup")
	for _, c := range []struct{ id, old, key string }{
		{"string-fuse", "    max_fuse: 15 A\n", "max_fuse"},
		{"fuse-distance", "      fuse_from_battery: 150 mm\n", "fuse_from_battery"},
		{"fuse-breaks", "      fuse_breaks: 20 kA\n", "fuse_breaks"},
		{"battery-fuse-volts", "      fuse_volts: 32 V\n", "fuse_volts"},
		{"reverse-polarity", "    reverse_protected: true\n", "reverse_protected"},
		{"blocking", "    blocks_at_night: true\n", "blocks_at_night"},
		{"loop-radius", "      diameter: 6.5 mm\n", "diameter"},
		{"loop-strands", "      flexible: true\n", "flexible"},
		{"loop-cycles", "      flexes: 5000\n", "flexes"},
		{"span", "    ribs: 0 mm                  # a flat skin\n", "ribs"},
		{"walking-strip", "    walked: false\n", "walked"},
		{"struts-cold", "    struts: {count: 2, force: 880 N, left: 95 %, on_lid: 0.95 m, on_body: 0.42 m, below: 0.12 m}\n", "struts"},
		{"mass-moving", "    load_moving: 40 kg\n", "load_moving"},
		{"roof-moving", "  roof_moving: 150 kg\n", "roof_moving"},
		{"roof-standing", "  sleepers: 165 kg\n", "sleepers"},
		{"height", "  heights: {home garage: 2.4 m, ferry deck: 2.5 m}\n", "vehicle.heights"},
		{"connectors", "    connector: latching 4 mm, one maker\n", "connector"},
	} {
		found := findingsOf(t, swap(t, good, c.old, ""))
		if got := idsOf(found, check.Unknown); !slices.Equal(got, []string{c.id}) {
			t.Errorf("without %q: unknown %v, want %s alone", c.old, got, c.id)
		}
		for _, f := range found {
			if f.Verdict == check.Unknown && (!strings.Contains(f.Reason, c.key) || !strings.HasPrefix(f.Reason, "missing: ") || !strings.Contains(f.Reason, "; to find it: ")) {
				t.Errorf("%s: %q does not name %s", f.ID, f.Reason, c.key)
			}
		}
	}
}

// The bad build fails for the faults put into it and for nothing else: volts in the cold, the thin cable by drop and
// by current, the fuse; each module on polyethylene by adhesion and by movement, and by the loose edge at its speed.
// What is unknown is what holds the modules instead.
func TestBadBuild(t *testing.T) {
	text := example(t, "bad-bittern")
	list := func(text string, v check.Verdict) []string {
		var out []string
		for _, f := range findingsOf(t, text) {
			if f.Verdict == v {
				out = append(out, fmt.Sprintf("%s, %s", f.ID, f.Subject))
			}
		}
		return out
	}
	want := []string{"cold-voltage, string all on box", "cable-drop, cable box to battery", "ampacity, cable box to battery", "fuse-size, cable box to battery"}
	for _, m := range []string{"A", "B", "C"} {
		want = append(want, "skin, module "+m, "unzip, module "+m, "movement, module "+m)
	}
	if got := list(text, check.Fail); !slices.Equal(got, want) {
		t.Errorf("fails %q, want %q", got, want)
	}
	if got, want := list(text, check.Unknown), []string{"fasteners, module A", "fasteners, module B", "fasteners, module C"}; !slices.Equal(got, want) {
		t.Errorf("unknown %q, want %q", got, want)
	}
	// Each fault mended takes away its own failures.
	for _, c := range []struct {
		old, mended string
		gone        []string
	}{
		{"speed: 130 km/h", "speed: 105 km/h", []string{"unzip"}},
		{"skin: polyethylene", "skin: painted aluminium", []string{"skin", "unzip", "movement"}},
		{"input_max: 75 V", "input_max: 100 V", []string{"cold-voltage"}},
		{"length: 5 m, size: 4 mm²", "length: 1 m, size: 25 mm²", []string{"cable-drop", "ampacity", "fuse-size"}},
	} {
		got := idsOf(findingsOf(t, swap(t, text, c.old, c.mended)), check.Fail)
		for _, id := range c.gone {
			if slices.Contains(got, id) {
				t.Errorf("%s: still fails %s", c.mended, id)
			}
		}
	}
}

// Every finding has its reason and its source, and no verdict promises more than the rule.
func TestFindingsSpeak(t *testing.T) {
	for _, e := range append(examples.All(), examples.Bad()...) {
		for _, f := range findingsOf(t, string(e.Text)) {
			if f.Reason == "" || f.Source.String() == "" || f.Unit == "" || f.Subject == "" {
				t.Errorf("%s: %+v lacks something", e.Name, f)
			}
			for _, code := range []string{"NEC", "IEC", "ABYC", "CFR", "ISO 1", "EN 5"} {
				if f.Verdict != check.Unknown && strings.Contains(f.Source.Title, code) && !strings.Contains(f.Reason, "check the edition in force where you are") {
					t.Errorf("%s: %s quotes %s without asking for the edition in force", e.Name, f.ID, f.Source)
				}
			}
			if strings.Contains(strings.ToLower(f.Reason), "safe") {
				t.Errorf("%s: %s: %q says safe", e.Name, f.ID, f.Reason)
			}
		}
	}
}
