package diagnose

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"noonmark/internal/testkit"
)

// vt25 is kT/q at 25 °C, V, exact constants. Source: SI Brochure, 9th ed. (2019).
const vt25 = 1.380649e-23 / 1.602176634e-19 * 298.15

// lump is equal cells in series in a netlist, at their light and temperature.
type lump struct {
	n                int
	il, i0, rs, g, a float64 // of one cell; a in volts
	low              float64 // shunt below zero volts, S of one cell; 0: as g
	factor, vb, m    float64 // avalanche of one cell; factor 0: a diode's sharp breakdown at vb
	cut              bool    // open
	more             float64 // Ω in series of the lump
	leak             float64 // S over the lump
}

// bundle is lumps under one bypass path.
type bundle struct {
	lumps []lump
	diode bool
	each  bool // a diode over each cell
	short bool
}

// panel is a module in a netlist.
type panel struct {
	bundles []bundle
	dead    bool // shorted
	open    bool
	turned  bool
}

// row is panels in series.
type row struct {
	panels []panel
	joints []float64 // Ω before each panel and after the last
	cable  float64
	turned bool
}

// world is the array that is really there.
type world struct {
	rows   []row
	common float64
	leak   float64 // Ω over the array; 0: none
	cut    bool    // common cable open
}

// deck writes netlists.
type deck struct {
	strings.Builder
	node, part int
	diode      bypassDiode
}

func (d *deck) next() string { d.node++; return fmt.Sprintf("n%d", d.node) }
func (d *deck) id() int      { d.part++; return d.part }

func (d *deck) resistor(a, b string, r float64) {
	fmt.Fprintf(d, "R%d %s %s %.12g\n", d.id(), a, b, math.Max(1e-6, r))
}

// lumpOn writes a lump from the node at and returns its plus end.
func (d *deck) lumpOn(l lump, at string, each bool) string {
	j, head, id := d.next(), d.next(), d.id()
	n := float64(l.n)
	breakdown := ""
	if l.factor == 0 && l.vb > 0 {
		breakdown = fmt.Sprintf(" BV=%.9g IBV=1e-3", l.vb*n)
	}
	fmt.Fprintf(d, ".model DC%d D (IS=%.12g N=%.12g RS=0 XTI=0 EG=1.12%s)\n", id, l.i0, l.a*n/vt25, breakdown)
	fmt.Fprintf(d, "I%d %s %s DC %.12g\nD%d %s %s DC%d\n", id, at, j, l.il, id, j, at, id)
	if l.factor > 0 {
		u := fmt.Sprintf("v(%s,%s)", j, at)
		low := l.low
		if low == 0 {
			low = l.g
		}
		fmt.Fprintf(d, "B%d %s %s I = %s > 0 ? %s*%.12g : %s*%.12g*(1+%.9g*(max(0.03,1+%s/%.9g))^(-%.9g))\n", id, j, at, u, u, l.g/n, u, low/n, l.factor, u, l.vb*n, l.m)
	} else {
		d.resistor(j, at, n/math.Max(l.g, 1e-9))
	}
	if l.leak > 0 {
		d.resistor(j, at, 1/l.leak)
	}
	r := l.rs*n + l.more
	if l.cut {
		r = 1e13
	}
	fmt.Fprintf(d, "R%d %s %s %.12g\n", d.id(), j, head, r)
	if each {
		d.bypass(at, head, l.n)
	}
	return head
}

// panelOn writes a panel from the node at and returns its plus end.
func (d *deck) panelOn(p panel, at string) string {
	if p.turned { // its plus end is the string's minus side
		p.turned = false
		top := d.next()
		end := d.panelOn(p, top)
		d.resistor(end, at, 0)
		return top
	}
	if p.dead {
		end := d.next()
		d.resistor(at, end, 0)
		return end
	}
	for _, b := range p.bundles {
		foot := at
		if b.short {
			at = d.next()
			d.resistor(foot, at, 1e-3)
			continue
		}
		for _, l := range b.lumps {
			at = d.lumpOn(l, at, b.diode && b.each)
		}
		if b.diode && !b.each {
			d.bypass(foot, at, 1)
		}
	}
	if p.open {
		end := d.next()
		d.resistor(at, end, 1e13)
		return end
	}
	return at
}

// bypass writes a diode over n cells, anode at foot.
func (d *deck) bypass(foot, at string, n int) {
	fmt.Fprintf(d, "D%d %s %s DB%d\n.model DB%d D (IS=%.6g N=%.9g RS=%.6g XTI=0 EG=0.69)\n", d.id(), foot, at, d.part, d.part, d.diode.is, d.diode.n*float64(n), d.diode.rs*float64(n))
}

// bypassDiode is the curve of the bypass diodes of a netlist.
type bypassDiode struct{ is, n, rs float64 }

