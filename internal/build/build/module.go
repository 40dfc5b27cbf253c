package build

import (
	"fmt"
	"math"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/catalog"
)

// custom is what modules of a technology have in common: temperature coefficients in %/K, efficiency at
// 200 W/m² over that at 1000, ratios of the label's points, volts of a cell, and how they are made.
// Source: vehicle tables, section 6, for coefficients and low light (most from memory); handbook E6
// for the ratios; mass and power by area from handbook B5 and practice.
type custom struct {
	pmax, voc, isc      float64 // %/K
	lowLight            float64
	vmpOfVoc, impOfIsc  float64
	cellVoc             float64 // V
	wattsPerM2, kgPerM2 float64
	front               FrontMaterial
	most                float64 // W per m² of gross area that no such module reaches
	vocLow, vocHigh     float64 // Voc/Vmp of sound labels
	iscLow, iscHigh     float64 // Isc/Imp
	perCell             bool
}

var customs = map[Technology]custom{
	MonoPERC:         {-0.35, -0.28, 0.05, 0.97, 0.835, 0.945, 0.68, 195, 11, FloatGlass, 250, 1.12, 1.30, 1.02, 1.12, false},
	MonoTOPCon:       {-0.30, -0.25, 0.045, 0.97, 0.845, 0.945, 0.71, 205, 11, FloatGlass, 250, 1.12, 1.30, 1.02, 1.12, false},
	Heterojunction:   {-0.28, -0.24, 0.04, 0.97, 0.845, 0.945, 0.735, 205, 11, FloatGlass, 250, 1.12, 1.30, 1.02, 1.12, false},
	RearContact:      {-0.29, -0.25, 0.05, 0.97, 0.845, 0.94, 0.72, 205, 3, Fluoropolymer, 250, 1.12, 1.30, 1.02, 1.12, false},
	Poly:             {-0.41, -0.31, 0.055, 0.95, 0.815, 0.94, 0.615, 160, 11, FloatGlass, 220, 1.12, 1.32, 1.02, 1.12, false},
	FlexibleMono:     {-0.38, -0.30, 0.05, 0.93, 0.825, 0.94, 0.66, 175, 3, Fluoropolymer, 250, 1.12, 1.32, 1.02, 1.12, false},
	CIGS:             {-0.36, -0.30, 0.01, 0.93, 0.775, 0.90, 0.68, 140, 12, FloatGlass, 200, 1.15, 1.42, 1.04, 1.27, false},
	CIGSFoil:         {-0.36, -0.30, 0.01, 0.93, 0.770, 0.89, 0.675, 140, 2.8, Fluoropolymer, 200, 1.15, 1.42, 1.04, 1.27, true},
	CdTe:             {-0.28, -0.26, 0.04, 0.96, 0.78, 0.91, 0.85, 150, 14, FloatGlass, 210, 1.15, 1.42, 1.04, 1.27, false},
	AmorphousSilicon: {-0.20, -0.30, 0.08, 0.95, 0.75, 0.85, 0.90, 65, 4, Fluoropolymer, 120, 1.20, 1.55, 1.05, 1.40, false},
}

// customSource names where the customs come from.
const customSource = "tables by technology, mostly from memory"

func (r *resolver) types() {
	for i := range r.doc.Types {
		r.build.Types = append(r.build.Types, r.moduleType(&r.doc.Types[i], "types."+r.doc.Types[i].Name))
	}
}

// ClassType returns a module type of a class of the catalogue, and whether there is such a class.
func ClassType(name string) (ModuleType, bool) {
	r := &resolver{doc: &Document{}, build: &Build{}}
	t := r.moduleType(&TypeDoc{Name: name, Like: &name}, "types."+name)
	return t, r.problems.Len() == 0
}

// like copies a class of the catalogue under what was written.
func (r *resolver) like(d *TypeDoc, at string) {
	if d.Like == nil {
		return
	}
	var names []string
	for _, c := range catalog.Modules() {
		names = append(names, c.Name)
		if c.Name != *d.Like {
			continue
		}
		if d.Pmax == nil && d.Voc == nil && d.Isc == nil && d.Vmp == nil && d.Imp == nil {
			d.Pmax, d.Voc, d.Isc, d.Vmp, d.Imp = &c.Pmax, &c.Voc, &c.Isc, &c.Vmp, &c.Imp
			if d.Rows == nil && d.Columns == nil {
				d.Rows, d.Columns = &c.Rows, &c.Columns
			}
		}
		if d.Technology == nil {
			d.Technology = &c.Technology
		}
		if d.Size == nil {
			d.Size = &SizeDoc{c.Length, c.Width}
		}
		if d.Mass == nil {
			d.Mass = &c.Mass
		}
		if d.Bypass == nil {
			d.Bypass = &c.Groups
		}
		if d.PerCell == nil {
			d.PerCell = &c.PerCell
		}
		r.assume(at, "class "+c.Name+": "+c.Line, "no label was given", c.Source.String())
		return
	}
	r.index(*d.Like, at+".like", "class of module in the catalogue", names)
}

