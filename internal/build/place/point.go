package place

import (
	"math"
	"strconv"
	"strings"

	"noonmark/internal/base/quantity"
)

// Point is a point on Earth.
type Point struct{ Latitude, Longitude quantity.Angle }

// earthRadius is the mean radius, m. Source: IUGG, GRS 80, R1 = 6371008.7714 m.
const earthRadius = 6371008.7714

// Distance returns the great-circle distance. Source: haversine formula.
func Distance(a, b Point) quantity.Length {
	return quantity.Length(earthRadius * angle(a, b))
}

func angle(a, b Point) float64 {
	p, q := a.Latitude.Radians(), b.Latitude.Radians()
	s, t := math.Sin((q-p)/2), math.Sin((b.Longitude.Radians()-a.Longitude.Radians())/2)
	h := s*s + math.Cos(p)*math.Cos(q)*t*t
	return 2 * math.Asin(math.Sqrt(math.Min(1, math.Max(0, h))))
}

// Along returns the point that has the given share of the great circle from a to b behind it, 0 to 1.
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

// Bearing returns the azimuth of b from a along the great circle, 0 to 2π.
func Bearing(a, b Point) quantity.Angle {
	p, q := a.Latitude.Radians(), b.Latitude.Radians()
	d := b.Longitude.Radians() - a.Longitude.Radians()
	t := math.Atan2(math.Sin(d)*math.Cos(q), math.Cos(p)*math.Sin(q)-math.Sin(p)*math.Cos(q)*math.Cos(d))
	return quantity.Angle(math.Mod(t+2*math.Pi, 2*math.Pi))
}

// Parse reads a latitude and a longitude: "38.57, -7.91", "38.57N 7.91W", "38°34'12\"N 7°54'W". It
// reports false for anything else, out of range included.
func Parse(text string) (lat, lon quantity.Angle, ok bool) {
	if len(text) > 80 {
		return 0, 0, false
	}
	s := strings.NewReplacer("′", "'", "″", `"`, "º", "°", "−", "-").Replace(strings.TrimSpace(text))
	var halves []string
	if a, b, found := strings.Cut(s, ","); found {
		halves = []string{a, b}
	} else if i := strings.IndexAny(s, "NSns"); i > 0 && i < len(s)-1 {
		halves = []string{s[:i+1], s[i+1:]}
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

// degrees reads one coordinate: decimal, or degrees, minutes and seconds, with a sign or a letter.
func degrees(text, plus, minus string) (float64, bool) {
	s := strings.ToUpper(strings.TrimSpace(text))
	sign := 1.0
	switch {
	case strings.HasSuffix(s, plus):
		s = strings.TrimSuffix(s, plus)
	case strings.HasSuffix(s, minus):
		s, sign = strings.TrimSuffix(s, minus), -1
	}
	parts := strings.FieldsFunc(s, func(r rune) bool { return r == '°' || r == '\'' || r == '"' || r == ' ' })
	if len(parts) == 0 || len(parts) > 3 {
		return 0, false
	}
	sum, unit := 0.0, 1.0
	for k, p := range parts {
		v, err := strconv.ParseFloat(p, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || k > 0 && (v < 0 || v >= 60) {
			return 0, false
		}
		if k == 0 && strings.HasPrefix(p, "-") {
			sign, v = -sign, -v
		}
		sum += v * unit
		unit /= 60
	}
	return sign * sum, true
}
