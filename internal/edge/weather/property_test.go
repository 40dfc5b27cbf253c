package weather

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A year with any gaps, any odd values and any place on Earth is either refused or made whole, and what the
// file had is kept.
func TestAnyGaps(t *testing.T) {
	odd := []string{"9999", "99.9", "", "-9900", "NaN", "Inf", "1e300", "999999", "x", "-1", "12"}
	where := []string{"90,0,0,0", "-90,180,14,9000", "71.3,-156.8,-9,10", "0,0,,", "40,-105,-7,1600"}
	plain := sample(nil)
	head := strings.Index(plain, "1999")
	rows := strings.Split(strings.TrimSpace(plain[head:]), "\n")
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("LOCATION,a,b,c,d,e," + rapid.SampledFrom(where).Draw(t, "where") + "\n")
		type run struct{ from, to, field int }
		spoilt := map[int]bool{}
		changed := append([]string(nil), rows...)
		for range rapid.IntRange(0, 12).Draw(t, "runs") {
			r := run{from: rapid.IntRange(0, yearHours-1).Draw(t, "from"), field: rapid.SampledFrom([]int{1, 3, 6, 7, 9, 13, 14, 15, 21}).Draw(t, "field")}
			r.to = min(yearHours, r.from+rapid.SampledFrom([]int{1, 3, 30, 400, yearHours}).Draw(t, "hours"))
			text := rapid.SampledFrom(odd).Draw(t, "text")
			for at := r.from; at < r.to; at++ {
				f := strings.Split(changed[at], ",")
				f[r.field] = text
				changed[at] = strings.Join(f, ",")
				spoilt[at] = true
				if r.field < 6 { // may come to stand for any hour
					spoilt[-1] = true
				}
			}
		}
		b.WriteString(strings.Join(changed, "\n"))
		s, err := ReadEPW(strings.NewReader(b.String()), "any")
		if (s == nil) == (err == nil) {
			t.Fatalf("series %v and error %v", s, err)
		}
		if s == nil {
			return
		}
		for at, h := range s.Hours {
			for _, v := range []float64{h.Global.WattsPerSquareMetre(), h.Beam.WattsPerSquareMetre(), h.Diffuse.WattsPerSquareMetre(), h.Wind.MetresPerSecond(), h.Pressure.Pascals(), h.Air.Kelvin(), h.DewPoint.Kelvin()} {
				if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
					t.Fatalf("hour %d: %+v", at, h)
				}
			}
			if spoilt[at] || spoilt[-1] {
				continue
			}
			if _, day, _ := dateOf(at); math.Abs(h.Air.Celsius()-float64(day)) > 1e-9 || h.Wind != 3.5 {
				t.Fatalf("hour %d was good and is changed: %+v", at, h)
			}
		}
	})
}

// A straight line fills a short gap, over the turn of the year too; a long one is left.
func TestBridged(t *testing.T) {
	gap := math.NaN()
	v := []float64{gap, gap, 3, 4, gap, 6, gap, gap, gap, gap, gap, gap, gap, 7, 0, gap}
	if n := bridged(v); n != 4 {
		t.Errorf("%d filled", n)
	}
	for at, want := range map[int]float64{0: 1.5, 1: 2.25, 4: 5, 15: 0.75} {
		if math.Abs(v[at]-want) > 1e-12 {
			t.Errorf("value %d: got %g, want %g", at, v[at], want)
		}
	}
	if !math.IsNaN(v[6]) || !math.IsNaN(v[12]) {
		t.Error("a gap of 7 h was bridged")
	}
}
