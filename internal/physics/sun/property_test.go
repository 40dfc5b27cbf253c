package sun

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
	_ "time/tzdata"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// Every instant gives a finite place within its ranges, and the direction agrees with it.
func TestPositionIsFinite(t *testing.T) {
	const seed = 11
	r := rand.New(rand.NewPCG(seed, 1))
	for range 20000 {
		at := time.Unix(int64(r.Float64()*2e10-1e10), int64(r.IntN(1e9)))
		s := site(r.Float64()*180-90, r.Float64()*720-360, r.Float64()*5000)
		p := At(at, s)
		if !(p.Zenith >= 0 && p.Zenith <= math.Pi) || !(p.Azimuth >= 0 && p.Azimuth < 2*math.Pi) || !(p.Distance > 0.98 && p.Distance < 1.02) {
			t.Fatalf("seed %d: %v at %v: %+v", seed, at, s, p)
		}
		if d := p.Direction().Up - math.Cos(p.Zenith.Radians()); math.Abs(d) > 1e-12 {
			t.Fatalf("seed %d: direction and zenith differ by %g", seed, d)
		}
	}
}

// At the poles and exact limits nothing is undefined.
func TestPoles(t *testing.T) {
	for _, lat := range []float64{90, -90} {
		p := At(time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC), site(lat, 0, 0))
		want := 23.4
		if lat < 0 {
			want = -23.4
		}
		if got := p.Elevation().Degrees(); math.Abs(got-want) > 0.1 {
			t.Errorf("latitude %v: elevation %.3f°, want about %v", lat, got, want)
		}
		d := DayOf(time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC), site(lat, 0, 0))
		if d.UpAllDay != (lat > 0) || d.DownAllDay != (lat < 0) || !d.Rise.IsZero() || !d.Set.IsZero() {
			t.Errorf("latitude %v: %+v", lat, d)
		}
	}
}

// The apparent elevation never falls as the true one rises, and refraction fades to nothing.
func TestRefractionIsMonotonic(t *testing.T) {
	last := math.Inf(-1)
	for e := -90.0; e <= 90; e += 0.01 {
		r := Refraction(degrees(e), 1030*quantity.Hectopascal, quantity.Celsius(-30)).Degrees()
		if r < 0 || r > 1 || e+r <= last {
			t.Fatalf("at %.2f°: refraction %.4f°, apparent %.4f° after %.4f°", e, r, e+r, last)
		}
		last = e + r
	}
	if Refraction(degrees(-3), PressureAt(0), quantity.Celsius(10)) != 0 {
		t.Error("refraction well below the horizon")
	}
}

// At tilt 0 the incidence is the zenith whatever the azimuth; turned to the sun it is 0.
func TestIncidence(t *testing.T) {
	p := At(time.Date(2026, 5, 3, 9, 0, 0, 0, time.UTC), site(48, 9, 300))
	for a := 0.0; a < 360; a += 30 {
		if got := p.CosIncidence(shape.Facing{Azimuth: degrees(a)}).Float(); got != math.Cos(p.Zenith.Radians()) {
			t.Errorf("azimuth %v: %v", a, got)
		}
	}
	if got := p.CosIncidence(shape.Facing{Tilt: p.Zenith, Azimuth: p.Azimuth}).Float(); math.Abs(got-1) > 1e-12 {
		t.Errorf("facing the sun: %v", got)
	}
	f := shape.Facing{Tilt: degrees(37), Azimuth: degrees(211)}
	if got, want := p.CosIncidence(f).Float(), p.Direction().Dot(f.Normal()); math.Abs(got-want) > 1e-12 {
		t.Errorf("cosine %v, by vectors %v", got, want)
	}
}

