package bench

import (
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

// Noon is a module lying level under a clear sky at the sun's highest point of a day.
type Noon struct {
	Module     *build.ModuleType
	Attachment build.Attachment
	Gap        quantity.Length
	Latitude   quantity.Angle
	Day        time.Time // any instant of the day, on the meridian of Greenwich
	Air        quantity.Temperature
	Wind       quantity.Speed // at 10 m
	Haze       sky.Haze
}

// AtNoon returns what the module gives of its label at sea level, losses outside the module not counted.
func AtNoon(n Noon) (Reading, error) {
	site := sun.Site{Latitude: n.Latitude}
	day := sun.DayOf(n.Day, site)
	if day.DownAllDay || day.Transit.IsZero() {
		return Reading{}, ErrNight
	}
	return Expect(Scene{
		Module: n.Module, Attachment: n.Attachment, Gap: n.Gap, Facing: shape.Facing{},
		Place: build.Place{Latitude: n.Latitude, Zone: time.UTC}, Time: day.Transit,
		Air: n.Air, AirUnsure: 5 * quantity.OneKelvin, Wind: n.Wind, Haze: n.Haze, Albedo: 20 * quantity.Percent,
	})
}
