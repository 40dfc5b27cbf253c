package diagnose

import (
	"math"
	"testing"
)

// The right cause comes first, and nothing sound is accused, in arrays made by a generator of its own: cells
// with other ideality, saturation, series and shunt resistance than ours, met to the label within its
// tolerance, other bypass diodes and breakdown, solved by a circuit simulator, read with a meter's errors
// and with light and temperature known only so well. A case begins with what needs little and each
// module's and string's readings at rest, then takes the tests that the answer asks for, eight at most.
//
// Seeds: 2027 was run while faults, priors and uncertainties were set, and 2031 was looked at while the speed
// was worked on; neither proves anything since. 20261125 was chosen before anything was run with it, and
// nothing was changed by what it showed: the table of Calibrated and the figures of docs/method.md are of its
// first run. Whoever changes the weighing by what this seed shows chooses another, before looking.
//
// Rates wanted: the true cause and place first in 80 % of listed single faults and in the first three in
// 95 %; sound arrays accused in at most 3 %; faults not on the list answered "none of these fits" in half.
func TestRates(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	o := study(t, 20261125, 600, 8)
	o.report(t)
	for _, s := range o.notes {
		t.Log(s)
	}
	share := func(what string, got, of int, least, most float64) {
		if x := float64(got) / float64(max(1, of)); x < least || x > most {
			t.Errorf("%s: %d of %d, %.1f %%; wanted %.0f to %.0f %%", what, got, of, 100*x, 100*least, 100*most)
		}
	}
	share("true cause first", o.first, o.listed, 0.80, 1)
	share("true cause in the first three", o.third, o.listed, 0.95, 1)
	share("sound arrays accused", o.accused, o.healthy, 0, 0.03)
	share("none of these fits", o.none, o.unlisted, 0.5, 1)
	share("not simulated", o.failed, 600, 0, 0.01)
	// Of causes given x %, x % are true within counting statistics and 4 % for what the generator does otherwise
	// than our model; and the table that the fault's sheet shows is this one.
	for k, b := range o.calibration() {
		if b.Causes < 4 {
			continue
		}
		p := math.Max(0.02, math.Min(0.98, b.Said.Float()))
		counting := math.Sqrt(p * (1 - p) / b.Causes)
		if off := math.Abs((b.True - b.Said).Float()); off > 2*counting+0.04 {
			t.Errorf("causes given %.0f %% are true in %.0f %% of %.0f", b.Said.Percent(), b.True.Percent(), b.Causes)
		}
		if shown := calibrated[k]; math.Abs((b.True-shown.True).Float()) > counting+0.01 || math.Abs((b.Said-shown.Said).Float()) > 0.03 {
			t.Errorf("causes given %.0f to %.0f %%: mean %.3f, true %.3f of %.0f; the table shows %.3f and %.3f", b.From.Percent(), b.To.Percent(), b.Said.Float(), b.True.Float(), b.Causes, shown.Said.Float(), shown.True.Float())
		}
	}
}
