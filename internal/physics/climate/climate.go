package climate

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Month is the mean weather of a month, or of a day of the year.
type Month struct {
	Clearness         quantity.Ratio       // global horizontal radiation over that outside the air
	MeanLow, MeanHigh quantity.Temperature // mean of the days' lowest and highest
	DewPoint          quantity.Temperature // see dewPoint
	Wind              quantity.Speed       // mean, 10 m above rough open country
	Spread            quantity.TempDiff    // standard deviation of a day's mean temperature
	Coupling          quantity.Ratio       // correlation of a day's temperature with its clearness, -1 to 1
}

// Climate is the mean weather of a place through the year.
type Climate struct {
	Latitude quantity.Angle
	Months   [12]Month      // January first
	Error    quantity.Ratio // standard deviation of a month's radiation, see RadiationError

	nodes [12]node // mid-month values whose interpolation keeps the means; set by New
	whole bool     // nodes are set
}

// node is a Month in plain numbers, °C and m/s.
type node [7]float64

// lapse is the fall of temperature with height, K/m. Source: practice of the temperature grids,
// whose values at sea level were made with it; the standard atmosphere (ISO 2533:1975) has 0.0065.
const lapse = 0.006

// windShear is the exponent of the power law of wind with height, v10 = v50·(10/50)^0.25, of rough
// open country with hedges and trees. Judgement, supported by the hourly files: the yearly means of
// six sites come out between 0.90 and 1.36 of what they measure, 1.05 at the median, where the
// customary 1/7 gives 1.25.
const windShear = 0.25

// At returns the built-in climate of a place: latitude -90° to 90° (held outside), longitude of any
// turn, elevation the ground's height above the sea, to which temperatures are reduced by 6 K/km.
// It panics on values that are not finite. Accuracy: see the package comment.
func At(latitude, longitude quantity.Angle, elevation quantity.Length) Climate {
	lat, lon, h := latitude.Degrees(), longitude.Degrees(), elevation.Metres()
	if !finite(lat) || !finite(lon) || !finite(h) {
		panic("climate: place not finite")
	}
	grids := world()
	var spots [gridCount]spot
	for k, g := range grids {
		spots[k] = spotOf(k, g, lat, lon)
	}
	shear := math.Pow(10.0/50, windShear)
	var months [12]Month
	for m := range months {
		low := spots[gridLow].value(grids[gridLow], m)/2 - 64 - lapse*h
		high := spots[gridHigh].value(grids[gridHigh], m)/2 - 64 - lapse*h
		months[m] = Month{
			Clearness: quantity.Ratio(spots[gridClearness].value(grids[gridClearness], m) / 250),
			MeanLow:   quantity.Celsius(min(low, high)),
			MeanHigh:  quantity.Celsius(max(low, high)),
			Wind:      quantity.Speed(spots[gridWind].value(grids[gridWind], m) / 10 * shear),
		}
		months[m].DewPoint = dewPoint(months[m].MeanLow, months[m].Clearness)
	}
	spread(&months)
	return New(latitude, months)
}

// GridElevation returns the mean height of the land around a place, from a 1° grid, the sea being
// 0. Within mountains the height of a valley or pass differs by a kilometre: ask the user.
// Source: NOAA ETOPO.
func GridElevation(latitude, longitude quantity.Angle) quantity.Length {
	lat, lon := latitude.Degrees(), longitude.Degrees()
	if !finite(lat) || !finite(lon) {
		panic("climate: place not finite")
	}
	g := world()[gridElevation]
	return quantity.Length(25 * spotOf(gridElevation, g, lat, lon).value(g, 0))
}

// New returns the climate with the given months, of the built-in table or of a weather file.
func New(latitude quantity.Angle, months [12]Month) Climate {
	c := Climate{Latitude: latitude, Months: months, Error: ordinaryError}
	if math.Abs(latitude.Degrees()) > 60 {
		c.Error = farError
	}
	var values [12]node
	for m, v := range months {
		values[m] = node{v.Clearness.Float(), v.MeanLow.Celsius(), v.MeanHigh.Celsius(), v.DewPoint.Celsius(),
			v.Wind.MetresPerSecond(), v.Spread.Kelvins(), v.Coupling.Float()}
	}
	c.nodes, c.whole = meanKeeping(values), true
	c.keepRadiation()
	return c
}

