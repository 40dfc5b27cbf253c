package build

import (
	"fmt"

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
	c.Lay = r.lay(d, at)
	if d.Where != nil {
		hot = hotPlaces[c.Where]
	}
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
		s := String{Name: d.Name, Blocking: quiet(d.Blocking, false)}
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
	for m, n := range names {
		if _, ok := used[m]; !ok && len(used) > 0 {
			r.wrong("modules."+n, "each module in a string; %s is in none", n)
		}
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
		c.Reversed, c.Blocks = d.Reversed, d.Blocks
		c.Tracking = choice(r, d.Tracking, at+".tracking", trackWords, GlobalPeak)
		c.InputCable = r.run(d.Input, "array to "+d.Name, at+".input_cable", 4*quantity.Metre, 4*quantity.SquareMillimetre, quantity.Celsius(50))
		if c.Integrated && d.Output == nil {
			c.BatteryCable = Run{Name: d.Name + " inside", Conductor: "copper", Length: 0.2 * quantity.Metre, Area: 16 * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
		} else {
			c.BatteryCable = r.run(d.Output, d.Name+" to battery", at+".battery_cable", 1*quantity.Metre, 6*quantity.SquareMillimetre, quantity.Celsius(45))
		}
		r.build.Chargers = append(r.build.Chargers, c)
	}
	for s, n := range names {
		if _, ok := used[s]; !ok && len(used) > 0 {
			r.wrong("strings."+n, "each string on a charger; %s is on none", n)
		}
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
	if r.doc.Inverter != nil {
		own := *r.doc.Inverter
		d := &own
		r.inverterClass(d)
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

// inverterClass copies a class of the catalogue under what was written.
func (r *resolver) inverterClass(d *InverterDoc) {
	if d.Like == nil {
		return
	}
	var names []string
	for _, c := range catalog.Inverters() {
		names = append(names, c.Name)
		if c.Name == *d.Like {
			d.Idle, d.Efficiency, d.Rated = first(d.Idle, &c.Idle), first(d.Efficiency, &c.Efficiency), first(d.Rated, &c.Rated)
			r.assume("inverter", "class "+c.Name+": "+c.Line, "values not given", c.Source.String())
			return
		}
	}
	r.index(*d.Like, "inverter.like", "class of inverter in the catalogue", names)
}
