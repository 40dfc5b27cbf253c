package choose

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// ErrNoStay says that a trip of drives alone places the vehicle nowhere.
var ErrNoStay = errors.New("the trip has no stay")

// Options say what to search.
type Options struct {
	Types    []int           // of the build's module types; empty: those its modules are of
	Alike    bool            // no layout of more than one type
	Most     int             // modules; below 1: four
	Gap      quantity.Length // to edges, things and other modules; 0: 20 mm
	Grid     quantity.Length // step of places; 0: 50 mm
	Judged   int             // layouts and wirings at most; below 1: 10,000
	Shown    int             // candidates computed through the year; below 1: 8
	Seed     uint64
	Progress func(done, total int, best string) // done reaches total; total falls when the search ends by itself

	yearAlone bool // the trip of what is shown is not computed
}

func (o Options) filled(b *build.Build) Options {
	if len(o.Types) == 0 {
		for i := range b.Modules {
			if !slices.Contains(o.Types, b.Modules[i].Type) {
				o.Types = append(o.Types, b.Modules[i].Type)
			}
		}
	}
	if o.Most < 1 {
		o.Most = 4
	}
	if o.Gap <= 0 {
		o.Gap = 20 * quantity.Millimetre
	}
	if o.Grid <= 0 {
		o.Grid = 50 * quantity.Millimetre
	}
	if o.Judged < 1 {
		o.Judged = 10000
	}
	if o.Shown < 1 {
		o.Shown = 8
	}
	return o
}

// Candidate is a layout with its wiring.
type Candidate struct {
	Build   *build.Build // nil before it is shown
	What    string       // "2 × foil-95, in series"
	Type    int          // of the first module
	Count   int
	Wiring  string
	Energy  quantity.Energy // offered at the battery in a year
	Judged  quantity.Energy // the same by the judge
	Power   quantity.Power  // on the labels
	Mass    quantity.Mass
	Money   *float64 // of the modules; nil: no price
	Nights  float64  // of the trip that run short, in the middle year
	Front   bool     // none other gives more, or keeps more nights, for no more money and mass
	Mend    []string // rules of check that its wiring keeps with other parts alone: fuses, cables
	Still   []string // rules of check that it breaks as the build as it stands does
	set     []spot
	texts   []text
	order   int             // of being met
	key     string          // of its places and wiring
	coarse  quantity.Energy // as judged first
	fine    bool            // judged again
	refused *check.Finding
}

// Arrangement is the outcome of a search.
type Arrangement struct {
	Now        Candidate   // the build as it stands
	Candidates []Candidate // by falling energy, those of the front among them
	Judged     int
	Allowed    int             // might have been judged; more than Judged: nothing new was found, or all that matters was
	Forbidden  int             // left out for the rules
	Refused    []Refusal       // those rules
	Bound      quantity.Energy // no layout gives more
	BoundOf    string
	Proof      string // what was compared one and all; empty: not every layout was
	Why        string
	Assumed    []string
	gap        float64
}

// Gap returns how far the best of the search stands under the bound, as a share of it.
func (a *Arrangement) Gap() float64 { return a.gap }

// Ended says how a search ended that judged less than it might have; empty for one that spent all.
func (a *Arrangement) Ended() string {
	if a.Judged >= a.Allowed || a.Proof != "" {
		return ""
	}
	return fmt.Sprintf("The search ended by itself at %d of the %d it might have judged: it met nothing new near the best.", a.Judged, a.Allowed)
}

// judgeEvery is the days between those a layout is judged on; the best fineShare of them, fineLeast at the least, and
// fineOfKind of each kind are judged again as often as fullEvery.
const judgeEvery, fineShare, fineLeast, fineOfKind = 30, 0.01, 60, 2

// Arrange searches layouts and wirings of b. The answer is the same for any number of cores. It fails with
// ctx's error when stopped.
func Arrange(ctx context.Context, b *build.Build, o Options) (*Arrangement, error) {
	a, _, err := arrange(ctx, b, o)
	return a, err
}