// Standard deviations of a month's radiation in the built-in table.
// Judgement, from the errors against 18 typical-year files (package comment), whose single months
// also vary from year to year, and from a blind test of the northern regression between 56° and 60°.
const (
	ordinaryError = 7 * quantity.Percent
	farError      = 10 * quantity.Percent
)

// deepWinter is the daily radiation outside the air, J/m², below which a month is deep winter:
// 2.5 kWh/m², that of December near 50° north.
const deepWinter = 2.5 * 3.6e6

// RadiationError returns the relative standard deviation of the mean radiation that the built-in
// table gives for the given day of the year (1 is 1 January): 7 %, or 10 % beyond 60° of latitude
// and in deep winter. The same error holds for a whole season: it is the table's, not the weather's.
func (c Climate) RadiationError(dayOfYear float64) quantity.Ratio {
	if Extraterrestrial(c.Latitude, dayOfYear).JoulesPerSquareMetre() < deepWinter {
		return max(c.Error, farError)
	}
	return c.Error
}

// meanKeeping returns mid-month values such that straight lines between them have the monthly means
// v, for months of one length: a/8 + 3b/4 + c/8 = v.
// Source: Sheng & Zwiers 1998, Climate Dynamics 14:609, the adjusted mid-month values (from memory).
func meanKeeping(v [12]node) [12]node {
	x := v
	for range 60 { // Gauss-Seidel; the error falls by at least a third each time
		for m := range x {
			before, after := &x[(m+11)%12], &x[(m+1)%12]
			for k := range x[m] {
				x[m][k] = (v[m][k] - (before[k]+after[k])/8) / 0.75
			}
		}
	}
	return x
}

// keepRadiation changes the mid-month clearness so that the days of each month, weighted by the
// radiation outside the air, have the month's clearness: in a high latitude's winter the sun
// changes much within a month.
func (c *Climate) keepRadiation() {
	var outside [365]float64
	for d := range outside {
		outside[d] = Extraterrestrial(c.Latitude, float64(d)+1.5).JoulesPerSquareMetre()
	}
	for range 20 {
		var correction [12]float64
		day := 0
		for m, n := range monthDays {
			sum, weight := 0.0, 0.0
			for range n {
				a, b, f := between(float64(day) + 0.5)
				k := c.nodes[a][0] + f*(c.nodes[b][0]-c.nodes[a][0])
				sum += outside[day] * k
				weight += outside[day]
				day++
			}
			if weight > 0 {
				correction[m] = c.Months[m].Clearness.Float() - sum/weight
			}
		}
		for m := range c.nodes {
			c.nodes[m][0] = min(max(c.nodes[m][0]+0.8*correction[m], 0), 1)
		}
	}
}

// between returns the months whose middles lie about the time d, days from the start of the year,
// 0 to 365, and how far d is from a towards b.
func between(d float64) (a, b int, f float64) {
	if d < midMonth[0] {
		d += 365
	}
	a = 11
	for d < midMonth[a] {
		a--
	}
	return a, (a + 1) % 12, (d - midMonth[a]) / (midMonth[a+1] - midMonth[a])
}

// midMonth is the middle of each month of a 365-day year, days from the start of the year, and the
// first of the next year.
var midMonth = [13]float64{15.5, 45, 74.5, 105, 135.5, 166, 196.5, 227.5, 258, 288.5, 319, 349.5, 380.5}

// Interpolated returns the mean weather on a day of the year: 1 is the start of 1 January, 1.5 its
// noon; any number, a year having 365 days. It runs in straight lines between the middles of the
// months and keeps each month's radiation within 1 % and its temperatures within 0.25 K. It panics when dayOfYear is
// not finite.
func (c Climate) Interpolated(dayOfYear float64) Month {
	if !finite(dayOfYear) {
		panic("climate: day not finite")
	}
	if !c.whole {
		c = New(c.Latitude, c.Months)
	}
	d := math.Mod(dayOfYear-1, 365)
	if d < 0 {
		d += 365
	}
	m, n, f := between(d)
	a, b := &c.nodes[m], &c.nodes[n]
	var v node
	for k := range v {
		v[k] = a[k] + f*(b[k]-a[k])
	}
	low, high := min(v[1], v[2]), max(v[1], v[2])
	return Month{
		Clearness: quantity.Ratio(min(max(v[0], 0), highestClearness)),
		MeanLow:   quantity.Celsius(low),
		MeanHigh:  quantity.Celsius(high),
		DewPoint:  quantity.Celsius(min(v[3], low)),
		Wind:      quantity.Speed(max(v[4], 0)),
		Spread:    quantity.TempDiff(max(v[5], 0)),
		Coupling:  quantity.Ratio(min(max(v[6], -1), 1)),
	}
}

