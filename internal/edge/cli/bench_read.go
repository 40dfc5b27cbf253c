package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"time"

	"noonmark/internal/answer/bench"
	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/edge/tabular"
)

// tableFlags say what a table of readings does not.
type tableFlags struct {
	date, order string
	columns     []string
	units       []string
}

// options turns the flags into options.
func (f *tableFlags) options(zone *time.Location) (tabular.Options, error) {
	o := tabular.Options{Zone: zone, Map: map[string]string{}, Units: map[string]string{}}
	if f.date != "" {
		d, err := time.Parse("2006-01-02", f.date)
		if err != nil {
			return o, misuse("--date %q: wanted a day such as 2027-06-21", f.date)
		}
		o.Date = d
	}
	switch f.order {
	case "":
	case "day-first":
		o.Order = tabular.DayFirst
	case "month-first":
		o.Order = tabular.MonthFirst
	default:
		return o, misuse("--order %q: wanted day-first or month-first", f.order)
	}
	for _, x := range f.columns {
		field, head, ok := strings.Cut(x, "=")
		if !ok {
			return o, misuse(`--column %q: wanted a field and a header or column number, such as --column "voc=U leer"`, x)
		}
		o.Map[strings.TrimSpace(field)] = strings.TrimSpace(head)
	}
	for _, x := range f.units {
		field, unit, ok := strings.Cut(x, "=")
		if !ok {
			return o, misuse(`--unit %q: wanted a field and its unit, such as --unit module_temperature=°F`, x)
		}
		o.Units[strings.TrimSpace(field)] = strings.TrimSpace(unit)
	}
	return o, nil
}

// readTable reads a file, or the input where its name is "-".
func readTable(s *Streams, path string, o tabular.Options) (*tabular.Table, error) {
	in := s.In
	if path != "-" {
		f, err := os.Open(path)
		if errors.Is(err, fs.ErrNotExist) {
			return nil, misuse("%s: no such file", path)
		}
		if err != nil {
			return nil, misuse("%v", err)
		}
		defer f.Close()
		in = f
	}
	return parseTable(in, path, o)
}

// parseTable reads a table that came by a name, "-" for the input.
func parseTable(in io.Reader, name string, o tabular.Options) (*tabular.Table, error) {
	if o.Name = name; name == "-" {
		o.Name = "readings"
	}
	t, err := tabular.Read(in, o)
	var bad *problem.Error
	if err != nil && !errors.As(err, &bad) {
		return nil, misuse("%v", err)
	}
	return t, err
}

// samples turns a table's rows into readings; rows with nothing read are left out and counted.
func samples(t *tabular.Table) (out []bench.Sample, empty int) {
	for i := range t.Rows {
		if t.Rows[i].Repeat {
			continue
		}
		s := bench.Sample{Line: t.Rows[i].Line, Time: t.Rows[i].Time, Module: t.Text(i, "module"), Kind: kindOf(t.Text(i, "kind")), Position: t.Text(i, "position"),
			Sky: t.Text(i, "sky"), Who: t.Text(i, "who"), Instrument: t.Text(i, "instrument"), Note: t.Text(i, "note"), Photograph: t.Text(i, "photo")}
		voltage := func(field string) *quantity.Voltage { return taken(t.Voltage(i, field)) }
		current := func(field string) *quantity.Current { return taken(t.Current(i, field)) }
		s.Open, s.Volts = voltage("voc"), voltage("voltage")
		s.Short, s.Amps, s.Reference = current("isc"), current("current"), current("reference_isc")
		s.Watts = taken(t.Power(i, "power"))
		s.Light = taken(t.Irradiance(i, "irradiance"))
		s.Back, s.Air = taken(t.Temperature(i, "module_temperature")), taken(t.Temperature(i, "air_temperature"))
		s.InSun = taken(t.Span(i, "in_sun"))
		if tilt, ok := t.Angle(i, "tilt"); ok && tilt >= 0 && tilt <= 90*quantity.Degree {
			facing, known := t.Angle(i, "facing")
			if known || tilt == 0 {
				s.Facing = &shape.Facing{Tilt: tilt, Azimuth: facing}
			}
		}
		if seen, ok := bench.SkyAsSeen(s.Sky); ok {
			s.Cloud = &seen.Cloud
		}
		for field, name := range map[string]string{"voc": "Voc", "isc": "Isc"} {
			if t.Cell(i, field).State == tabular.Over {
				s.Over = append(s.Over, name)
			}
		}
		if s.Open == nil && s.Short == nil && s.Volts == nil && s.Amps == nil && s.Watts == nil && len(s.Over) == 0 {
			empty++
			continue
		}
		out = append(out, s)
	}
	return out, empty
}

// taken returns a value that was read.
func taken[T any](v T, ok bool) *T {
	if !ok {
		return nil
	}
	return &v
}

// kindOf returns a test's kind in one word; a plain reading has none.
func kindOf(text string) string {
	low := strings.ToLower(strings.TrimSpace(text))
	for word, kind := range map[string]string{"shade": "shade", "schatten": "shade", "ombre": "shade", "sombra": "shade", "ombra": "shade", "schaduw": "shade",
		"heat": "heat", "hitze": "heat", "chaleur": "heat", "calor": "heat", "calore": "heat", "hitte": "heat"} {
		if strings.Contains(low, word) {
			return kind
		}
	}
	return ""
}

// unread is a cell that could not be read.
type unread struct {
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Header string `json:"header,omitempty"`
	Found  string `json:"found,omitempty"`
	Want   string `json:"want"`
	Likely string `json:"likely,omitempty"`
}

// layout is how a file was taken.
type layout struct {
	File      string   `json:"file"`
	Encoding  string   `json:"encoding"`
	Delimiter string   `json:"delimiter"`
	Decimals  string   `json:"decimals"`
	Dates     string   `json:"dates,omitempty"`
	Columns   []column `json:"columns"`
	Notes     []string `json:"notes"`
	Unread    []unread `json:"unread"`
	More      int      `json:"unread_not_listed"`
}

type column struct {
	Header string `json:"header"`
	Field  string `json:"field,omitempty"`
	Unit   string `json:"unit_taken,omitempty"`
}

func layoutOf(t *tabular.Table, file string) layout {
	l := layout{File: file, Encoding: t.Layout.Encoding, Delimiter: string(t.Layout.Delimiter), Decimals: t.Layout.Decimals, Dates: t.Layout.Dates, Notes: append([]string{}, t.Notes...), Unread: []unread{}, More: t.More}
	for _, c := range t.Columns {
		l.Columns = append(l.Columns, column{c.Header, c.Field, c.Unit})
	}
	for _, p := range t.Problems.All() {
		l.Unread = append(l.Unread, unread{p.Line, p.Column, p.Path, p.Found, p.Want, p.Likely})
	}
	return l
}

// print lists what could not be read and how the file was taken.
func (l *layout) print(w io.Writer) {
	for _, u := range l.Unread {
		p := problem.Problem{File: l.File, Line: u.Line, Column: u.Column, Path: u.Header, Found: u.Found, Want: u.Want, Likely: u.Likely}
		fmt.Fprintln(w, "Not read: "+p.String())
	}
	if l.More > 0 {
		fmt.Fprintf(w, "Not read: %d more like these\n", l.More)
	}
	for _, n := range l.Notes {
		fmt.Fprintln(w, "Note: "+n)
	}
}