// arrange is Arrange, with all candidates by falling energy.
func arrange(ctx context.Context, b *build.Build, o Options) (*Arrangement, []*Candidate, error) {
	if len(b.Surfaces) == 0 || len(b.Chargers) == 0 || len(b.Strings) == 0 || len(b.Modules) == 0 {
		return nil, nil, errors.New("choose: a build without surfaces, modules, strings or chargers")
	}
	s, err := newSearch(ctx, b, o.filled(b))
	if err != nil {
		return nil, nil, err
	}
	a := &Arrangement{Allowed: s.o.Judged}
	if err := s.run(ctx, a); err != nil {
		return nil, nil, err
	}
	if err := s.show(ctx, a); err != nil {
		return nil, nil, err
	}
	kinds := "types mixed too"
	if s.o.Alike || len(s.o.Types) == 1 {
		kinds = "one type a layout"
	}
	a.Assumed = append(a.Assumed, fmt.Sprintf("judged on hours of %d days of a year like the longest stay, in one year's weather, by the curves of single modules put together; the best again on %d days; shown ones at every step of those", 365/judgeEvery, 365/fullEvery),
		fmt.Sprintf("%v to edges, things and other modules; places every %v; %s", s.o.Gap, s.o.Grid, kinds), heldAll(b, s.o.Types))
	return a, s.all, nil
}

// heldAll says how the types are held.
func heldAll(b *build.Build, types []int) string {
	var parts []string
	for _, t := range types {
		how, gap, _ := heldAs(b, t)
		text := b.Types[t].Name + " " + how.String()
		if how == build.StandOff {
			text += fmt.Sprintf(", %v under it", gap)
		}
		parts = append(parts, text)
	}
	return "held as the build's modules of glass or of film, and where it has none glass on feet, films bonded: " + strings.Join(parts, "; ")
}

// front marks the candidates that none other beats in energy and nights kept at no more money and mass.
func front(list []*Candidate) {
	for _, c := range list {
		c.Front = !slices.ContainsFunc(list, func(d *Candidate) bool {
			cheaper := c.Money == nil || d.Money != nil && *d.Money <= *c.Money
			return d.Energy >= c.Energy && d.Mass <= c.Mass && d.Nights <= c.Nights && cheaper &&
				(d.Energy > c.Energy || d.Mass < c.Mass || d.Nights < c.Nights || c.Money != nil && d.Money != nil && *d.Money < *c.Money)
		})
	}
}

// pick returns the best layouts of each kind that keep the rules, of those the best and the front.
func (s *search) pick() ([]*Candidate, error) {
	var picked []*Candidate
	looked := map[string]int{}
	for _, c := range s.compact() {
		if len(picked) >= 4*s.o.Shown {
			break
		}
		if looked[c.What] >= looks {
			continue
		}
		c.Build = c.of(s.b)
		list, err := findings(c.Build)
		if err != nil {
			return nil, err
		}
		if broken, _ := s.rules.broken(list); broken != nil {
			looked[c.What]++
			s.forbidden++
			s.rules.refused(c.What, broken)
			s.passed = max(s.passed, c.coarse)
			continue
		}
		c.Still = s.rules.still(list)
		looked[c.What] = looks
		c.Mend = s.kinds[c.What].mend
		c.weigh()
		picked = append(picked, c)
	}
	if len(picked) <= s.o.Shown {
		return picked, nil
	}
	for _, c := range picked {
		c.Energy = c.Judged
	}
	front(picked)
	slices.SortStableFunc(picked, func(x, y *Candidate) int {
		if x.Front != y.Front {
			if x.Front {
				return -1
			}
			return 1
		}
		return cmp.Compare(y.Judged, x.Judged)
	})
	return picked[:s.o.Shown], nil
}

// asGood is how far under the best of its kind a layout is as good: less than the judge tells apart.
const asGood = 0.002

// compact returns the candidates by falling energy, but of those of a kind that are as good as its best, and were
// judged again, the one that lies closest together first: its cables are the shortest.
func (s *search) compact() []*Candidate {
	first := map[string]*Candidate{}
	best := map[string]quantity.Energy{}
	for _, c := range s.all {
		if _, met := best[c.What]; !met {
			best[c.What] = c.Judged
		}
		if f := first[c.What]; c.fine && c.Judged.Joules() >= (1-asGood)*best[c.What].Joules() && (f == nil || spread(c.set) < spread(f.set)-1e-6) {
			first[c.What] = c
		}
	}
	out := make([]*Candidate, 0, len(s.all)+len(first))
	met := map[string]bool{}
	for _, c := range s.all {
		if !met[c.What] && first[c.What] != nil {
			out = append(out, first[c.What])
		}
		met[c.What] = true
		if c != first[c.What] {
			out = append(out, c)
		}
	}
	return out
}

// spread is how far apart the modules of a set lie: half round a box about those on each surface, m, and ten for
// each surface more.
func spread(set []spot) float64 {
	sum := 0.0
	boxes := map[int][4]float64{}
	for i := range set {
		p := &set[i]
		b, met := boxes[p.surface]
		if !met {
			sum += 10
			b = [4]float64{p.x.Metres(), p.y.Metres(), p.high[0], p.high[1]}
		}
		boxes[p.surface] = [4]float64{min(b[0], p.x.Metres()), min(b[1], p.y.Metres()), max(b[2], p.high[0]), max(b[3], p.high[1])}
	}
	for _, b := range boxes {
		sum += b[2] - b[0] + b[3] - b[1]
	}
	return sum
}

