package buildfile

import (
	"slices"
	"strings"
	"testing"

	"noonmark/internal/answer/check"
)

// fabricLid is the good build with a lid of coated fabric, and tape for it.
func fabricLid(t *testing.T) string {
	text := swap(t, example(t, "avocet-pickup"), "skin: painted aluminium", "skin: coated fabric")
	text = swap(t, text, "adhesive: acrylic foam tape", "adhesive: plasticiser-resistant tape")
	return swap(t, text, "    front_cover: tape\n", "    fabric_coating: pvc\n    needle_holes_sealed: true\n    fabric_years: 3\n    front_cover: tape\n")
}

// thickTape is the good build with so much tape that nothing tears it.
func thickTape(t *testing.T) string {
	return swap(t, example(t, "avocet-pickup"), "tape_thickness: 1.1 mm", "tape_thickness: 12 mm")
}

// plastic is the good build on a lid that moves, with tape for it.
func plastic(t *testing.T) string {
	return swap(t, swap(t, example(t, "avocet-pickup"), "skin: painted aluminium", "skin: polycarbonate"), "tape_thickness: 1.1 mm", "tape_thickness: 4.5 mm")
}

// lowEnergy is the good build with another tape, whose class bears less heat than its own sheet says.
func lowEnergy(t *testing.T) string {
	return swap(t, example(t, "avocet-pickup"), "adhesive: acrylic foam tape", "adhesive: low-energy tape")
}

// inCalm is the good build on a road without wind, so that only its own weight pulls.
func inCalm(t *testing.T) string {
	return swap(t, example(t, "avocet-pickup"), "mounting:\n", "mounting:\n  top_speed: 10 km/h\n  headwind: 0 km/h\n  gust: 0 km/h\n")
}

// screwed is the good build with its modules on feet that are screwed on.
func screwed(t *testing.T) string {
	text := strings.ReplaceAll(example(t, "avocet-pickup"), "attached: bonded", "attached: stand-off, gap: 20 mm")
	text = swap(t, text, "    adhesive: acrylic foam tape\n    tape_thickness: 1.1 mm\n    bonded_share: 90 %\n", "    adhesive: none\n")
	text = swap(t, text, "    service_temperature: 105 °C\n    primer: true\n    peel_test: torn foam        # on this very lid\n    front_cover: tape\n    cover_on_module: 8 mm\n", "")
	return swap(t, text, "    peel: 30 N/cm               # of the tape's sheet\n", "    fasteners: 6\n    pull_out: 1200 N\n    thread_engagement: 5 mm\n    threads_locked: true\n    backing_plate: true\n")
}

// mountingFaults are one change each of a good build, which must fail exactly one rule.
var mountingFaults = []struct {
	base func(t *testing.T) string // nil: the good build
	fault
}{
	{thickTape, fault{"skin", "skin: painted aluminium", "skin: polyethylene", ""}},
	{nil, fault{"uplift", "adhesive: acrylic foam tape", "adhesive: silicone", ""}},
	{nil, fault{"unzip", "peel: 30 N/cm", "peel: 3 N/cm", ""}},
	{inCalm, fault{"creep", "bonded_share: 90 %", "bonded_share: 0.5 %", ""}},
	{plastic, fault{"movement", "tape_thickness: 4.5 mm", "tape_thickness: 0.4 mm", ""}},
	{lowEnergy, fault{"service-temperature", "service_temperature: 105 °C", "service_temperature: 60 °C", ""}},
	{nil, fault{"edge-cover", "cover_on_module: 8 mm", "cover_on_module: 40 mm", ""}},
	{nil, fault{"cable-support", "cable_support: 250 mm", "cable_support: 600 mm", "cable_support: 300 mm"}},
	{nil, fault{"cable-entry", "by: gland", "by: bare hole", "by: no hole"}},
	{fabricLid, fault{"fabric-coating", "fabric_coating: pvc", "fabric_coating: none", "fabric_coating: acrylic"}},
	{fabricLid, fault{"fabric-needle-holes", "needle_holes_sealed: true", "needle_holes_sealed: false", ""}},
	{fabricLid, fault{"fabric-uv", "fabric_years: 3", "fabric_years: 25", ""}},
	{fabricLid, fault{"skin", "adhesive: plasticiser-resistant tape", "adhesive: acrylic foam tape", ""}},
	{nil, fault{"securing", "rating: 250 daN, blocked: true", "rating: 20 N, blocked: true", ""}},
	{nil, fault{"securing", "rating: 250 daN, blocked: true", "rating: 25 daN, blocked: false", ""}},
	{screwed, fault{"fasteners", "fasteners: 6", "fasteners: 1", "fasteners: 8"}},
	{screwed, fault{"fasteners", "thread_engagement: 5 mm\n    threads_locked: true", "thread_engagement: 2 mm\n    threads_locked: false", ""}},
}

// Each fault of the mounting fails its own rule and no other, and none when mended.
func TestOneMountingFault(t *testing.T) {
	for _, c := range mountingFaults {
		good := example(t, "avocet-pickup")
		if c.base != nil {
			good = c.base(t)
		}
		if got := idsOf(findingsOf(t, swap(t, good, c.old, c.bad)), check.Fail); !slices.Equal(got, []string{c.id}) {
			t.Errorf("%q: fails %v, want %s alone", c.bad, got, c.id)
		}
		mended := c.mended
		if mended == "" {
			mended = c.old
		}
		found, passed := findingsOf(t, swap(t, good, c.old, mended)), false
		for _, f := range found {
			passed = passed || f.ID == c.id && f.Verdict == check.Pass
		}
		if fails := idsOf(found, check.Fail); len(fails) > 0 || !passed {
			t.Errorf("%s mended: fails %v, passes its rule: %v", c.id, fails, passed)
		}
	}
}

// What only the owner knows, left out of the good build, leaves its own rule unknown and no other, and the reason
// says what to do.
func TestMissingMounting(t *testing.T) {
	for _, c := range []struct {
		base         func(t *testing.T) string
		id, old, say string
	}{
		{nil, "cable-support", "  cable_support: 250 mm         # between clips\n", "measure"},
		{nil, "cable-entry", "  cable_entry: {by: gland, faces: rear, drip_loop: true, leak_tested: true}\n", "cable_entry"},
		{nil, "securing", "  restraint: {straps: 2, rating: 250 daN, blocked: true, mass: 22 kg}\n", "read the rating"},
		{nil, "condensation", "  insulation: 20 mm             # behind the skin\n", "measure"},
		{fabricLid, "fabric-needle-holes", "    needle_holes_sealed: true\n", "hose"},
		{fabricLid, "fabric-uv", "    fabric_years: 3\n", "ask the seller"},
		{screwed, "fasteners", "    pull_out: 1200 N\n", "pull it"},
		{screwed, "fasteners", "    thread_engagement: 5 mm\n    threads_locked: true\n", "measure"},
	} {
		good := example(t, "avocet-pickup")
		if c.base != nil {
			good = c.base(t)
		}
		found := findingsOf(t, swap(t, good, c.old, ""))
		if got := idsOf(found, check.Unknown); !slices.Equal(got, []string{c.id}) {
			t.Errorf("without %q: unknown %v, want %s alone", c.old, got, c.id)
		}
		for _, f := range found {
			if f.Verdict == check.Unknown && f.ID == c.id && !strings.Contains(f.Reason, c.say) {
				t.Errorf("%s: %q does not say how to find it", f.ID, f.Reason)
			}
		}
	}
}