// dewPoint returns the dew point from the mean lowest temperature: equal to it, and 2.5 K below in
// an arid climate, taken as one of clearness over 0.65 and in part over 0.55.
// Accuracy: within 2 K of humid sites' hourly files, but 5 to 10 K too high in a dry season, 20 K
// in a desert. Source: FAO-56 (Allen et al. 1998), eq. 48 and annex 6: 2 to 3 K below in arid
// places; the bounds by clearness are judgement.
func dewPoint(low quantity.Temperature, clearness quantity.Ratio) quantity.Temperature {
	arid := min(max((clearness.Float()-0.55)/0.10, 0), 1)
	return low.Add(quantity.TempDiff(-2.5 * arid))
}

// Extraterrestrial returns the radiation of a day on a horizontal plane outside the air.
// dayOfYear 1 is 1 January; the declination is that of the moment. Solar constant 1361 W/m²; 0 in the polar night.
// Source: Spencer 1971 (Search 2:172), Fourier series of eccentricity and declination; Duffie &
// Beckman, eq. 1.10.3.
func Extraterrestrial(latitude quantity.Angle, dayOfYear float64) quantity.Irradiation {
	const solarConstant = 1361 // W/m², Kopp & Lean 2011
	p := min(max(latitude.Radians(), -math.Pi/2), math.Pi/2)
	g := 2 * math.Pi * (dayOfYear - 1) / 365
	s1, c1 := math.Sincos(g)
	s2, c2 := math.Sincos(2 * g)
	s3, c3 := math.Sincos(3 * g)
	e := 1.000110 + 0.034221*c1 + 0.001280*s1 + 0.000719*c2 + 0.000077*s2
	d := 0.006918 - 0.399912*c1 + 0.070257*s1 - 0.006758*c2 + 0.000907*s2 - 0.002697*c3 + 0.00148*s3
	sp, cp := math.Sincos(p)
	sd, cd := math.Sincos(d)
	x := -1.0 // cosine of the sunset hour angle
	if cp*cd > 1e-12 {
		x = min(max(-sp*sd/(cp*cd), -1), 1)
	} else if sp*sd < 0 {
		x = 1
	}
	w := math.Acos(x)
	h := 86400 / math.Pi * solarConstant * e * (cp*cd*math.Sin(w) + w*sp*sd)
	return quantity.Irradiation(max(h, 0))
}

// monthDays are the days of the months of a 365-day year.
var monthDays = [12]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}

// MonthlyGHI returns the mean daily global horizontal radiation of month m, 0 for January to 11:
// its clearness times the mean of Extraterrestrial over its days. It panics for another m.
func (c Climate) MonthlyGHI(m int) quantity.Irradiation {
	if m < 0 || m > 11 {
		panic("climate: no such month")
	}
	first := 1
	for _, n := range monthDays[:m] {
		first += n
	}
	sum := 0.0
	for d := range monthDays[m] {
		sum += Extraterrestrial(c.Latitude, float64(first+d)).JoulesPerSquareMetre()
	}
	return quantity.Irradiation(c.Months[m].Clearness.Float() * sum / float64(monthDays[m]))
}

// Attributions returns the sentences that must go with the table.
func Attributions() []string {
	return []string{
		"Solar radiation and wind: the data was obtained from the NASA Langley Research Center (LaRC) POWER Project, funded through the NASA Earth Science/Applied Science Program: climatology 2001-2020, rounded and repacked.",
		"Temperature, and radiation beyond 60° of latitude: made from CRU CL 1.0, New, M., Hulme, M. & Jones, P. (1999), Representing twentieth-century space-time climate variability, part I, Journal of Climate 12, 829-856.",
		"Elevation: NOAA National Centers for Environmental Information, ETOPO, 1° means, rounded to 25 m.",
	}
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
