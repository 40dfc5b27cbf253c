package forecast

import (
	"math"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/charge"
)

// The cells' figures are those of the trip: what cold keeps out is the ledger's line, the hours are the trip's, and
// in a frost without a warm place there are cold ones; asking changes no other figure.
func TestCells(t *testing.T) {
	oslo := at(t, "Oslo", "Europe/Oslo", 59.9, 10.8, 20)
	b := sample(stay(oslo, time.Date(2027, 2, 5, 0, 0, 0, 0, oslo.Zone), 8))
	b.Battery.Inside, b.Battery.HeaterPower = false, 0
	plain := run(t, b, Options{Years: 3, Seed: 5})
	a := run(t, b, Options{Years: 3, Seed: 5, Cells: true})
	if plain.Cells != nil || a.Harvest != plain.Harvest || a.Unmet != plain.Unmet {
		t.Errorf("asking for the cells changes the trip: harvest %g J, %g J", a.Harvest.Joules(), plain.Harvest.Joules())
	}
	c := a.Cells
	if math.Abs(c.Hours-8*24) > 0.2 {
		t.Errorf("%g hours, want those of eight days", c.Hours)
	}
	line := 0.0
	for _, e := range a.Ledger {
		if e.Item == BatteryCold {
			line = e.Energy.Joules()
		}
	}
	if math.Abs(line-c.Kept.Joules()) > 1e-6*(1+line) || !(line > 0) {
		t.Errorf("cold keeps out %g J, the ledger says %g J", c.Kept.Joules(), line)
	}
	if !(c.ColdHours > 1 && c.ColdHours < 8*24 && c.FrostHours > 0 && c.FrostHours <= c.ColdHours && c.ColdDays <= 8) {
		t.Errorf("cold %g h, frost %g h, %g days", c.ColdHours, c.FrostHours, c.ColdDays)
	}
	// Wear lies between what the coldest and emptiest and the warmest and fullest moment would do all through.
	span := time.Duration(c.Hours * float64(time.Hour))
	low, high := charge.CalendarLoss(c.Coldest.Add(-5*quantity.OneKelvin), 0, span), charge.CalendarLoss(c.Warmest.Add(5*quantity.OneKelvin), 1, span)
	if w := c.Wear.Calendar(); !(w > low && w < high) {
		t.Errorf("lost by standing %g, outside %g to %g", w.Float(), low.Float(), high.Float())
	}
	if !(c.Full > 0 && c.Depth > 0 && c.Depth <= 1 && c.Charge > 0 && c.Charge <= 1) {
		t.Errorf("%+v", c)
	}
}
