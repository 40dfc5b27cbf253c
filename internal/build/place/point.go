package place

import (
	"math"
	"strconv"
	"strings"

	"noonmark/internal/base/quantity"
)

// Point is a point on Earth.
type Point struct{ Latitude, Longitude quantity.Angle }

// String prints the point in decimal degrees, "38.5700, -7.9100", about 10 m fine.
func (p Point) String() string {
	return strconv.FormatFloat(p.Latitude.Degrees(), 'f', 4, 64) + ", " + strconv.FormatFloat(p.Longitude.Degrees(), 'f', 4, 64)
}

// earthRadius is the mean radius, m. Source: IUGG, GRS 80, R1 = 6371008.7714 m.
const earthRadius = 6371008.7714

// Distance returns the great-circle distance of a and b, within 0.6 % of the ellipsoid's.
// Source: haversine formula, R. W. Sinnott, Sky and Telescope 68 (1984) 159, from memory.
func Distance(a, b Point) quantity.Length {
	return quantity.Length(earthRadius * angle(a, b))
}

// angle returns the angle between a and b seen from the centre, radians.
func angle(a, b Point) float64 {
	p, q := a.Latitude.Radians(), b.Latitude.Radians()
	s, t := math.Sin((q-p)/2), math.Sin((b.Longitude.Radians()-a.Longitude.Radians())/2)
	h := s*s + math.Cos(p)*math.Cos(q)*t*t
	return 2 * math.Asin(math.Sqrt(math.Min(1, math.Max(0, h))))
}

// Along returns the point that has the given share of the great circle from a to b behind it. Shares
// beyond 0 to 1 count as the nearer end. Between antipodes any great circle may be taken.
// Source: spherical interpolation, K. Shoemake, SIGGRAPH 1985, p. 245, from memory.
func Along(a, b Point, share quantity.Ratio) Point {
	d, f := angle(a, b), math.Min(1, math.Max(0, share.Float()))
	if d < 1e-12 {
		return a
	}
	u, v := math.Sin((1-f)*d)/math.Sin(d), math.Sin(f*d)/math.Sin(d)
	p, l := a.Latitude.Radians(), a.Longitude.Radians()
	q, m := b.Latitude.Radians(), b.Longitude.Radians()
	x := u*math.Cos(p)*math.Cos(l) + v*math.Cos(q)*math.Cos(m)
	y := u*math.Cos(p)*math.Sin(l) + v*math.Cos(q)*math.Sin(m)
	z := u*math.Sin(p) + v*math.Sin(q)
	return Point{quantity.Angle(math.Atan2(z, math.Hypot(x, y))), quantity.Angle(math.Atan2(y, x))}
}

// Bearing returns the azimuth of b from a at the start of the great circle, 0 to 2π; 0 when they are
// one point. Source: spherical trigonometry, the four-parts formula.
func Bearing(a, b Point) quantity.Angle {
	p, q := a.Latitude.Radians(), b.Latitude.Radians()
	d := b.Longitude.Radians() - a.Longitude.Radians()
	t := math.Atan2(math.Sin(d)*math.Cos(q), math.Cos(p)*math.Sin(q)-math.Sin(p)*math.Cos(q)*math.Cos(d))
	return quantity.Angle(math.Mod(t+2*math.Pi, 2*math.Pi))
}

// Parse reads a latitude and a longitude: "38.57, -7.91", "38.57N 7.91W", "N38.57 W7.91",
// "38°34'12\"N 7°54'W", "38 34.2, -7 54". It reports false for anything else, out of range included.
func Parse(text string) (lat, lon quantity.Angle, ok bool) {
	if len(text) > longest {
		return 0, 0, false
	}
	s := strings.ToUpper(marks.Replace(strings.TrimSpace(text)))
	var halves []string
	if a, b, found := strings.Cut(s, ","); found {
		halves = []string{a, b}
	} else if i := strings.IndexAny(s, "NS"); i > 0 && i < len(s)-1 {
		halves = []string{s[:i+1], s[i+1:]}
	} else if i := strings.IndexAny(s, "EW"); strings.IndexAny(s, "NS") == 0 && i > 0 {
		halves = []string{s[:i], s[i:]}
	} else if f := strings.Fields(s); len(f) == 2 {
		halves = f
	} else {
		return 0, 0, false
	}
	a, okA := degrees(halves[0], "N", "S")
	b, okB := degrees(halves[1], "E", "W")
	if !okA || !okB || math.Abs(a) > 90 || math.Abs(b) > 180 {
		return 0, 0, false
	}
	return quantity.Angle(a) * quantity.Degree, quantity.Angle(b) * quantity.Degree, true
}

// marks brings the ways of typing degrees, minutes, seconds and minus to one.
var marks = strings.NewReplacer("′", "'", "’", "'", "″", `"`, "”", `"`, "''", `"`, "º", "°", "˚", "°", "−", "-", "–", "-", "\u00a0", " ", "\u202f", " ")

// degrees reads one coordinate: decimal, or degrees, minutes and seconds, with a sign or a letter.
func degrees(text, plus, minus string) (float64, bool) {
	s := strings.TrimSpace(text)
	sign := 1.0
	for i, letter := range []string{plus, minus} {
		t, ok := strings.CutSuffix(s, letter)
		if !ok {
			t, ok = strings.CutPrefix(s, letter)
		}
		if ok {
			s, sign = t, float64(1-2*i)
			break
		}
	}
	s = strings.TrimSpace(s)
	switch {
	case strings.HasPrefix(s, "-"):
		s, sign = s[1:], -sign
	case strings.HasPrefix(s, "+"):
		s = s[1:]
	}
	parts := strings.FieldsFunc(s, func(r rune) bool { return r == '°' || r == '\'' || r == '"' || r == ' ' })
	if len(parts) == 0 || len(parts) > 3 {
		return 0, false
	}
	sum, unit := 0.0, 1.0
	for k, p := range parts {
		if strings.Trim(p, "0123456789.") != "" || k < len(parts)-1 && strings.Contains(p, ".") {
			return 0, false
		}
		v, err := strconv.ParseFloat(p, 64)
		if err != nil || k > 0 && v >= 60 {
			return 0, false
		}
		sum += v * unit
		unit /= 60
	}
	return sign * sum, true
}
