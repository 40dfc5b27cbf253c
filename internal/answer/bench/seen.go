package bench

import (
	"math"
	"strings"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/climate"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

// Seen is a sky as somebody saw it: the haze of its clear part, and the share that cloud covers.
type Seen struct {
	Haze  sky.Haze
	Cloud quantity.Ratio
}

// skies are the words for a sky, in eighths of cloud after the trade's words.
var skies = map[string]Seen{
	"clear": {sky.Ordinary, 0}, "clean": {sky.Clean, 0}, "hazy": {sky.Hazy, 0}, "smoky": {sky.Smoky, 0},
	"few clouds": {sky.Ordinary, 25 * quantity.Percent}, "half cloud": {sky.Ordinary, 50 * quantity.Percent},
	"much cloud": {sky.Ordinary, 75 * quantity.Percent}, "overcast": {sky.Ordinary, 100 * quantity.Percent},
}

// SkyWords are the words that SkyAsSeen knows, for people.
const SkyWords = "clear, clean, hazy, smoky, few clouds, half cloud, much cloud or overcast"

// SkyAsSeen returns the sky that words name; ok is false for words that are none of SkyWords.
func SkyAsSeen(words string) (s Seen, ok bool) {
	s, ok = skies[strings.ToLower(strings.TrimSpace(words))]
	return s, ok
}

// UsualAir returns the air's temperature that is usual at a place for the month and the hour of t: the day
// of mean weather. Accuracy: as the built-in climate and its form of the day; single days lie 5 K about it.
func UsualAir(p build.Place, t time.Time) quantity.Temperature {
	at := climate.At(p.Latitude, p.Longitude, p.Elevation)
	day := climate.Typical(at.Interpolated(float64(t.YearDay())))
	pos := sun.At(t, sun.Site{Latitude: p.Latitude, Longitude: p.Longitude})
	hours := math.Mod(12+pos.HourAngle.Degrees()/15+24, 24)
	return climate.AirTemperature(climate.Days{Before: day, Day: day, After: day}, 6*time.Hour, time.Duration(hours*float64(time.Hour)))
}
