package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/bench"
	"noonmark/internal/answer/track"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/store"
	"noonmark/internal/edge/tabular"
	"noonmark/internal/sheet/sheet"
)

// inRecords begins the number of a log that lies in the store.
const inRecords = "record:"

// logQuestion is the flags of log.
type logQuestion struct {
	table                   tableFlags
	place, posture, heading string
	keep                    string
	years                   int
	asJSON                  bool
	pdf                     onPaper
	zone                    *time.Location
	where                   build.Place
	assumed                 []assumption
	layouts                 []layout
}

func logCommand(s *Streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "log import|compare",
		Short: "records against expectation: does it still do what it should",
		Long: `A log is a table of any layout: time or date with watts of the modules, a yield counter or daily yields,
battery volts, state of charge, light and air, as the charger or an app writes it.

  noonmark log import june.csv --at "Evora, PT"
  noonmark log compare van.yaml june.csv
  noonmark log compare van.yaml this-year.csv last-year.csv --json`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return misuse("log %s: wanted import or compare", args[0])
			}
			return cmd.Help()
		},
	}
	c.AddCommand(logImport(s), logCompare(s))
	return c
}

// add adds the flags that both share.
func (q *logQuestion) add(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&q.place, "at", "", `where it was logged, "38.57,-7.91" or "Evora, PT": its clock makes the days`)
	f.StringVar(&q.table.order, "order", "", "of dates that leave it open: day-first or month-first")
	f.StringArrayVar(&q.table.columns, "column", nil, `which column holds what, "power=PV" or "yield=3"; again for each`)
	f.StringArrayVar(&q.table.units, "unit", nil, `unit of a column, "yield=kWh"; again for each`)
	f.BoolVar(&q.asJSON, "json", false, "print one JSON document")
}

func logImport(s *Streams) *cobra.Command {
	var q logQuestion
	c := &cobra.Command{
		Use:   "import LOG",
		Short: "what a log holds: days, gaps, resets, what could not be read; --keep puts it by a build of the store",
		Long: `Reads a log and says what it holds, day by day: energy measured, how much of the daylight was logged, gaps.
Power is not bridged over silence; a counter that falls was reset. With --keep it is kept, as it came, by a
build of the store, and log compare takes it as record:NUMBER.

  noonmark log import june.csv --at "Evora, PT"
  noonmark log import june.csv --at "Evora, PT" --keep store:van`,
		Args: exactly(1, `a log, "-" for the input`),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := q.find(nil); err != nil {
				return err
			}
			points, raw, err := q.read(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			l := track.Import(points, q.zone, 0)
			a := newLogAnswer(track.Report{Log: l, Notes: l.Notes}, q)
			if q.keep != "" {
				if a.Kept, err = q.store(cmd.Context(), s, args[0], raw); err != nil {
					return err
				}
			}
			if q.asJSON {
				return writeJSON(s.Out, a)
			}
			return a.print(s)
		},
	}
	q.add(c)
	c.Flags().StringVar(&q.keep, "keep", "", "keep it by this build of the store, store:NAME")
	return c
}

func logCompare(s *Streams) *cobra.Command {
	var q logQuestion
	c := &cobra.Command{
		Use:   "compare BUILD LOG...",
		Short: "a log against what the build should have given, day by day; what was thrown away; alarms",
		Long: `Holds each day against what a sound array of the build gives: in the light that was logged beside it, else
on days of clear sky, else in the usual weather of the month. Days of a full battery are left out of the
ratio; what the battery could not take is counted as thrown away. Steps, slow decline against the year
before (give that log too) and lost parts are alarms; a lost part is a fault built into the circuit.
LOG is a file, "-" for the input, or record:NUMBER of the store.

  noonmark log compare van.yaml june.csv --posture camped --heading 160°
  noonmark log compare van.yaml this-year.csv last-year.csv -o log.pdf`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 2 {
				return misuse("log compare wants a build file and at least one log")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return q.compare(cmd.Context(), s, args[0], args[1:])
		},
	}
	q.add(c)
	q.pdf.add(c)
	f := c.Flags()
	f.StringVar(&q.posture, "posture", "", "posture it stood in; empty: that of the trip's first stay, else level")
	f.StringVar(&q.heading, "heading", "", `azimuth the front looked to, "160°"; empty: any`)
	f.IntVar(&q.years, "years", 12, "weather years for the usual weather")
	return c
}

