package place

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"time"
	_ "time/tzdata" // machines without zone files

	"noonmark/internal/base/quantity"
)

//go:embed zones.txt
var zonesText string

//go:embed countryzones.txt
var countryZonesText string

// zoneGrid is a tree of cells: 48 × 24 roots of 7.5°, each entry two characters that hold either a
// zone or the four quarters of the cell.
type zoneGrid struct {
	cells string
	names []string
	at    []func() *time.Location // by name, loaded once
	local map[string][]int        // zones of a country, by its code
}

// zones returns the decoded grid. It panics when zones.txt is not one.
var zones = sync.OnceValue(func() *zoneGrid {
	names, cells, ok := strings.Cut(strings.TrimSpace(zonesText), "\n")
	g := &zoneGrid{cells: cells, names: strings.Split(names, ",")}
	if !ok || len(cells) < 2*rootColumns*rootRows || len(g.names) > 1000 {
		panic("place: zones.txt is no grid")
	}
	g.at = make([]func() *time.Location, len(g.names))
	for i, n := range g.names {
		g.at[i] = sync.OnceValue(func() *time.Location {
			l, err := time.LoadLocation(n)
			if err != nil {
				return nil
			}
			return l
		})
	}
	number := make(map[string]int, len(g.names))
	for i, n := range g.names {
		number[n] = i
	}
	g.local = map[string][]int{}
	for line := range strings.Lines(countryZonesText) {
		code, zone, _ := strings.Cut(strings.TrimSpace(line), " ")
		if i, ok := number[zone]; ok {
			g.local[code] = append(g.local[code], i)
		}
	}
	return g
})

const (
	rootColumns = 48
	rootRows    = 24
	entries     = 3136 // 56², the values two characters can take
)

// ZoneName returns the name of the zone at a point in the IANA database, "Europe/Lisbon"; at sea
// "Etc/GMT+3", whose sign counts westwards. It is a guess near borders: it differs from another
// common map in 1.9 % of towns by name and in 0.65 % by offset. The middle of a town of the gazetteer
// has a zone of its country, the nearest, where the grid says another. It panics unless latitude is
// within ±90° and longitude within ±180°.
// Source: the decoder of the npm package @photostructure/tz-lookup 11.7.0; IANA zone.tab.
func ZoneName(lat, lon quantity.Angle) string {
	g := zones()
	return g.names[g.index(lat.Degrees(), lon.Degrees())]
}

// Zone returns the time zone at a point. See ZoneName. Should the database not know the name, it
// returns a fixed zone of whole hours by longitude.
func Zone(lat, lon quantity.Angle) *time.Location {
	g := zones()
	if l := g.at[g.index(lat.Degrees(), lon.Degrees())](); l != nil {
		return l
	}
	hours := int(math.Round(lon.Degrees() / 15))
	return time.FixedZone(fmt.Sprintf("UTC%+d", hours), 3600*hours)
}

// index returns the index of the zone's name at lat, lon, degrees, the country of a town considered.
func (g *zoneGrid) index(lat, lon float64) int {
	here := g.find(lat, lon)
	code, ok := gazette().townAt(lat, lon)
	local := g.local[code]
	if !ok || len(local) == 0 || slices.Contains(local, here) {
		return here
	}
	if len(local) == 1 {
		return local[0]
	}
	// The nearest of the country's zones, on rings of 0.05°, up to 3° away.
	for r := 0.05; r < 3; r += 0.05 {
		for k := range 16 {
			sin, cos := math.Sincos(float64(k) * math.Pi / 8)
			y, x := lat+r*sin, lon+r*cos/math.Max(0.1, math.Cos(lat*math.Pi/180))
			if math.Abs(y) > 90 || math.Abs(x) > 180 {
				continue
			}
			if i := g.find(y, x); slices.Contains(local, i) {
				return i
			}
		}
	}
	return here
}

// find returns the index of the zone's name at lat, lon, degrees.
func (g *zoneGrid) find(lat, lon float64) int {
	// Angles that were degrees once come back within rounding of the limit.
	const slack = 1e-9
	if !(math.Abs(lat) <= 90+slack && math.Abs(lon) <= 180+slack) {
		panic("place: zone of a point that is not on Earth")
	}
	lat, lon = min(max(lat, -90), 90), min(max(lon, -180), 180)
	if lat >= 90 {
		for i, n := range g.names {
			if n == "Etc/GMT" {
				return i
			}
		}
		lat = math.Nextafter(90, 0)
	}
	x := rootColumns * (180 + lon) / 360.00000000000006
	y := rootRows * (90 - lat) / 180.00000000000003
	column, row := int(x), int(y)
	base, at := -1, 2*(rootColumns*row+column)
	value := g.entry(at)
	for value+len(g.names) < entries {
		x, y = math.Mod(2*(x-float64(column)), 2), math.Mod(2*(y-float64(row)), 2)
		column, row = int(x), int(y)
		base += value + 1
		value = g.entry(8*base + 4*row + 2*column + 2*rootColumns*rootRows)
	}
	return value + len(g.names) - entries
}

// entry returns the value at a place of the grid.
func (g *zoneGrid) entry(at int) int { return 56*int(g.cells[at]) + int(g.cells[at+1]) - 1995 }