// rowOn writes a row from ground and returns its plus end, or its minus end where it is turned; probe is a
// source that reads its current. Ends are the nodes of joints and panels, from the minus end.
func (d *deck) rowOn(r row, probe string) (end string, ends []string) {
	base := d.next()
	if !r.turned {
		d.resistor(base, "0", 0)
	}
	at := base
	n := len(r.panels)
	for k := n - 1; k >= 0; k-- { // panels run from plus to minus
		a := d.next()
		d.resistor(at, a, r.joints[k+1])
		ends = append(ends, at, a)
		at = d.panelOn(r.panels[k], a)
	}
	a, b, c := d.next(), d.next(), d.next()
	d.resistor(at, a, r.joints[0])
	ends = append(ends, at, a)
	d.resistor(a, b, r.cable)
	fmt.Fprintf(d, "V%s %s %s DC 0\n", probe, b, c)
	if r.turned {
		d.resistor(c, "0", 0)
		return base, ends
	}
	return c, ends
}

// between is the volts from one node to another.
func between(a, b string) string { return "v(" + a + ")-v(" + b + ")" }

// seenBy is what the simulator finds in a world.
type seenBy struct {
	moduleOpen, moduleShort, covered [][]float64
	stringOpen, stringShort          []float64
	stringCovered                    []float64
	arrayOpen, arrayShort            float64
	v, i                             []float64   // the sweep at the charger's plugs
	lines                            [][]float64 // current of each row along the sweep
	joints                           [][][]float64
	over                             [][][]float64 // volts over each panel along the sweep
}

// meter is the resistance of a voltmeter here, Ω: of one that draws nothing.
const meter = 1e9

const wider = ".options reltol=1e-4 abstol=1e-8 vntol=1e-5 gmin=1e-12 itl1=2000 itl2=1000 temp=25 tnom=25\n"

const options = ".options reltol=1e-5 abstol=1e-9 vntol=1e-6 gmin=1e-15 itl1=1000 itl2=500 temp=25 tnom=25\n"

// newDeck begins a netlist.
func newDeck(diode bypassDiode) *deck {
	d := &deck{diode: diode}
	d.WriteString("* an array and its readings\n" + options)
	return d
}

// rest is the netlist of the readings at rest, a block for each, solved at once.
func (w world) rest(diode bypassDiode) testkit.Deck {
	d := newDeck(diode)
	var probes []string
	block := func(r []row, common, leak float64, cut bool, short bool) {
		name := fmt.Sprintf("Q%d", len(probes))
		end := d.join(r, common, cut, name)
		if leak > 0 {
			d.resistor(end, "0", leak)
		}
		if short {
			fmt.Fprintf(d, "VS%s %s 0 DC 0\n", name, end)
			probes = append(probes, fmt.Sprintf("i(VS%s)", name))
		} else {
			d.resistor(end, "0", meter)
			probes = append(probes, fmt.Sprintf("v(%s)", end))
		}
	}
	for _, r := range w.rows {
		for _, p := range r.panels {
			p.turned = false
			one := []row{{panels: []panel{p}, joints: []float64{0, 0}}}
			block(one, 0, 0, false, false)
			block(one, 0, 0, false, true)
			for n := range p.bundles { // each group covered in turn
				c := p
				c.bundles = slices.Clone(p.bundles)
				c.bundles[n].lumps = hide(c.bundles[n])
				block([]row{{panels: []panel{c}, joints: []float64{0, 0}}}, 0, 0, false, true)
			}
		}
		block([]row{r}, 0, 0, false, false)
		block([]row{r}, 0, 0, false, true)
		for m := range r.panels {
			for n := range r.panels[m].bundles {
				c := r
				c.panels = slices.Clone(r.panels)
				c.panels[m].bundles = slices.Clone(r.panels[m].bundles)
				c.panels[m].bundles[n].lumps = hide(c.panels[m].bundles[n])
				block([]row{c}, 0, 0, false, true)
			}
		}
	}
	block(w.rows, w.common, w.leak, w.cut, false)
	block(w.rows, w.common, w.leak, w.cut, true)
	return testkit.Deck{Circuit: d.String(), Analysis: "op", Vectors: probes}
}

// working is the netlist of the working array, swept to its open volts in so many points: beyond, it would
// be driven, far from where it is read.
func (w world) working(top float64, points int, diode bypassDiode) testkit.Deck {
	var live []string
	d := newDeck(diode)
	bus := d.next()
	for k, r := range w.rows {
		end, ends := d.rowOn(r, fmt.Sprintf("W%d", k))
		d.resistor(end, bus, 0)
		live = append(live, fmt.Sprintf("i(VW%d)", k))
		for j := 0; j+1 < len(ends); j += 2 {
			live = append(live, between(ends[j], ends[j+1]))
		}
		for j := 1; j+1 < len(ends); j += 2 {
			live = append(live, between(ends[j+1], ends[j]))
		}
	}
	load := d.next()
	common := w.common
	if w.cut {
		common = 1e13
	}
	d.resistor(bus, load, common)
	if w.leak > 0 {
		d.resistor(load, "0", w.leak)
	}
	fmt.Fprintf(d, "VLOAD %s 0 DC 0\n", load)
	return testkit.Deck{Circuit: d.String(), Analysis: fmt.Sprintf("dc VLOAD 0 %.9g %.9g", top, top/float64(points)), Vectors: append([]string{"i(VLOAD)"}, live...)}
}

