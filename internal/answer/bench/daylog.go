package bench

import (
	"fmt"
	"math"
	"sort"
	"time"

	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

// DayPart is a condition of a logged day.
type DayPart int

const (
	WholeDay DayPart = iota
	Dawn             // sun below 20°, before noon
	Midday           // within 1½ hours of the sun's highest, clear
	Dusk             // sun below 20°, after noon
	Cloudy           // less than 55 % of a clear sky
	Hot              // backs above 50 °C
)

// String returns the condition's name.
func (p DayPart) String() string {
	return [...]string{"the whole day", "dawn", "noon", "dusk", "cloud", "heat"}[p]
}

// Share is how a module did in one condition.
type Share struct {
	Part     DayPart
	Module   string
	Energy   quantity.Energy
	PerLabel quantity.Ratio // energy per label watt over that of the first module
	Expanded quantity.Ratio // of PerLabel, 95 %
	Relative quantity.Ratio // PerLabel over that of the whole day: the meters' gains cancel
	Within   quantity.Ratio // of Relative, 95 %
	Blocks   int            // quarter hours
	Says     string         // "more", "less", "no difference shown", "too little of it"; and how it stands to the day
	scatter  Part
}

// DayOutcome is a day of several modules side by side.
type DayOutcome struct {
	First    string // the module that the others are held against
	Begin    time.Time
	End      time.Time
	Shares   []Share
	Findings []Finding
}

// block is a quarter of an hour in which all modules were logged.
type block struct {
	at     time.Time
	watts  []float64 // mean, by module
	clear  float64   // light of a clear sky on the plane, W/m²; 0: not known
	high   float64   // elevation of the sun, degrees
	angle  float64   // hour angle, degrees
	backs  float64   // mean back, °C; NaN: not known
	light  float64   // meter's, W/m²; NaN: none
	shaded bool      // one module fell out
}

// blockLength is the length over which logged power is averaged: samples a few minutes apart follow the
// same clouds and are no new evidence.
const blockLength = 15 * time.Minute

// CompareDay returns how modules logged side by side through a day did by dawn, noon, dusk, cloud and heat:
// energy per label watt over the first module's. The day is cut into quarters of an hour that all modules
// were logged in; the interval is of the mean ratio over the quarters by Student, each quarter weighing as
// its power. Quarters in which one module alone falls to less than 60 % of its usual share are set apart as
// shade on it. ok is false where fewer than two modules share eight quarters.
func CompareDay(who []Contestant, samples []Sample, set Setting) (DayOutcome, bool) {
	var out DayOutcome
	blocks := cutDay(who, samples, set)
	if len(who) < 2 || len(blocks) < 8 {
		return out, false
	}
	out.First, out.Begin, out.End = who[0].Module, blocks[0].at, blocks[len(blocks)-1].at.Add(blockLength)
	setShadeApart(&out, who, blocks)
	for _, part := range []DayPart{WholeDay, Dawn, Midday, Dusk, Cloudy, Hot} {
		var in []block
		for _, b := range blocks {
			if b.in(part) && !b.shaded {
				in = append(in, b)
			}
		}
		if len(in) == 0 {
			continue
		}
		for m := range who {
			s := share(part, m, who, in, set)
			if m > 0 && part != WholeDay && len(out.Shares) >= len(who) {
				s.against(&out.Shares[m])
			}
			out.Shares = append(out.Shares, s)
		}
	}
	out.Findings = append(out.Findings, Finding{Kind: "does not show", Text: "one sample of each, one day: a winter's day, other heat and other samples may turn the order about"})
	return out, true
}

// in reports whether a block is of a condition.
func (b *block) in(p DayPart) bool {
	dim := !math.IsNaN(b.light) && b.clear > 50 && b.light < 0.55*b.clear
	switch p {
	case Dawn:
		return b.clear > 0 && b.high < 20 && b.angle < 0
	case Dusk:
		return b.clear > 0 && b.high < 20 && b.angle >= 0
	case Midday:
		return b.clear > 0 && math.Abs(b.angle) <= 22.5 && !dim
	case Cloudy:
		return dim
	case Hot:
		return b.backs > 50
	}
	return true
}

// cutDay cuts the samples into blocks.
func cutDay(who []Contestant, samples []Sample, set Setting) []block {
	index := map[string]int{}
	for i, c := range who {
		index[c.Module] = i
	}
	type sum struct {
		watts        []float64
		count        []int
		backs, light float64
		nb, nl       int
	}
	sums := map[int64]*sum{}
	for i := range samples {
		s := &samples[i]
		m, ok := index[s.Module]
		w, has := s.value(Power)
		if s.Watts != nil && *s.Watts == 0 {
			w, has = 0, true
		}
		if !ok || !has || s.Time.IsZero() {
			continue
		}
		key := s.Time.Unix() / int64(blockLength.Seconds())
		x := sums[key]
		if x == nil {
			x = &sum{watts: make([]float64, len(who)), count: make([]int, len(who))}
			sums[key] = x
		}
		x.watts[m] += w
		x.count[m]++
		if s.Back != nil {
			x.backs += s.Back.Celsius()
			x.nb++
		}
		if s.Light != nil {
			x.light += s.Light.WattsPerSquareMetre()
			x.nl++
		}
	}
	var out []block
	most := 0.0
	for key, x := range sums {
		b := block{at: time.Unix(key*int64(blockLength.Seconds()), 0).UTC(), backs: math.NaN(), light: math.NaN()}
		whole, total := true, 0.0
		for m := range who {
			if x.count[m] == 0 {
				whole = false
				break
			}
			b.watts = append(b.watts, x.watts[m]/float64(x.count[m]))
			total += b.watts[m] / who[m].Kind.Pmax.Watts()
		}
		if !whole || total <= 0 {
			continue
		}
		if x.nb > 0 {
			b.backs = x.backs / float64(x.nb)
		}
		if x.nl > 0 {
			b.light = x.light / float64(x.nl)
		}
		b.sun(set)
		most = math.Max(most, total)
		out = append(out, b)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].at.Before(out[j].at) })
	guessLight(out, who)
	return out
}

