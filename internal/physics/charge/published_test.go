package charge

import (
	"testing"
	"time"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

const year = 365 * 24 * time.Hour

func memory(s cite.Source) cite.Source { s.Standing = cite.FromMemory; return s }

// Source: a telecom pack's operation manual and a practitioner's cell table (trade handbook C2): charge current of LFP by
// cell temperature.
func TestChargeRates(t *testing.T) {
	manual := cite.Source{Title: "telecom LFP operation manual", Where: "charge current by temperature (trade handbook, C2)"}
	cells := cite.Source{Title: "RV wiki, LFP cell table", Where: "charge current by temperature (trade handbook, C2)"}
	for _, c := range []struct {
		temp, want float64
		source     cite.Source
	}{{-5, 0, manual}, {-0.1, 0, cells}, {2, 0.1, manual}, {7, 0.1, cells}, {12, 0.2, manual}, {20, 0.2, manual}, {30, 0.5, manual}, {40, 0.5, cells}, {48, 0.2, cells}, {52, 0.1, manual}, {56, 0, cells}, {61, 0, manual}} {
		got := ChargeRate(LFP, quantity.Celsius(c.temp), 50*quantity.Percent).Float()
		testkit.Published(t, got, testkit.Check{What: "charge current of LFP, share of the capacity in an hour", Source: c.source, Want: c.want, Tol: 1e-9})
	}
	if got := ChargeRate(LFP, quantity.Celsius(3), 85*quantity.Percent); got != 0 {
		t.Errorf("at 3 °C above 80 %% charge: %g, want 0 by the cell table", got.Float())
	}
	storage := cite.Source{Title: "LFP storage note", Where: "capacity at 0 and -20 °C (trade handbook, C2)"}
	testkit.Published(t, CapacityShare(LFP, quantity.Celsius(0)).Float(), testkit.Check{What: "share of the capacity at 0 °C", Source: storage, Want: 0.85, Tol: 0.05, Why: "0.80 to 0.90 printed"})
	testkit.Published(t, CapacityShare(LFP, quantity.Celsius(-20)).Float(), testkit.Check{What: "share of the capacity at -20 °C", Source: storage, Want: 0.70, Tol: 0.05, Why: "'about'"})
}

// Source: a motorhome manual's battery chapter (trade handbook C4): rest voltage of a 12 V lead battery; LFP from memory.
func TestRestVoltage(t *testing.T) {
	lead := cite.Source{Title: "motorhome manual, battery chapter", Where: "rest voltage (trade handbook, C4)"}
	for _, c := range []struct{ soc, want float64 }{{1, 12.7}, {0.75, 12.4}, {0.5, 12.2}, {0.25, 12.0}, {0, 11.9}} {
		testkit.Published(t, RestVoltage(AGM, 12*quantity.Volt, quantity.Ratio(c.soc)).Volts(), testkit.Check{What: "rest voltage of lead, V", Source: lead, Want: c.want, Tol: 0.05})
	}
	lfp := memory(cite.Source{Title: "trade handbook", Where: "C4, LFP of four cells"})
	for _, c := range []struct{ soc, want, tol float64 }{{1, 13.55, 0.05}, {0.9, 13.35, 0.005}, {0.5, 13.175, 0.03}, {0.1, 12.5, 0.05}, {0, 10.5, 0.5}} {
		testkit.Published(t, RestVoltage(LFP, 12.8*quantity.Volt, quantity.Ratio(c.soc)).Volts(), testkit.Check{What: "rest voltage of LFP, V", Source: lfp, Want: c.want, Tol: c.tol, Why: "the range printed"})
	}
}

// Source: Naumann et al. 2018, J. Energy Storage 17:153: calendar ageing of LFP, computed from its formula by another program.
func TestCalendarLoss(t *testing.T) {
	src := cite.Source{Title: "Naumann et al. 2018, J. Energy Storage 17:153", Where: "eq. 6 to 9, coefficients of two open implementations"}
	for _, c := range []struct {
		temp, soc float64
		want      [3]float64
	}{{25, 0.5, [3]float64{4.3, 9.5, 13.4}}, {25, 1, [3]float64{6.8, 15.2, 21.4}}, {35, 1, [3]float64{8.5, 19.0, 26.8}}, {45, 1, [3]float64{10.5, 23.4, 33.1}}} {
		for i, years := range []time.Duration{1, 5, 10} {
			got := CalendarLoss(quantity.Celsius(c.temp), quantity.Ratio(c.soc), years*year).Percent()
			testkit.Published(t, got, testkit.Check{What: "calendar loss of LFP, %", Source: src, Want: c.want[i], Tol: 0.06, Why: "half the last digit, and 365 or 365.25 days"})
		}
	}
}

// Source: Naumann et al. 2020, J. Power Sources 451:227666: cycle ageing of LFP at 0.2C, computed from its formula by another program.
func TestCycleLoss(t *testing.T) {
	src := cite.Source{Title: "Naumann et al. 2020, J. Power Sources 451:227666", Where: "coefficients of two open implementations"}
	for _, c := range []struct {
		depth float64
		want  [3]float64
	}{{0.2, [3]float64{1.6, 2.9, 5.0}}, {0.5, [3]float64{2.1, 3.8, 6.5}}, {0.8, [3]float64{2.1, 3.9, 6.8}}, {1, [3]float64{2.6, 4.7, 8.1}}} {
		for i, full := range []float64{300, 1000, 3000} {
			got := CycleLoss(Cycling{Rate: 0.2 * quantity.One, Depth: quantity.Ratio(c.depth), Full: full}).Percent()
			testkit.Published(t, got, testkit.Check{What: "cycle loss of LFP at 0.2C, %", Source: src, Want: c.want[i], Tol: 0.05})
		}
	}
}

// Source: controller manuals (trade handbook C5): 96-98 % at half load, start at 5 V over the battery; alternator with a converter of
// 0.9, 30 A at 13.5 V: 365 Wh a driven hour (C7).
func TestControllerAndAlternator(t *testing.T) {
	c5 := cite.Source{Title: "controller manual", Where: "92-95 %, 96-98 % newer, at half load (trade handbook, C5)"}
	c := NewController(Rating{Rated: 400 * quantity.Watt, Efficiency: 97 * quantity.Percent, FixedLoss: 1 * quantity.Watt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt})
	out, _ := c.Output(400 * quantity.Watt)
	testkit.Published(t, out.Watts()/400, testkit.Check{What: "controller's efficiency at full load, 0.97 at half", Source: memory(c5), Want: 0.965, Tol: 0.015, Why: "the class's spread"})
	out, _ = c.Output(8 * quantity.Watt)
	testkit.Published(t, out.Watts()/8, testkit.Check{What: "controller's efficiency at 2 % load", Source: memory(c5), Want: 0.87, Tol: 0.05, Why: "'falls under 10 % load'; a fixed loss of 1 W of 8 W is 12.5 %"})
	start := cite.Source{Title: "controller input-voltage explainers", Where: "battery + 5 V to start (trade handbook, C5)"}
	least := 0.0
	for v := 0.0; v < 40; v += 0.01 {
		if c.Running(false, quantity.Voltage(v), 13*quantity.Volt) {
			least = v
			break
		}
	}
	testkit.Published(t, least, testkit.Check{What: "open voltage that starts a controller on a 13 V battery, V", Source: start, Want: 18, Tol: 0.011})
	a := Alternator{Current: 30 * quantity.Ampere, Efficiency: 90 * quantity.Percent}
	testkit.Published(t, a.Output(13.5*quantity.Volt).Watts()*a.Efficiency.Float(), testkit.Check{What: "30 A from the alternator at 13.5 V through a converter of 0.9, Wh in an hour",
		Source: memory(cite.Source{Title: "trade handbook", Where: "C7"}), Want: 365, Tol: 0.6})
}

// Source: trade handbook C2 (mass and specific heat from memory): 25 kg of cells by 10 K take 70 Wh.
func TestHeaterEnergy(t *testing.T) {
	// 25 kg of LFP at 8 kg/kWh; a box that loses nothing over the hour.
	b := Battery{Chemistry: LFP, Energy: quantity.Energy(25.0/8) * quantity.KilowattHour, Health: 1, TimeConstant: 100000 * time.Hour}
	s := b.Warm(State{Cell: quantity.Celsius(0)}, quantity.Celsius(0), 70*quantity.Watt, time.Hour)
	testkit.Published(t, s.Cell.Celsius(), testkit.Check{What: "warming of 25 kg of cells by 70 Wh, K", Source: memory(cite.Source{Title: "trade handbook", Where: "C2, heater pad"}), Want: 10, Tol: 0.15})
}
