package forecast

import (
	"math"
	"reflect"
	"testing"
)

// A year as built is the year without a variation; each factor moves what it says and the ledger closes.
func TestVary(t *testing.T) {
	b := spring(t)
	plain := run(t, b, Options{Years: 3, Seed: 4})
	if same := run(t, b, Options{Years: 3, Seed: 4, Vary: AsBuilt}); !reflect.DeepEqual(plain, same) {
		t.Error("a year as built differs from one without a variation")
	}
	if len(plain.ByYear) != 3 {
		t.Fatalf("%d years listed, want 3", len(plain.ByYear))
	}
	sum := 0.0
	for _, y := range plain.ByYear {
		sum += y.Harvest.Joules() / 3
	}
	if math.Abs(sum/plain.Harvest.Joules()-1) > 1e-9 {
		t.Errorf("the years' harvest is %g J in the mean, the trip's %g J", sum, plain.Harvest.Joules())
	}
	change := func(f func(v *Variation)) *Answer {
		a := run(t, b, Options{Years: 3, Seed: 4, Vary: func(y int) Variation {
			v := AsBuilt(y)
			f(&v)
			return v
		}})
		if !(a.WorstResidual < 1e-9) {
			t.Errorf("worst step of the ledger: %g", a.WorstResidual.Float())
		}
		return a
	}
	one := change(func(v *Variation) { v.Weather = 2 })
	for y := range one.ByYear {
		if one.ByYear[y].Offered != plain.ByYear[2].Offered {
			t.Errorf("year %d in the weather of year 2 offers %v J, year 2 %v J", y, one.ByYear[y].Offered, plain.ByYear[2].Offered)
		}
	}
	weak := change(func(v *Variation) { v.Power = 0.9 })
	if x := weak.Offered.Joules() / plain.Offered.Joules(); !(x > 0.88 && x < 0.9) {
		t.Errorf("modules of nine tenths offer %.4f of what whole ones do, want a little under 0.9: weak light costs", x)
	}
	if w := weak.Ledger[Weaker].Energy; !(w > 0) || plain.Ledger[Weaker].Energy != 0 {
		t.Errorf("the ledger's line of weak modules: %v J of weak ones, %v J of whole ones", w, plain.Ledger[Weaker].Energy)
	}
	for name, a := range map[string]*Answer{
		"dirt":         change(func(v *Variation) { v.Soiling = 3 }),
		"surroundings": change(func(v *Variation) { v.Surroundings = 2 }),
	} {
		if !(a.Offered < plain.Offered) {
			t.Errorf("more %s: %v J offered, %v J as built", name, a.Offered, plain.Offered)
		}
	}
	if use := change(func(v *Variation) { v.Loads = 2 }); !(use.Demand.Joules() > 1.5*plain.Demand.Joules()) {
		t.Errorf("twice the loads: demand %v J, was %v J", use.Demand, plain.Demand)
	}
	small := change(func(v *Variation) { v.Capacity = 0.1 })
	if !(small.Unmet >= plain.Unmet) || !(small.Ledger[BatteryBefore].Energy < plain.Ledger[BatteryBefore].Energy) {
		t.Errorf("a tenth of the battery: unmet %v J, was %v J", small.Unmet, plain.Unmet)
	}
}
