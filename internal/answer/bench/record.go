package bench

import (
	"fmt"
	"math"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Entry is a line of a record: what to do, what to expect, room for what was read.
type Entry struct {
	Number  int
	Test    string
	Subject string
	How     string
	Expect  string // the value with its band, in words
	Value   *Value // nil: no figure
	Unit    string
	Accept  string // the rule of the verdict
	Source  string
	Read    string // what was read; empty: to be filled in
	Verdict string // likewise
}

// Record is the commissioning of a build.
type Record struct {
	Build     string
	Place     string
	Time      time.Time
	Entries   []Entry
	Baseline  []string // to note for every later year
	Cautions  []string
	Reminders []Reminder
}

// Reminder is a day on which something is due.
type Reminder struct {
	Day   time.Time // its date
	Title string
	Text  string
	Every int // months; 0: once
}

// sources of the record's rules.
const (
	fromStandard = "order after IEC 62446-1:2016, clause 6; limit from memory"
	fromHandbook = "common practice"
)

// Commission returns the record of a build: the tests in the order of IEC 62446-1 — looking, continuity,
// polarity, open volts, short-circuit amps, insulation, function — with the value to expect at the
// setting's place, the instant and a sky, and its band. Module and string values are those of one module
// lying as the setting says; strings add their volts. The error is ErrNight, or that of a label.
func Commission(b *build.Build, set Setting, at time.Time) (Record, error) {
	if set.Place == nil {
		panic("bench: a record without a place")
	}
	r := Record{Build: b.Name, Place: set.Place.Name, Time: at}
	add := func(e Entry) {
		e.Number = len(r.Entries) + 1
		r.Entries = append(r.Entries, e)
	}
	add(Entry{Test: "look", Subject: "every module", How: "label, serial, plugs, clips, edges, gap; a photograph of each", Accept: "noted, nothing loose, nothing cracked", Source: fromStandard})
	if b.Surfaces != nil {
		add(Entry{Test: "continuity of bonding", Subject: "metal lid or frame to chassis", How: "ohmmeter, its leads' own ohms taken off", Expect: "below 1 Ω", Accept: "below 1 Ω", Source: "IEC 62446-1:2016, clause 6.1; limit from memory"})
	}
	module := map[int]Reading{}
	expect := func(m int) (Reading, error) {
		t := b.Modules[m].Type
		if x, ok := module[m]; ok {
			return x, nil
		}
		air := quantity.Celsius(20)
		unsure := 5 * quantity.OneKelvin
		if set.Air != nil {
			air, unsure = *set.Air, set.airUnsure()
		}
		x, err := Expect(Scene{Module: &b.Types[t], Attachment: b.Modules[m].Attachment, Gap: b.Modules[m].Gap, Facing: set.Facing, Place: *set.Place, Time: at,
			Air: air, AirUnsure: unsure, Wind: set.Wind, Haze: set.Haze, Cloud: set.Cloud, Albedo: set.Albedo})
		module[m] = x
		return x, err
	}
	for m := range b.Modules {
		if _, err := expect(m); err != nil {
			return r, fmt.Errorf("module %s: %w", b.Modules[m].Name, err)
		}
		add(Entry{Test: "polarity", Subject: b.Modules[m].Name, How: "meter on volts, red on plus, before anything is connected", Expect: "a positive reading", Accept: "positive; mark the plugs", Source: fromStandard})
	}
	for m := range b.Modules {
		add(figure("open volts", b.Modules[m].Name, "V", module[m].Open, "nothing connected, leads on for ten seconds", "within the band, and within 5 % of its twins", fromStandard))
	}
	for m := range b.Modules {
		add(figure("short-circuit amps", b.Modules[m].Name, "A", module[m].Short, "meter on its 10 A jack, fused, a few seconds; the module covered while the leads are put on", "within the band, and within 5 % of its twins in steady sun", fromStandard))
	}
	for s := range b.Strings {
		var v Value
		var amps Value
		for k, m := range b.Strings[s].Modules {
			x, err := expect(m)
			if err != nil {
				return r, err
			}
			v = Value{v.Expected + x.Open.Expected, v.Low + x.Open.Low, v.High + x.Open.High}
			if k == 0 || x.Short.Expected < amps.Expected {
				amps = x.Short
			}
		}
		add(figure("open volts of the string", b.Strings[s].Name, "V", v, "all its modules in series, nothing connected", "the sum of its modules; a reversed one takes twice its own volts off", fromStandard))
		add(figure("short-circuit amps of the string", b.Strings[s].Name, "A", amps, "clamp or meter, a few seconds", "within 5 % of a like string in steady sun", fromStandard))
	}
	volts := highestVolts(b)
	test, least := "250 V", "0.5 MΩ"
	switch {
	case volts > 500:
		test, least = "1000 V", "1 MΩ"
	case volts >= 120:
		test, least = "500 V", "1 MΩ"
	}
	add(Entry{Test: "insulation", Subject: "array to chassis", How: "plus and minus joined, tester of " + test + " between them and the chassis; never across a module, controller and battery disconnected",
		Expect: "at least " + least, Accept: "at least " + least + "; again in dew, the trend matters", Source: "IEC 62446-1:2016, clause 6.7; values from memory"})
	for c := range b.Chargers {
		p := 0.0
		low := 0.0
		high := 0.0
		for _, s := range b.Chargers[c].Strings {
			for _, m := range b.Strings[s].Modules {
				x, err := expect(m)
				if err != nil {
					return r, err
				}
				p, low, high = p+x.Power.Expected, low+x.Power.Low, high+x.Power.High
			}
		}
		k := b.Chargers[c].Efficiency.Float() * 0.97 // 3 % for wires and tracking, and as much doubt of it below: our own estimate
		add(figure("function", b.Chargers[c].Name, "W", Value{p * k, low * k * 0.97, high * k}, "battery first, then the array; battery below 80 %, so that it takes all", "starts, no alarm, watts within the band; less is first of all a full battery", fromHandbook))
	}
	r.Baseline = []string{"watts and amps at a clear noon, battery at 50 to 80 %", "temperature of each module's back", "open volts of each module, read in one minute: the ratio of twins is what later years are held against",
		"date, time, place, sky, when last washed", "instrument and the date of its calibration, at most 12 months old", "state of charge before and after"}
	r.Cautions = []string{"A module is live in light: cover it before you touch a plug, and never part a plug under load.", "Work at height: two people, a dry roof, nothing loose.", "Battery last on, fused within reach of its post; mains wiring is not part of this."}
	day := func(years, months, days int) time.Time { return at.AddDate(years, months, days) }
	r.Reminders = []Reminder{
		{Day: day(0, 0, 7), Title: "Burn-in: read again", Text: "Voc and Isc of each module and the ratio of twins after a week of light."},
		{Day: day(0, 3, 0), Title: "Quarterly look", Text: "Edges lifting, plugs, clips, bubbles, cable at the hinge; ratio of twins.", Every: 3},
		{Day: day(1, 0, 0), Title: "Yearly baseline", Text: "The record again at a clear noon, washed, battery at 50 to 80 %; hold it against the first.", Every: 12},
	}
	for _, t := range b.Types {
		if t.WarrantyYears > 0 {
			r.Reminders = append(r.Reminders, Reminder{Day: at.AddDate(t.WarrantyYears, -2, 0), Title: "Warranty of " + t.Name + " ends in two months", Text: "Read the ratio of twins and the power now: a claim needs a figure and its date."})
		}
	}
	return r, nil
}

// figure is an entry with a value and its band.
func figure(test, subject, unit string, v Value, how, accept, source string) Entry {
	return Entry{Test: test, Subject: subject, Unit: unit, Value: &v, How: how, Accept: accept, Source: source,
		Expect: fmt.Sprintf("%.3g %s, %.3g to %.3g", v.Expected, unit, v.Low, v.High)}
}

// highestVolts is the highest label voltage of a string, V.
func highestVolts(b *build.Build) float64 {
	most := 0.0
	for _, s := range b.Strings {
		v := 0.0
		for _, m := range s.Modules {
			v += b.Types[b.Modules[m].Type].Voc.Volts()
		}
		most = math.Max(most, v)
	}
	return most
}

// IncomingStep is a step of the first days of a module.
type IncomingStep struct {
	Day   int // from arrival, 0 first
	Title string
	Do    []string
	Back  string // when to send it back; empty: not by this step
}

// Incoming returns the plan of a module's first days before it is bonded: look, first volts, first light,
// light soak by technology, heat, last readings; and when to send it back. Bonding ends the right to
// return with most sellers, so it comes last. The error is that of a label no cell has.
func Incoming(kind *build.ModuleType) ([]IncomingStep, error) {
	params, err := forecast.Fit(kind)
	if err != nil {
		return nil, err
	}
	hot := params.At(800*quantity.WattPerSquareMetre, quantity.Celsius(55))
	fifth := params.At(200*quantity.WattPerSquareMetre, quantity.Celsius(25))
	limit := 100 + kind.ToleranceLow.Percent()
	soak := "crystalline cells lose 1 to 3 % in the first days of light, which the label counts: read again after 60 kWh/m², about ten clear days"
	days := 10
	switch {
	case kind.Technology == build.CIGS || kind.Technology == build.CIGSFoil:
		soak, days = "CIGS: 30 to 60 minutes of sun, working, before each reading; it is 3 to 5 % low before", 3
	case kind.Technology == build.AmorphousSilicon:
		soak, days = "amorphous silicon: 20 to 35 % above the label at first, and falling for weeks; judge it after 40 to 60 kWh/m²", 14
	case kind.Technology == build.CdTe:
		soak, days = "cadmium telluride: a day in the sun before it is judged", 3
	case kind.Technology == build.MonoTOPCon || kind.Technology == build.Heterojunction || kind.Technology == build.RearContact:
		soak, days = "n-type cells change little in first light; three days show what is loose", 3
	}
	return []IncomingStep{
		{0, "unpack and look", []string{"photograph the box, the label and the serial before anything else; keep the box", "against low light: cracks, bubbles, creases, lifted edges, bent plugs", fmt.Sprintf("does the label agree with itself: Vmp × Imp = %.0f W, printed %.0f W", kind.Vmp.Volts()*kind.Imp.Amperes(), kind.Pmax.Watts())},
			"any crack, bubble, crease or illegible serial: the same day, with the photograph"},
		{0, "first volts", []string{fmt.Sprintf("open volts in sun: about %.1f V with the back at 52 °C, about %.1f V cool in a fifth of the sun", hot.Open().Volts(), fifth.Open().Volts()), "polarity against the plugs' marks; 0 V is an open tab or a short"},
			"more than 8 % under the expected volts with the back's temperature known: a section is lost"},
		{1, "first light", []string{soak, "lie it flat and loose, nothing behind it that melts; working on a controller or a lamp, not open"}, ""},
		{2, "against its twin", []string{"A, B, A, B, A in turns, five pairs, places changed half way", "Isc and watts, the back's temperature of both"},
			"a ratio to a sound twin whose upper end is under 95 %"},
		{2, "in its heat", []string{"an hour at full sun on an insulating board: back temperature, watts, then flex it by hand a little within its bend radius while the meter is on", "an infrared or a fingertip check for a spot 20 K over its neighbours"},
			"watts that jump when it is moved; a hot spot"},
		{days, "last readings, then bond", []string{fmt.Sprintf("five readings of power with light and temperature; the label promises at least %.1f %%", limit), "compare with day 1; wash; note all as its baseline"},
			fmt.Sprintf("power whose upper end is under %.1f %%, or a fall since day 1 of more than its interval", limit)},
	}, nil
}
