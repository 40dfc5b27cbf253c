package place

import (
	_ "embed"
	"encoding/binary"
	"math"
	"slices"
	"strings"
	"sync"
)

//go:embed places.bin
var placesBin []byte

//go:embed countries.tsv
var countriesText string

//go:embed regions.tsv
var regionsText string

// Format of places.bin, little-endian. Countries follow each other: code (2 bytes), number of towns
// (uvarint), towns by name. A town: bytes of the name shared with the town before, length of the
// rest, the rest; latitude over 180° and longitude over 360° in 65535ths, from the south pole and
// from the date line; population, 13 bits times ten to the power of the upper 3; and in countries
// that regions.tsv names, the line of its region there, from 1, 0 for none.

// town is an entry of the gazetteer, 0.006° coarse.
type town struct {
	name       string
	population int
	lat, lon   uint16
	country    uint8 // of gazetteer.countries
	region     uint8 // of its regions, from 1; 0: none
}

// country is a line of countries.tsv with its regions.
type country struct {
	code, name string
	regions    []region
}

type region struct{ code, short, name string }

// scope is a country, or one region of it when region is not 0.
type scope struct{ country, region uint8 }

// gazetteer is the decoded towns, from most to least people.
type gazetteer struct {
	towns     []town
	folded    []string // the towns' names as compared
	countries []country
	byName    map[string][]int32  // folded name or other name → towns, from most people
	scopes    map[string][]scope  // folded country or region, name or code
	at        map[[2]uint16]int32 // where a town's middle is
}

// countries returns the tables of countries and regions.
func countries() []country {
	var out []country
	for line := range strings.Lines(countriesText) {
		f := strings.Split(strings.TrimSpace(line), "\t")
		out = append(out, country{code: f[0], name: f[1]})
	}
	for line := range strings.Lines(regionsText) {
		f := strings.Split(strings.TrimSpace(line), "\t")
		i := slices.IndexFunc(out, func(c country) bool { return c.code == f[0] })
		out[i].regions = append(out[i].regions, region{f[1], f[2], f[3]})
	}
	return out
}

// gazette returns the decoded gazetteer. It panics when the embedded files are not what cmd/makeplaces
// writes.
var gazette = sync.OnceValue(load)

// load decodes and indexes: about 30 ms.
func load() *gazetteer {
	g := &gazetteer{countries: countries(), byName: map[string][]int32{}, scopes: map[string][]scope{}}
	g.decode(placesBin)
	g.sort()
	g.folded = make([]string, len(g.towns))
	g.at = make(map[[2]uint16]int32, len(g.towns))
	g.byName = make(map[string][]int32, len(g.towns)+len(g.towns)/4)
	ids := make([]int32, len(g.towns)) // one allocation for all the lists of one town
	for i, t := range g.towns {
		key := fold(t.name)
		g.folded[i] = key
		ids[i] = int32(i)
		p := [2]uint16{t.lat, t.lon}
		if _, taken := g.at[p]; !taken {
			g.at[p] = int32(i)
		}
		if list, taken := g.byName[key]; taken {
			g.byName[key] = append(list, int32(i))
		} else {
			g.byName[key] = ids[i : i+1 : i+1]
		}
		if spelt := umlauts.Replace(t.name); spelt != t.name {
			if key := fold(spelt); key != g.folded[i] {
				g.byName[key] = append(g.byName[key], int32(i))
			}
		}
	}
	g.scope()
	g.otherNames()
	return g
}

// sort puts the towns with most people first; equals stay in their order.
func (g *gazetteer) sort() {
	keys := make([]uint64, len(g.towns))
	for i, t := range g.towns {
		keys[i] = uint64(math.MaxUint32-uint32(t.population))<<32 | uint64(i)
	}
	slices.Sort(keys)
	sorted := make([]town, len(keys))
	for k, key := range keys {
		sorted[k] = g.towns[uint32(key)]
	}
	g.towns = sorted
}

// decode reads places.bin.
func (g *gazetteer) decode(b []byte) {
	number := make(map[string]int, len(g.countries))
	for i, c := range g.countries {
		number[c.code] = i
	}
	g.towns = make([]town, 0, len(b)/12)
	name := make([]byte, 0, 256)
	for len(b) > 0 {
		at, ok := number[string(b[:2])]
		count, n := binary.Uvarint(b[2:])
		if !ok || n <= 0 {
			panic("place: places.bin is broken")
		}
		b = b[2+n:]
		regions := len(g.countries[at].regions) > 0
		for range count {
			keep, more := int(b[0]), int(b[1])
			name = append(name[:keep], b[2:2+more]...)
			b = b[2+more:]
			pop := binary.LittleEndian.Uint16(b[4:])
			t := town{name: string(name), lat: binary.LittleEndian.Uint16(b), lon: binary.LittleEndian.Uint16(b[2:]), country: uint8(at)}
			t.population = int(pop & (1<<13 - 1))
			for range pop >> 13 {
				t.population *= 10
			}
			b = b[6:]
			if regions {
				t.region, b = b[0], b[1:]
			}
			g.towns = append(g.towns, t)
		}
	}
}

// townAt returns the country of the town whose middle is at lat, lon, degrees.
func (g *gazetteer) townAt(lat, lon float64) (code string, ok bool) {
	y, x := math.Round((lat+90)/180*65535), math.Round((lon+180)/360*65535)
	if y < 0 || y > 65535 || x < 0 || x > 65535 {
		return "", false
	}
	p := [2]uint16{uint16(y), uint16(x)}
	i, ok := g.at[p]
	if !ok {
		return "", false
	}
	return g.countries[g.towns[i].country].code, true
}

// scope indexes the countries and regions.
func (g *gazetteer) scope() {
	add := func(s scope, names ...string) {
		for _, n := range names {
			if n = fold(n); n != "" && !slices.Contains(g.scopes[n], s) {
				g.scopes[n] = append(g.scopes[n], s)
			}
		}
	}
	i := 0
	for line := range strings.Lines(countriesText) {
		f := strings.Split(strings.TrimSpace(line), "\t")
		s := scope{country: uint8(i)}
		add(s, f[0], f[1])
		if len(f) > 2 {
			add(s, strings.Split(f[2], ";")...)
		}
		for k, r := range g.countries[i].regions {
			add(scope{uint8(i), uint8(k + 1)}, r.short, r.name)
		}
		i++
	}
}
