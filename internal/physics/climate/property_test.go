package climate

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

// places are spread over the climates.
var places = []struct {
	name                          string
	latitude, longitude, altitude float64
}{
	{"Trondheim", 63.4, 10.4, 20}, {"Hamburg", 53.5, 10, 10}, {"Seville", 37.4, -6, 20}, {"Phoenix", 33.4, -112, 340}, {"Singapore", 1.3, 103.8, 10},
	{"Cape Town", -33.9, 18.4, 10}, {"Calama", -22.5, -68.9, 2300}, {"Chengdu", 30.7, 104.1, 500}, {"Yakutsk", 62, 129.7, 100}, {"Darwin", -12.4, 130.9, 30},
}

// The mean of many years keeps the climate within 2 %, month by month and over the year, and single
// months spread about as measured ones do.
func TestYearsKeepClimate(t *testing.T) {
	const years = 200
	for i, p := range places {
		c := At(degrees(p.latitude), degrees(p.longitude), metres(p.altitude))
		g := NewGenerator(rand.New(rand.NewPCG(7, uint64(i))))
		var sum, sum2, want [12]float64
		var low, high, wind float64
		for range years {
			day := 1
			for m, n := range monthDays {
				k := 0.0
				for range n {
					d := g.Next(c.Interpolated(float64(day) + 0.5))
					h := Extraterrestrial(c.Latitude, float64(day)+0.5).KilowattHoursPerSquareMetre()
					k += d.Clearness.Float() * h / float64(n)
					low += d.Low.Celsius() / 365 / years
					high += d.High.Celsius() / 365 / years
					wind += d.Wind.MetresPerSecond() / 365 / years
					day++
				}
				sum[m] += k
				sum2[m] += k * k
			}
		}
		total, wanted, lowWant, highWant, windWant := 0.0, 0.0, 0.0, 0.0, 0.0
		var spread [12]float64
		for m, n := range monthDays {
			want[m] = c.MonthlyGHI(m).KilowattHoursPerSquareMetre()
			got := sum[m] / years
			spread[m] = math.Round(1000*math.Sqrt(sum2[m]/years-got*got)/got) / 10
			if want[m] > 0.3 {
				testkit.Near(t, got/want[m], 1, 0.03, p.name+": mean of month over the wanted")
			}
			total += got * float64(n)
			wanted += want[m] * float64(n)
			lowWant += c.Months[m].MeanLow.Celsius() * float64(n) / 365
			highWant += c.Months[m].MeanHigh.Celsius() * float64(n) / 365
			windWant += c.Months[m].Wind.MetresPerSecond() * float64(n) / 365
		}
		t.Logf("%-10s year %+.2f %%, spread of a month's mean %% %v", p.name, 100*(total/wanted-1), spread)
		testkit.Near(t, total/wanted, 1, 0.02, p.name+": mean of years over the wanted")
		testkit.Near(t, low, lowWant, 0.5, p.name+": mean lowest, °C")
		testkit.Near(t, high, highWant, 0.5, p.name+": mean highest, °C")
		testkit.Near(t, wind/windWant, 1, 0.03, p.name+": mean wind over the wanted")
	}
}

// Interpolation keeps each month's mean.
func TestInterpolatedKeepsMeans(t *testing.T) {
	for _, p := range places {
		c := At(degrees(p.latitude), degrees(p.longitude), metres(p.altitude))
		day := 1
		for m, n := range monthDays {
			k, h, low := 0.0, 0.0, 0.0
			for range n {
				v := c.Interpolated(float64(day) + 0.5)
				h0 := Extraterrestrial(c.Latitude, float64(day)+0.5).JoulesPerSquareMetre()
				h += h0
				k += v.Clearness.Float() * h0
				low += v.MeanLow.Celsius() / float64(n)
				day++
			}
			if h > 0 {
				testkit.Near(t, k/h, c.Months[m].Clearness.Float(), 0.005, p.name+": clearness of month")
			}
			testkit.Near(t, low, c.Months[m].MeanLow.Celsius(), 0.25, p.name+": mean lowest of month")
		}
	}
	c := At(degrees(50), degrees(10), metres(300))
	for d := 0.0; d < 730; d += 0.25 {
		a, b := c.Interpolated(d), c.Interpolated(d+0.25)
		testkit.Near(t, b.MeanLow.Celsius(), a.MeanLow.Celsius(), 0.1, "quarter of a day later")
		testkit.Near(t, c.Interpolated(d+365).Wind.MetresPerSecond(), a.Wind.MetresPerSecond(), 1e-9, "a year later")
	}
}

// sines returns the sine of the sun's elevation at n steps of a day.
func sines(latitude, declination float64, n int) []float64 {
	out := make([]float64, n)
	sp, cp := math.Sincos(latitude * math.Pi / 180)
	sd, cd := math.Sincos(declination * math.Pi / 180)
	for i := range out {
		out[i] = sp*sd + cp*cd*math.Cos((float64(i)+0.5)/float64(n)*2*math.Pi-math.Pi)
	}
	return out
}

