package build

import (
	"fmt"
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/catalog"
)

// batteryCustom is what batteries of a chemistry have in common. Source: handbook C1, from memory but
// for the depth.
type batteryCustom struct {
	lowest, charge, discharge, self quantity.Ratio
	voltage                         quantity.Voltage
	chargeRate, dischargeRate       float64 // C
}

var batteryCustoms = map[Chemistry]batteryCustom{
	LFP: {10 * quantity.Percent, 97 * quantity.Percent, 98 * quantity.Percent, 2 * quantity.Percent, 12.8 * quantity.Volt, 0.5, 1},
	NMC: {10 * quantity.Percent, 96 * quantity.Percent, 97 * quantity.Percent, 2 * quantity.Percent, 14.4 * quantity.Volt, 0.5, 1},
	AGM: {50 * quantity.Percent, 85 * quantity.Percent, 96 * quantity.Percent, 4 * quantity.Percent, 12 * quantity.Volt, 0.2, 0.5},
}

func (r *resolver) battery() {
	var own BatteryDoc
	if r.doc.Battery != nil {
		own = *r.doc.Battery
	} else {
		r.wrong("battery", "the battery, such as battery: {like: lfp-100}")
	}
	d := &own
	r.batteryClass(d)
	b := Battery{Name: quiet(d.Name, "house"), TimeConstant: 3 * time.Hour}
	b.Chemistry = choice(r, d.Chemistry, "battery.chemistry", chemWords, LFP)
	if d.Chemistry == nil {
		r.assume("battery.chemistry", "LFP", "most new campers", customary)
	}
	c := batteryCustoms[b.Chemistry]
	if d.Energy == nil {
		if r.doc.Battery != nil && d.Like == nil {
			r.wrong("battery.energy", "its energy, such as 1280 Wh or 100 Ah at 12.8 V")
		}
	} else if *d.Energy <= 0 || *d.Energy > 500*quantity.KilowattHour {
		r.wrong("battery.energy", "above 0 and up to 500 kWh: a system without a battery has no night to plan")
	} else {
		b.Energy = *d.Energy
	}
	b.Voltage = or(r, d.Voltage, "battery.voltage", c.voltage, "of the chemistry", customary)
	if b.Voltage < 6*quantity.Volt || b.Voltage > 60*quantity.Volt {
		r.wrong("battery.voltage", "6 V to 60 V")
		b.Voltage = c.voltage
	}
	b.Health = or(r, d.Health, "battery.health", 1*quantity.One, "new", estimate)
	b.LowestCharge = or(r, d.Lowest, "battery.lowest_charge", c.lowest, "usual depth", "handbook C1")
	b.HighestCharge = or(r, d.Highest, "battery.highest_charge", 1*quantity.One, "charged full", customary)
	b.StartCharge = or(r, d.Start, "battery.start_charge", 90*quantity.Percent, "charged before leaving", estimate)
	if b.Health <= 0 || b.Health > 1 {
		r.wrong("battery.health", "above 0 and up to 100 %%")
	}
	if b.LowestCharge < 0 || b.HighestCharge > 1 || b.LowestCharge >= b.HighestCharge {
		r.wrong("battery.lowest_charge", "0 ≤ lowest_charge < highest_charge ≤ 100 %%")
	}
	if b.StartCharge < 0 || b.StartCharge > 1 {
		r.wrong("battery.start_charge", "0 to 100 %%")
	}
	b.ChargeEfficiency, b.DischargeEfficiency, b.SelfDischargePerMonth = c.charge, c.discharge, c.self
	r.assume("battery.efficiency", fmt.Sprintf("%v in, %v out, %v a month", c.charge, c.discharge, c.self), "of the chemistry", "handbook C1, from memory")
	amps := math.Round(b.Energy.WattHours() / b.Voltage.Volts())
	b.MaxChargeCurrent = or(r, d.MaxCharge, "battery.max_charge_current", quantity.Current(math.Max(1, amps*c.chargeRate)), "of its ampere-hours", "handbook C1, from memory")
	b.MaxDischargeCurrent = or(r, d.MaxDischarge, "battery.max_discharge_current", quantity.Current(math.Max(1, amps*c.dischargeRate)), "of its ampere-hours", "handbook C1, from memory")
	if b.MaxChargeCurrent <= 0 || b.MaxDischargeCurrent <= 0 {
		r.wrong("battery.max_charge_current", "currents above zero")
	}
	b.Inside = quiet(d.Inside, false)
	if d.Inside == nil {
		r.assume("battery.inside", "false: as cold as the air", "the careful case", estimate)
	}
	b.InsideTemperature = quantity.Celsius(5)
	if b.Inside {
		b.InsideTemperature = or(r, d.InsideLow, "battery.inside_lowest", quantity.Celsius(5), "people sleep there", estimate)
	}
	b.HeaterPower = quiet(d.Heater, 0)
	if b.HeaterPower < 0 || b.HeaterPower > 500*quantity.Watt {
		r.wrong("battery.heater", "0 to 500 W")
	}
	b.ShortCircuit, b.Cranking, b.ColdCutoff = d.ShortCircuit, d.Cranking, d.ColdCutoff
	b.Mass, b.Price = d.Mass, d.Price
	within(r, d.Mass, "battery.mass", 0.1*quantity.Kilogram, 5000*quantity.Kilogram)
	if d.Price != nil && !(*d.Price >= 0) {
		r.wrong("battery.price", "zero or more")
	}
	within(r, d.ShortCircuit, "battery.short_circuit", 1*quantity.Ampere, largestFault)
	within(r, d.Cranking, "battery.cold_cranking", 1*quantity.Ampere, largestFault)
	r.build.Battery = b
}

// batteryClass copies a class of the catalogue under what was written.
func (r *resolver) batteryClass(d *BatteryDoc) {
	if d.Like == nil {
		return
	}
	var names []string
	for _, c := range catalog.Batteries() {
		names = append(names, c.Name)
		if c.Name != *d.Like {
			continue
		}
		if d.Chemistry == nil {
			d.Chemistry = &c.Chemistry
		}
		if d.Energy == nil {
			d.Energy, d.MaxCharge, d.MaxDischarge = &c.Energy, first(d.MaxCharge, &c.MaxCharge), first(d.MaxDischarge, &c.MaxDischarge)
		}
		d.Voltage = first(d.Voltage, &c.Voltage)
		r.assume("battery", "class "+c.Name+": "+c.Line, "values not given", c.Source.String())
		return
	}
	r.index(*d.Like, "battery.like", "class of battery in the catalogue", names)
}

func first[T any](a, b *T) *T {
	if a != nil {
		return a
	}
	return b
}
