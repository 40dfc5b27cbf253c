package dayplan

import (
	"fmt"
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/bond"
)

// Rates of the trade. Source: handbook H3, common practice; dry-lay and rolling own estimates.
const (
	washPerArea  = 10 * time.Minute // a square metre, one person
	dryAfter     = 60 * time.Minute
	dryLayEach   = 10 * time.Minute // every module laid without glue, plugs and all
	maskEach     = 10 * time.Minute // a module, two people
	scuffPerArea = 5 * time.Minute
	wipePerArea  = 2 * time.Minute // each of two
	weightFor    = 60 * time.Minute
	cablesEach   = 20 * time.Minute
	testsAll     = 30 * time.Minute
	peelWait     = 25 * time.Minute // strip on, 20 min, pulled
)

// span returns a rate for an area, shared by people, in whole minutes.
func span(rate time.Duration, area float64, people int) time.Duration {
	return time.Duration(math.Ceil(rate.Minutes()*area/float64(max(1, people)))) * time.Minute
}

// hourAt returns the hour that holds t, the nearest at the ends.
func hourAt(hours []Hour, t time.Time) Hour {
	h := hours[0]
	for _, k := range hours {
		if !k.From.After(t) {
			h = k
		}
	}
	return h
}

// schedule lays the tasks about the window: what needs no gate comes before it, work starts at first
// light at the earliest, and the bonding runs module by module while the window is open.
func (p *Plan) schedule(w *work) {
	masked := 0.0
	for i := range w.pieces {
		masked += w.pieces[i].masked()
	}
	n := len(w.pieces)
	before := []Task{
		{Name: "buy, check, charge the meter; every module run loose in the sun for some days", People: 1, BeforeDays: 5, Note: "see the trial: a module that fails early is cheap now and dear later"},
		{Name: "lay modules flat, 24 h; tape and modules to 20 °C over night", People: 1, BeforeDays: 1, Note: "roll memory lifts edges"},
		{Name: "wash and dry the roof", People: 1, BeforeDays: 1, Note: fmt.Sprintf("%.0f min and an hour to dry; old silicone is cut off and its rags thrown away", span(washPerArea, masked, 1).Minutes())},
	}
	pair := min(2, p.Crew)
	day := []struct {
		task Task
		len  time.Duration
	}{
		{Task{Name: "dry lay: every module, plug and hole, tape measure", People: p.Crew, Hold: true}, time.Duration(n) * dryLayEach},
		{Task{Name: "template and mask", People: pair, Note: "line 2 to 5 mm outside the adhesive; off before the primer is hard"}, time.Duration(n) * maskEach},
		{Task{Name: "clean, scuff to an even matt, clean", People: pair, Note: "cleaning first stops grease being ground in"}, span(scuffPerArea, masked, pair) + span(wipePerArea, masked, 1)},
		{Task{Name: "peel test strip on the prepared skin", People: 1, Hold: true, Note: "the foam must tear"}, peelWait},
		{Task{Name: "last wipe, one way, dry before it evaporates", People: 1, Note: "from here no bare hand on it"}, span(wipePerArea, masked, 1)},
	}
	total := time.Duration(0)
	for _, t := range day {
		total += t.len
	}
	p.Tasks = before
	start := p.Date.Add(9 * time.Hour)
	if p.Window.Found {
		p.Window.Start = p.begin(w)
		start = p.Window.Start.Add(-total)
	}
	if !p.Rise.IsZero() && start.Before(p.Rise) {
		start = p.Rise
	}
	at := start
	for _, t := range day {
		t.task.From, t.task.To = at, at.Add(t.len)
		t.task.Note = joined(t.task.Note, p.hands(at))
		at = t.task.To
		p.Tasks = append(p.Tasks, t.task)
	}
	if !p.Window.Found {
		p.Fits = false
		return
	}
	last := p.bondAll(w, at)
	p.after(w, last)
}

// hands warns of a skin that bare hands and knees do not bear for long; "" where they do.
func (p *Plan) hands(at time.Time) string {
	h := hourAt(p.Hours, at)
	if h.Touch >= 8*time.Hour {
		return ""
	}
	return fmt.Sprintf("skin about %.0f °C: a bare hand may rest on it for %s; gloves, pads, shade", h.Skin.Celsius(), h.Touch.Round(time.Second))
}

func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// begin returns when the bonding starts: at the window's first hour in the adhesive's best range, when
// what there is to bond still fits then, else as the window opens. Primer times are those of 20 °C, the
// longest met.
func (p *Plan) begin(w *work) time.Time {
	pace, need := bond.PaceOf(), time.Duration(0)
	for i := range w.pieces {
		k := &w.pieces[i]
		need += span(pace.CoverPerArea, k.area(), 1)
		if k.mount.Primer {
			need += span(pace.PrimePerArea, k.masked(), 1) + bond.PrimerTimes(quantity.Celsius(20)).Flash
		}
	}
	for _, h := range p.Hours {
		if h.Open && !h.From.Before(p.Window.From) && !h.From.Add(need).After(p.Window.Until) && !h.Skin.Before(w.strictest().ApplyBest) {
			return h.From
		}
	}
	return p.Window.From
}