// A profile has the day's sum, whatever the day and the sun, and is 0 by night.
func TestProfileKeepsDay(t *testing.T) {
	g := NewGenerator(rand.New(rand.NewPCG(1, 2)))
	for _, n := range []int{24, 96, 288, 1440, 7} {
		for _, latitude := range []float64{-75, -34, 0, 23, 47, 60, 69, 85} {
			for _, declination := range []float64{-23.4, -10, 0, 23.4} {
				s := sines(latitude, declination, n)
				out := make([]float64, n)
				for _, k := range []float64{0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.8, 0.87} {
					for range 5 {
						day := Day{Clearness: quantity.Ratio(k)}
						g.Profile(day, s, out)
						checkProfile(t, k, s, out)
						TypicalProfile(day, s, out)
						checkProfile(t, k, s, out)
					}
				}
			}
		}
	}
	g.Profile(Day{}, nil, nil)
}

func checkProfile(t *testing.T, k float64, s, out []float64) {
	t.Helper()
	sum, want := 0.0, 0.0
	for i, v := range out {
		if math.IsNaN(v) || v < 0 || v > 1.25 || s[i] <= 0 && v != 0 {
			t.Fatalf("clearness %g at sine %g on a day of %g", v, s[i], k)
		}
		if s[i] > 0 {
			sum += v * s[i]
			want += k * s[i]
		}
	}
	testkit.Near(t, sum, want, 1e-9*(1+want), "sum of the day")
}

// The same source gives the same days; state goes on over a change of place.
func TestSameSeedSameDays(t *testing.T) {
	run := func() []Day {
		g := NewGenerator(rand.New(rand.NewPCG(42, 1)))
		var out []Day
		for i := range 200 {
			p := places[i/20%len(places)]
			out = append(out, g.Next(At(degrees(p.latitude), degrees(p.longitude), metres(p.altitude)).Interpolated(float64(i))))
		}
		return out
	}
	a, b := run(), run()
	for i := range a {
		if a[i] != b[i] {
			t.Fatalf("day %d: %+v and %+v", i, a[i], b[i])
		}
		if a[i].High.Before(a[i].Low) || a[i].Low.Before(a[i].DewPoint) {
			t.Errorf("day %d out of order: %+v", i, a[i])
		}
	}
}

// Any month gives days in range.
func TestNextInRange(t *testing.T) {
	g := NewGenerator(rand.New(rand.NewPCG(3, 3)))
	for k := -0.2; k < 1.3; k += 0.013 {
		m := Month{Clearness: quantity.Ratio(k), MeanLow: quantity.Celsius(-50), MeanHigh: quantity.Celsius(-40), Wind: 3 * quantity.MetrePerSecond, Spread: 8 * quantity.OneKelvin, Coupling: 30 * quantity.Percent}
		sum := 0.0
		for range 4000 {
			d := g.Next(m)
			v := d.Clearness.Float()
			if !(v >= 0 && v <= highestClearness) || !(d.Wind >= 0) || !(d.Low.Kelvin() > 0) {
				t.Fatalf("clearness %g: %+v", k, d)
			}
			sum += v / 4000
		}
		if k > 0.02 && k < 0.8 {
			testkit.Near(t, sum, k, 0.02, "mean clearness of 4000 days")
		}
	}
}

// The table has no seam: longitude wraps, latitude is held at the poles, height cools by 6 K/km.
func TestAtEdges(t *testing.T) {
	for _, latitude := range []float64{-95, -90, -60, -0.5, 0, 33.3, 58, 89.9, 90} {
		a, b := At(degrees(latitude), degrees(180), metres(0)), At(degrees(latitude), degrees(-180), metres(0))
		for m := range a.Months {
			x, y := a.Months[m], b.Months[m]
			testkit.Near(t, x.Clearness.Float(), y.Clearness.Float(), 1e-9, "clearness over the date line")
			testkit.Near(t, x.MeanLow.Celsius(), y.MeanLow.Celsius(), 1e-9, "lowest over the date line")
			testkit.Near(t, x.Wind.MetresPerSecond(), y.Wind.MetresPerSecond(), 1e-9, "wind over the date line")
			up := At(degrees(latitude), degrees(180), metres(1000)).Months[m]
			testkit.Near(t, up.MeanHigh.Sub(x.MeanHigh).Kelvins(), -6, 1e-9, "a kilometre up")
			if k := x.Clearness.Float(); !(k >= 0 && k < 0.9) {
				t.Errorf("clearness %g at %g", k, latitude)
			}
		}
	}
	for longitude := -720.0; longitude <= 720; longitude += 17.3 {
		testkit.Near(t, GridElevation(degrees(10), degrees(longitude)).Metres(), GridElevation(degrees(10), degrees(longitude+360)).Metres(), 1e-6, "elevation a turn on")
		At(degrees(10), degrees(longitude), metres(0))
	}
}