// The civil day's transit lies in it, for clocks on both sides of the date line and over changes of
// summer time, and rise, transit and set keep their order.
func TestCivilDays(t *testing.T) {
	for _, c := range []struct {
		zone     string
		lat, lon float64
	}{
		{"Pacific/Auckland", -36.8, 174.8}, {"Pacific/Kiritimati", 1.9, -157.4}, {"Pacific/Apia", -13.8, -171.8},
		{"America/Sao_Paulo", -23.5, -46.6}, {"America/Havana", 23.1, -82.4}, {"Europe/Berlin", 52.5, 13.4},
		{"Asia/Kathmandu", 27.7, 85.3}, {"America/Adak", 51.9, -176.6}, {"Asia/Urumqi", 43.8, 87.6}, {"Antarctica/Troll", -72, 2.5},
	} {
		z := zone(t, c.zone)
		for day := time.Date(2018, 1, 1, 12, 0, 0, 0, z); day.Year() == 2018; day = day.AddDate(0, 0, 1) {
			d := DayOf(day, site(c.lat, c.lon, 0))
			if d.Transit.YearDay() != day.YearDay() || d.Transit.Year() != 2018 {
				t.Errorf("%s %v: transit %v", c.zone, day.Format(time.DateOnly), d.Transit)
			}
			if !d.Rise.IsZero() && !d.Rise.Before(d.Transit) || !d.Set.IsZero() && !d.Set.After(d.Transit) {
				t.Errorf("%s %v: order %v %v %v", c.zone, day, d.Rise, d.Transit, d.Set)
			}
			if math.Abs(c.lat) < 55 && (d.Rise.IsZero() || d.Set.IsZero()) {
				t.Errorf("%s %v: no rise or set", c.zone, day)
			}
			from, until := civilDay(day)
			if h := until.Sub(from).Hours(); h < 21 || h > 27 {
				t.Errorf("%s %v: civil day of %v h", c.zone, day, h)
			}
			if y := from.Add(-time.Nanosecond).YearDay(); from.YearDay() != day.YearDay() || y == day.YearDay() {
				t.Errorf("%s: the date of %v begins at %v", c.zone, day.Format(time.DateOnly), from)
			}
		}
	}
}

// A day's first instant is midnight, the end of the gap where the clock jumps over it, and the
// earlier of two midnights; the hours on the clock follow summer time.
func TestChangeOfTheClock(t *testing.T) {
	sp := zone(t, "America/Sao_Paulo")
	if from, until := civilDay(time.Date(2018, 11, 4, 12, 0, 0, 0, sp)); from.Hour() != 1 || until.Sub(from) != 23*time.Hour {
		t.Errorf("midnight left out: %v to %v", from, until)
	}
	hav := zone(t, "America/Havana")
	if from, until := civilDay(time.Date(2018, 11, 4, 12, 0, 0, 0, hav)); until.Sub(from) != 25*time.Hour {
		t.Errorf("midnight twice: %v to %v", from, until)
	}
	ber := zone(t, "Europe/Berlin")
	b := site(52.5, 13.4, 0)
	before, after := DayOf(time.Date(2026, 3, 28, 12, 0, 0, 0, ber), b), DayOf(time.Date(2026, 3, 29, 12, 0, 0, 0, ber), b)
	clock := func(t time.Time) float64 { return float64(t.Hour()) + float64(t.Minute())/60 }
	if d := clock(after.Transit) - clock(before.Transit); math.Abs(d-1) > 0.03 {
		t.Errorf("transit moved %.3f h on the clock, want 1", d)
	}
	if d := after.Transit.Sub(before.Transit).Hours(); math.Abs(d-24) > 0.02 {
		t.Errorf("transits %.3f h apart", d)
	}
}

// At rise and set the sun stands at the conventional height; between them above it; the midnight
// sun and the polar night are told, and one-sided days have one time only.
func TestRiseAndSet(t *testing.T) {
	kinds := map[string]int{}
	for _, lat := range []float64{-78, -66.2, -45, 0, 23.4, 51, 65.9, 66.3, 69.65, 78.2, 89} {
		s := site(lat, 18.96, 0)
		for n := range 366 {
			day := time.Date(2024, 1, 1+n, 12, 0, 0, 0, time.FixedZone("", 3600))
			d := DayOf(day, s)
			for _, at := range []time.Time{d.Rise, d.Set} {
				if !at.IsZero() {
					if h := height(at, s) / rad; math.Abs(h) > 1e-5 {
						t.Errorf("latitude %v %v: %.6f° from the horizon", lat, at, h)
					}
				}
			}
			top := height(d.Transit, s)
			switch {
			case d.UpAllDay && d.DownAllDay:
				t.Errorf("latitude %v %v: up and down all day", lat, day)
			case d.UpAllDay:
				kinds["up"]++
			case d.DownAllDay:
				kinds["down"]++
			case d.Rise.IsZero() || d.Set.IsZero():
				kinds["one"]++
			default:
				kinds["both"]++
				if top < 0 || d.Set.Sub(d.Rise) <= 0 || d.Set.Sub(d.Rise) > 24*time.Hour {
					t.Errorf("latitude %v: %+v", lat, d)
				}
			}
		}
	}
	for _, k := range []string{"up", "down", "both"} {
		if kinds[k] == 0 {
			t.Errorf("no day of the kind %q", k)
		}
	}
	t.Log(kinds)
}

