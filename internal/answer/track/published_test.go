package track

import (
	"testing"
	"time"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

func wh(v float64) *quantity.Energy  { e := quantity.Energy(v * 3600); return &e }
func watt(v float64) *quantity.Power { p := quantity.Power(v); return &p }

// A counter that reads 410, 520, is reset and reads 180 has gained 290 Wh, and not -230 or 180.
//
// Source: threads on readers of a charge controller, a cloud meter and an inverter, worked in the cases C40.
func TestResets(t *testing.T) {
	from := time.Date(2027, 6, 3, 12, 0, 0, 0, time.UTC)
	var points []Point
	for i, v := range []float64{410, 520, 180} {
		points = append(points, Point{Time: from.Add(time.Duration(i) * time.Hour), Yield: wh(v)})
	}
	l := Import(points, time.UTC, 0)
	testkit.Published(t, l.Days[0].Energy.WattHours(), testkit.Check{What: "energy over a reset, Wh",
		Source: cite.Source{Title: "daily counters that reset by day: public issue threads", Where: "case C40", Standing: cite.CommonPractice}, Want: 290, Tol: 1e-9})
	if len(l.Notes) != 1 {
		t.Errorf("a reset at 14 h is no midnight: %q", l.Notes)
	}
}

// A meter is silent for 4.36 h, then gives 2000 W for 27.5 min: 917 Wh, and no triangle over the silence.
//
// Source: thread on an add-on from power to energy, worked in the cases C41.
func TestSilence(t *testing.T) {
	at := time.Date(2027, 6, 3, 6, 0, 0, 0, time.UTC)
	points := []Point{{Time: at, Power: watt(0)}, {Time: at.Add(30 * time.Second), Power: watt(0)}}
	begin := at.Add(30*time.Second + 15696*time.Second)
	for i := 0; i <= 55; i++ {
		points = append(points, Point{Time: begin.Add(time.Duration(i) * 30 * time.Second), Power: watt(2000)})
	}
	l := Import(points, time.UTC, 0)
	testkit.Published(t, l.Days[0].Energy.WattHours(), testkit.Check{What: "energy after a silence, Wh",
		Source: cite.Source{Title: "power bridged over silence: a public issue thread", Where: "case C41", Standing: cite.CommonPractice}, Want: 917, Tol: 0.5})
	if len(l.Gaps) != 1 || l.Gaps[0].To.Sub(l.Gaps[0].From) != 15696*time.Second {
		t.Errorf("the silence is no gap: %+v", l.Gaps)
	}
}