// The air's temperature is continuous, takes the lowest at sunrise and the highest at 14 h.
func TestAirTemperature(t *testing.T) {
	day := func(low, high float64) Day { return Day{Low: quantity.Celsius(low), High: quantity.Celsius(high)} }
	d := []Day{day(3, 12), day(5, 19), day(-2, 4), day(1, 9)}
	dawn := 5*time.Hour + 20*time.Minute
	first, second := Days{d[0], d[1], d[2]}, Days{d[1], d[2], d[3]}
	testkit.Near(t, AirTemperature(first, dawn, dawn).Celsius(), 5, 1e-9, "at sunrise")
	testkit.Near(t, AirTemperature(first, dawn, 14*time.Hour).Celsius(), 19, 1e-9, "at 14 h")
	testkit.Near(t, AirTemperature(first, dawn, 24*time.Hour).Celsius(), AirTemperature(second, dawn, 0).Celsius(), 1e-9, "at midnight")
	for u := time.Duration(0); u < 24*time.Hour; u += time.Minute {
		a, b := AirTemperature(first, dawn, u).Celsius(), AirTemperature(first, dawn, u+time.Minute).Celsius()
		testkit.Near(t, b, a, 0.06, "a minute later")
	}
}

// The curve of the day against the yearly mean curves of the hourly files.
func TestAirTemperatureShape(t *testing.T) {
	square, n := 0.0, 0.0
	for _, h := range hourlyFiles(t) {
		var mean [24]float64
		for i, r := range h.rows {
			mean[i%24] += r[0] / 365
		}
		low, high := mean[0], mean[0]
		for _, v := range mean {
			low, high = min(low, v), max(high, v)
		}
		day := Day{Low: quantity.Celsius(low), High: quantity.Celsius(high)}
		for i, v := range mean { // the row's hour ends at i+1 local standard time
			solar := math.Mod(float64(i+1)+h.longitude/15-h.zone+24, 24)
			got := AirTemperature(Days{day, day, day}, 5*time.Hour+30*time.Minute, time.Duration(solar*float64(time.Hour))).Celsius()
			square += (got - v) * (got - v) / (high - low) / (high - low)
			n++
		}
	}
	rms := math.Sqrt(square / n)
	t.Logf("root mean square error of the shape: %.3f of the range", rms)
	if rms > 0.08 {
		t.Errorf("root mean square error of the shape: %.3f of the range, want at most 0.08", rms)
	}
}

// Packing loses nothing.
func TestPackRoundTrip(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	for _, size := range [][3]int{{1, 1, 1}, {1, 1, 300}, {3, 5, 1}, {12, 9, 18}, {2, 40, 77}} {
		for kind := range 4 {
			v := make([]byte, size[0]*size[1]*size[2])
			for i := range v {
				switch kind {
				case 0:
					v[i] = byte(r.Uint32())
				case 1:
					v[i] = byte(i / 7)
				case 2:
					v[i] = 9
				case 3:
					v[i] = byte(100 + r.NormFloat64()*3)
				}
			}
			in := Grid{size[0], size[1], size[2], v}
			out, err := Unpack(Pack([]Grid{in, in}))
			if err != nil {
				t.Fatalf("%v kind %d: %v", size, kind, err)
			}
			for _, g := range out {
				if g.Layers != in.Layers || g.Rows != in.Rows || g.Columns != in.Columns || !bytes.Equal(g.Values, v) {
					t.Fatalf("%v kind %d: changed", size, kind)
				}
			}
		}
	}
	if n := len(packedWorld); n >= 400_000 {
		t.Errorf("built-in table has %d bytes, want under 400,000", n)
	}
}

// The days allocate nothing.
func TestNoAllocation(t *testing.T) {
	c := At(degrees(48), degrees(11), metres(500))
	g := NewGenerator(rand.New(rand.NewPCG(1, 1)))
	s, out := sines(48, 10, 288), make([]float64, 288)
	if n := testing.AllocsPerRun(50, func() {
		d := g.Next(c.Interpolated(100))
		g.Profile(d, s, out)
		TypicalProfile(d, s, out)
		AirTemperature(Days{d, d, d}, 6*time.Hour, 9*time.Hour)
	}); n != 0 {
		t.Errorf("a day allocates %g times, want 0", n)
	}
}

func BenchmarkUnpack(b *testing.B) {
	for b.Loop() {
		if _, err := Unpack(packedWorld); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAt(b *testing.B) {
	for b.Loop() {
		At(degrees(48), degrees(11), metres(500))
	}
}

func BenchmarkNext(b *testing.B) {
	c := At(degrees(48), degrees(11), metres(500))
	g := NewGenerator(rand.New(rand.NewPCG(1, 1)))
	d := 0.0
	for b.Loop() {
		g.Next(c.Interpolated(d))
		d++
	}
}

func BenchmarkProfile288(b *testing.B) {
	g := NewGenerator(rand.New(rand.NewPCG(1, 1)))
	s, out := sines(48, 10, 288), make([]float64, 288)
	day := Day{Clearness: 50 * quantity.Percent}
	for b.Loop() {
		g.Profile(day, s, out)
	}
}
