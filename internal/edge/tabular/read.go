package tabular

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"noonmark/internal/base/problem"
)

// What a file may have at most.
const (
	mostBytes    = 32 << 20
	mostRows     = 500_000
	mostColumns  = 300
	mostProblems = 500 // listed
	mostHead     = 40  // records before the first row of values
)

// ErrTooLarge says that a file is larger than is read.
var ErrTooLarge = errors.New("the file is too large")

// reader is the state of one reading.
type reader struct {
	o       Options
	t       *Table
	rows    []record
	mark    mark
	stamped []stamped // by row; nil: not read yet
}

// Read reads a table. The error of a file in which nothing can be read is a *problem.Error, or wraps
// ErrTooLarge, or is r's; single cells that cannot be read are in the table's problems.
func Read(r io.Reader, o Options) (*Table, error) {
	if o.Most <= 0 {
		o.Most = mostBytes
	}
	if o.Match == nil {
		o.Match = known
	}
	b, err := io.ReadAll(io.LimitReader(r, int64(o.Most)+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", o.Name, err)
	}
	if len(b) > o.Most {
		return nil, fmt.Errorf("%s: over %d kB: %w", o.Name, o.Most>>10, ErrTooLarge)
	}
	in := &reader{o: o, t: &Table{at: map[string]int{}, dims: map[string]Dimension{}}}
	text, encoding := decode(b)
	all := lines(text)
	delimiter, all := sniff(all)
	in.rows = cut(all, delimiter)
	in.t.Layout = Layout{Encoding: encoding, Delimiter: delimiter}
	if len(in.rows) > mostRows {
		return nil, fmt.Errorf("%s: over %d rows: %w", o.Name, mostRows, ErrTooLarge)
	}
	if len(in.rows) == 0 {
		return nil, in.fatal(0, "a table: a line of headers and rows of values; the file is empty")
	}
	if err := in.header(); err != nil {
		return nil, err
	}
	in.decimals()
	in.cells()
	in.times()
	in.repeats()
	return in.t, nil
}

// fatal returns the error of a file that cannot be read at all.
func (in *reader) fatal(line int, format string, args ...any) error {
	var l problem.List
	l.Add(problem.Problem{File: in.o.Name, Line: line, Want: fmt.Sprintf(format, args...)})
	return l.Err()
}

// fault lists a cell that was not read.
func (in *reader) fault(line, column int, path, found, want, likely string) {
	if in.t.Problems.Len() >= mostProblems {
		in.t.More++
		return
	}
	if r := []rune(found); len(r) > 40 {
		found = string(r[:40]) + "…"
	}
	in.t.Problems.Add(problem.Problem{File: in.o.Name, Line: line, Column: column, Path: path, Found: found, Want: want, Likely: likely})
}

// note adds a note.
func (in *reader) note(format string, args ...any) {
	in.t.Notes = append(in.t.Notes, fmt.Sprintf(format, args...))
}

// pairing is a column that could hold a field.
type pairing struct{ column, field, fit int }

// pairings returns how a record's cells could be headers, best first.
func (in *reader) pairings(fields []string) []pairing {
	var out []pairing
	for c, cell := range fields[:min(len(fields), mostColumns)] {
		if cell == "" || len(cell) > 60 {
			continue
		}
		if d, rest := numeral(cell); d != "" && (rest == "" || unitOf(rest) != nil) && strings.ContainsAny(d, "0123456789") {
			continue // a value
		}
		words, unit := splitHead(cell)
		full, short := plainHead(cell), plainHead(words)
		for f := range in.o.Match {
			field := &in.o.Match[f]
			fit := max(field.fit(full), field.fit(short))
			if u := unitOf(unit); u != nil && u.dimension != field.Dimension && field.Dimension != Instant && field.Dimension != Words && field.Dimension != Number && field.Dimension != Clock {
				fit = 0
			}
			if fit > 0 {
				out = append(out, pairing{c, f, fit})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b pairing) int { return cmp.Compare(b.fit, a.fit) })
	return out
}

// assign gives each column one field and each field one column.
func assign(pairs []pairing) (byColumn map[int]int) {
	byColumn = map[int]int{}
	taken := map[int]bool{}
	for _, p := range pairs {
		if _, has := byColumn[p.column]; !has && !taken[p.field] {
			byColumn[p.column] = p.field
			taken[p.field] = true
		}
	}
	return byColumn
}

// header finds the header, the units and the columns, and leaves the rows of values.
func (in *reader) header() error {
	best, at := 0, -1
	for i, r := range in.rows[:min(len(in.rows), mostHead)] {
		if valued(r.fields) {
			continue
		}
		n := len(assign(in.pairings(r.fields)))
		for _, head := range in.o.Map {
			if slices.ContainsFunc(r.fields, func(f string) bool { return strings.EqualFold(f, head) }) {
				n += 3
			}
		}
		if n > best {
			best, at = n, i
		}
	}
	if at < 0 && !in.numbered() {
		return in.fatal(in.rows[0].line, "a line of headers that name what the columns hold, such as time, module, Voc (V), Isc (A); or say which column holds what")
	}
	heads := make([]string, 0)
	if at >= 0 {
		heads = in.rows[at].fields
		in.t.Layout.Header = in.rows[at].line
		for _, r := range in.rows[:at] {
			in.note("line %d, before the table: %s", r.line, strings.Join(r.fields, " "))
		}
	} else {
		for i := range in.rows[0].fields {
			heads = append(heads, "column "+strconv.Itoa(i+1))
		}
	}
	heads = heads[:min(len(heads), mostColumns)]
	found := assign(in.pairings(heads))
	if at < 0 {
		found = map[int]int{}
	}
	if err := in.mapped(heads, found); err != nil {
		return err
	}
	in.rows = in.rows[at+1:]
	in.columns(heads, found)
	in.unitRow()
	return nil
}

// valued reports whether a record is of values and no header: a third of its cells or more are numbers,
// dates or times.
func valued(fields []string) bool {
	values, all := 0, 0
	for _, f := range fields {
		if f == "" {
			continue
		}
		all++
		d, rest := numeral(f)
		_, dated := parseStamp(f)
		if dated || strings.ContainsAny(d, "0123456789") && (rest == "" || unitOf(rest) != nil) {
			values++
		}
	}
	return 3*values >= all
}

// numbered reports whether Options map a field to a column's number.
func (in *reader) numbered() bool {
	for _, head := range in.o.Map {
		if _, err := strconv.Atoi(head); err == nil {
			return true
		}
	}
	return false
}

// mapped puts the columns of Options over those found.
func (in *reader) mapped(heads []string, found map[int]int) error {
	var l problem.List
	names := make([]string, 0, len(in.o.Map))
	for n := range in.o.Map {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, name := range names {
		f := slices.IndexFunc(in.o.Match, func(f Field) bool { return f.Name == name })
		if f < 0 {
			l.Add(problem.Problem{File: in.o.Name, Found: name, Want: "a field to map, one of " + strings.Join(in.names(), ", ")})
			continue
		}
		head := in.o.Map[name]
		c := slices.IndexFunc(heads, func(h string) bool { return strings.EqualFold(h, head) })
		if n, err := strconv.Atoi(head); c < 0 && err == nil && n >= 1 && n <= len(heads) {
			c = n - 1
		}
		if c < 0 {
			l.Add(problem.Problem{File: in.o.Name, Found: head, Want: fmt.Sprintf("a header or a column's number from 1 to %d for %s", len(heads), name)})
			continue
		}
		for column, field := range found {
			if field == f {
				delete(found, column)
			}
		}
		found[c] = f
	}
	return l.Err()
}

func (in *reader) names() []string {
	var out []string
	for _, f := range in.o.Match {
		out = append(out, f.Name)
	}
	return out
}

// columns sets up the columns with the units of the headers and Options.
func (in *reader) columns(heads []string, found map[int]int) {
	for c, h := range heads {
		col := Column{Header: h}
		f, ok := found[c]
		if !ok {
			in.t.Columns = append(in.t.Columns, col)
			if h != "" {
				in.note("column %d, %q, is not used", c+1, h)
			}
			continue
		}
		field := in.o.Match[f]
		col.Field = field.Name
		in.t.at[field.Name], in.t.dims[field.Name] = c, field.Dimension
		_, unit := splitHead(h)
		if u := unitOf(unit); u != nil && u.dimension == field.Dimension {
			col.Unit, col.Stated = unit, true
		} else if u := unitOf(h); u != nil && u.dimension == field.Dimension {
			col.Unit, col.Stated = h, true
		}
		if given, ok := in.o.Units[field.Name]; ok {
			if u := unitOf(given); u != nil && u.dimension == field.Dimension {
				col.Unit, col.Stated = given, true
			} else {
				in.fault(0, 0, "unit of "+field.Name, given, "a unit of it", "")
			}
		}
		in.t.Columns = append(in.t.Columns, col)
	}
}

// unitRow takes a row of nothing but units under the header.
func (in *reader) unitRow() {
	if len(in.rows) == 0 {
		return
	}
	some := false
	for c, cell := range in.rows[0].fields {
		u := unitOf(strings.Trim(cell, "[]()"))
		if cell != "" && u == nil && cell != "-" || c >= len(in.t.Columns) && cell != "" {
			return
		}
		some = some || u != nil
	}
	if !some {
		return
	}
	for c, cell := range in.rows[0].fields {
		if c >= len(in.t.Columns) {
			break
		}
		col := &in.t.Columns[c]
		if u := unitOf(strings.Trim(cell, "[]()")); u != nil && u.dimension == in.t.dims[col.Field] && !col.Stated && col.Field != "" {
			col.Unit, col.Stated = strings.Trim(cell, "[]()"), true
		}
	}
	in.rows = in.rows[1:]
}
