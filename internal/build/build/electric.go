package build

import (
	"fmt"
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/catalog"
)

// run completes a cable run.
func (r *resolver) run(d *RunDoc, name, at string, length quantity.Length, area quantity.Area, hot quantity.Temperature) Run {
	if d == nil {
		d = &RunDoc{}
	}
	c := Run{Name: name, Conductor: "copper", Fuse: d.Fuse}
	c.Length = or(r, d.Length, at+".length", length, "measure along its path, one way", estimate)
	c.Area = or(r, d.Size, at+".size", area, "commonly fitted", customary)
	c.Temperature = or(r, d.Temperature, at+".lies_at", hot, "summer sun", estimate)
	if c.Length < 0 || c.Length > 100*quantity.Metre {
		r.wrong(at+".length", "0 to 100 m, one way")
	}
	if c.Area < 0.1*quantity.SquareMillimetre || c.Area > 300*quantity.SquareMillimetre {
		r.wrong(at+".size", "0.1 to 300 mm²")
		c.Area = 4 * quantity.SquareMillimetre
	}
	return c
}

// strings reads the strings; with none written, all modules are one, in the order of the file.
func (r *resolver) strings() {
	var names []string
	for _, m := range r.build.Modules {
		names = append(names, m.Name)
	}
	docs := r.doc.Strings
	if len(docs) == 0 && len(names) > 0 {
		docs = []StringDoc{{Name: "roof", Modules: names}}
		r.assume("strings", "all modules in series, in the order of the file", "none was written", estimate)
	}
	used := map[int]string{}
	for i := range docs {
		d := &docs[i]
		at := "strings." + d.Name
		s := String{Name: d.Name}
		for _, n := range d.Modules {
			m := r.index(n, at+".modules", "module", names)
			if m < 0 {
				continue
			}
			if other, twice := used[m]; twice {
				r.wrong(at+".modules", "each module in one string; %s is in %s already", n, other)
				continue
			}
			used[m] = d.Name
			s.Modules = append(s.Modules, m)
		}
		if len(d.Modules) == 0 {
			r.wrong(at+".modules", "at least one module")
		}
		if len(docs) == 1 && d.Cable == nil {
			s.Cable = Run{Name: d.Name + " string", Conductor: "copper", Temperature: quantity.Celsius(60)}
		} else {
			s.Cable = r.run(d.Cable, d.Name+" string", at+".cable", 2*quantity.Metre, 4*quantity.SquareMillimetre, quantity.Celsius(60))
		}
		r.build.Strings = append(r.build.Strings, s)
	}
}

// usual is a charger of no class: a middling tracking controller.
var usual = catalog.Charger{Name: "usual controller", InputMax: 100 * quantity.Volt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt,
	InputCurrent: 20 * quantity.Ampere, ShortMax: 25 * quantity.Ampere, Output: 20 * quantity.Ampere, InputPower: 290 * quantity.Watt,
	Efficiency: 96 * quantity.Percent, FixedLoss: 1 * quantity.Watt, SelfUse: 0.2 * quantity.Watt}

