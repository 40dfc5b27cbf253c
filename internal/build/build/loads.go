package build

import (
	"fmt"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/catalog"
)

func (r *resolver) loads() {
	for i := range r.doc.Loads {
		r.build.Loads = append(r.build.Loads, r.load(&r.doc.Loads[i]))
	}
	if len(r.doc.Loads) == 0 {
		r.assume("loads", "none", "none was written", estimate)
	}
}

func (r *resolver) load(written *LoadDoc) Load {
	own := *written
	d := &own
	at := "loads." + d.Name
	l := Load{Name: d.Name, Parked: true, Driving: true, Medical: quiet(d.Medical, false)}
	hours := d.Hours
	if d.Like != nil {
		before := r.problems.Len()
		if hours = r.loadClass(d, &l, at); r.problems.Len() > before {
			return l
		}
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