func (r *resolver) moduleType(written *TypeDoc, at string) ModuleType {
	own := *written
	d := &own
	before := r.problems.Len()
	if r.like(d, at); r.problems.Len() > before {
		return ModuleType{Name: d.Name}
	}
	if d.Technology == nil {
		r.assume(at+".technology", MonoPERC.String(), "the commonest cell", customary)
	}
	t := ModuleType{Name: d.Name, Technology: choice(r, d.Technology, at+".technology", techWords, MonoPERC)}
	c := customs[t.Technology]
	r.points(d, &t, c, at)
	if r.problems.Len() > before {
		return t
	}
	t.PmaxCoefficient = r.coefficient(d.PmaxCoefficient, at+".pmax_coefficient", "W", t.Pmax.Watts(), c.pmax)
	t.VocCoefficient = r.coefficient(d.VocCoefficient, at+".voc_coefficient", "V", t.Voc.Volts(), c.voc)
	t.IscCoefficient = r.coefficient(d.IscCoefficient, at+".isc_coefficient", "A", t.Isc.Amperes(), c.isc)
	if k := t.PmaxCoefficient.PercentPerKelvin(); k >= 0 || k < -1 {
		likely := ""
		if k > 0 {
			likely = fmt.Sprintf("%.4g %%/K", -k)
		}
		r.say(at+".pmax_coefficient", "a power coefficient below zero: a hot module gives less", likely)
	}
	if k := t.VocCoefficient.PercentPerKelvin(); k >= 0 || k < -1 {
		r.say(at+".voc_coefficient", "a voltage coefficient below zero, above -1 %/K", "")
	}
	tol := or(r, d.Tolerance, at+".tolerance", 3*quantity.Percent, "most labels", customary)
	if tol < 0 || tol > 20*quantity.Percent {
		r.wrong(at+".tolerance", "0 to 20 %%")
	}
	t.ToleranceLow, t.ToleranceHigh = -tol, tol
	t.LowLight = or(r, d.LowLight, at+".low_light", quantity.Ratio(c.lowLight), "typical of "+t.Technology.String(), customSource)
	if t.LowLight < 50*quantity.Percent || t.LowLight > 110*quantity.Percent {
		r.wrong(at+".low_light", "50 %% to 110 %%: the efficiency at 200 W/m² over that at 1000 W/m²")
	}
	r.body(d, &t, c, at)
	r.grid(d, &t, c, at)
	t.Connector, t.Price, t.WarrantyYears, t.MaxFuse = quiet(d.Connector, ""), d.Price, quiet(d.Warranty, 0), d.MaxFuse
	t.MinBendRadius = quiet(d.BendRadius, 0)
	t.Thickness, t.MaxSpan = d.Thickness, d.MaxSpan
	r.within(d.Thickness, at+".thickness", 0, 100*quantity.Millimetre)
	r.within(d.MaxSpan, at+".max_span", 0, 2*quantity.Metre)
	return t
}

// say records a problem with what is most likely meant.
func (r *resolver) say(path, want, likely string) {
	r.problems.Add(problem.Problem{Path: path, Want: want, Likely: likely})
}

func (r *resolver) coefficient(c *quantity.Coefficient, path, unit string, reference, def float64) quantity.PerKelvin {
	if c != nil {
		if of := c.Of(); of != "" && of != unit {
			r.wrong(path, "a coefficient in %%/K or in m%s/K: this one is of another quantity", unit)
			return quantity.PerKelvin(def / 100)
		}
		return c.Relative(reference)
	}
	k := quantity.PerKelvin(def / 100)
	r.assume(path, k.String(), "typical of the technology", customSource)
	return k
}