func (r *resolver) chargers() {
	var names []string
	for _, s := range r.build.Strings {
		names = append(names, s.Name)
	}
	if len(r.doc.Chargers) == 0 {
		r.wrong("chargers", "a charge controller, such as roof: {like: controller-16a}")
	}
	used := map[int]string{}
	for i := range r.doc.Chargers {
		d := &r.doc.Chargers[i]
		at := "chargers." + d.Name
		class := r.chargerClass(d, at)
		c := Charger{Name: d.Name, Integrated: quiet(d.Integrated, class.Integrated)}
		given := d.Strings
		if len(given) == 0 && len(r.doc.Chargers) == 1 {
			given = names
		}
		for _, n := range given {
			s := r.index(n, at+".strings", "string", names)
			if s < 0 {
				continue
			}
			if other, twice := used[s]; twice {
				r.wrong(at+".strings", "each string on one charger; %s is on %s already", n, other)
				continue
			}
			used[s] = d.Name
			c.Strings = append(c.Strings, s)
		}
		if len(given) == 0 {
			r.wrong(at+".strings", "the strings on it")
		}
		r.rating(d, &c, class, at)
		c.Tracking = choice(r, d.Tracking, at+".tracking", trackWords, GlobalPeak)
		c.InputCable = r.run(d.Input, "array to "+d.Name, at+".input_cable", 4*quantity.Metre, 4*quantity.SquareMillimetre, quantity.Celsius(50))
		if c.Integrated && d.Output == nil {
			c.BatteryCable = Run{Name: d.Name + " inside", Conductor: "copper", Length: 0.2 * quantity.Metre, Area: 16 * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
		} else {
			c.BatteryCable = r.run(d.Output, d.Name+" to battery", at+".battery_cable", 1*quantity.Metre, 6*quantity.SquareMillimetre, quantity.Celsius(45))
		}
		r.build.Chargers = append(r.build.Chargers, c)
	}
}

// chargerClass returns the class a charger starts from.
func (r *resolver) chargerClass(d *ChargerDoc, at string) catalog.Charger {
	if d.Like == nil {
		return usual
	}
	var names []string
	for _, c := range catalog.Chargers() {
		names = append(names, c.Name)
		if c.Name == *d.Like {
			r.assume(at, "class "+c.Name+": "+c.Line, "values not given", c.Source.String())
			return c
		}
	}
	r.index(*d.Like, at+".like", "class of charger in the catalogue", names)
	return usual
}

// rating completes and checks a charger's figures. A class named by the user is listed as one line, so
// its figures are taken without a line each.
func (r *resolver) rating(d *ChargerDoc, c *Charger, class catalog.Charger, at string) {
	named := d.Like != nil
	c.InputMax = orClass(r, named, d.InputMax, at+".input_max", class.InputMax)
	c.StartMargin = orClass(r, named, d.StartMargin, at+".start_margin", class.StartMargin)
	c.RunMargin = orClass(r, named, d.RunMargin, at+".run_margin", class.RunMargin)
	c.InputMin = quiet(d.InputMin, class.InputMin)
	c.OutputCurrent = orClass(r, named, d.OutputMax, at+".output_current", class.Output)
	c.InputCurrent = orClass(r, named, d.InputCurrent, at+".input_current", class.InputCurrent)
	c.ShortCircuitMax = orClass(r, named, d.ShortMax, at+".short_circuit_max", class.ShortMax)
	c.InputPower = orClass(r, named, d.InputPower, at+".input_power", class.InputPower)
	c.Efficiency = orClass(r, named, d.Efficiency, at+".efficiency", class.Efficiency)
	c.FixedLoss = orClass(r, named, d.FixedLoss, at+".fixed_loss", class.FixedLoss)
	c.SelfUse = orClass(r, named, d.SelfUse, at+".self_use", class.SelfUse)
	c.TrackingLoss = or(r, d.TrackingLoss, at+".tracking_loss", 1*quantity.Percent, "98 to 99.5 % in steady light", "handbook C5, from memory")
	if c.InputMax <= 0 || c.InputMax > 1000*quantity.Volt {
		r.wrong(at+".input_max", "above 0 and up to 1000 V")
	}
	if c.Efficiency <= 50*quantity.Percent || c.Efficiency > 1 {
		r.wrong(at+".efficiency", "above 50 %% and up to 100 %%")
		c.Efficiency = class.Efficiency
	}
	if c.OutputCurrent <= 0 || c.InputCurrent <= 0 || c.ShortCircuitMax <= 0 || c.InputPower <= 0 {
		r.wrong(at, "limits above zero: input_current, short_circuit_max, input_power, output_current")
	}
	if c.StartMargin < 0 || c.RunMargin < 0 || c.InputMin < 0 || c.FixedLoss < 0 || c.SelfUse < 0 || c.TrackingLoss < 0 || c.TrackingLoss > 50*quantity.Percent {
		r.wrong(at, "margins and losses of zero or more")
		c.StartMargin, c.RunMargin, c.InputMin, c.FixedLoss, c.SelfUse = max(0, c.StartMargin), max(0, c.RunMargin), max(0, c.InputMin), max(0, c.FixedLoss), max(0, c.SelfUse)
	}
}

func orClass[T fmt.Stringer](r *resolver, named bool, written *T, path string, def T) T {
	if written == nil && named {
		return def
	}
	return or(r, written, path, def, "a middling tracking controller", customary)
}

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
	d := r.doc.Battery
	if d == nil {
		r.wrong("battery", "the battery, such as battery: {like: lfp-100}")
		d = &BatteryDoc{}
	}
	r.batteryClass(d)
	b := Battery{Name: quiet(d.Name, "house"), TimeConstant: 3 * time.Hour}
	b.Chemistry = choice(r, d.Chemistry, "battery.chemistry", chemWords, LFP)
	if d.Chemistry == nil {
		r.assume("battery.chemistry", "LFP", "most new campers", customary)
	}
	c := batteryCustoms[b.Chemistry]
	if d.Energy == nil {
		if r.doc.Battery != nil {
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

// helpers reads alternator and inverter.
func (r *resolver) helpers() {
	if d := r.doc.Alternator; d != nil {
		a := Alternator{Current: or(r, d.Current, "alternator.current", 20*quantity.Ampere, "a small charger", customary),
			Efficiency: or(r, d.Efficiency, "alternator.efficiency", 90*quantity.Percent, "of a charger between two batteries", memory)}
		if a.Current <= 0 || a.Current > 300*quantity.Ampere {
			r.wrong("alternator.current", "above 0 and up to 300 A")
		}
		if a.Efficiency <= 0 || a.Efficiency > 1 {
			r.wrong("alternator.efficiency", "above 0 and up to 100 %%")
		}
		r.build.Alternator = &a
	}
	if d := r.doc.Inverter; d != nil {
		i := Inverter{Idle: or(r, d.Idle, "inverter.idle", 10*quantity.Watt, "about 10 W for 300 W, 20 W for 1.5 kW", "handbook C6"),
			Efficiency: or(r, d.Efficiency, "inverter.efficiency", 90*quantity.Percent, "near half load", "handbook D3, from memory"),
			Rated:      or(r, d.Rated, "inverter.rated", 500*quantity.Watt, "a small one", customary)}
		if i.Idle < 0 || i.Idle > 300*quantity.Watt {
			r.wrong("inverter.idle", "0 to 300 W")
			i.Idle = 10 * quantity.Watt
		}
		if i.Efficiency <= 50*quantity.Percent || i.Efficiency > 1 {
			r.wrong("inverter.efficiency", "above 50 %% and up to 100 %%")
			i.Efficiency = 90 * quantity.Percent
		}
		if i.Rated <= 0 || i.Rated > 20*quantity.Kilowatt {
			r.wrong("inverter.rated", "above 0 and up to 20 kW")
			i.Rated = 500 * quantity.Watt
		}
		if d.On != nil {
			i.AlwaysOn = d.On.Always
			for h, share := range d.On.Hours {
				i.On[h] = share > 0
			}
		} else {
			r.assume("inverter.on", "with its loads only", "switched off after use", estimate)
		}
		r.build.Inverter = &i
	}
}

func (r *resolver) loads() {
	for i := range r.doc.Loads {
		r.build.Loads = append(r.build.Loads, r.load(&r.doc.Loads[i]))
	}
	if len(r.doc.Loads) == 0 {
		r.assume("loads", "none", "none was written", estimate)
	}
}

func (r *resolver) load(d *LoadDoc) Load {
	at := "loads." + d.Name
	l := Load{Name: d.Name, Parked: true, Driving: true, Medical: quiet(d.Medical, false)}
	hours := d.Hours
	if d.Like != nil {
		hours = r.loadClass(d, &l, at)
	}
	if d.Kind != nil {
		switch plainWord(*d.Kind) {
		case "fridge":
			l.Kind = Fridge
		case "hourly":
			l.Kind = Hourly
		default:
			r.wrong(at+".kind", "fridge or hourly")
		}
	}
	if d.On != nil {
		switch plainWord(*d.On) {
		case "battery":
			l.Mains = false
		case "inverter":
			l.Mains = true
		default:
			r.wrong(at+".on", "battery or inverter")
		}
	}
	if l.Mains && r.build.Inverter == nil {
		r.wrong(at+".on", "an inverter in the file: the load stands on one")
	}
	r.when(d, &l, at)
	if d.Power != nil && (*d.Power < 0 || *d.Power > 20*quantity.Kilowatt) {
		r.wrong(at+".power", "0 to 20 kW")
		return l
	}
	if l.Kind == Fridge {
		r.fridge(d, &l, at)
		return l
	}
	r.hourly(d, &l, hours, at)
	return l
}

// when reads months and whether it runs parked or driving.
func (r *resolver) when(d *LoadDoc, l *Load, at string) {
	switch plainWord(quiet(d.When, "always")) {
	case "always":
	case "parked":
		l.Driving = false
	case "driving":
		l.Parked = false
	default:
		r.wrong(at+".when", "parked, driving or always")
	}
	for i := range l.Months {
		l.Months[i] = len(d.Months) == 0
	}
	for _, m := range d.Months {
		if m < 1 || m > 12 {
			r.wrong(at+".months", "months from 1 to 12, not %d", m)
			continue
		}
		l.Months[m-1] = true
	}
}

// loadClass copies a class of the catalogue under what was written, and returns the hours it runs.
func (r *resolver) loadClass(d *LoadDoc, l *Load, at string) *HoursDoc {
	var names []string
	for _, c := range catalog.Loads() {
		names = append(names, c.Name)
		if c.Name != *d.Like {
			continue
		}
		r.assume(at, "class "+c.Name+": "+c.Line, "values not given", c.Source.String())
		l.Mains = c.Mains
		d.Power = first(d.Power, &c.Power)
		if c.Fridge {
			l.Kind = Fridge
			d.At25 = first(d.At25, &c.Day)
			return d.Hours
		}
		if d.Hours == nil {
			h := classHours(c.Hours)
			return &h
		}
		return d.Hours
	}
	r.index(*d.Like, at+".like", "class of load in the catalogue", names)
	return d.Hours
}

// classHours reads the catalogue's own hours: whole hours, one span.
func classHours(text string) HoursDoc {
	var h HoursDoc
	from, to := 0, 24
	if text != "always" {
		if n, err := fmt.Sscanf(text, "%d-%d", &from, &to); n != 2 || err != nil {
			panic("build: hours of the catalogue: " + text)
		}
	}
	if to <= from {
		to += 24
	}
	for k := from; k < to; k++ {
		h.Hours[k%24] = 1
	}
	h.Always = to-from == 24
	return h
}

func (r *resolver) fridge(d *LoadDoc, l *Load, at string) {
	if d.Hours != nil || d.Day != nil {
		r.wrong(at, "for a fridge: day_at_25C and power; it runs by itself")
	}
	l.Fridge.DayAt25C = or(r, d.At25, at+".day_at_25C", 420*quantity.WattHour, "a 40 litre box; ± 30 %, a measured figure wins", "handbook D1")
	l.Fridge.Running = or(r, d.Power, at+".power", 45*quantity.Watt, "a small compressor", memory)
	l.Fridge.Rise = or(r, d.Rise, at+".warmer_than_air", 3*quantity.OneKelvin, "inside a vehicle", estimate)
	if l.Fridge.DayAt25C < 0 || l.Fridge.DayAt25C > 5*quantity.KilowattHour {
		r.wrong(at+".day_at_25C", "0 to 5 kWh")
	}
	if l.Fridge.Running <= 0 {
		r.wrong(at+".power", "above zero")
	}
	if l.Fridge.Rise < -10*quantity.OneKelvin || l.Fridge.Rise > 30*quantity.OneKelvin {
		r.wrong(at+".warmer_than_air", "-10 K to 30 K")
	}
}

func (r *resolver) hourly(d *LoadDoc, l *Load, hours *HoursDoc, at string) {
	if hours == nil {
		h := HoursDoc{Always: true}
		for i := range h.Hours {
			h.Hours[i] = 1
		}
		hours = &h
		if d.Day == nil {
			r.wrong(at+".hours", "the hours it runs, such as 20-23, or always")
		}
	}
	sum := 0.0
	for _, share := range hours.Hours {
		sum += share
	}
	switch {
	case d.Day != nil && (*d.Day < 0 || *d.Day > 100*quantity.KilowattHour):
		r.wrong(at+".day", "0 to 100 kWh")
	case d.Day != nil && sum > 0:
		for h, share := range hours.Hours {
			l.Watts[h] = quantity.Power(d.Day.WattHours() * share / sum)
		}
	case d.Power != nil:
		for h, share := range hours.Hours {
			l.Watts[h] = quantity.Power(d.Power.Watts() * share)
		}
	default:
		r.wrong(at+".power", "its power while it runs, such as 8 W, or its energy a day")
	}
}