// sun fills in the clear sky of a block.
func (b *block) sun(set Setting) {
	if set.Place == nil {
		return
	}
	p := *set.Place
	pos := sun.At(b.at.Add(blockLength/2), sun.Site{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation})
	seen := pos.Apparent(sun.PressureAt(p.Elevation), quantity.Celsius(15))
	b.high = seen.Elevation().Degrees()
	b.angle = math.Mod(pos.HourAngle.Degrees()+540, 360) - 180
	if b.high <= 0 {
		return
	}
	beyond := sun.ExtraterrestrialNormal(pos)
	l := sky.ClearSky(seen.Zenith, beyond, sky.DefaultAtmosphere(p.Elevation, set.Haze))
	b.clear = sky.Transpose(l, seen, set.Facing, beyond, set.Albedo).Total().WattsPerSquareMetre()
}

// guessLight stands in for a light meter: the best of the modules over its own highest share of a clear
// sky's light, so that what dims all of them is cloud.
func guessLight(blocks []block, who []Contestant) {
	shares := make([]float64, len(blocks))
	var all []float64
	for i, b := range blocks {
		for m := range who {
			if b.clear > 50 {
				shares[i] = math.Max(shares[i], b.watts[m]/who[m].Kind.Pmax.Watts()/b.clear)
			}
		}
		if shares[i] > 0 {
			all = append(all, shares[i])
		}
	}
	if len(all) == 0 {
		return
	}
	sort.Float64s(all)
	usual := numeric.Quantile(all, 0.9)
	for i := range blocks {
		if math.IsNaN(blocks[i].light) && blocks[i].clear > 50 && usual > 0 {
			blocks[i].light = shares[i] / usual * blocks[i].clear
		}
	}
}