// points reads the label's points, fills in those that follow from the others, and checks them.
func (r *resolver) points(d *TypeDoc, t *ModuleType, c custom, at string) {
	before := r.problems.Len()
	positive := func(v *float64, path string) {
		if v != nil && !(*v > 0) {
			r.wrong(path, "above zero")
		}
	}
	positive((*float64)(d.Pmax), at+".pmax")
	positive((*float64)(d.Voc), at+".voc")
	positive((*float64)(d.Isc), at+".isc")
	positive((*float64)(d.Vmp), at+".vmp")
	positive((*float64)(d.Imp), at+".imp")
	if r.problems.Len() > before {
		return
	}
	if d.Pmax == nil && (d.Vmp == nil || d.Imp == nil) {
		r.wrong(at, "watts at least (pmax), or working volts and amperes (vmp, imp)")
		return
	}
	if d.Pmax == nil {
		t.Pmax = quantity.Power(d.Vmp.Volts() * d.Imp.Amperes())
		r.assume(at+".pmax", t.Pmax.String(), "vmp × imp", "label")
	} else {
		t.Pmax = *d.Pmax
	}
	r.volts(d, t, c, at)
	if p := t.Vmp.Volts() * t.Imp.Amperes(); math.Abs(p/t.Pmax.Watts()-1) > 0.03 {
		r.say(at+".pmax", fmt.Sprintf("vmp × imp, which is %.4g W, within 3 %% of pmax, %.4g W", p, t.Pmax.Watts()), fmt.Sprintf("%.4g W", p))
	}
	if t.Voc <= t.Vmp {
		r.say(at+".voc", fmt.Sprintf("an open voltage above the working voltage, %.4g V", t.Vmp.Volts()), "the two swapped")
	} else if x := t.Voc.Volts() / t.Vmp.Volts(); x < c.vocLow || x > c.vocHigh {
		r.wrong(at+".voc", "voc between %.2f and %.2f of vmp for %s, not %.2f", c.vocLow, c.vocHigh, t.Technology, x)
	}
	if t.Isc <= t.Imp {
		r.say(at+".isc", fmt.Sprintf("a short-circuit current above the working current, %.4g A", t.Imp.Amperes()), "the two swapped")
	} else if x := t.Isc.Amperes() / t.Imp.Amperes(); x < c.iscLow || x > c.iscHigh {
		r.wrong(at+".isc", "isc between %.2f and %.2f of imp for %s, not %.2f", c.iscLow, c.iscHigh, t.Technology, x)
	}
}

// volts fills in the points that were not written.
func (r *resolver) volts(d *TypeDoc, t *ModuleType, c custom, at string) {
	why := "typical of the technology"
	take := func(written *float64, path string, def float64, unit string) float64 {
		if written != nil {
			return *written
		}
		def = math.Round(def*1000) / 1000
		r.assume(path, fmt.Sprintf("%.4g %s", def, unit), why, customSource)
		return def
	}
	vmp := 18.5
	switch {
	case d.Vmp != nil:
		vmp = d.Vmp.Volts()
	case d.Imp != nil:
		vmp = t.Pmax.Watts() / d.Imp.Amperes()
	case d.Voc != nil && d.Isc != nil:
		// What the label's fill factor differs from the usual is shared by volts and amperes.
		usual := c.vmpOfVoc * c.impOfIsc
		vmp = d.Voc.Volts() * c.vmpOfVoc * math.Sqrt(t.Pmax.Watts()/(d.Voc.Volts()*d.Isc.Amperes()*usual))
	case d.Voc != nil:
		vmp = d.Voc.Volts() * c.vmpOfVoc
	case d.Isc != nil:
		vmp = t.Pmax.Watts() / (d.Isc.Amperes() * c.impOfIsc)
	}
	t.Vmp = quantity.Voltage(take((*float64)(d.Vmp), at+".vmp", vmp, "V"))
	t.Imp = quantity.Current(take((*float64)(d.Imp), at+".imp", t.Pmax.Watts()/t.Vmp.Volts(), "A"))
	t.Voc = quantity.Voltage(take((*float64)(d.Voc), at+".voc", t.Vmp.Volts()/c.vmpOfVoc, "V"))
	t.Isc = quantity.Current(take((*float64)(d.Isc), at+".isc", t.Imp.Amperes()/c.impOfIsc, "A"))
}

