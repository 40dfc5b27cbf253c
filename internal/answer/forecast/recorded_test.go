package forecast

import (
	"math"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
)

// dry is an hourly file of a made sun: the light of an hour follows its middle.
type dry struct{ zone time.Duration }

func (d dry) ZoneOffset() time.Duration { return d.zone }

func (d dry) Hour(t time.Time) (global, beam, diffuse quantity.Irradiance, air quantity.Temperature, wind quantity.Speed) {
	h := t.UTC().Add(d.zone).Hour()
	g := math.Max(0, 900*math.Cos((float64(h)+0.5-12)*math.Pi/12))
	return quantity.Irradiance(g), quantity.Irradiance(g), quantity.Irradiance(0.2 * g), quantity.Celsius(18), 2 * quantity.MetrePerSecond
}

// A weather file is used as it is: the level light of a day is that of the file, whatever the zone.
func TestRecorded(t *testing.T) {
	p := at(t, "field", "Africa/Nairobi", 0, 37.5, 1700)
	for _, zone := range []time.Duration{3 * time.Hour, 2*time.Hour + 30*time.Minute} {
		leg := stay(p, time.Date(2027, 3, 20, 0, 0, 0, 0, p.Zone), 3)
		leg.WeatherFile = "field"
		a := run(t, sample(leg), Options{Years: 2, Files: map[string]Hourly{"field": dry{zone}}})
		want := 0.0
		for h := range 24 {
			want += math.Max(0, 900*math.Cos((float64(h)+0.5-12)*math.Pi/12)) / 1000
		}
		got := a.Days[1].PlaneIrradiation.KilowattHoursPerSquareMetre()
		if math.Abs(got/want-1) > 0.02 { // the file's edge hours reach past the sun's
			t.Errorf("zone %v: got %.3f kWh/m², the file has %.3f", zone, got, want)
		}
		if a.HarvestBand.P10 != a.HarvestBand.P90 {
			t.Errorf("a file gives every year the same weather, got a band %+v", a.HarvestBand)
		}
	}
}

// A leg that names a file nobody read is an error, not the climate in silence.
func TestMissingFile(t *testing.T) {
	p := at(t, "field", "Africa/Nairobi", 0, 37.5, 1700)
	leg := stay(p, time.Date(2027, 3, 20, 0, 0, 0, 0, p.Zone), 3)
	leg.WeatherFile = "nothing.epw"
	if _, err := plot(sample(leg), lay(sample(leg)), nil); err == nil {
		t.Error("wanted an error")
	}
}