// find resolves the place: --at, the build's home, or its trip's first.
func (q *logQuestion) find(b *build.Build) error {
	switch {
	case q.place != "":
		p, notes, err := findPlace(q.place)
		if err != nil {
			return err
		}
		q.where, q.assumed = p, notes
	case b != nil && b.Home != nil:
		q.where = *b.Home
		q.assumed = append(q.assumed, assumption{What: "place", Value: b.Home.Name, Why: "the build's home; give --at where it was logged"})
	case b != nil && len(b.Trip.Legs) > 0:
		q.where = b.Trip.Legs[0].Place
		q.assumed = append(q.assumed, assumption{What: "place", Value: q.where.Name, Why: "the trip's first; give --at where it was logged"})
	case b != nil:
		return misuse(`log compare wants a place: --at "Evora, PT"`)
	default:
		q.assumed = append(q.assumed, assumption{What: "days", Value: "of UTC", Why: "no place; give --at for the place's own days"})
	}
	if q.zone = q.where.Zone; q.zone == nil {
		q.zone = time.UTC
	}
	return nil
}

// read reads one log.
func (q *logQuestion) read(ctx context.Context, s *Streams, path string) ([]track.Point, []byte, error) {
	var raw []byte
	var err error
	switch {
	case strings.HasPrefix(path, inRecords):
		id, bad := strconv.ParseInt(strings.TrimPrefix(path, inRecords), 10, 64)
		if bad != nil {
			return nil, nil, misuse("%s: wanted record:NUMBER; log import --keep prints it", path)
		}
		err = useStore(ctx, s, false, func(st *store.Store) error {
			r, err := st.Record(ctx, id)
			raw = r.Data
			return err
		})
	case path == "-":
		raw, err = io.ReadAll(io.LimitReader(s.In, 33<<20))
	default:
		info, bad := os.Stat(path)
		switch {
		case bad != nil:
			return nil, nil, misuse("%v", bad)
		case info.IsDir() || info.Size() > 32<<20:
			return nil, nil, misuse("%s: wanted a file of at most 32 MB", path)
		}
		raw, err = os.ReadFile(path)
	}
	if err != nil {
		return nil, nil, err
	}
	o, err := q.table.options(q.zone)
	if err != nil {
		return nil, nil, err
	}
	t, err := parseTable(bytes.NewReader(raw), path, o)
	if err != nil {
		return nil, nil, err
	}
	points := logPoints(t, q.zone)
	if len(points) == 0 {
		said := ""
		for _, p := range t.Problems.All() {
			said += "\n" + p.String()
		}
		return nil, nil, misuse("%s: no power and no yield could be read in %s; --column power=HEADER or yield=HEADER says where they stand%s", path, count(len(t.Rows), "row"), said)
	}
	q.layouts = append(q.layouts, layoutOf(t, filepath.Base(path)))
	return points, raw, nil
}

// logPoints turns a table's rows into points; watts are volts times amperes where no watts stand there.
func logPoints(t *tabular.Table, zone *time.Location) (out []track.Point) {
	for i := range t.Rows {
		if t.Rows[i].Repeat {
			continue
		}
		p := track.Point{Line: t.Rows[i].Line, Time: t.Rows[i].Time, Power: taken(t.Power(i, "power")), Yield: taken(t.Energy(i, "yield")), Battery: taken(t.Voltage(i, "battery_voltage")),
			Charge: taken(t.Ratio(i, "soc")), Light: taken(t.Irradiance(i, "irradiance")), Air: taken(t.Temperature(i, "air_temperature"))}
		if p.Time.IsZero() && t.Has("date") { // a line a day
			if d, err := dayCell(t.Text(i, "date"), zone); err == nil {
				p.Time = d
			}
		}
		if v, ok := t.Voltage(i, "voltage"); ok && p.Power == nil {
			if a, ok := t.Current(i, "current"); ok {
				w := quantity.Power(v.Volts() * a.Amperes())
				p.Power = &w
			}
		}
		if p.Power != nil || p.Yield != nil {
			out = append(out, p)
		}
	}
	return out
}

