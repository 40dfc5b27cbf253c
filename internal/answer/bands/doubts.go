package bands

import (
	"fmt"
	"math"
	"strconv"

	"noonmark/internal/answer/needs"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Doubt is a thing that is not known well, as a distribution of a factor.
type Doubt struct {
	Key    string // "label"
	Name   string // in words
	Text   string // the distribution in words
	Why    string
	Source cite.Source
	Given  bool                    // by the build file
	draw   func(u float64) float64 // factor at a share u of the distribution; nil: no factor but the weather year
}

// Keys of the doubts.
const (
	Weather      = "weather"
	Label        = "label"
	Ageing       = "ageing"
	Heat         = "heat"
	Soiling      = "soiling"
	Surroundings = "surroundings"
	Loads        = "loads"
	Battery      = "battery"
)

// normal returns the standard normal deviate below which a share u lies, held to four either way.
func normal(u float64) float64 {
	return math.Max(-4, math.Min(4, math.Sqrt2*math.Erfinv(2*u-1)))
}

// tenth is the standard normal deviate that nine of ten do not pass.
const tenth = 1.2815515655446004

// deviation returns the relative standard deviation of a doubt's factor, from its middle two thirds.
func (d *Doubt) deviation() float64 {
	if d.draw == nil {
		return 0
	}
	const low, high = 0.15865525393145707, 0.8413447460685429
	mid := d.draw(0.5)
	if mid <= 0 {
		return 0
	}
	return math.Abs(d.draw(high)-d.draw(low)) / 2 / mid
}

// Doubts returns what is not known well of b, the weather first: what the build file says of it, else our own.
func Doubts(b *build.Build) []Doubt {
	return []Doubt{
		{Key: Weather, Name: "the weather", Text: "weather years of the built-in climate, its own error in them", Why: "package climate", Source: cite.Source{Title: "years drawn by Aguiar et al. 1988 and errors measured at stations"}},
		labelOf(b), ageingOf(b), heatOf(b), soilingOf(b), surroundingsOf(b), loadsOf(b), batteryOf(b),
	}
}

// ratio returns a value given in the file, or a default.
func ratio(given *quantity.Ratio, def float64) float64 {
	if given != nil {
		return given.Float()
	}
	return def
}

func percent(x float64) string { return strconv.FormatFloat(math.Round(x*1000)/10, 'f', -1, 64) + " %" }

// spreadText says a mean difference, where there is one, and a standard deviation.
func spreadText(bias, spread float64) string {
	if bias == 0 {
		return "standard deviation " + percent(spread)
	}
	return "mean " + percent(bias) + ", standard deviation " + percent(spread)
}

// straight is a normal factor, held to 0.2 to 2.
func straight(mean, spread float64) func(float64) float64 {
	return func(u float64) float64 { return math.Max(0.2, math.Min(2, mean+spread*normal(u))) }
}

// skewed is a log-normal factor of median 1, held to 0.1 to 10.
func skewed(sigma float64) func(float64) float64 {
	return func(u float64) float64 { return math.Max(0.1, math.Min(10, math.Exp(sigma*normal(u)))) }
}

// labelOf returns the doubt of the label: a laboratory's mean under it, and the stated tolerance as a rectangle.
func labelOf(b *build.Build) Doubt {
	watts, half := 0.0, 0.0
	for i := range b.Modules {
		t := &b.Types[b.Modules[i].Type]
		watts += t.Pmax.Watts()
		half += t.Pmax.Watts() * (t.ToleranceHigh - t.ToleranceLow).Float() / 2
	}
	if watts > 0 {
		half /= watts
	}
	bias, spread := ratio(b.Doubts.LabelBias, labelBias), ratio(b.Doubts.LabelSpread, half/math.Sqrt(3))
	return Doubt{Key: Label, Name: "the label's watts", Text: "normal, " + spreadText(bias, spread),
		Why:    "laboratory means lie 1.2 to 1.4 % under the label; the label's tolerance as a rectangle",
		Source: cite.Source{Title: "test laboratories' yearly means 2020-2025 (trade handbook E6, S67); GUM, JCGM 100:2008", Where: "4.3.7"},
		Given:  b.Doubts.LabelBias != nil || b.Doubts.LabelSpread != nil, draw: straight(1+bias, spread)}
}

// labelBias is by how much modules are under their label in the mean. Source: handbook E6: -1.2 to -1.4 % 2020 to 2025.
const labelBias = -0.013

// fadeOf returns what a kind of module loses a year, the middle and at most in nine of ten. Source: Jordan &
// Kurtz 2013, median 0.5 %, and the handbook's E8 and vehicle tables section 5: 0.5 to 0.7 % under glass, 1 to 3 %
// under a polymer front; thin film about 1 %; most of it from memory.
func fadeOf(t *build.ModuleType) (fade, most float64) {
	switch glass := t.Front == build.FloatGlass || t.Front == build.TexturedGlass; {
	case glass:
		return 0.006, 0.01
	case t.Technology == build.CIGS || t.Technology == build.CIGSFoil || t.Technology == build.CdTe || t.Technology == build.AmorphousSilicon:
		return 0.01, 0.02
	}
	return 0.02, 0.03
}

// ageingOf returns the doubt of what the modules have lost by age when the trip begins.
func ageingOf(b *build.Build) Doubt {
	fade, most := 0.0, 0.0
	for i := range b.Modules {
		f, m := fadeOf(&b.Types[b.Modules[i].Type])
		fade, most = fade+f/float64(len(b.Modules)), most+m/float64(len(b.Modules))
	}
	fade = ratio(b.Doubts.Fade, fade)
	most = math.Max(fade, ratio(b.Doubts.FadeMost, math.Max(most, 1.5*fade)))
	years, why := ageOf(b)
	d := Doubt{Key: Ageing, Name: "the modules' age", Text: fmt.Sprintf("%s a year, up to %s in nine of ten, log-normal; %s years", percent(fade), percent(most), strconv.FormatFloat(math.Round(years*10)/10, 'f', -1, 64)),
		Why: why, Source: cite.Source{Title: "Jordan & Kurtz 2013; trade handbook E8; vehicle tables, section 5", Standing: cite.FromMemory},
		Given: b.Doubts.Fade != nil || b.Doubts.FadeMost != nil || b.Doubts.Years != nil}
	sigma := 0.0
	if fade > 0 {
		sigma = math.Log(most/fade) / tenth
	}
	d.draw = func(u float64) float64 {
		return math.Max(0.2, math.Pow(1-math.Min(0.5, fade*math.Exp(sigma*normal(u))), years))
	}
	return d
}

// ageOf returns how long the modules have been in use when the trip begins: as the file says, or by the year and
// month they were bought.
func ageOf(b *build.Build) (years float64, why string) {
	if b.Doubts.Years != nil {
		return *b.Doubts.Years, "as given"
	}
	if len(b.Trip.Legs) == 0 {
		return 0, "taken as new"
	}
	begin := b.Trip.Legs[0].From
	now := float64(begin.Year()) + (float64(begin.Month())-0.5)/12
	n := 0
	for i := range b.Modules {
		if at, ok := boughtAt(b.Modules[i].Bought); ok {
			years += math.Max(0, now-at)
			n++
		}
	}
	if n == 0 {
		return 0, "bought is not given: taken as new"
	}
	return years / float64(n), fmt.Sprintf("by bought, of %d of %d modules", n, len(b.Modules))
}

// boughtAt reads the year, and the month where it follows, of a text such as 2026-11.
func boughtAt(text string) (float64, bool) {
	for i := 0; i+4 <= len(text); i++ {
		year, err := strconv.Atoi(text[i : i+4])
		if err != nil || year < 1970 || year > 2200 {
			continue
		}
		if rest := text[i+4:]; len(rest) >= 3 && rest[0] == '-' {
			if m, err := strconv.Atoi(rest[1:3]); err == nil && m >= 1 && m <= 12 {
				return float64(year) + (float64(m)-0.5)/12, true
			}
		}
		return float64(year) + 0.5, true
	}
	return 0, false
}

// heatWeight is the light that a module's watt-hours come in, over full sun. Our own estimate, 0.5 to 0.7 by climate.
const heatWeight = 0.6

// slopeOf returns the modules' mean loss of power for a kelvin at the light its watt-hours come in.
func slopeOf(b *build.Build) float64 {
	watts, slope := 0.0, 0.0
	for i := range b.Modules {
		t := &b.Types[b.Modules[i].Type]
		watts += t.Pmax.Watts()
		slope += t.Pmax.Watts() * t.PmaxCoefficient.PerKelvin()
	}
	if watts <= 0 {
		return 0
	}
	return slope / watts * heatWeight
}

// heatOf returns the doubt of the modules' temperature, as what it does to their power.
func heatOf(b *build.Build) Doubt {
	kelvins := 0.0
	for i := range b.Modules {
		k := 3.0
		switch b.Modules[i].Attachment {
		case build.Bonded, build.FoamTape, build.FabricPocket, build.LooseFlat:
			k = 5
		}
		kelvins += k / float64(len(b.Modules))
	}
	if b.Doubts.Heat != nil {
		kelvins = b.Doubts.Heat.Kelvins()
	}
	slope := slopeOf(b)
	return Doubt{Key: Heat, Name: "the modules' temperature", Text: fmt.Sprintf("normal, standard deviation %.2g K in full sun, %s of the energy", kelvins, percent(math.Abs(slope)*kelvins)),
		Why: "two published models differ by 7 to 10 K for a bonded module in still air", Source: cite.Source{Title: "King et al. 2004 and Faiman 2008 side by side; vehicle tables, section 4", Standing: cite.Judgement},
		Given: b.Doubts.Heat != nil, draw: straight(1, math.Abs(slope)*kelvins)}
}

// soilingFactor is what the dirt may be, over what the file says, in nine of ten cases.
const soilingFactor = 2.0

func soilingOf(b *build.Build) Doubt {
	f := soilingFactor
	if b.Doubts.Soiling != nil {
		f = *b.Doubts.Soiling
	}
	return Doubt{Key: Soiling, Name: "dirt", Text: fmt.Sprintf("%.3g times what the file says in nine of ten, log-normal", f),
		Why: "0.07 % a day where it rains, 0.15 dry, 0.35 on dusty tracks", Source: cite.Source{Title: "vehicle tables, section 5", Standing: cite.Judgement},
		Given: b.Doubts.Soiling != nil, draw: skewed(math.Log(f) / tenth)}
}

// lossOf is what surroundings keep off, about, and how well it is known: the standard deviation of its logarithm.
// Our own estimate within the figures of the vehicle tables, section 1: 0.70 to 0.75 of the light in town, 0.45 to
// 0.54 in a narrow street, 0.05 to 0.30 under trees in leaf, 0.35 to 0.65 under bare ones.
var lossOf = map[build.Surroundings][2]float64{
	build.Open: {0.04, 0.5}, build.Motorway: {0.08, 0.45}, build.Suburb: {0.15, 0.35}, build.Town: {0.26, 0.25},
	build.Street: {0.5, 0.18}, build.TreesInLeaf: {0.85, 0.08}, build.TreesBare: {0.5, 0.2},
}

// skylineSigma is lossOf's second for a skyline that was sighted.
const skylineSigma = 0.15

// surroundingsOf returns the doubt of what trees and houses keep off, the legs' own weighed by days and loss.
func surroundingsOf(b *build.Build) Doubt {
	sum, weight := 0.0, 0.0
	for i := range b.Trip.Legs {
		l := &b.Trip.Legs[i]
		k := lossOf[l.Surroundings]
		if len(l.Horizon) > 0 {
			k = [2]float64{0.1, skylineSigma}
		}
		w := l.Until.Sub(l.From).Hours() * k[0]
		sum, weight = sum+w*k[1], weight+w
	}
	sigma := 0.0
	if weight > 0 {
		sigma = sum / weight
	}
	why := "presets by a word, each within what was measured in such places; the trip's mixed by days and loss"
	if b.Doubts.Surroundings != nil {
		sigma, why = math.Log(*b.Doubts.Surroundings)/tenth, "as given"
	}
	return Doubt{Key: Surroundings, Name: "trees and houses", Text: fmt.Sprintf("they keep off %.2f times what the file says in nine of ten, log-normal", math.Exp(sigma*tenth)),
		Why: why, Source: cite.Source{Title: "vehicle tables, section 1", Standing: cite.Judgement}, Given: b.Doubts.Surroundings != nil, draw: skewed(sigma)}
}

// fridgeSpread and otherSpread are standard deviations of use: the handbook's ±30 % of a fridge and ±40 % of hours as
// rectangles.
var fridgeSpread, otherSpread = 0.30 / math.Sqrt(3), 0.40 / math.Sqrt(3)

// loadsOf returns the doubt of use: fridges and the rest apart, weighed by their energy of a parked day at 20 °C.
func loadsOf(b *build.Build) Doubt {
	fridge, other := 0.0, 0.0
	for i := range b.Loads {
		if l := &b.Loads[i]; l.Kind == build.Fridge {
			fridge += needs.DayOf(l, quantity.Celsius(20)).Joules()
		} else {
			other += needs.DayOf(l, quantity.Celsius(20)).Joules()
		}
	}
	spread := 0.0
	if fridge+other > 0 {
		spread = math.Hypot(fridge*fridgeSpread, other*otherSpread) / (fridge + other)
	}
	bias := ratio(b.Doubts.LoadsBias, 0)
	spread = ratio(b.Doubts.LoadsSpread, spread)
	return Doubt{Key: Loads, Name: "use", Text: "log-normal, " + spreadText(bias, spread),
		Why: "a fridge within 30 %, hours of use within 40 %, the two apart", Source: cite.Source{Title: "trade handbook H4, uncertainty they live with", Standing: cite.Judgement},
		Given: b.Doubts.LoadsBias != nil || b.Doubts.LoadsSpread != nil,
		draw: func(u float64) float64 {
			return math.Max(0.1, math.Min(10, (1+bias)*math.Exp(spread*normal(u)-spread*spread/2)))
		}}
}

// batterySpread is how well a battery's energy is known when it is new or its health was measured.
const batterySpread = 0.05

func batteryOf(b *build.Build) Doubt {
	bias, spread := ratio(b.Doubts.BatteryBias, 0), ratio(b.Doubts.BatterySpread, batterySpread)
	return Doubt{Key: Battery, Name: "the battery's energy", Text: "normal, " + spreadText(bias, spread),
		Why: "what is sold and what is there", Source: cite.Source{Standing: cite.Judgement}, Given: b.Doubts.BatteryBias != nil || b.Doubts.BatterySpread != nil, draw: straight(1+bias, spread)}
}