// setShadeApart marks the blocks in which one module alone fell out.
func setShadeApart(out *DayOutcome, who []Contestant, blocks []block) {
	for m := range who {
		var usual []float64
		part := func(b *block) float64 {
			rest := 0.0
			for k := range who {
				if k != m {
					rest = math.Max(rest, b.watts[k]/who[k].Kind.Pmax.Watts())
				}
			}
			if rest <= 0.02 {
				return math.NaN()
			}
			return b.watts[m] / who[m].Kind.Pmax.Watts() / rest
		}
		for i := range blocks {
			if x := part(&blocks[i]); !math.IsNaN(x) {
				usual = append(usual, x)
			}
		}
		if len(usual) < 8 {
			continue
		}
		sort.Float64s(usual)
		middle := numeric.Quantile(usual, 0.5)
		n, first := 0, time.Time{}
		for i := range blocks {
			if x := part(&blocks[i]); !math.IsNaN(x) && x < 0.6*middle {
				blocks[i].shaded = true
				n++
				if first.IsZero() {
					first = blocks[i].at
				}
			}
		}
		if n > 0 {
			out.Findings = append(out.Findings, Finding{Module: who[m].Module, Kind: "shade",
				Text:    fmt.Sprintf("%s alone fell below 60 %% of its usual share in %d quarters of an hour, the first at %s UTC: shade on it, or a fault that comes and goes; they are set apart", who[m].Module, n, first.Format("15:04")),
				Settles: "a look at what shades it at that hour; the modules in each other's place on the next day"})
		}
	}
}

// share is one module's part in the blocks of a condition.
func share(part DayPart, m int, who []Contestant, in []block, set Setting) Share {
	s := Share{Part: part, Module: who[m].Module, Blocks: len(in)}
	la, lb := who[0].Kind.Pmax.Watts(), who[m].Kind.Pmax.Watts()
	a, b := 0.0, 0.0
	for _, x := range in {
		a += x.watts[0] / la
		b += x.watts[m] / lb
	}
	s.Energy = quantity.Energy(b * lb * blockLength.Seconds())
	if a <= 0 {
		s.Says = "too little of it"
		return s
	}
	ratio := b / a
	s.PerLabel = quantity.Ratio(ratio)
	if m == 0 {
		s.Says = "held against"
		return s
	}
	n := float64(len(in))
	if n < 3 {
		s.Says = "too little of it"
		return s
	}
	sum := 0.0 // of the squared residuals about the ratio, for a ratio of means
	for _, x := range in {
		d := x.watts[m]/lb - ratio*x.watts[0]/la
		sum += d * d
	}
	u := math.Sqrt(sum/(n-1)/n) / (a / n)
	meters := set.Meters
	if meters == (Meters{}) {
		meters, _ = MetersOf("")
	}
	s.scatter = Part{Name: "scatter of the quarters", Standard: quantity.Ratio(u), Freedom: n - 1}
	budget := Combine([]Part{s.scatter, {Name: "two meters", Standard: Bound(quantity.Ratio(ratio * math.Sqrt2 * meters.Watts.Float()))}}, level95)
	s.Expanded = budget.Expanded
	switch {
	case ratio-s.Expanded.Float() > 1:
		s.Says = "more"
	case ratio+s.Expanded.Float() < 1:
		s.Says = "less"
	default:
		s.Says = "no difference shown"
	}
	return s
}

// against holds a condition's share against the whole day's, of which the gains of the meters fall out.
func (s *Share) against(day *Share) {
	if s.scatter.Freedom <= 0 || day.scatter.Freedom <= 0 || day.PerLabel <= 0 {
		return
	}
	r := s.PerLabel.Float() / day.PerLabel.Float()
	whole := day.scatter
	whole.Name = "scatter of the day"
	s.Relative = quantity.Ratio(r)
	s.Within = Combine([]Part{s.scatter, whole}, level95).Expanded
	switch u := s.Within.Float(); {
	case r-u > 1:
		s.Says += "; better here than over the day"
	case r+u < 1:
		s.Says += "; worse here than over the day"
	}
}
