package dayplan

import (
	"fmt"
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/bond"
	"noonmark/internal/physics/climate"
	"noonmark/internal/physics/heat"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

// oneDay is the sun and the usual weather of a date.
type oneDay struct {
	site    sun.Site
	date    time.Time
	day     sun.Day
	weather climate.Day
	air     sky.Atmosphere
	sunrise time.Duration // solar time
}

// polarDawn stands for sunrise where there is none, as the climate asks.
const polarDawn = 4 * time.Hour

func skyOf(p build.Place, date time.Time) oneDay {
	s := oneDay{site: sun.Site{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation}, date: date}
	s.day = sun.DayOf(date.Add(12*time.Hour), s.site)
	at := climate.At(p.Latitude, p.Longitude, p.Elevation)
	s.weather = climate.Typical(at.Interpolated(float64(date.YearDay())))
	s.air = sky.DefaultAtmosphere(p.Elevation, sky.Ordinary)
	s.sunrise = polarDawn
	if !s.day.Rise.IsZero() && !s.day.Set.IsZero() {
		s.sunrise = 12*time.Hour - s.day.Set.Sub(s.day.Rise)/2
	}
	return s
}

// at returns air, light of a clear sky, and wind at the roof at an instant. The wind's daily course, calm
// at dawn and a third over its mean at three in the afternoon, is our own estimate.
func (s oneDay) at(t time.Time) (air quantity.Temperature, light quantity.Irradiance, wind quantity.Speed) {
	pos := sun.At(t, s.site)
	hours := math.Mod(12+pos.HourAngle.Degrees()/15+48, 24)
	air = climate.AirTemperature(climate.Days{Before: s.weather, Day: s.weather, After: s.weather}, s.sunrise, time.Duration(hours*float64(time.Hour)))
	seen := pos.Apparent(s.air.Pressure, air)
	if seen.Zenith.Degrees() < 90 {
		light = sky.ClearSky(seen.Zenith, sun.ExtraterrestrialNormal(pos), s.air).Global
	}
	mean := heat.RoofAirSpeed(s.weather.Wind, 0).MetresPerSecond()
	wind = quantity.Speed(mean * (1 + 0.35*math.Sin(2*math.Pi*(hours-9)/24)))
	return air, light, wind
}

// dawnLight is the light under which a skin still feels the night sky, W/m². Our own estimate.
const dawnLight = 200

// skinAt returns the temperature of the bare skin: of heat.Lid, less what a clear night takes while the sun
// is down or low.
func (w *work) skinAt(air quantity.Temperature, light quantity.Irradiance, wind quantity.Speed) quantity.Temperature {
	lid := heat.Lid(heat.Skin{Absorptance: w.surface.Absorptance, Insulated: w.surface.Insulated}, light, air, wind)
	night := math.Max(0, 1-light.WattsPerSquareMetre()/dawnLight)
	return lid.Add(quantity.TempDiff(-night * bond.ClearNight.Kelvins()))
}

// hours returns the hours of the date, each judged at its middle.
func (s oneDay) hours(w *work) []Hour {
	var out []Hour
	glue, sheet := w.strictest(), w.sheet()
	next := s.date.AddDate(0, 0, 1)
	for from := s.date; from.Before(next); from = from.Add(time.Hour) {
		air, light, wind := s.at(from.Add(30 * time.Minute))
		h := Hour{From: from, Air: air, Light: light, Wind: wind, Dew: s.weather.DewPoint, Skin: w.skinAt(air, light, wind)}
		if air.Before(h.Dew) {
			h.Dew = air
		}
		h.Humidity = bond.Humidity(air, h.Dew)
		h.Reasons = bond.Gate(bond.Conditions{Air: air, Dew: h.Dew, Skin: h.Skin, Wind: wind, Sheet: sheet}, glue)
		h.Open = (len(h.Reasons) == 0 || !h.Reasons[0].Stops()) && light > 0
		h.Touch = bond.LongestTouch(w.skin.Touch, h.Skin)
		if h.Open {
			h.Patch = bond.Patch(bond.PrimerTimes(h.Skin), bond.PaceOf())
		}
		out = append(out, h)
	}
	return out
}

// windowOf returns the longest run of open hours, the earlier of equals.
func windowOf(hours []Hour, w *work) Window {
	var win Window
	best, run := 0, 0
	for i, h := range hours {
		if h.Open {
			if run++; run == 1 {
				win.Runs = append(win.Runs, Run{From: h.From})
			}
			win.Runs[len(win.Runs)-1].Until = h.From.Add(time.Hour)
		} else {
			run = 0
		}
		if run > best {
			best = run
			win.Found, win.From, win.Until = true, hours[i-run+1].From, h.From.Add(time.Hour)
		}
		if !h.Skin.Before(w.strictest().ApplyBest) && win.WarmFrom.IsZero() {
			win.WarmFrom = h.From
		}
		if bond.HotStop.Before(h.Skin) {
			if win.HotFrom.IsZero() {
				win.HotFrom = h.From
			}
			win.HotUntil = h.From.Add(time.Hour)
		}
	}
	win.Why = closes(hours, win)
	return win
}

// closes says in words what shuts the window, or why there is none.
func closes(hours []Hour, win Window) string {
	if !win.Found {
		count := map[bond.Reason]int{}
		for _, h := range hours {
			for _, r := range h.Reasons {
				if r.Stops() && h.Light > 0 {
					count[r]++
				}
			}
		}
		worst, n := "no hour of daylight", 0
		for r := bond.TooCold; r <= bond.Rain; r++ {
			if count[r] > n {
				worst, n = r.String(), count[r]
			}
		}
		return "no open hour on a fine day of this season: " + worst + "; another month, a heated hall, or shade"
	}
	for _, h := range hours {
		if h.From.Equal(win.Until) {
			if len(h.Reasons) > 0 && h.Reasons[0].Stops() {
				return fmt.Sprintf("closes at %s: %s", win.Until.Format("15:04"), h.Reasons[0])
			}
			return "closes with the light"
		}
	}
	return "open to the end of the day"
}
