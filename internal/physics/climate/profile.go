package climate

import "math"

// The hourly model TAG, with K the day's clearness and s the sine of the sun's elevation.
// Source: Aguiar & Collares-Pereira 1992, Solar Energy 49:167, from a public transcription.
type tag struct {
	lambda, eps, kappa float64 // trend: lambda + eps·exp(-kappa/s)
	a, b               float64 // standard deviation: a·exp(b·(1-s))
	phi                float64 // correlation from hour to hour
}

// tagOf returns the model for clearness k.
func tagOf(k float64) tag {
	return tag{
		lambda: -0.19 + 1.12*k + 0.24*math.Exp(-8*k),
		eps:    0.32 - 1.6*(k-0.5)*(k-0.5),
		kappa:  0.19 + 2.27*k*k - 2.51*k*k*k,
		a:      0.14 * math.Exp(-20*(k-0.35)*(k-0.35)),
		b:      3*(k-0.45)*(k-0.45) + 16*math.Pow(k, 5),
		phi:    0.38 + 0.06*math.Cos(7.4*k-2.5),
	}
}

// trend returns the mean clearness at sine s > 0.
func (t *tag) trend(s float64) float64 { return t.lambda + t.eps*math.Exp(-t.kappa/s) }

// deviation returns the standard deviation of an hour's clearness at sine s. It is held at 0.2: the
// formula runs to 1.8 at sunrise of the clearest days.
func (t *tag) deviation(s float64) float64 { return min(t.a*math.Exp(t.b*(1-s)), 0.2) }

const (
	// Clearness of a clear hour at noon; it falls by cos(π·h/30) h hours from noon. Source: as tag.
	clearNoon = 0.88
	// A step of minutes may exceed it by this where broken cloud adds light. Judgement: the
	// one-minute day of Golden, 17 May 2012, reaches 0.99 in five minutes.
	cloudEdge = 1.1
	// Standard deviation of the minutes' noise at clearness 0.5; it falls with exp(-6·(K-0.5)²) and
	// towards the clear hour. That partly cloudy day of Golden, K 0.60, has 0.19 within its hours.
	// With it the hours of five files scatter about the trend of the day by 0.7 to 1.1 times what
	// those files do; without it by 0.5 to 0.8.
	minuteDeviation = 0.19
	// Time in which the minutes forget, hours: lag-1 correlation of 5 minutes 0.73 on that day.
	minuteMemory = 0.27
	// No step while the sun is up is darker than this share of the day's clearness.
	darkest = 0.15
)

// Profile fills out with the clearness of each step of a day, a global horizontal irradiance over
// that outside the air, so that Σ out·sin = K Σ sin over the steps where the sun is up, K being the
// day's clearness; 0 where it is down. sinElevation is the sine of the sun's elevation in the
// middle of each of equal steps of the whole day, of any number up to minutes. It panics when out
// has another length. It allocates nothing.
//
// The trend and the noise from hour to hour are TAG's (Aguiar & Collares-Pereira 1992, Solar
// Energy 49:167), the noise running smoothly between the hours; the quicker noise within the hour
// is ours. No step is above 1.1 × 0.88·cos(π·h/30), h hours from noon, but on days so clear that
// the sum asks for it; what is cut goes to the other steps.
func (g *Generator) Profile(day Day, sinElevation, out []float64) {
	n := len(sinElevation)
	if len(out) != n {
		panic("climate: profile of another length than the sun's")
	}
	k := min(max(day.Clearness.Float(), 0), 1)
	t := tagOf(k)
	for i := range g.noise { // hours 0 to 25
		z := g.r.NormFloat64()
		if i > 0 {
			z = t.phi*g.noise[i-1] + math.Sqrt(1-t.phi*t.phi)*z
		}
		g.noise[i] = z
	}
	noon := highest(sinElevation)
	hours := 24 / float64(n)
	memory := math.Exp(-hours / minuteMemory)
	fresh := math.Sqrt(1 - memory*memory)
	minute := g.r.NormFloat64()
	minutes := minuteDeviation * math.Exp(-6*(k-0.5)*(k-0.5))
	for i, s := range sinElevation {
		minute = memory*minute + fresh*g.r.NormFloat64()
		if !(s > 0) {
			out[i] = 0
			continue
		}
		h := (float64(i) + 0.5) * hours
		whole := int(h)
		f := h - float64(whole)
		hour := ((1-f)*g.noise[whole] + f*g.noise[whole+1]) / math.Sqrt(1-2*f*(1-f)*(1-t.phi))
		mean := t.trend(s)
		room := min(max((clearAt(i, noon, n)-mean)/0.2, 0), 1)
		out[i] = max(mean+t.deviation(s)*hour+minutes*room*minute, darkest*k)
	}
	settle(k, noon, sinElevation, out)
}

// TypicalProfile fills out like Profile, with the trend alone: the same for the same day.
func TypicalProfile(day Day, sinElevation, out []float64) {
	if len(out) != len(sinElevation) {
		panic("climate: profile of another length than the sun's")
	}
	k := min(max(day.Clearness.Float(), 0), 1)
	t := tagOf(k)
	for i, s := range sinElevation {
		out[i] = 0
		if s > 0 {
			out[i] = max(t.trend(s), darkest*k)
		}
	}
	settle(k, highest(sinElevation), sinElevation, out)
}

// highest returns the index of the greatest value, 0 for none.
func highest(s []float64) int {
	best := 0
	for i, v := range s {
		if v > s[best] {
			best = i
		}
	}
	return best
}

// clearAt returns the clearness of a clear hour at step i of n, noon being that of the highest sun.
func clearAt(i, noon, n int) float64 {
	h := float64(i-noon) * 24 / float64(n)
	if h > 12 {
		h -= 24
	} else if h < -12 {
		h += 24
	}
	// cosine to 3e-6 up to the 72° of midnight, twenty times quicker than the library's.
	q := h * math.Pi / 30
	q *= q
	return clearNoon * (1 - q*(1.0/2-q*(1.0/24-q*(1.0/720-q/40320))))
}

// settle scales out so that Σ out·s = k Σ s over the steps of s > 0, none above cloudEdge times
// clearAt. When the bounds leave no room it scales the bounds themselves.
func settle(k float64, noon int, s, out []float64) {
	n := len(s)
	want := 0.0
	for _, v := range s {
		if v > 0 {
			want += v
		}
	}
	want *= k
	for range 12 {
		free, held := 0.0, 0.0
		for i, v := range s {
			if !(v > 0) {
				continue
			}
			if out[i] >= cloudEdge*clearAt(i, noon, n) {
				held += v * cloudEdge * clearAt(i, noon, n)
			} else {
				free += v * out[i]
			}
		}
		if free <= 0 || want <= held {
			break
		}
		f := (want - held) / free
		for i, v := range s {
			if v > 0 {
				top := cloudEdge * clearAt(i, noon, n)
				if out[i] < top {
					out[i] *= f
				}
				out[i] = min(out[i], top)
			}
		}
		if math.Abs(f-1) < 1e-9 {
			break
		}
	}
	got := 0.0
	for i, v := range s {
		if v > 0 {
			got += v * out[i]
		}
	}
	if got <= 0 {
		return
	}
	for i := range out {
		out[i] *= want / got
	}
}
