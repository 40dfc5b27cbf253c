package forecast

import (
	"fmt"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// month is the van with four things on its roof, or the bare one, for some days of April, heading as it happens.
func month(b testing.TB, bare bool, days int) *build.Build {
	p := at(b, "Lisbon", "Europe/Lisbon", 38.72, -9.14, 50)
	l := stay(p, time.Date(2027, 4, 1, 0, 0, 0, 0, p.Zone), days)
	if bare {
		return sample(l)
	}
	return shaded(l)
}

// took returns the seconds of a run.
func took(b *testing.B, v *build.Build, o Options) float64 {
	start := time.Now()
	run(b, v, o)
	return time.Since(start).Seconds()
}

// BenchmarkThousandYears is 1,000 weather years of 30 days on all cores, by the chart, and what the plain path,
// every step solved, takes for a year over what the chart's takes, in the same run.
func BenchmarkThousandYears(b *testing.B) {
	for _, bare := range []bool{true, false} {
		name, plain := "shaded", 8
		if bare {
			name, plain = "bare", 40
		}
		b.Run(name, func(b *testing.B) {
			v := month(b, bare, 30)
			var fast, slow float64
			for b.Loop() {
				fast += took(b, v, Options{Years: 1000})
				slow += took(b, v, Options{Years: plain, Full: true})
			}
			b.ReportMetric(fast/float64(b.N), "seconds")
			b.ReportMetric(slow/float64(plain)/(fast/1000), "plain-over-fast")
		})
	}
}

// BenchmarkScaling is what more of one thing costs, over what less of it does.
func BenchmarkScaling(b *testing.B) {
	many := func(n int) *build.Build {
		v := month(b, false, 10)
		v.Surfaces[0].Outline = rectangle(0, 0, 4.8, 1.4)
		v.Modules, v.Strings[0].Modules = v.Modules[:1], nil
		for k := range n {
			m := v.Modules[0]
			m.Name, m.X, m.Y = fmt.Sprint(k), quantity.Length(0.3+float64(k/2)*1.2), quantity.Length(0.1+float64(k%2)*0.65)
			v.Modules = append(v.Modules, m)
			v.Strings[0].Modules = append(v.Strings[0].Modules, k)
		}
		v.Modules = v.Modules[1:]
		v.Chargers[0].InputMax = 150 * quantity.Volt
		return v
	}
	for _, c := range []struct {
		name         string
		less, more   *build.Build
		first, other Options
	}{
		{"one worker over two", month(b, false, 10), month(b, false, 10), Options{Years: 300, Workers: 2}, Options{Years: 300, Workers: 1}},
		{"20 days over 10", month(b, false, 10), month(b, false, 20), Options{Years: 300}, Options{Years: 300}},
		{"40 days over 20", month(b, false, 20), month(b, false, 40), Options{Years: 300}, Options{Years: 300}},
		{"200 years over 100", month(b, true, 20), month(b, true, 20), Options{Years: 100}, Options{Years: 200}},
		{"400 years over 200", month(b, true, 20), month(b, true, 20), Options{Years: 200}, Options{Years: 400}},
		{"2 modules over 1", many(1), many(2), Options{Years: 2, Full: true}, Options{Years: 2, Full: true}},
		{"4 modules over 2", many(2), many(4), Options{Years: 2, Full: true}, Options{Years: 2, Full: true}},
	} {
		b.Run(c.name, func(b *testing.B) {
			var less, more float64
			for b.Loop() {
				less += took(b, c.less, c.first)
				more += took(b, c.more, c.other)
			}
			b.ReportMetric(more/less, "times")
		})
	}
}