// looks is how many layouts of a kind may break a rule of the roof before none of it is shown.
const looks = 5

// show computes the picked layouts, and the build as it stands, through the year and the trip.
func (s *search) show(ctx context.Context, a *Arrangement) error {
	now := &Candidate{Build: s.b, What: "as it stands", Count: len(s.b.Modules)}
	now.weigh()
	picked, err := s.pick()
	if err != nil {
		return err
	}
	list := append([]*Candidate{now}, picked...)
	count := counter{total: len(list), each: 1, tell: s.progress.years}
	err = forecast.Each(ctx, len(list), func(i int) (err error) {
		c := list[i]
		if c.Energy, err = Year(ctx, c.Build, s.o.Seed); err != nil {
			return err
		}
		if !s.o.yearAlone {
			trip, err := overTrip(ctx, c.Build, s.o.Seed)
			if err != nil {
				return err
			}
			c.Nights = trip.NightsShort.P50
		}
		count.one()
		return nil
	})
	if err != nil {
		return err
	}
	front(picked)
	slices.SortStableFunc(picked, func(x, y *Candidate) int { return cmp.Compare(y.Energy, x.Energy) })
	a.Now, a.Forbidden, a.Refused = *now, s.forbidden, s.rules.list()
	best := quantity.Energy(0)
	for _, c := range picked {
		a.Candidates = append(a.Candidates, *c)
		best = max(best, c.coarse)
	}
	if a.Proof != "" && s.passed > best {
		a.Proof, a.BoundOf = "", "the best of all layouts of these places, which a rule of the roof leaves out"
	}
	if best > 0 { // the bound is by the first judging: told in the measure of the year shown
		a.gap = max(0, 1-best.Joules()/a.Bound.Joules())
		a.Bound = quantity.Energy(a.Candidates[0].Energy.Joules() / (1 - a.gap))
	}
	a.Why = why(a)
	return nil
}

// fullEvery is the days between those a candidate that is shown is computed on.
const fullEvery = 7

// Year returns what a build offers at the battery in a year like its longest stay, by the full computation.
func Year(ctx context.Context, b *build.Build, seed uint64) (quantity.Energy, error) {
	whole, ok := forecast.LikeYear(b)
	if !ok {
		return 0, ErrNoStay
	}
	a, err := forecast.Run(ctx, &whole, forecast.Options{Years: 1, Seed: seed, Workers: 1, Every: fullEvery})
	if err != nil {
		return 0, err
	}
	days := (365 + fullEvery - 1) / fullEvery
	return quantity.Energy(a.Offered.Joules() * 365 / float64(days)), nil
}

// why says what the best has over the next and over the build as it stands.
func why(a *Arrangement) string {
	if len(a.Candidates) == 0 {
		return "No layout of these types fits the roof within the rules."
	}
	best := a.Candidates[0]
	text := fmt.Sprintf("%s, gives %.0f kWh a year at the battery", best.What, best.Energy.WattHours()/1000)
	if a.Now.Energy > best.Energy {
		text = fmt.Sprintf("None of these gives more than the build as it stands, %.0f kWh a year at the battery. The best of them, %s, gives %.0f kWh", a.Now.Energy.WattHours()/1000, best.What, best.Energy.WattHours()/1000)
	} else if a.Now.Energy > 0 {
		text += fmt.Sprintf(", %+.0f kWh against the build as it stands", (best.Energy-a.Now.Energy).WattHours()/1000)
	}
	if len(a.Candidates) > 1 {
		next := a.Candidates[1]
		less := fmt.Sprintf("%.0f kWh less", (best.Energy-next.Energy).WattHours()/1000)
		if best.Energy-next.Energy < 0.5*quantity.KilowattHour {
			less = "as much"
		}
		text += fmt.Sprintf("; the runner-up, %s, gives %s", next.What, less)
		switch {
		case next.Power < best.Power:
			text += fmt.Sprintf(": %.0f W less on the labels", (best.Power - next.Power).Watts())
		case next.Wiring != best.Wiring:
			text += fmt.Sprintf(": the same watts wired %s", next.Wiring)
		case next.Mass > best.Mass:
			text += fmt.Sprintf(", and weighs %.1f kg more", (next.Mass - best.Mass).Kilograms())
		}
	}
	return text + "."
}
