package choose

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// text is a string: its charger and its modules, by their place in the set.
type text struct {
	charger int
	modules []int
}

// wirings returns a set in every wiring worth a look, allowed or not: on one charger in series, in parallel, in
// equal strings and in a string for each type on each surface; on two chargers, those strings apart or, of alike
// modules, one half each. The set is put in order: alike modules beside each other, by falling worth.
func wirings(b *build.Build, set []spot) []*Candidate {
	set = slices.Clone(set)
	slices.SortStableFunc(set, func(p, q spot) int {
		return cmp.Or(cmp.Compare(p.kind, q.kind), cmp.Compare(p.surface, q.surface), cmp.Compare(q.worth(), p.worth()))
	})
	n := len(set)
	all := make([]int, n)
	var alike [][]int
	for i := range set {
		all[i] = i
		if i == 0 || set[i].kind != set[i-1].kind || set[i].surface != set[i-1].surface {
			alike = append(alike, nil)
		}
		alike[len(alike)-1] = append(alike[len(alike)-1], i)
	}
	what, key := composition(b, set), key(set)
	var out []*Candidate
	add := func(wiring string, texts ...text) {
		out = append(out, &Candidate{What: what + ", " + wiring, Type: set[0].kind, Count: n, Wiring: wiring, set: set, texts: texts, key: key + wiring})
	}
	for c := range b.Chargers {
		on := ""
		if len(b.Chargers) > 1 {
			on = " on " + b.Chargers[c].Name
		}
		for length := n; length >= 1; length-- {
			if n%length != 0 {
				continue
			}
			var texts []text
			for i := 0; i < n; i += length {
				texts = append(texts, text{c, all[i : i+length]})
			}
			add(inStrings(n, length)+on, texts...)
		}
		if len(alike) > 1 && uneven(alike) { // strings of one length are there already
			var texts []text
			for _, a := range alike {
				texts = append(texts, text{c, a})
			}
			add("a string for each kind, in parallel"+on, texts...)
		}
	}
	if len(b.Chargers) < 2 || n < 2 {
		return out
	}
	first, second := all[:(n+1)/2], all[(n+1)/2:]
	if len(alike) == 2 {
		first, second = alike[0], alike[1]
	}
	for _, order := range [][2]int{{0, 1}, {1, 0}} {
		add(fmt.Sprintf("%s, %s", onCharger(len(first), &b.Chargers[order[0]]), onCharger(len(second), &b.Chargers[order[1]])), text{order[0], first}, text{order[1], second})
	}
	return out
}

// onCharger names n modules in series on one of two chargers.
func onCharger(n int, c *build.Charger) string {
	if n == 1 {
		return "1 on " + c.Name
	}
	return fmt.Sprintf("%d in series on %s", n, c.Name)
}

// uneven reports whether lists differ in length.
func uneven(lists [][]int) bool {
	return slices.ContainsFunc(lists, func(l []int) bool { return len(l) != len(lists[0]) })
}

// key is the same for the same places, in any order.
func key(set []spot) string {
	ids := make([]int32, len(set))
	for i := range set {
		ids[i] = set[i].id
	}
	slices.Sort(ids)
	out := make([]byte, 0, 4*len(ids)+16)
	for _, id := range ids {
		out = binary.LittleEndian.AppendUint32(out, uint32(id))
	}
	return string(out)
}

// inStrings names n modules in strings of a length.
func inStrings(n, length int) string {
	switch {
	case n == 1:
		return "alone"
	case length == n:
		return "in series"
	case length == 1:
		return "in parallel"
	case length == 2:
		return "pairs in series, the pairs in parallel"
	}
	return fmt.Sprintf("%d strings of %d in parallel", n/length, length)
}

// composition names what modules a set has: "2 × foil-95 + 1 × glass-100".
func composition(b *build.Build, set []spot) string {
	var parts []string
	for i := 0; i < len(set); {
		k := i
		for k < len(set) && set[k].kind == set[i].kind {
			k++
		}
		parts = append(parts, fmt.Sprintf("%d × %s", k-i, b.Types[set[i].kind].Name))
		i = k
	}
	return strings.Join(parts, " + ")
}

// wired is the candidate's array of the tiles that of gives for its modules.
func (c *Candidate) wired(chargers int, of func(spot) *forecast.Tile) forecast.Wired {
	w := make(forecast.Wired, chargers)
	for _, t := range c.texts {
		tiles := make([]*forecast.Tile, len(t.modules))
		for i, k := range t.modules {
			tiles[i] = of(c.set[k])
		}
		w[t.charger] = append(w[t.charger], tiles)
	}
	return w
}

// feet is the gap under glass on feet. Source: common practice, no source.
const feet = 20 * quantity.Millimetre

// heldAs says how a type's modules are held: as the first of b with a front of the same kind, and else glass on
// feet, films bonded; like is the module of b whose mounting holds.
func heldAs(b *build.Build, t int) (how build.Attachment, gap quantity.Length, like int) {
	for i := range b.Modules {
		if m := &b.Modules[i]; glass(&b.Types[m.Type]) == glass(&b.Types[t]) {
			return m.Attachment, m.Gap, i
		}
	}
	if glass(&b.Types[t]) {
		return build.StandOff, feet, 0
	}
	return build.Bonded, 0, 0
}

func glass(t *build.ModuleType) bool {
	return t.Front == build.FloatGlass || t.Front == build.TexturedGlass
}

// of returns the candidate's build of b: its modules held as heldAs says, on the chargers it uses, each with the
// cables of the first string it has in b.
func (c *Candidate) of(b *build.Build) *build.Build {
	v := *b
	v.Modules, v.Strings, v.Chargers, v.Mounting.Mounts = nil, nil, nil, nil
	count := map[int]int{}
	for _, p := range c.set {
		count[p.kind]++
		m := p.module(b)
		m.Name = fmt.Sprintf("%s %d", b.Types[p.kind].Name, count[p.kind])
		v.Modules = append(v.Modules, m)
		if len(b.Mounting.Mounts) > 0 {
			_, _, like := heldAs(b, p.kind)
			v.Mounting.Mounts = append(v.Mounting.Mounts, b.Mounting.Mounts[like])
		}
	}
	for k := range b.Chargers {
		charger := b.Chargers[k]
		like := &b.Strings[0]
		if len(charger.Strings) > 0 {
			like = &b.Strings[charger.Strings[0]]
		}
		charger.Strings = nil
		for _, t := range c.texts {
			if t.charger == k {
				charger.Strings = append(charger.Strings, len(v.Strings))
				v.Strings = append(v.Strings, build.String{Name: fmt.Sprint(len(v.Strings) + 1), Modules: slices.Clone(t.modules), Cable: like.Cable, Blocking: like.Blocking})
			}
		}
		if len(charger.Strings) > 0 {
			v.Chargers = append(v.Chargers, charger)
		}
	}
	return &v
}

// weigh fills in power, mass and money of the modules.
func (c *Candidate) weigh() {
	money, priced := 0.0, true
	for i := range c.Build.Modules {
		t := &c.Build.Types[c.Build.Modules[i].Type]
		c.Power += t.Pmax
		c.Mass += t.Mass
		if t.Price != nil {
			money += *t.Price
		} else {
			priced = false
		}
	}
	if priced {
		c.Money = &money
	}
}
