package tabular

import (
	"fmt"
	"math"
	"strings"
)

// numeric reports whether a dimension's cells are numbers.
func (d Dimension) numeric() bool { return d > Words && d < Instant }

// decimals finds the decimal mark of the file from the cells of numbers.
func (in *reader) decimals() {
	point, comma := false, false
	for _, r := range in.rows {
		for c, cell := range r.fields {
			if c >= len(in.t.Columns) || in.t.Columns[c].Field == "" || !in.t.dims[in.t.Columns[c].Field].numeric() {
				continue
			}
			digits, _ := numeral(cell)
			switch evidence(digits) {
			case pointMark:
				point = true
			case commaMark:
				comma = true
			}
		}
	}
	switch {
	case point && comma:
		in.mark = mixedMark
	case point:
		in.mark = pointMark
	case comma:
		in.mark = commaMark
	}
	in.t.Layout.Decimals = in.mark.String()
}

// cells reads all cells but times.
func (in *reader) cells() {
	for _, r := range in.rows {
		row := Row{Line: r.line, Cells: make([]Cell, len(in.t.Columns))}
		for c := range in.t.Columns {
			if c < len(r.fields) {
				row.Cells[c] = Cell{Text: r.fields[c]}
			}
		}
		for c, extra := range r.fields[min(len(r.fields), len(in.t.Columns)):] {
			if extra != "" {
				in.fault(r.line, len(in.t.Columns)+c+1, "", extra, fmt.Sprintf("at most %d cells, as the header has", len(in.t.Columns)), "")
				break
			}
		}
		in.t.Rows = append(in.t.Rows, row)
	}
	for c := range in.t.Columns {
		col := &in.t.Columns[c]
		if d := in.t.dims[col.Field]; col.Field != "" && d.numeric() {
			in.column(c, col, d)
		} else if col.Field != "" && d == Words {
			for i := range in.t.Rows {
				if cell := &in.t.Rows[i].Cells[c]; cell.Text != "" {
					cell.State = Known
				}
			}
		}
	}
}

// column reads the cells of a column of numbers.
func (in *reader) column(c int, col *Column, d Dimension) {
	register := in.register(c, col)
	if register && !col.Stated && d != Number {
		in.fault(in.t.Layout.Header, c+1, col.Header, col.Header, "the step of this register, given as its unit, such as 0.01 A or 0.1 °C", "")
	}
	u := unitOf(col.Unit)
	if u == nil && d != Temperature {
		u = unitOf(bareUnit[d])
		col.Unit = bareUnit[d]
	}
	var bare []int // rows of a temperature without a unit
	first := -1    // row of the first with one
	for i := range in.t.Rows {
		cell := &in.t.Rows[i].Cells[c]
		v, own, doubt, state := in.read(cell.Text, d)
		cell.State = state
		switch state {
		case Over:
			in.fault(in.t.Rows[i].Line, c+1, col.Header, cell.Text, "a value within the meter's range: this is its sign for overload or an open lead, no reading", "")
		case Unread:
			want := "a number" + example(d)
			if doubt != "" {
				want = "one decimal mark through the file: this is " + doubt
			}
			in.fault(in.t.Rows[i].Line, c+1, col.Header, cell.Text, want, "")
		case Known:
			if register {
				if v == 32767 {
					cell.State = Blank // the register's sign for no sensor
					continue
				}
				if v > 32767 {
					v -= 65536
				}
				if !col.Stated && d != Number {
					cell.State = Unread
					continue
				}
			}
			take := u
			if own != nil {
				take = own
				if first < 0 {
					first = i
				}
			}
			if take == nil && d == Temperature {
				cell.value = v
				bare = append(bare, i)
				continue
			}
			if take != nil {
				v = v*take.size + take.zero
			}
			in.keep(i, c, col, d, v)
		}
	}
	if len(bare) > 0 {
		in.bareTemperatures(c, col, bare, first)
	}
}

// keep sets a cell's value where it is a possible one.
func (in *reader) keep(i, c int, col *Column, d Dimension, v float64) {
	cell := &in.t.Rows[i].Cells[c]
	want := ""
	switch {
	case d == Temperature && (v < 173 || v > 600):
		want = "a temperature"
	case d == Ratio && (v < 0 || v > 1):
		want = "a share of 0 to 100 %"
	case math.IsNaN(v) || math.IsInf(v, 0):
		want = "a number"
	case d == Span && (v < 0 || v > 1e8):
		want = "a length of time"
	}
	if want != "" {
		cell.State = Unread
		in.fault(in.t.Rows[i].Line, c+1, col.Header, cell.Text, want, "")
		return
	}
	cell.value, cell.State = v, Known
}