// body reads size, mass and front.
func (r *resolver) body(d *TypeDoc, t *ModuleType, c custom, at string) {
	if d.Size != nil {
		t.Length, t.Width = d.Size.Length, d.Size.Width
		if t.Length <= 0 || t.Width <= 0 || t.Length > 4*quantity.Metre || t.Width > 4*quantity.Metre {
			r.wrong(at+".size", "sides above 0 and up to 4 m")
			t.Length, t.Width = 1*quantity.Metre, 1*quantity.Metre
		}
		t.Length, t.Width = max(t.Length, t.Width), min(t.Length, t.Width)
		if w := t.Pmax.Watts() / (t.Length.Metres() * t.Width.Metres()); w > c.most {
			r.wrong(at+".size", "an area that such a cell can have: %.0f W/m² is over the %.0f W/m² of the best %s modules", w, c.most, t.Technology)
		} else if w < 15 {
			r.wrong(at+".size", "an area that fits the power: %.0f W/m² is less than any module gives", w)
		}
	} else {
		area := t.Pmax.Watts() / c.wattsPerM2
		t.Width = quantity.Length(math.Sqrt(area / 2))
		t.Length = 2 * t.Width
		r.assume(at+".size", fmt.Sprintf("%.2f m x %.2f m", t.Length.Metres(), t.Width.Metres()), fmt.Sprintf("%.0f W/m², twice as long as wide", c.wattsPerM2), customSource)
	}
	t.Mass = or(r, d.Mass, at+".mass", quantity.Mass(math.Max(0.1, math.Round(t.Length.Metres()*t.Width.Metres()*c.kgPerM2*10)/10)), "by area", "handbook B5, from memory")
	if t.Mass <= 0 || t.Mass > 100*quantity.Kilogram {
		r.wrong(at+".mass", "above 0 and up to 100 kg, of one module")
	}
	if d.Front == nil {
		for _, w := range frontWords {
			if w.value == c.front {
				r.assume(at+".front", w.text, "typical of the technology", customary)
			}
		}
	}
	t.Front = choice(r, d.Front, at+".front", frontWords, c.front)
}

// grid reads the cells: from the drawing, or counted from the volts.
func (r *resolver) grid(d *TypeDoc, t *ModuleType, c custom, at string) {
	g := CellGrid{Margin: quiet(d.Margin, 15*quantity.Millimetre), AlongLength: true, DiodePerCell: quiet(d.PerCell, c.perCell)}
	switch {
	case d.Rows != nil && d.Columns != nil:
		g.Rows, g.Columns = *d.Rows, *d.Columns
		if g.Rows < 1 || g.Columns < 1 || g.Rows*g.Columns > 400 {
			r.wrong(at+".rows", "rows and columns of at least 1, 400 cells at most")
			g.Rows, g.Columns = 1, 36
		}
	case d.Rows != nil || d.Columns != nil:
		r.wrong(at+".rows", "both rows and columns")
		g.Rows, g.Columns = 1, 36
	default:
		n := max(1, int(math.Round(t.Voc.Volts()/c.cellVoc)))
		g.Rows, g.Columns = 1, n
		for rows := 2; rows <= 6; rows++ {
			if n%rows == 0 && n/rows >= rows {
				g.Rows, g.Columns = rows, n/rows
			}
		}
		if c.perCell && n%2 == 0 {
			g.Rows, g.Columns = 2, n/2
		}
		r.assume(at+".cells", fmt.Sprintf("%d in series, %d rows of %d", n, g.Rows, g.Columns), fmt.Sprintf("%.2f V a cell", c.cellVoc), customSource)
	}
	g.AlongLength = choice(r, d.Order, at+".series_order", orderWords, true)
	if g.Margin < 0 || 2*g.Margin >= t.Width {
		r.wrong(at+".margin", "0 or more, and under half the width of %v: the cells lie inside the module", t.Width)
		g.Margin = 0
	}
	n := g.Count()
	if v := t.Voc.Volts() / float64(n); v < 0.4 || v > 1.2 {
		r.wrong(at+".rows", "%d cells share %.4g V open: %.2f V a cell, and no cell has that", n, t.Voc.Volts(), v)
	}
	if d.Bypass != nil {
		g.Groups = *d.Bypass
	} else if !g.DiodePerCell {
		g.Groups = max(1, int(math.Round(float64(n)/20)))
		r.assume(at+".bypass_groups", fmt.Sprint(g.Groups), "one for about 20 cells", customary)
	}
	if g.Groups < 0 || g.Groups > n {
		r.wrong(at+".bypass_groups", "0 to %d, the number of cells: each group covers one at least", n)
		g.Groups = 0
	}
	t.Cells = g
}
