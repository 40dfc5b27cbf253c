package build

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"noonmark/internal/base/quantity"
)

// longestLabel is the longest label read, in bytes.
const longestLabel = 300

// number is a number of a label, with a decimal point or comma.
const number = `([0-9]+(?:[.,][0-9]+)?)`

var (
	// labelNoise is what labels print and no value is taken from: test conditions, a spread of watts.
	labelNoise = regexp.MustCompile(`(?i)1000 ?w/m(?:²|2)|\bam ?1[.,]5g?\b|\b25 ?(?:°|deg)? ?c\b|[+] ?[0-9.,]+ ?wp?\b`)
	// labelSpread is a tolerance: "± 3 %".
	labelSpread = regexp.MustCompile(`(?:±|[+]/[-−–]) ?` + number + ` ?%`)
	// labelSize is "1.1 m x 0.6 m", "1020x530 mm", and a thickness that is dropped.
	labelSize = regexp.MustCompile(`(?i)` + number + ` ?(mm|cm|m|in|")? ?[x×*] ?` + number + ` ?(mm|cm|m|in|")?(?: ?[x×*] ?` + number + ` ?(mm|cm|m|in|")?)?`)
	// labelPoint is the name of a volt or an ampere, in letters.
	labelPoint = regexp.MustCompile(`(?i)\b(v_?oc|u_?oc|i_?sc|i_?k|[vu]_?mpp?|[vu]_?pm|i_?mpp?|i_?pm)\b`)
	// labelValue is a number with its name before it or in brackets after it, and its unit.
	labelValue = regexp.MustCompile(`(?i)(?:\b(v_?oc|u_?oc|i_?sc|i_?k|[vu]_?mpp?|[vu]_?pm|i_?mpp?|i_?pm|p_?max|p_?mpp?|fuse|weight|mass)\b\)?(?: ?[\[(](?:wp|w|v|a)[\])])?)?[ :=]*` +
		`([-−–]?)` + number + ` ?(wp|w|v|a|%/ ?(?:k|°c|c)|kg|g|lb)?(?:[^a-z0-9%²]|$)(?: ?\(?(voc|isc|[vu]mpp?|impp?|pmax|pmpp?)\))?`)
)

// ParseLabel reads a module's label typed as printed: technology, watts, Voc, Isc, Vmp, Imp, size, mass,
// tolerance and coefficients in any order, named values with or without their unit, decimal point or
// comma. Of volts and amperes without a name the tool says what it took them for: two volts are Voc and
// Vmp; 12 V and 24 V alone are the system's; one of each is the pair that fits the watts. What is missing
// is estimated by technology and listed; a label that cannot be is an error with every problem.
func ParseLabel(text string) (ModuleType, []Assumed, error) {
	if len(text) > longestLabel {
		return ModuleType{}, nil, fmt.Errorf("a label of at most %d letters", longestLabel)
	}
	l := labelReader{doc: TypeDoc{Name: "label"}, r: &resolver{doc: &Document{}, build: &Build{}}}
	l.doc.Technology = labelTechnology(strings.ToLower(text))
	l.read(text)
	if len(l.faults) > 0 {
		return ModuleType{}, nil, errors.New(strings.Join(l.faults, "; "))
	}
	t := l.r.moduleType(&l.doc, "label")
	if err := l.r.problems.Err(); err != nil {
		return ModuleType{}, nil, err
	}
	t.Name = strings.TrimSpace(text)
	return t, l.r.build.Assumed, nil
}

// labelReader gathers what a label says.
type labelReader struct {
	doc         TypeDoc
	r           *resolver
	volts, amps []float64 // without a name
	faults      []string
}

// read takes a label apart.
func (l *labelReader) read(text string) {
	text = strings.Join(strings.Fields(strings.NewReplacer("\u00a0", " ", "−", "-", "–", "-").Replace(text)), " ")
	if m := labelSpread.FindStringSubmatch(text); m != nil {
		if v, err := quantity.ParseRatio(point(m[1]) + " %"); err == nil {
			l.doc.Tolerance = &v
		}
		text = strings.Replace(text, m[0], ";", 1)
	}
	text = labelNoise.ReplaceAllString(text, ";")
	if m := labelSize.FindStringSubmatch(text); m != nil {
		l.size(m)
		text = strings.Replace(text, m[0], ";", 1)
	}
	for rest := text; ; {
		at := labelValue.FindStringSubmatchIndex(rest)
		if at == nil {
			break
		}
		group := func(i int) string {
			if at[2*i] < 0 {
				return ""
			}
			return rest[at[2*i]:at[2*i+1]]
		}
		name, unit := group(1), strings.ToLower(strings.ReplaceAll(group(4), " ", ""))
		if name == "" {
			name = group(5)
		}
		l.value(strings.ReplaceAll(strings.ToLower(name), "_", ""), group(2)+point(group(3)), unit)
		// The letter after the value may begin the next one.
		next := at[7]
		if at[8] >= 0 {
			next = at[9]
		}
		if at[10] >= 0 {
			next = at[11]
		}
		rest = rest[next:]
	}
	l.unnamed()
	l.unread(text)
}