// dayCell reads a day alone.
func dayCell(text string, zone *time.Location) (time.Time, error) {
	var err error
	for _, form := range []string{"2006-01-02", "2006/01/02", "02.01.2006", "2.1.2006", "20060102"} {
		var d time.Time
		if d, err = time.ParseInLocation(form, strings.TrimSpace(text), zone); err == nil {
			return d.Add(12 * time.Hour), nil
		}
	}
	return time.Time{}, err
}

// store keeps a log by a build.
func (q *logQuestion) store(ctx context.Context, s *Streams, path string, raw []byte) (string, error) {
	name, found := strings.CutPrefix(q.keep, inStore)
	if !found || name == "" {
		return "", misuse("--keep %s: wanted store:NAME", q.keep)
	}
	kept := ""
	err := useStore(ctx, s, false, func(st *store.Store) error {
		file := filepath.Base(path)
		if path == "-" {
			file = "log.csv"
		}
		r, err := st.AddRecord(ctx, name, store.Record{Kind: "log", Name: file, Form: "csv", Data: raw})
		kept = fmt.Sprintf("%s%d", inRecords, r.ID)
		return err
	})
	return kept, err
}

// compare answers log compare.
func (q *logQuestion) compare(ctx context.Context, s *Streams, buildFile string, logs []string) error {
	wanted, err := q.pdf.asked()
	if err != nil {
		return err
	}
	if q.years < 4 || q.years > 400 {
		return misuse("--years %d: wanted between 4 and 400", q.years)
	}
	b, err := openBuild(ctx, s, buildFile)
	if err != nil {
		return err
	}
	if err := q.find(&b.build); err != nil {
		return err
	}
	set := track.Setting{Build: &b.build, Place: q.where, Years: q.years}
	if err := q.stood(&b.build, &set); err != nil {
		return err
	}
	var points []track.Point
	for _, path := range logs {
		p, _, err := q.read(ctx, s, path)
		if err != nil {
			return err
		}
		points = append(points, p...)
	}
	most := 0.0
	for i := range b.build.Modules {
		most += b.build.Types[b.build.Modules[i].Type].Pmax.Watts()
	}
	r, err := track.Compare(ctx, track.Import(points, q.zone, quantity.Power(most)), set)
	switch {
	case errors.Is(err, track.ErrEmpty), errors.Is(err, track.ErrLong), errors.Is(err, bench.ErrNight):
		return misuse("%s: %v", strings.Join(logs, ", "), err)
	case err != nil:
		return asUse(err)
	}
	a := newLogAnswer(r, *q)
	a.Assumed = append(a.Assumed, b.assumed()...)
	if wanted {
		job := sheet.LogJob{Report: r, Build: b.build.Name, Place: q.where.Name, Assumed: sheetAssumed(q.assumed)}
		if err := q.pdf.sheets(s, b, buildFile, logs[0], sheet.Log(job)); err != nil {
			return err
		}
	}
	if q.asJSON {
		return writeJSON(s.Out, a)
	}
	return a.print(s)
}

// stood reads posture and heading.
func (q *logQuestion) stood(b *build.Build, set *track.Setting) error {
	at := -1
	var names []string
	for k := range b.Postures {
		names = append(names, b.Postures[k].Name)
		if strings.EqualFold(b.Postures[k].Name, q.posture) {
			at = k
		}
	}
	switch {
	case q.posture != "" && at < 0:
		return misuse("--posture %q: the build has %s", q.posture, strings.Join(names, ", "))
	case q.posture == "" && len(b.Trip.Legs) > 0:
		at = b.Trip.Legs[0].Posture
		if l := b.Trip.Legs[0]; !l.HeadingFree && q.heading == "" && !l.Drive {
			h := l.Heading
			set.Heading = &h
			q.assumed = append(q.assumed, assumption{What: "heading", Value: fmt.Sprintf("%.0f°", l.Heading.Degrees()), Why: "the trip's first; give --heading"})
		}
		q.assumed = append(q.assumed, assumption{What: "posture", Value: b.Postures[at].Name, Why: "the trip's first; give --posture"})
	}
	set.Posture = max(0, at)
	if q.heading != "" {
		h, err := angleFlag("--heading", q.heading, 0, 360)
		if err != nil {
			return err
		}
		set.Heading = &h
	}
	return nil
}
