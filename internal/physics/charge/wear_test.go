package charge

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
)

// At one stress, in however many pieces, wear is the law itself; in any order it is the same; more of it never
// mends.
func TestWear(t *testing.T) {
	const seed = 21
	r := rand.New(rand.NewPCG(seed, 1))
	for range 200 {
		cell, soc := quantity.Celsius(r.Float64()*55), quantity.Ratio(r.Float64())
		n := 1 + r.IntN(40)
		var w Wear
		for range n {
			w.Stand(cell, soc, 10*year/time.Duration(n))
		}
		whole := CalendarLoss(cell, soc, 10*year/time.Duration(n)*time.Duration(n)).Float()
		if got := w.Calendar().Float(); math.Abs(got-whole) > 1e-9 {
			t.Fatalf("seed %d: %d pieces of ten years at %.1f °C, %.2f: %.9f, at once %.9f", seed, n, cell.Celsius(), soc.Float(), got, whole)
		}
		c := Cycling{Rate: quantity.Ratio(0.2 + r.Float64()), Depth: quantity.Ratio(r.Float64()), Full: 50}
		w.Cycle(c)
		w.Cycle(c)
		c.Full = 100
		if got, want := w.Cycles().Float(), CycleLoss(c).Float(); math.Abs(got-want) > 1e-9 {
			t.Fatalf("seed %d: twice 50 cycles %.9f, 100 at once %.9f", seed, got, want)
		}
		var v Wear
		v.Stand(quantity.Celsius(r.Float64()*55), quantity.Ratio(r.Float64()), year)
		if a, b := w.Plus(v), v.Plus(w); a != b || a.Calendar() < w.Calendar() {
			t.Fatalf("seed %d: %v one way, %v the other, of %v", seed, a, b, w)
		}
		if got, want := w.Times(4).Calendar().Float(), math.Min(1, 2*w.Calendar().Float()); math.Abs(got-want) > 1e-9 {
			t.Fatalf("seed %d: four times the time %.9f, want twice the loss, %.9f", seed, got, want)
		}
	}
	var slow Wear
	slow.Cycle(Cycling{Rate: 0.01, Depth: 0.5, Full: 100})
	if got, want := slow.Cycles(), CycleLoss(Cycling{Rate: gentlest, Depth: 0.5, Full: 100}); math.Abs((got - want).Float()) > 1e-12 {
		t.Errorf("a rate under the fitted ones: %g, want that of 0.2C, %g", got.Float(), want.Float())
	}
}

// A loss is a band round the formula's figure for LFP, and no figure for others, which have ranges of cycles.
func TestLossBand(t *testing.T) {
	var w Wear
	w.Stand(quantity.Celsius(25), 1, year)
	w.Cycle(Cycling{Rate: 0.2, Depth: 0.5, Full: 100})
	b, err := w.Loss(LFP)
	if err != nil || b.Middle != w.Calendar()+w.Cycles() || !(b.Low > 0 && b.Low < b.Middle && b.Middle < b.High && b.High <= 1) {
		t.Errorf("%+v, %v", b, err)
	}
	if full, _ := w.Times(1e6).Loss(LFP); full.High != 1 || full.Middle > 1 {
		t.Errorf("a million years: %+v", full)
	}
	for _, c := range []Chemistry{NMC, AGM} {
		if _, err := w.Loss(c); !errors.Is(err, ErrChemistry) {
			t.Errorf("chemistry %d: %v", c, err)
		}
		for _, l := range CycleLives(c) {
			if !(l.Least > 0 && l.Least < l.Most) || l.Depth <= 0 || l.Depth > 1 {
				t.Errorf("chemistry %d: %+v", c, l)
			}
		}
	}
	if m := MassOf(LFP, 1280*quantity.WattHour).Kilograms(); m < 1.28*7 || m > 1.28*9 {
		t.Errorf("1280 Wh of LFP weigh %g kg, want 7 to 9 kg/kWh", m)
	}
}
