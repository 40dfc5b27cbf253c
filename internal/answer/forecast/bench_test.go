package forecast

import (
	"context"
	"testing"
	"time"
)

// BenchmarkYear is one year at five-minute steps, one build, one weather year, one core.
func BenchmarkYear(b *testing.B) {
	p := at(b, "Lisbon", "Europe/Lisbon", 38.72, -9.14, 50)
	v := sample(stay(p, time.Date(2027, 1, 1, 0, 0, 0, 0, p.Zone), 365))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Run(context.Background(), v, Options{Years: 1, Workers: 1}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkStep is one step in full sun.
func BenchmarkStep(b *testing.B) {
	v := spring(b)
	p, err := assemble(v)
	if err != nil {
		b.Fatal(err)
	}
	tp := lay(v)
	c, err := plot(v, tp, nil)
	if err != nil {
		b.Fatal(err)
	}
	r := newRunner(p, tp, p.views())
	r.run(c, 1, variations(nil, 1)[0])
	m := &tp.moments[tp.days[2].first+150]
	var w now
	w.light.Global, w.light.Beam, w.light.Diffuse = 700, 650, 150
	b.ReportAllocs()
	for b.Loop() {
		r.step(m, w)
	}
}

// BenchmarkShadedYear is one year at five-minute steps, two modules of 36 cells, four obstacles, one core.
func BenchmarkShadedYear(b *testing.B) {
	p := at(b, "Lisbon", "Europe/Lisbon", 38.72, -9.14, 50)
	v := shaded(stay(p, time.Date(2027, 1, 1, 0, 0, 0, 0, p.Zone), 365))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Run(context.Background(), v, Options{Years: 1, Workers: 1}); err != nil {
			b.Fatal(err)
		}
	}
}
