package climate

import (
	"bufio"
	"compress/gzip"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

func degrees(v float64) quantity.Angle { return quantity.Angle(v) * quantity.Degree }
func metres(v float64) quantity.Length { return quantity.Length(v) * quantity.Metre }

// percentile returns the value below which the share p of the sorted v lies, by linear
// interpolation.
func percentile(v []float64, p float64) float64 {
	x := p * float64(len(v)-1)
	i := min(int(x), len(v)-2)
	return v[i] + (x-float64(i))*(v[i+1]-v[i])
}

// hourly is an hourly file: 8760 rows of temperature, dew point (°C), radiation (Wh/m²), wind (m/s).
type hourly struct {
	name                          string
	latitude, longitude, altitude float64
	design                        string // header line of design conditions
	zone                          float64
	rows                          [][4]float64
}

func hourlyFiles(t *testing.T) []hourly {
	names := []string{"CHL_Santiago.855740_TMYx.epw.gz", "USA_AK_Barrow.700260_TMY3.epw.gz", "USA_AZ_Davis-Monthan.AFB.722745_TMY3.epw.gz",
		"USA_CO_Aurora-Buckley.Field.ANGB.724695_TMY3.epw.gz", "USA_WA_Port.Angeles-William.R.Fairchild.Intl.AP.727885_TMY3.epw.gz", "USA_CO_Golden.724666_TMY3.csv.gz"}
	var out []hourly
	for _, name := range names {
		f, err := os.Open(testkit.Shared(t, "weather-hourly/"+name))
		if err != nil {
			t.Fatal(err)
		}
		z, err := gzip.NewReader(f)
		if err != nil {
			t.Fatal(err)
		}
		h := hourly{name: name}
		skip, columns, place := 8, []int{6, 7, 13, 21}, []int{6, 7, 9, 8}
		if strings.HasSuffix(name, ".csv.gz") {
			skip, columns, place = 2, []int{31, 34, 4, 46}, []int{4, 5, 6, 3}
		}
		scan := bufio.NewScanner(z)
		for n := 0; scan.Scan(); n++ {
			fields := strings.Split(scan.Text(), ",")
			if n == 0 {
				for i, p := range []*float64{&h.latitude, &h.longitude, &h.altitude, &h.zone} {
					if *p, err = strconv.ParseFloat(fields[place[i]], 64); err != nil {
						t.Fatal(err)
					}
				}
			}
			if n == 1 {
				h.design = scan.Text()
			}
			if n < skip {
				continue
			}
			var row [4]float64
			for i, c := range columns {
				if row[i], err = strconv.ParseFloat(fields[c], 64); err != nil {
					t.Fatalf("%s line %d: %v", name, n+1, err)
				}
			}
			h.rows = append(h.rows, row)
		}
		if err := f.Close(); err != nil || len(h.rows) != 8760 {
			t.Fatalf("%s: %d hours, %v", name, len(h.rows), err)
		}
		out = append(out, h)
	}
	return out
}

// eachDay calls f with the month, 0 to 11, and the hours of each day.
func (h *hourly) eachDay(f func(month int, rows [][4]float64)) {
	day := 0
	for m, n := range monthDays {
		for range n {
			f(m, h.rows[24*day:24*day+24])
			day++
		}
	}
}

// clearness calls f with the month of each day, the sines of the sun's elevation and the clearness of its hours,
// and that of the whole day.
func (h *hourly) clearness(f func(m int, sin, clear []float64, day float64)) {
	day := 0
	h.eachDay(func(m int, rows [][4]float64) {
		sin, clear := make([]float64, 24), make([]float64, 24)
		g := 2 * math.Pi * float64(day) / 365
		equation := 229.18 * (0.000075 + 0.001868*math.Cos(g) - 0.032077*math.Sin(g) - 0.014615*math.Cos(2*g) - 0.04089*math.Sin(2*g)) / 60
		declination := math.Asin(0.39795 * math.Cos(2*math.Pi*(float64(day)-171)/365))
		sp, cp := math.Sincos(h.latitude * math.Pi / 180)
		sum, total := 0.0, 0.0
		for i, r := range rows {
			solar := float64(i) + 0.5 + h.longitude/15 - h.zone + equation
			sin[i] = sp*math.Sin(declination) + cp*math.Cos(declination)*math.Cos((solar-12)*math.Pi/12)
			if sin[i] > 0 {
				outside := 1361 * (1 + 0.033*math.Cos(g)) * sin[i]
				clear[i] = min(r[2]/outside, 1)
				sum += clear[i] * sin[i]
				total += sin[i]
			}
		}
		f(m, sin, clear, sum/total)
		day++
	})
}

func average(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

func deviation(v []float64) float64 {
	m, sum := average(v), 0.0
	for _, x := range v {
		sum += (x - m) * (x - m)
	}
	return math.Sqrt(sum / float64(len(v)))
}

// statistics returns the standard deviation and the lag-1 correlation of v.
func statistics(v []float64) (sd, lag float64) {
	m, sd := average(v), deviation(v)
	for i := range v[1:] {
		lag += (v[i] - m) * (v[i+1] - m) / float64(len(v)-1)
	}
	return sd, lag / sd / sd
}