// register reports whether a column is of a device's 16-bit registers: its header says raw and all its
// numbers are whole, 0 to 65535. Values above 32767 are negative, two's complement; 32767 is no sensor.
func (in *reader) register(c int, col *Column) bool {
	if !strings.Contains(" "+plainHead(col.Header)+" ", " raw ") {
		return false
	}
	for i := range in.t.Rows {
		d, rest := numeral(in.t.Rows[i].Cells[c].Text)
		if d == "" {
			continue
		}
		v, _, ok := value(d, pointMark)
		if !ok || rest != "" || v != math.Trunc(v) || v < 0 || v > 65535 {
			return false
		}
	}
	in.note("column %d, %q, is taken as signed 16-bit registers: values above 32767 are negative, 32767 is no sensor", c+1, col.Header)
	return true
}

// overs are signs of overrange; faults are a spreadsheet's; nothings stand for a blank.
var (
	overs    = map[string]bool{"ol": true, "o.l": true, "0l": true, "0.l": true, "0.l.": true, "o.l.": true, "-ol": true, "+ol": true, "over": true, "ovld": true, "overload": true, "ovl": true, "ol.": true, "oflow": true}
	nothings = map[string]bool{"": true, "-": true, "--": true, "---": true, "n/a": true, "na": true, "nan": true, "null": true, "none": true, "–": true, "—": true, "k.a.": true, "n.d.": true}
)

// read reads one cell of a number: its value in its own unit, or in the column's where own is nil.
func (in *reader) read(text string, d Dimension) (v float64, own *unit, doubt string, state State) {
	low := strings.ToLower(strings.TrimSpace(text))
	squeezed := strings.ReplaceAll(low, " ", "")
	switch {
	case nothings[squeezed]:
		return 0, nil, "", Blank
	case overs[squeezed], overs[strings.TrimRight(squeezed, "vamkωohdc")]:
		return 0, nil, "", Over
	case len(text) > 60:
		return 0, nil, "", Unread
	}
	digits, rest := numeral(text)
	if digits == "" || !strings.ContainsAny(digits, "0123456789") {
		return 0, nil, "", Unread
	}
	v, doubt, ok := value(digits, in.mark)
	if !ok {
		return 0, nil, doubt, Unread
	}
	if rest != "" {
		own = unitOf(rest)
		if own == nil || own.dimension != d && d != Number {
			return 0, nil, "", Unread
		}
		if d == Number {
			own = nil
		}
	}
	return v, own, "", Known
}

// example says what a cell may look like.
func example(d Dimension) string {
	switch d {
	case Voltage:
		return ", such as 22.1, 22,1 V or 980 mV"
	case Current:
		return ", such as 5.85, 5,85 A or 120 mA"
	case Power:
		return ", such as 81 W"
	case Irradiance:
		return ", such as 812 W/m² or 0.812 kW/m²"
	case Temperature:
		return ", such as 47 °C or 117 °F"
	case Angle:
		return ", such as 30°"
	case Span:
		return ", such as 45 min"
	}
	return ""
}

// bareTemperatures settles a column's temperatures without a unit: °C where nothing speaks against it,
// said in a note. Where other cells carry a unit, a value is above 95, or dates put the month first, they
// are not read, and the likely unit is named.
func (in *reader) bareTemperatures(c int, col *Column, rows []int, first int) {
	most := math.Inf(-1)
	for _, i := range rows {
		most = math.Max(most, in.t.Rows[i].Cells[c].value)
	}
	likely := "°C"
	switch {
	case first >= 0: // the unit in which the series goes on smoothly
		near, at := math.Inf(1), rows[0]
		for _, i := range rows {
			if d := math.Abs(float64(i - first)); d < near {
				near, at = d, i
			}
		}
		bare, known := in.t.Rows[at].Cells[c].value, in.t.Rows[first].Cells[c].value-273.15
		if math.Abs((bare-32)/1.8-known) < math.Abs(bare-known) {
			likely = "°F"
		}
	case most > 95 || in.order() == MonthFirst:
		likely = "°F"
	default:
		col.Unit = "°C"
		in.note("column %d, %q, has no unit: taken as °C", c+1, col.Header)
		for _, i := range rows {
			in.keep(i, c, col, Temperature, in.t.Rows[i].Cells[c].value+273.15)
		}
		return
	}
	for _, i := range rows {
		in.t.Rows[i].Cells[c].State = Unread
	}
	in.fault(in.t.Rows[rows[0]].Line, c+1, col.Header, in.t.Rows[rows[0]].Cells[c].Text,
		fmt.Sprintf("a unit: °C and °F are both possible; %d cells of this column have none and were not read", len(rows)), likely)
}
