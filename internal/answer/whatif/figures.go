package whatif

import (
	"strings"

	"noonmark/internal/answer/needs"
	"noonmark/internal/answer/parts"
	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/charge"
)

// figure is a figure of one side.
type figure struct {
	key, about, name, unit string
	digits                 int
	value                  *float64 // nil: not known
}

// list gathers figures.
type list []figure

func (l *list) add(about, key, name, unit string, digits int, value float64) {
	*l = append(*l, figure{key: key, about: about, name: name, unit: unit, digits: digits, value: &value})
}

// figuresOf returns what is compared of a side.
func figuresOf(s Side) []figure {
	var l list
	l.roof(s)
	l.volts(s)
	l.battery(s)
	if s.Forecast != nil && len(s.Forecast.Days) > 0 {
		l.trip(s)
	}
	l.money(s)
	return l
}

func (l *list) roof(s Side) {
	watts, mass := 0.0, 0.0
	for i := range s.Build.Modules {
		t := &s.Build.Types[s.Build.Modules[i].Type]
		watts += t.Pmax.Watts()
		mass += t.Mass.Kilograms()
	}
	l.add("roof", "modules", "modules", "", 0, float64(len(s.Build.Modules)))
	l.add("roof", "label_W", "label watts of the modules", "W", 0, watts)
	l.add("roof", "module_mass_kg", "mass of the modules", "kg", 1, mass)
}

// volts takes the cold and hot volts of each string from the findings, so that both say the same.
func (l *list) volts(s Side) {
	names := map[string][2]string{"cold-voltage": {"cold_V", "open volts in the cold"}, "hot-voltage": {"hot_V", "working volts in the heat"}}
	for i := range s.Findings {
		f := &s.Findings[i]
		if n, ok := names[f.ID]; ok && f.Value > 0 {
			l.add("wiring", n[0]+":"+f.Subject, n[1]+", "+f.Subject, "V", 1, f.Value)
		}
	}
}

func (l *list) battery(s Side) {
	b := &s.Build.Battery
	usable := b.Energy.WattHours() * b.Health.Float() * (b.HighestCharge.Float() - b.LowestCharge.Float()) * b.DischargeEfficiency.Float()
	l.add("needs", "battery_Wh", "battery as sold", "Wh", 0, b.Energy.WattHours())
	l.add("needs", "battery_usable_Wh", "usable from full", "Wh", 0, usable)
	mass := charge.MassOf(charge.Chemistry(b.Chemistry), b.Energy)
	if b.Mass != nil {
		mass = *b.Mass
	}
	l.add("needs", "battery_mass_kg", "mass of the battery, estimated from its energy where not given", "kg", 0, mass.Kilograms())
}

func (l *list) trip(s Side) {
	a := s.Forecast
	n := float64(len(a.Days))
	day := func(e quantity.Energy) float64 { return e.WattHours() / n }
	needed := needs.Of(s.Build, a)
	l.add("needs", "use_per_day_Wh", "use, of a day", "Wh", 0, day(a.Demand))
	l.add("needs", "days_without_sun", "days the battery lasts without any sun", "", 1, needed.Nights)
	l.add("trip", "harvest_per_day_Wh", "harvest, of a day", "Wh", 0, day(a.Harvest))
	l.add("trip", "harvest_per_day_P90_Wh", "harvest of a day, reached in 90 % of years", "Wh", 0, a.HarvestBand.P90/n)
	l.add("trip", "offered_per_day_Wh", "offered at the battery, of a day", "Wh", 0, day(a.Offered))
	l.add("trip", "unused_per_day_Wh", "offered and not taken, of a day", "Wh", 0, day(a.Unused))
	l.add("trip", "unmet_Wh", "not served, of the trip", "Wh", 0, a.Unmet.WattHours())
	l.add("trip", "nights", "nights", "", 0, float64(a.Nights))
	l.add("trip", "nights_short_P50", "nights short, middle year", "", 1, a.NightsShort.P50)
	l.add("trip", "nights_short_P90", "nights short, one year in ten", "", 1, a.NightsShort.P90)
	l.add("trip", "lowest_charge_P50", "lowest charge, middle year", "%", 0, 100*a.LowestBand.P50)
	l.add("trip", "lowest_charge_P90", "lowest charge, reached in 90 % of years", "%", 0, 100*a.LowestBand.P90)
}

// money takes the priced lines of the parts; without one the cost is not known.
func (l *list) money(s Side) {
	sum, unpriced := parts.Total(parts.Of(s.Build))
	f := figure{key: "cost", about: "parts", name: "cost of the lines with a price", unit: strings.TrimSpace(s.Build.Currency), digits: 0}
	if sum > 0 {
		f.value = &sum
	}
	*l = append(*l, f)
	l.add("parts", "unpriced_lines", "lines without a price", "", 0, float64(unpriced))
}