// join writes rows in parallel behind a common resistance.
func (d *deck) join(rows []row, common float64, cut bool, name string) string {
	bus := d.next()
	for k, r := range rows {
		end, _ := d.rowOn(r, fmt.Sprintf("%s_%d", name, k))
		d.resistor(end, bus, 0)
	}
	out := d.next()
	if cut {
		common = 1e13
	}
	d.resistor(bus, out, common)
	return out
}

// hide covers a bundle, or one cell of one with a diode over each: 3 % of the light comes through.
func hide(b bundle) []lump {
	out := slices.Clone(b.lumps)
	if !b.each {
		for k := range out {
			out[k].il *= 0.03
		}
		return out
	}
	l := out[0]
	one, rest := l, l
	one.n, one.il, one.more, one.cut = 1, 0.03*l.il, l.more/float64(l.n), false
	one.leak = l.leak * float64(l.n)
	rest.n--
	if rest.n == 0 {
		one.cut, one.more = l.cut, l.more
		out[0] = one
		return out
	}
	rest.leak = l.leak * float64(l.n) / float64(rest.n)
	rest.more = l.more - one.more
	return append([]lump{one, rest}, out[1:]...)
}

// asked is a world with its diodes, to be simulated.
type asked struct {
	world world
	diode bypassDiode
	top   float64 // the sweep ends here at the latest, V
}

// simulate runs worlds, those that the simulator could not solve once more with wider limits; nil stays for
// one that it could not solve at all.
func simulate(t testing.TB, program string, worlds []asked, points int) []*seenBy {
	t.Helper()
	twice := func(decks []testkit.Deck, rows int) [][][]float64 {
		out := testkit.Decks(t, program, decks)
		for k := range decks {
			if len(out[k]) < rows && decks[k].Circuit != "" {
				decks[k].Circuit = strings.Replace(decks[k].Circuit, options, wider, 1)
				out[k] = testkit.Decks(t, program, decks[k:k+1])[0]
			}
		}
		return out
	}
	var at, work []testkit.Deck
	for _, w := range worlds {
		at = append(at, w.world.rest(w.diode))
	}
	still := twice(at, 1)
	for k, w := range worlds {
		if len(still[k]) != 1 {
			work = append(work, testkit.Deck{Analysis: "op"})
			continue
		}
		work = append(work, w.world.working(math.Min(w.top, math.Max(0.5, still[k][0][len(at[k].Vectors)-1])), points, w.diode))
	}
	swept := twice(work, points)
	out := make([]*seenBy, len(worlds))
	for k, w := range worlds {
		if len(still[k]) == 1 && len(swept[k]) >= points {
			out[k] = w.world.seen(still[k][0], swept[k])
		}
	}
	return out
}

// seen turns what the simulator wrote into readings. Those that do not depend on the sweep are of the first
// table.
func (w world) seen(still []float64, table [][]float64) *seenBy {
	column := func(at int, sign float64) []float64 {
		c := make([]float64, len(table))
		for k := range table {
			c[k] = sign * table[k][at]
		}
		return c
	}
	s := &seenBy{v: column(0, 1), i: column(1, 1)}
	at := 2
	for _, r := range w.rows {
		sign := 1.0
		if r.turned {
			sign = -1
		}
		s.lines = append(s.lines, column(at, sign))
		at++
		n := len(r.panels)
		joints, over := make([][]float64, n+1), make([][]float64, n)
		for j := range n + 1 { // written from the minus end
			joints[n-j] = column(at, 1)
			at++
		}
		for j := range n {
			over[n-1-j] = column(at, 1)
			at++
		}
		s.joints, s.over = append(s.joints, joints), append(s.over, over)
	}
	at = 0
	take := func() float64 { at++; return still[at] }
	for _, r := range w.rows {
		var o, sh, cv []float64
		for _, p := range r.panels {
			o, sh = append(o, take()), append(sh, take())
			least := math.Inf(1)
			for range p.bundles {
				least = math.Min(least, take())
			}
			cv = append(cv, least)
		}
		s.moduleOpen, s.moduleShort, s.covered = append(s.moduleOpen, o), append(s.moduleShort, sh), append(s.covered, cv)
		s.stringOpen, s.stringShort = append(s.stringOpen, take()), append(s.stringShort, take())
		least := s.stringShort[len(s.stringShort)-1]
		for _, p := range r.panels {
			for range p.bundles {
				if i := take(); math.Abs(i) < math.Abs(least) {
					least = i
				}
			}
		}
		s.stringCovered = append(s.stringCovered, least)
	}
	s.arrayOpen, s.arrayShort = take(), take()
	return s
}
