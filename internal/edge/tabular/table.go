package tabular

import (
	"time"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
)

// Options say what a file does not. The zero value leaves all to be found out.
type Options struct {
	Name  string            // of the file, for messages
	Zone  *time.Location    // of its clock; nil: times without a zone are not read
	Date  time.Time         // the day of times without a date; zero: they are not read
	Order Order             // of day and month
	Map   map[string]string // field: its header as written, or its column's number from 1
	Units map[string]string // field: its unit, "°F", or a register's step, "0.01 A"
	Match []Field           // what columns are looked for; nil: Fields
	Most  int               // bytes read at most; 0: 32 MB
}

// Layout is what was found out about a file.
type Layout struct {
	Encoding  string
	Delimiter rune
	Decimals  string
	Dates     string // order of day and month; empty: it does not matter here
	Header    int    // line of the header; 0: none
}

// Column is a column of a table.
type Column struct {
	Header string
	Field  string // empty: not used
	Unit   string // as taken
	Stated bool   // the unit stands in header, unit row or Options
}

// State is what became of a cell.
type State int

const (
	Blank  State = iota // nothing stands there, or n/a
	Known               // its value is known
	Over                // OL: beyond the meter's range
	Unread              // it is listed among the problems
)

// Cell is a cell of a table.
type Cell struct {
	Text  string
	State State
	value float64 // coherent
}

// Row is a row of a table.
type Row struct {
	Line   int       // in the file, from 1
	Time   time.Time // zero: not known
	Timely State
	Repeat bool // the same as an earlier row, cell by cell
	Cells  []Cell
}

// Table is a file as read.
type Table struct {
	Layout   Layout
	Columns  []Column
	Rows     []Row
	Problems problem.List // each cell that could not be read, with line and column
	More     int          // problems beyond those listed
	Notes    []string
	at       map[string]int // column of a field
	dims     map[string]Dimension
}

// Has reports whether a field has a column.
func (t *Table) Has(field string) bool { _, ok := t.at[field]; return ok }

// Cell returns a row's cell of a field, a blank one where the row or the table has none.
func (t *Table) Cell(row int, field string) Cell {
	c, ok := t.at[field]
	if !ok || row < 0 || row >= len(t.Rows) || c >= len(t.Rows[row].Cells) {
		return Cell{}
	}
	return t.Rows[row].Cells[c]
}

// get returns the value of a field of a dimension; it panics for another dimension.
func (t *Table) get(row int, field string, d Dimension) (float64, bool) {
	if have, ok := t.dims[field]; ok && have != d {
		panic("tabular: field " + field + " is of another dimension")
	}
	c := t.Cell(row, field)
	return c.value, c.State == Known
}

// Text returns a field as written.
func (t *Table) Text(row int, field string) string { return t.Cell(row, field).Text }

// Number returns a field without a unit; ok is false where it was not read. So for those below, each
// of its dimension; they panic for a field of another.
func (t *Table) Number(row int, field string) (float64, bool) { return t.get(row, field, Number) }

// Voltage returns a field in volts.
func (t *Table) Voltage(row int, field string) (quantity.Voltage, bool) {
	v, ok := t.get(row, field, Voltage)
	return quantity.Voltage(v), ok
}

// Current returns a field in amperes.
func (t *Table) Current(row int, field string) (quantity.Current, bool) {
	v, ok := t.get(row, field, Current)
	return quantity.Current(v), ok
}

// Power returns a field in watts.
func (t *Table) Power(row int, field string) (quantity.Power, bool) {
	v, ok := t.get(row, field, Power)
	return quantity.Power(v), ok
}

// Irradiance returns a field in W/m².
func (t *Table) Irradiance(row int, field string) (quantity.Irradiance, bool) {
	v, ok := t.get(row, field, Irradiance)
	return quantity.Irradiance(v), ok
}

// Temperature returns a field's temperature.
func (t *Table) Temperature(row int, field string) (quantity.Temperature, bool) {
	v, ok := t.get(row, field, Temperature)
	return quantity.Kelvin(v), ok
}

// Angle returns a field's angle.
func (t *Table) Angle(row int, field string) (quantity.Angle, bool) {
	v, ok := t.get(row, field, Angle)
	return quantity.Angle(v), ok
}

// Ratio returns a field's share.
func (t *Table) Ratio(row int, field string) (quantity.Ratio, bool) {
	v, ok := t.get(row, field, Ratio)
	return quantity.Ratio(v), ok
}

// Energy returns a field's energy.
func (t *Table) Energy(row int, field string) (quantity.Energy, bool) {
	v, ok := t.get(row, field, Energy)
	return quantity.Energy(v), ok
}

// Span returns a field's length of time.
func (t *Table) Span(row int, field string) (time.Duration, bool) {
	v, ok := t.get(row, field, Span)
	return time.Duration(v * 1e9), ok
}