// unread finds volts and amperes that are named and have no number.
func (l *labelReader) unread(text string) {
	d := &l.doc
	read := map[string]bool{"voc": d.Voc != nil || d.VocCoefficient != nil, "isc": d.Isc != nil || d.IscCoefficient != nil, "vmp": d.Vmp != nil, "imp": d.Imp != nil}
	for _, found := range labelPoint.FindAllString(text, -1) {
		name := labelNames[strings.ReplaceAll(strings.ToLower(found), "_", "")]
		if !read[name] {
			l.fault("%s: a number wanted after it, such as %s %s", found, found, map[string]string{"voc": "22.1 V", "isc": "6.4 A", "vmp": "18.6 V", "imp": "5.9 A"}[name])
			read[name] = true // said once
		}
	}
}

// point gives a number its decimal point.
func point(text string) string { return strings.Replace(text, ",", ".", 1) }

// size reads a size; millimetres when no unit is printed and the numbers are large.
func (l *labelReader) size(m []string) {
	unit := func(own, other, last, text string) string {
		for _, u := range []string{own, other, last} {
			if u != "" {
				return u
			}
		}
		if len(strings.SplitN(point(text), ".", 2)[0]) >= 3 {
			return "mm"
		}
		return ""
	}
	a, err1 := quantity.ParseLength(point(m[1]) + " " + unit(m[2], m[4], m[6], m[1]))
	b, err2 := quantity.ParseLength(point(m[3]) + " " + unit(m[4], m[6], m[2], m[3]))
	if err1 != nil || err2 != nil {
		l.fault("size %q: two lengths wanted, such as 1.1 m x 0.6 m", m[0])
		return
	}
	l.doc.Size = &SizeDoc{a, b}
}

func (l *labelReader) fault(format string, args ...any) {
	if len(l.faults) < 10 {
		l.faults = append(l.faults, fmt.Sprintf(format, args...))
	}
}

// labelNames are the points of a label by the names printed.
var labelNames = map[string]string{"voc": "voc", "uoc": "voc", "isc": "isc", "ik": "isc",
	"vmp": "vmp", "vmpp": "vmp", "ump": "vmp", "umpp": "vmp", "vpm": "vmp", "upm": "vmp",
	"imp": "imp", "impp": "imp", "ipm": "imp", "pmax": "pmax", "pmp": "pmax", "pmpp": "pmax", "pm": "pmax",
	"fuse": "fuse", "weight": "mass", "mass": "mass"}

// labelUnits are the units of the points.
var labelUnits = map[string]string{"voc": "v", "isc": "a", "vmp": "v", "imp": "a", "pmax": "w", "fuse": "a", "mass": "kg"}

// value takes one value of a label.
func (l *labelReader) value(name, text, unit string) {
	name = labelNames[name]
	if strings.HasPrefix(unit, "%/") {
		l.coefficient(name, text)
		return
	}
	if unit == "wp" {
		unit = "w"
	}
	switch {
	case unit == "" && name == "":
		return // a number of the model's name, of cells
	case unit == "":
		unit = labelUnits[name]
	case name == "" && unit == "w":
		name = "pmax"
	case name == "" && (unit == "kg" || unit == "g" || unit == "lb"):
		name = "mass"
	case name != "" && name != "mass" && labelUnits[name] != unit:
		l.fault("%s in %s: %s wanted", name, strings.ToUpper(unit), strings.ToUpper(labelUnits[name]))
		return
	}
	switch {
	case name == "mass":
		put(l, name, &l.doc.Mass, quantity.ParseMass, text+" "+unit)
	case name == "pmax":
		put(l, name, &l.doc.Pmax, quantity.ParsePower, text+" W")
	case name == "voc":
		put(l, name, &l.doc.Voc, quantity.ParseVoltage, text+" V")
	case name == "vmp":
		put(l, name, &l.doc.Vmp, quantity.ParseVoltage, text+" V")
	case name == "isc":
		put(l, name, &l.doc.Isc, quantity.ParseCurrent, text+" A")
	case name == "imp":
		put(l, name, &l.doc.Imp, quantity.ParseCurrent, text+" A")
	case name == "fuse":
		put(l, name, &l.doc.MaxFuse, quantity.ParseCurrent, text+" A")
	case unit == "v":
		if v, err := quantity.ParseVoltage(text + " V"); err == nil && v < highestModule {
			l.volts = append(l.volts, v.Volts())
		}
	case unit == "a":
		if v, err := quantity.ParseCurrent(text + " A"); err == nil {
			l.amps = append(l.amps, v.Amperes())
		}
	}
}