// The daily sum by formula is the sum of the sun's cosine through the day.
func TestDailySumIsTheIntegral(t *testing.T) {
	for _, lat := range []float64{-60, -35, 0, 43, 65} {
		for _, n := range []int{20, 105, 172, 265, 344} {
			c := SpencerCourse(degrees(lat), n, Constant)
			sum := 0.0
			const steps = 20000
			for i := range steps {
				h := Hour{degrees(lat), c.Declination, quantity.Angle((float64(i)+0.5)/steps*2*math.Pi - math.Pi)}
				sum += math.Max(0, math.Cos(h.Position().Zenith.Radians())) * c.Normal.WattsPerSquareMetre() * 86400 / steps
			}
			if got := c.Daily().JoulesPerSquareMetre(); math.Abs(got-sum) > 1e-6*sum+1 {
				t.Errorf("latitude %v day %d: %v, want %v J/m²", lat, n, got, sum)
			}
			at := time.Date(2025, 1, n, 12, 0, 0, 0, time.UTC)
			p := At(at, site(lat, 0, 0))
			if d := math.Abs(p.Declination.Degrees() - c.Declination.Degrees()); d > 0.6 {
				t.Errorf("day %d: Spencer's declination %.2f° off", n, d)
			}
		}
	}
}

func TestNoAllocation(t *testing.T) {
	at, s := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC), site(50, 10, 200)
	if n := testing.AllocsPerRun(100, func() { _ = At(at, s).Apparent(PressureAt(s.Elevation), quantity.Celsius(15)) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkAt(b *testing.B) {
	at, s := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC), site(50, 10, 200)
	b.ReportAllocs()
	for b.Loop() {
		at = at.Add(5 * time.Minute)
		_ = At(at, s)
	}
}

func BenchmarkDayOf(b *testing.B) {
	at, s := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC), site(50, 10, 200)
	b.ReportAllocs()
	for b.Loop() {
		_ = DayOf(at, s)
	}
}

// Spencer's daily sum holds its stated accuracy against the sum over the real day.
func TestSpencerAgainstTheRealDay(t *testing.T) {
	worstHigh, worstLow := 0.0, 0.0
	for _, year := range []int{2024, 2027} {
		for n := 5; n <= 365; n += 12 {
			for lat := -60.0; lat <= 60; lat += 15 {
				zero := time.Date(year, 1, n, 0, 0, 0, 0, time.UTC)
				sum, top := 0.0, 0.0
				for k := range 288 {
					p := At(zero.Add(time.Duration(k)*5*time.Minute+150*time.Second), site(lat, 0, 0))
					c := math.Max(0, math.Cos(p.Zenith.Radians()))
					top = math.Max(top, c)
					sum += c * ExtraterrestrialNormal(p).WattsPerSquareMetre() * 300
				}
				off := math.Abs(DailyExtraterrestrial(degrees(lat), n, Constant).JoulesPerSquareMetre()/sum - 1)
				if top > 0.5 {
					worstHigh = math.Max(worstHigh, off)
				} else if top > 0.26 {
					worstLow = math.Max(worstLow, off)
				}
			}
		}
	}
	t.Logf("worst %.4f with the noon sun above 30°, %.4f above 15°", worstHigh, worstLow)
	if worstHigh > 0.02 || worstLow > 0.03 {
		t.Errorf("worst %.4f and %.4f, want 0.02 and 0.03", worstHigh, worstLow)
	}
}
