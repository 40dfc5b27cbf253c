package battery

import (
	"context"
	"reflect"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

func answer(t *testing.T, b *build.Build, o Options) *Answer {
	t.Helper()
	a, err := Run(context.Background(), b, o)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// A larger battery never serves less, runs short no oftener and weighs more; the answer is the same on one core; heat and
// charge age it, and every band has its middle inside.
func TestSizesAndCases(t *testing.T) {
	b := van(t, "Lisbon", 38.7, -9.1, time.Date(2027, 2, 10, 0, 0, 0, 0, zone(t, "Europe/Lisbon")), 10, 16*quantity.Watt)
	price := 400.0
	b.Battery.Price = &price
	o := Options{Years: 6, Seed: 2, Own: 8}
	a := answer(t, b, o)
	o.Workers = 1
	if again := answer(t, b, o); !reflect.DeepEqual(a, again) {
		t.Error("one worker gives another answer")
	}
	for i := 1; i < len(factors); i++ {
		s, l := a.Sizes[i-1], a.Sizes[i]
		if l.Unmet > s.Unmet+quantity.Energy(1e-6) || l.Nights.P90 > s.Nights.P90 || l.Mass <= s.Mass || *l.Price <= *s.Price {
			t.Errorf("%g times: %g Wh unmet, %g nights; %g times: %g Wh, %g nights", s.Factor, s.Unmet.WattHours(), s.Nights.P90, l.Factor, l.Unmet.WattHours(), l.Nights.P90)
		}
	}
	if a.Sizes[0].Unmet <= a.Sizes[len(factors)-1].Unmet {
		t.Error("the sizes make no difference: the case tests nothing")
	}
	if last := a.Sizes[len(a.Sizes)-1]; !last.Aged || last.Factor >= 1 || last.Factor < 0.5 || last.Price != nil {
		t.Errorf("aged: %+v", last)
	}
	if len(a.Cases) != 4 {
		t.Fatalf("%d cases, want 4", len(a.Cases))
	}
	for _, k := range a.Cases {
		if n := len(k.After); n != 3 || k.After[2].Years != 8 {
			t.Errorf("%s: %+v", k.Name, k.After)
		}
		for i, l := range k.After {
			if !(l.Low < l.Middle && l.Middle < l.High) || i > 0 && l.Middle <= k.After[i-1].Middle {
				t.Errorf("%s after %d years: %+v", k.Name, l.Years, l.LossBand)
			}
		}
		if !(k.ToFifth[0] <= k.ToFifth[1] && k.ToFifth[1] <= k.ToFifth[2]) {
			t.Errorf("%s: years to a fifth %v", k.Name, k.ToFifth)
		}
	}
	if full, hot, half := a.Cases[1].After[2].Middle, a.Cases[2].After[2].Middle, a.Cases[3].After[2].Middle; !(half < full && full < hot) {
		t.Errorf("half full %g, full %g, full and hot %g", half.Float(), full.Float(), hot.Float())
	}
	if a.built().Factor != 1 || len(a.Advice) == 0 {
		t.Errorf("advice %q", a.Advice)
	}
}

// A chemistry without a formula says so and gives the trade's cycles; it has no figure of ageing.
func TestNoFormula(t *testing.T) {
	b := van(t, "Lisbon", 38.7, -9.1, time.Date(2027, 6, 1, 0, 0, 0, 0, zone(t, "Europe/Lisbon")), 3, 5*quantity.Watt)
	for _, c := range []build.Chemistry{build.NMC, build.AGM} {
		b.Battery.Chemistry = c
		a := answer(t, b, Options{Years: 1})
		if len(a.Cases) != 0 || a.NoAgeing == "" || len(a.Lives) == 0 || !(a.FullAYear > 0) {
			t.Errorf("chemistry %d: %d cases, %q, %v", c, len(a.Cases), a.NoAgeing, a.Lives)
		}
	}
}

// Cold cells hold back light that is there, and a warm place does not.
func TestColdMornings(t *testing.T) {
	b := van(t, "Oslo", 59.9, 10.8, time.Date(2027, 3, 1, 0, 0, 0, 0, zone(t, "Europe/Oslo")), 6, 5*quantity.Watt)
	warm := answer(t, b, Options{Years: 2})
	b.Battery.Inside = false
	cold := answer(t, b, Options{Years: 2})
	if cold.Cells.ColdHours < 1 || cold.Cells.Kept <= warm.Cells.Kept || warm.Cells.ColdHours > 0.5 {
		t.Errorf("outside %.1f h and %.0f Wh held back, inside %.1f h and %.0f Wh", cold.Cells.ColdHours, cold.Cells.Kept.WattHours(), warm.Cells.ColdHours, warm.Cells.Kept.WattHours())
	}
}