// highestModule is above any module's volts; a label's "1000 V" is what its insulation stands.
const highestModule = 250 * quantity.Volt

// put reads a text into a field that is still empty, or says that it stands twice.
func put[T comparable](l *labelReader, name string, field **T, parse func(string) (T, error), text string) {
	v, err := parse(text)
	switch {
	case err != nil:
		l.fault("%s: %v", name, err)
	case *field != nil && **field != v:
		l.fault("%s stands twice, %v and %v", name, **field, v)
	default:
		*field = &v
	}
}

// coefficient takes a temperature coefficient; one without a name is that of power.
func (l *labelReader) coefficient(name, text string) {
	c, err := quantity.ParseCoefficient(text + " %/K")
	if err != nil {
		l.fault("coefficient: %v", err)
		return
	}
	switch name {
	case "", "pmax":
		l.doc.PmaxCoefficient = &c
	case "voc":
		l.doc.VocCoefficient = &c
	case "isc":
		l.doc.IscCoefficient = &c
	}
}

// unnamed decides what volts and amperes without a name are, and says so.
func (l *labelReader) unnamed() {
	d := &l.doc
	took := func(path, value, why string) { l.r.assume("label."+path, value, why, "the numbers of the label") }
	volt := func(v float64) *quantity.Voltage { q := quantity.Voltage(v); return &q }
	amp := func(v float64) *quantity.Current { q := quantity.Current(v); return &q }
	v, a := l.volts, l.amps
	if len(v) > 2 || len(a) > 2 {
		l.fault("more than two volts or amperes without a name: Voc, Isc, Vmp or Imp wanted before each")
		return
	}
	if len(v) == 1 && (v[0] == 12 || v[0] == 24 || v[0] == 48) && len(a) == 0 {
		took("system", fmt.Sprintf("%g V", v[0]), "volts of the battery it is sold for, not of the module")
		v = nil
	}
	open := false // one of each, and they are the ends of the curve, not its best point
	if len(v) == 1 && len(a) == 1 && d.Pmax != nil && d.Pmax.Watts() > 0 && d.Voc == nil && d.Isc == nil {
		open = v[0]*a[0] > 1.12*d.Pmax.Watts()
	}
	switch {
	case len(v) == 2 && d.Voc == nil && d.Vmp == nil:
		d.Voc, d.Vmp = volt(max(v[0], v[1])), volt(min(v[0], v[1]))
		took("voc", d.Voc.String(), "the larger of two volts")
	case len(v) == 1 && d.Voc == nil && (open || d.Vmp != nil):
		d.Voc = volt(v[0])
		took("voc", d.Voc.String(), "volts without a name")
	case len(v) == 1 && d.Vmp == nil:
		d.Vmp = volt(v[0])
		took("vmp", d.Vmp.String(), "volts without a name")
	case len(v) > 0:
		l.fault("%g V: Voc and Vmp stand already", v[0])
	}
	switch {
	case len(a) == 2 && d.Isc == nil && d.Imp == nil:
		d.Isc, d.Imp = amp(max(a[0], a[1])), amp(min(a[0], a[1]))
		took("isc", d.Isc.String(), "the larger of two currents")
	case len(a) == 1 && d.Isc == nil && (open || d.Imp != nil):
		d.Isc = amp(a[0])
		took("isc", d.Isc.String(), "amperes without a name")
	case len(a) == 1 && d.Imp == nil:
		d.Imp = amp(a[0])
		took("imp", d.Imp.String(), "amperes without a name")
	case len(a) > 0:
		l.fault("%g A: Isc and Imp stand already", a[0])
	}
}

// labelTechnology finds a technology in a label's words.
func labelTechnology(lower string) *string {
	pairs := []struct{ has, word string }{{"foil", "foil CIGS"}, {"cigs", "CIGS"}, {"cis", "CIGS"}, {"cdte", "CdTe"}, {"amorph", "amorphous"}, {"a-si", "amorphous"},
		{"topcon", "mono TOPCon"}, {"hetero", "heterojunction"}, {"hjt", "heterojunction"}, {"rear contact", "rear contact"}, {"back contact", "rear contact"}, {"ibc", "rear contact"},
		{"flex", "flexible mono"}, {"poly", "poly"}, {"multi", "poly"}, {"perc", "mono PERC"}, {"mono", "mono PERC"}, {"glass", "mono PERC"}}
	for _, p := range pairs {
		if strings.Contains(lower, p.has) {
			return &p.word
		}
	}
	return nil
}
