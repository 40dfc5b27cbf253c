package bench

import (
	"errors"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

func scene(hour int) Scene {
	return Scene{Module: mono(), Attachment: build.LooseFlat, Place: build.Place{Latitude: 45 * quantity.Degree, Zone: time.UTC},
		Time: time.Date(2027, 6, 21, hour, 0, 0, 0, time.UTC), Air: quantity.Celsius(22), AirUnsure: 3 * quantity.OneKelvin,
		Wind: 2 * quantity.MetrePerSecond, Albedo: 20 * quantity.Percent}
}

// Bands hold their value, shares add up to one, cloud widens the band and dims the reading.
func TestBands(t *testing.T) {
	clear, err := Expect(scene(12))
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []Value{clear.Open, clear.Short, clear.Power, clear.Module, clear.Plane} {
		if !(v.Low < v.Expected && v.Expected < v.High) {
			t.Errorf("band %+v does not hold its value", v)
		}
	}
	sum := 0.0
	for _, c := range clear.Why {
		sum += c.Share.Float()
	}
	if sum < 0.999999 || sum > 1.000001 {
		t.Errorf("shares of the variance add up to %v, want 1", sum)
	}
	s := scene(12)
	s.Cloud = 50 * quantity.Percent
	dim, err := Expect(s)
	if err != nil {
		t.Fatal(err)
	}
	if dim.Power.Expected >= clear.Power.Expected {
		t.Error("cloud made it brighter")
	}
	if (dim.Power.High-dim.Power.Low)/dim.Power.Expected <= (clear.Power.High-clear.Power.Low)/clear.Power.Expected {
		t.Error("cloud did not widen the band")
	}
}

// Night gives no reading.
func TestNight(t *testing.T) {
	if _, err := Expect(scene(0)); !errors.Is(err, ErrNight) {
		t.Errorf("midnight: got %v, want ErrNight", err)
	}
}
