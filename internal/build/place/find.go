package place

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"noonmark/internal/base/quantity"
)

// ErrUnknown says that the gazetteer has no town of that name there.
var ErrUnknown = errors.New("no such town in the gazetteer")

// Found is a town of the gazetteer: all of 15,000 people and more, seats of first-order regions, and
// smaller ones where no larger lies within 25 km.
type Found struct {
	Name                string
	Country             string // ISO 3166-1 code of two letters
	CountryName         string // in English
	Region              string // short name of the state or province, "UT"; "" outside the US, CA, AU and GB
	Latitude, Longitude quantity.Angle
	Population          int
}

// String returns name, region and country: "Moab, UT, US".
func (f Found) String() string {
	if f.Region != "" {
		return f.Name + ", " + f.Region + ", " + f.Country
	}
	return f.Name + ", " + f.Country
}

const (
	longest = 100 // bytes of a query
	most    = 10  // others returned
	nearest = 3   // spellings suggested
)

// Find returns the town a query names, and up to ten others it may mean, from most people. Case and
// accents do not count; a country (code or English name) or a state may follow, "Évora, PT", "moab
// utah us". When there is none the error wraps ErrUnknown and suggests spellings.
func Find(query string) (best Found, others []Found, err error) {
	if len(query) > longest {
		return Found{}, nil, fmt.Errorf("%w: the name is over %d bytes long", ErrUnknown, longest)
	}
	g := gazette()
	name, within, unread := g.split(query)
	if unread != "" {
		err := fmt.Errorf("%w: %q is no country, state or province known here", ErrUnknown, unread)
		if l := g.match(name); len(l) > 0 {
			err = fmt.Errorf("%w; known: %s", err, g.list(l[:min(nearest, len(l))]))
		}
		return Found{}, nil, err
	}
	if name == "" {
		return Found{}, nil, fmt.Errorf("%w: the name is empty", ErrUnknown)
	}
	all := g.match(name)
	hits := g.within(all, within)
	if len(hits) == 0 {
		switch near := g.similar(name, within); {
		case len(all) > 0:
			return Found{}, nil, fmt.Errorf("%w: none of that name there; known: %s", ErrUnknown, g.list(all[:min(nearest, len(all))]))
		case len(within) == 0 && g.scopes[name] != nil:
			return Found{}, nil, fmt.Errorf("%w: that is a country, state or province; name a town in it", ErrUnknown)
		case len(near) > 0:
			return Found{}, nil, fmt.Errorf("%w; most like it: %s; or give latitude, longitude", ErrUnknown, g.list(near))
		}
		return Found{}, nil, fmt.Errorf("%w; give a larger town near it, or latitude, longitude", ErrUnknown)
	}
	for _, i := range hits[1:min(len(hits), most+1)] {
		others = append(others, g.found(i))
	}
	return g.found(hits[0]), others, nil
}

// split parts a query into the folded name and what it must lie in, one list of scopes for each
// qualifier. unread is a qualifier after a comma that names no country or region.
func (g *gazetteer) split(query string) (name string, within [][]scope, unread string) {
	whole := fold(query)
	if len(g.byName[whole]) > 0 {
		return whole, nil, ""
	}
	parts := strings.Split(query, ",")
	name = fold(parts[0])
	for _, p := range parts[1:] {
		f := fold(p)
		if f == "" {
			continue
		}
		s := g.scopes[f]
		if s == nil {
			s = g.scopes[strings.ReplaceAll(f, " ", "")] // "U.S.", "D.C."
		}
		if s == nil {
			return name, nil, strings.TrimSpace(p)
		}
		within = append(within, s)
	}
	// Without commas: take countries and regions off the end while what is left is no town.
	for len(g.match(name)) == 0 {
		words := strings.Fields(name)
		taken := false
		for k := max(1, len(words)-5); k < len(words); k++ {
			if s := g.scopes[strings.Join(words[k:], " ")]; s != nil {
				name, within, taken = strings.Join(words[:k], " "), append(within, s), true
				break
			}
		}
		if !taken {
			break
		}
	}
	return name, within, ""
}

// match returns the towns of a folded name, then those whose name goes on after it, each from most
// people.
func (g *gazetteer) match(name string) []int32 {
	if name == "" {
		return nil
	}
	out := slices.Clone(g.byName[name])
	exact := len(out)
	begin := name + " "
	for i, f := range g.folded {
		if strings.HasPrefix(f, begin) && !slices.Contains(out[:exact], int32(i)) {
			out = append(out, int32(i))
		}
	}
	return out
}

// within returns those of list that lie in one scope of each qualifier.
func (g *gazetteer) within(list []int32, qualifiers [][]scope) []int32 {
	var out []int32
	for _, i := range list {
		t, in := &g.towns[i], true
		for _, q := range qualifiers {
			in = in && slices.ContainsFunc(q, func(s scope) bool { return s.country == t.country && (s.region == 0 || s.region == t.region) })
		}
		if in {
			out = append(out, i)
		}
	}
	return out
}

// similar returns the towns whose spelling is nearest to a folded name, at most a third of it away.
func (g *gazetteer) similar(name string, qualifiers [][]scope) []int32 {
	limit := min(3, max(1, len(name)/3))
	var near [4][]int32
	var rows [3][]int
	target := []byte(name)
	buffer := make([]byte, 0, 128)
	for i, f := range g.folded {
		buffer = append(buffer[:0], f...)
		if d := distance(buffer, target, limit, &rows); d <= limit {
			near[d] = append(near[d], int32(i))
		}
	}
	var out []int32
	for _, l := range near {
		out = append(out, g.within(l, qualifiers)...)
	}
	if len(out) == 0 {
		for _, l := range near {
			out = append(out, l...)
		}
	}
	return out[:min(nearest, len(out))]
}

// list prints towns for a message.
func (g *gazetteer) list(towns []int32) string {
	var names []string
	for _, i := range towns {
		names = append(names, g.found(i).String())
	}
	return strings.Join(names, "; ")
}

// found returns town i as the caller sees it.
func (g *gazetteer) found(i int32) Found {
	t := &g.towns[i]
	c := &g.countries[t.country]
	f := Found{Name: t.name, Country: c.code, CountryName: c.name, Population: t.population,
		Latitude:  quantity.Angle(float64(t.lat)/65535*180-90) * quantity.Degree,
		Longitude: quantity.Angle(float64(t.lon)/65535*360-180) * quantity.Degree}
	if t.region > 0 {
		f.Region = c.regions[t.region-1].short
	}
	return f
}