// bondAll adds priming, waiting, placing and rolling of each module while the window is open, and returns
// when the last is down.
func (p *Plan) bondAll(w *work, at time.Time) time.Time {
	pace := bond.PaceOf()
	if at.Before(p.Window.Start) {
		at = p.Window.Start
	}
	for i := range w.pieces {
		k := &w.pieces[i]
		prime, wait := time.Duration(0), time.Duration(0)
		note := "liner 20 to 30 mm back, align, roll the liner out under as it is lowered; two passes of the roller each way, edges last"
		if k.mount.Primer {
			h := hourAt(p.Hours, at)
			times := bond.PrimerTimes(h.Skin)
			prime, wait = span(pace.PrimePerArea, k.masked(), 1), times.Flash.Round(time.Minute)
			if parts := bond.Patches(quantity.Area(k.masked()), bond.Patch(times, pace)); parts > 1 {
				note = fmt.Sprintf("prime and cover in %d parts, the liner cut to them: the first brushed must be covered within %.0f min; %s", parts, times.Cover.Minutes(), note)
			}
		}
		place := span(pace.CoverPerArea, k.area(), 1)
		if at.Add(prime + wait + place).After(p.Window.Until) {
			return at
		}
		if k.mount.Primer {
			p.Tasks = append(p.Tasks, Task{Name: "prime " + k.name + ", thin, and wait", From: at, To: at.Add(prime + wait), People: 1, Gate: true, Hold: true, Note: "not wet, not pooled: thick primer is worse than none"})
			at = at.Add(prime + wait)
		}
		p.Tasks = append(p.Tasks, Task{Name: "place and roll " + k.name, From: at, To: at.Add(place), People: p.CrewLeast, Gate: true, Hold: true, Note: note})
		at = at.Add(place)
		p.Placed++
	}
	p.Fits = true
	return at
}

// after adds what follows the bonding.
func (p *Plan) after(w *work, at time.Time) {
	if p.Placed == 0 {
		return
	}
	cables := span(cablesEach, float64(p.Placed), 1)
	end := at.Add(weightFor)
	if t := at.Add(cables); t.After(end) {
		end = t
	}
	p.Tasks = append(p.Tasks,
		Task{Name: "boards and weights on the edges", From: at, To: at.Add(weightFor), People: 1, Note: "an hour or more; see what they do not do"},
		Task{Name: "cables, clips, entry, edge covers and sealant", From: at, To: at.Add(cables), People: 1, Note: "modules covered while plugs are open"},
		Task{Name: "tests and first record", From: end, To: end.Add(testsAll), People: 2, Hold: true})
}

// holds returns the hold points of a day.
func holds(w *work) []Hold {
	out := []Hold{
		{"the day", "rain, wind and dew of the forecast inside the gate for the whole window?", "another day; nothing is opened"},
		{"the first liner", "does everything fit dry: edges, hinge, hatch swing, plugs, cable lengths, junction boxes?", "back to the template; a misplaced module is a lost module"},
		{"the first liner", "has every module run in the sun for some days and read as it should?", "that one is not glued"},
		{"primer or wiping", "does a film of clean water stay whole on the prepared skin?", "it beads: clean and abrade again"},
		{"primer or the first liner", "did the peel strip tear its foam?", "it lifted clean: other primer, other tape, or fasteners"},
		{"each module", "skin in the window, 3 K over the dew point, air under 85 %, wind under 6 m/s, right now, on the instruments?", "wait; cover what is wiped"},
		{"each liner pull", "aligned on both marks, both helpers say yes?", "lift while only the first strip is down"},
		{"the weights come off", "all edges down, no bridge, no bubble over 20 mm?", "warm, roll again, then leave"},
		{"driving", "bond old enough for this speed, no edge loose, covers and clips on, plugs latched, height card changed?", "it stands"},
	}
	for i := range w.pieces {
		if w.pieces[i].skin.Suits == bond.Refuse {
			return append(out, Hold{"everything", "is " + w.pieces[i].skin.Key + " really to be bonded?", "an ordinary adhesive does not wet it: fasteners"})
		}
	}
	return out
}

// trial returns what is done before anything is glued.
func trial() []string {
	return []string{
		"every module on its own, face up on the ground or on the roof at a stand, tied down against wind, never driven with",
		"three to five days of sun, connected to the controller it will have, the battery not full",
		"each day at a clear noon: open volts, short-circuit amps where the meter allows it, module temperature, time; twins side by side within 3 %",
		"thin film gains or loses a few per cent in its first days of light: judge from the third",
		"look for bubbles, brown spots, a warm junction box, a plug that does not latch; photograph front, back and serial label",
		"a module that fails goes back now, with its packing; after gluing the cost of taking it off is yours",
	}
}

// cautions returns the usual ones that apply.
func cautions(w *work) []string {
	out := []string{
		"modules are live in light: cover them opaque before plugs are joined or parted, never unplug under load",
		"work at height: ladder 4 to 1, three points of contact, a platform beside the roof rather than feet on it, a spotter",
		"solvent and primer burn and their vapour gathers under a closed lid: no flame, no heater, no sparks; gloves, open air",
		"dark skins burn hands: see the time a hand may rest; kneeling is a long contact",
		"loose modules kill: nothing unglued or freshly glued is driven with before its hour",
		"sharp foil and rolled modules snap back: two people, gloves",
	}
	for i := range w.pieces {
		if g := w.pieces[i].glue; g.Warning != "" {
			return append(out, g.Key+": "+g.Warning)
		}
	}
	return out
}

// notes returns what the figures rest on.
func notes() []string {
	return []string{
		"hours: mean temperatures, dew point and wind of the season from the built-in climate, under a clear sky; a skin is 2 to 5 K under the air on a clear night, taken as 3",
		"wind over the day: our own estimate about the mean; gusts are not in it",
		"gate: ISO 8502-4 dew point + 3 K and ISO 12944-7 85 %, read in an inspection article: check the edition in force where you are; heat and wind limits common practice",
		"bond over time and temperature: a model, not data; the tape's sheet comes first",
		"practice says bond on a hot day, the primer says not too hot: both limits are shown and the window between",
		"rates of work: common practice; four modules took three people five to seven hours by estimate",
	}
}
