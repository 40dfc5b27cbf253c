package diagnose

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
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

// write returns two netlists of a world: one whose blocks are the readings at rest, solved at once, and one
// of the working array, swept in points steps.
func (w world) write(out string, top float64, points int, diode bypassDiode) (op, sweep string, constants, moving int) {
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
			c := p
			c.bundles = nil
			for _, b := range p.bundles {
				b.lumps = hide(b.lumps)
				c.bundles = append(c.bundles, b)
			}
			block([]row{{panels: []panel{c}, joints: []float64{0, 0}}}, 0, 0, false, true)
		}
		block([]row{r}, 0, 0, false, false)
		block([]row{r}, 0, 0, false, true)
	}
	block(w.rows, w.common, w.leak, w.cut, false)
	block(w.rows, w.common, w.leak, w.cut, true)
	steady := d
	fmt.Fprintf(steady, "%sop\nwrdata %s.op %s\nquit\n.endc\n.end\n", commands, out, strings.Join(probes, " "))
	// The working array, by itself.
	var live []string
	d = newDeck(diode)
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
	fmt.Fprintf(d, "%sdc VLOAD 0 %.9g %.9g\nwrdata %s.txt i(VLOAD) %s\nquit\n.endc\n.end\n", commands, top, top/float64(points), out, strings.Join(live, " "))
	return steady.String(), d.String(), len(probes), len(live)
}

const commands = ".control\nset noaskquit\nset numdgt=9\nset wr_singlescale\n"

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

// hide covers one cell of a bundle: a lump of its own, at 3 % of its light.
func hide(in []lump) []lump {
	out := append([]lump(nil), in...)
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

// run simulates a world. The readings that do not depend on the sweep are taken from its first point.
func (w world) run(t testing.TB, program, dir, name string, top float64, points int, diode bypassDiode) (*seenBy, error) {
	t.Helper()
	out := filepath.Join(dir, name)
	op, _, constants, _ := w.write(out, top, points, diode)
	still, err := simulate(program, out, op, ".op", constants)
	if err != nil {
		return nil, err
	}
	if len(still) != 1 {
		return nil, fmt.Errorf("ngspice gave no operating point")
	}
	// Beyond its open volts the array would be driven, far from where it is read.
	top = math.Min(top, math.Max(0.5, still[0][constants-1]))
	_, sweep, _, moving := w.write(out, top, points, diode)
	table, err := simulate(program, out, sweep, ".txt", moving+1)
	if err != nil {
		return nil, err
	}
	if len(table) < points {
		return nil, fmt.Errorf("ngspice gave %d of %d points", len(table), points)
	}
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
	take := func() float64 { at++; return still[0][at] }
	for _, r := range w.rows {
		var o, sh, cv []float64
		for range r.panels {
			o, sh, cv = append(o, take()), append(sh, take()), append(cv, take())
		}
		s.moduleOpen, s.moduleShort, s.covered = append(s.moduleOpen, o), append(s.moduleShort, sh), append(s.covered, cv)
		s.stringOpen, s.stringShort = append(s.stringOpen, take()), append(s.stringShort, take())
	}
	s.arrayOpen, s.arrayShort = take(), take()
	return s, nil
}

// simulate runs a netlist and returns the rows it wrote, the scale first.
func simulate(program, out, text, ending string, columns int) ([][]float64, error) {
	file := out + ".cir"
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		return nil, err
	}
	said, err := exec.Command(program, "-b", file).CombinedOutput()
	if _, missing := os.Stat(out + ending); missing != nil { // once more, with wider limits
		if err := os.WriteFile(file, []byte(strings.Replace(text, options, wider, 1)), 0o600); err != nil {
			return nil, err
		}
		said, err = exec.Command(program, "-b", file).CombinedOutput()
	}
	data, missing := os.ReadFile(out + ending)
	if missing != nil {
		return nil, fmt.Errorf("ngspice: %v %v\n%s", err, missing, said)
	}
	if err := os.Remove(out + ending); err != nil {
		return nil, err
	}
	var table [][]float64
	for lines := scanner(data); lines.Scan(); {
		f := strings.Fields(lines.Text())
		if len(f) != columns+1 {
			return nil, fmt.Errorf("ngspice wrote %d columns, want %d: %.200s", len(f), columns+1, lines.Text())
		}
		row := make([]float64, len(f))
		for k, x := range f {
			if row[k], err = strconv.ParseFloat(x, 64); err != nil {
				return nil, err
			}
		}
		table = append(table, row)
	}
	return table, nil
}

// ngspice returns the program, or skips.
func ngspice(t testing.TB) string {
	t.Helper()
	program, err := exec.LookPath("ngspice")
	if err != nil {
		if os.Getenv("CI") != "" || os.Getenv("NOONMARK_CHECKS") != "" {
			t.Fatal("ngspice is not installed; ./test installs it")
		}
		t.Skip("not run: ngspice is not installed")
	}
	return program
}

// scanner reads long lines.
func scanner(data []byte) *bufio.Scanner {
	s := bufio.NewScanner(bytes.NewReader(data))
	s.Buffer(nil, 1<<20)
	return s
}
