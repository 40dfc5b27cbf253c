package cli

import (
	"context"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/bench"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/sheet"
)

// benchQuestion is the flags of bench and record.
type benchQuestion struct {
	table                     tableFlags
	now                       nowQuestion
	module, meters, reference string
	page, paid                string
	plan                      bool
	tools                     bench.Tools
}

func benchCommand(s *Streams) *cobra.Command {
	var at whereFlags
	var q benchQuestion
	var pdf onPaper
	var asJSON bool
	c := &cobra.Command{
		Use:   "bench READINGS [BUILD] | bench --plan [BUILD]",
		Short: "readings brought to standard conditions, judged, and compared",
		Long: `READINGS is a table of any layout, CSV or tab-separated, "-" for the input: time, module, Voc, Isc,
volts, amps, watts, irradiance, back temperature, air temperature, sky, position … in any order and in
several languages, units in headers or cells. Modules are looked up in BUILD by name, serial or type, or
--module gives one label for all. What cannot be read is listed; what proves nothing gets no verdict.

  noonmark bench readings.csv van.yaml --at "Evora, PT"
  noonmark bench readings.csv --module "110 W mono flexible Voc 22.1 V Isc 6.4 A" --at 38.57,-7.91 --date 2027-06-21
  noonmark bench --plan --module "110 W mono flexible" --at "Evora, PT" --modules 2 --load --thermometer

--plan: which comparison to run in the next two hours, with times.`,
		Args: cobra.MaximumNArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			if q.plan {
				return q.runPlan(cmd.Context(), s, &at, args, asJSON)
			}
			if len(args) == 0 {
				return misuse("bench wants a file of readings, or --plan; noonmark bench --help shows an example")
			}
			wanted, err := pdf.asked()
			if err != nil {
				return err
			}
			a, err := q.answer(cmd.Context(), s, &at, args)
			if err != nil {
				return err
			}
			if wanted {
				job := a.job
				job.Paid = q.paid
				if err := pdf.sheets(s, a.opened, args[len(args)-1], args[0], sheet.Bench(job)); err != nil {
					return err
				}
			}
			if q.page != "" {
				if err := a.writePage(q.page, q.paid); err != nil {
					return err
				}
			}
			if asJSON {
				return writeJSON(s.Out, a)
			}
			return a.print(s)
		},
	}
	q.add(c, &at)
	pdf.add(c)
	f := c.Flags()
	f.StringVar(&q.table.date, "date", "", "day of times without a date, 2027-06-21")
	f.StringVar(&q.table.order, "order", "", "of dates that leave it open: day-first or month-first")
	f.StringArrayVar(&q.table.columns, "column", nil, `which column holds what, "voc=U leer" or "voc=3"; again for each`)
	f.StringArrayVar(&q.table.units, "unit", nil, `unit of a column, "module_temperature=°F"; again for each`)
	f.StringVar(&q.reference, "reference", "", `short-circuit amps of the reference module at standard conditions, "4.62 A"`)
	f.StringVar(&q.page, "page", "", "write one page to publish, Markdown, to this file: method, raw data, figure, table, what it does not show")
	f.StringVar(&q.paid, "paid-by", "", "who paid for the modules, for the page")
	f.BoolVar(&q.plan, "plan", false, "which comparison to run in the next two hours")
	f.IntVar(&q.tools.Modules, "modules", 2, "with --plan: modules at hand")
	f.BoolVar(&q.tools.LightMeter, "light-meter", false, "with --plan: one is at hand")
	f.BoolVar(&q.tools.Thermometer, "thermometer", false, "with --plan: one for the back is at hand")
	f.BoolVar(&q.tools.Load, "load", false, "with --plan: a controller with room in its battery, or a resistor")
	f.BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// add adds the flags that bench and record share.
func (q *benchQuestion) add(c *cobra.Command, at *whereFlags) {
	at.add(c)
	f := c.Flags()
	f.StringVar(&q.module, "module", "", "one label for all modules that the build does not name")
	f.StringVar(&q.meters, "meter", "", `class of instrument where the file says none: multimeter, clamp, inline watt meter, controller's display`)
	f.BoolVar(&q.now.lying, "lying", false, "they lie loose and flat (the default)")
	f.BoolVar(&q.now.bonded, "bonded", false, "they are bonded flat, nothing behind")
	f.StringVar(&q.now.tilted, "tilted", "", `leaning in the open, "30°" from the level, with --facing`)
	f.StringVar(&q.now.facing, "facing", "", `azimuth their face looks to, "180°" for south`)
	f.StringVar(&q.now.sky, "sky", "", "the sky as seen, where the file says nothing")
	f.StringVar(&q.now.air, "air", "", `air temperature, "24 °C"; empty: usual for the month and hour`)
	f.StringVar(&q.now.wind, "wind", "", `wind, "2 m/s"; empty: 2 m/s`)
}

// subject is what the readings are of.
type subject struct {
	opened  *openedBuild // nil: no build
	kinds   map[string]*build.ModuleType
	one     *build.ModuleType
	assumed []assumption
}

// subject opens the build and reads the label.
func (q *benchQuestion) subject(ctx context.Context, s *Streams, buildFile string) (*subject, error) {
	sub := &subject{kinds: map[string]*build.ModuleType{}}
	if buildFile != "" {
		b, err := openBuild(ctx, s, buildFile)
		if err != nil {
			return nil, err
		}
		sub.opened = b
		for i := range b.build.Types {
			t := &b.build.Types[i]
			sub.kinds[t.Name] = t
			if len(b.build.Types) == 1 {
				sub.one = t
			}
		}
		for _, m := range b.build.Modules {
			sub.kinds[m.Name] = &b.build.Types[m.Type]
			if m.Serial != "" {
				sub.kinds[m.Serial] = &b.build.Types[m.Type]
			}
		}
	}
	if q.module != "" {
		kind, assumed, err := build.ParseLabel(q.module)
		if err != nil {
			return nil, misuse("--module: %v", err)
		}
		sub.one = &kind
		for _, x := range assumed {
			sub.assumed = append(sub.assumed, assumption{What: x.Path, Value: x.Value, Why: x.Why, Source: x.Source})
		}
	}
	if sub.one == nil && len(sub.kinds) == 0 {
		return nil, misuse(`no module is known: give a build file, or --module "110 W mono Voc 22.1 V Isc 6.4 A"`)
	}
	return sub, nil
}

// place finds where, from --at or the build; ok is false where nobody says.
func (q *benchQuestion) place(at *whereFlags, sub *subject, s *Streams) (spot, bool, error) {
	if at.at != "" {
		sp, err := at.read(s)
		return sp, err == nil, err
	}
	if sub.opened == nil {
		return spot{when: s.Clock()}, false, nil
	}
	b := &sub.opened.build
	var p build.Place
	switch {
	case b.Home != nil:
		p = *b.Home
	case len(b.Trip.Legs) > 0:
		p = b.Trip.Legs[0].Place
	default:
		return spot{when: s.Clock()}, false, nil
	}
	when, err := readTime(at.when, p.Zone, s.Clock)
	return spot{place: p, when: when, assumed: []assumption{{What: "place", Value: p.Name, Why: "from the build; give --at where you read"}}}, true, err
}

// setting builds the setting of the readings.
func (q *benchQuestion) setting(sub *subject, sp spot, known bool) (bench.Setting, []assumption, error) {
	var set bench.Setting
	if !known {
		sp.place.Zone = time.UTC
	}
	kind := sub.one
	if kind == nil {
		kind = &sub.opened.build.Types[0]
	}
	ask := q.now
	inPlace := sub.opened != nil && !ask.bonded && !ask.lying && ask.tilted == "" && len(sub.opened.build.Modules) > 0
	ask.lying = ask.lying || inPlace
	scene, notes, err := ask.scene(kind, sp)
	if err != nil {
		return set, nil, err
	}
	set = bench.Setting{Facing: scene.Facing, Attachment: scene.Attachment, Wind: scene.Wind, Haze: scene.Haze, Albedo: scene.Albedo, Cloud: scene.Cloud, SkySaid: q.now.sky != ""}
	if known {
		p := sp.place
		set.Place = &p
		set.Air, set.AirUnsure = &scene.Air, scene.AirUnsure
	} else {
		notes = nil
	}
	if inPlace {
		m := sub.opened.build.Modules[0]
		set.Attachment, set.Gap, set.Facing = m.Attachment, m.Gap, shape.Facing{}
		notes = append(notes, assumption{What: "mounting", Value: "as in the build, level", Why: "give --tilted and --facing, or --lying"})
	}
	meters, ok := bench.MetersOf(q.meters)
	if q.meters != "" && !ok {
		return set, nil, misuse("--meter %q: wanted multimeter, clamp, inline watt meter or controller's display", q.meters)
	}
	set.Meters = meters
	if q.meters == "" {
		notes = append(notes, assumption{What: "instruments", Value: "multimeter: volts 0.5 % + 0.03 V, amps 1.5 % + 0.03 A, light 5 %, temperature 2 K", Why: "where the file names none", Source: "typical specifications, from memory"})
	}
	if q.reference != "" {
		i, err := quantity.ParseCurrent(q.reference)
		if err != nil || i <= 0 {
			return set, nil, misuse(`--reference %q: wanted the reference module's amps at standard conditions, "4.62 A"`, q.reference)
		}
		set.Reference = &bench.Reference{Short: i, Slope: 0.05 * quantity.PercentPerKelvin, Unsure: 3 * quantity.Percent}
	}
	return set, notes, nil
}

// answer reads, judges and compares.
func (q *benchQuestion) answer(ctx context.Context, s *Streams, at *whereFlags, args []string) (*benchAnswer, error) {
	buildFile := ""
	if len(args) == 2 {
		buildFile = args[1]
	}
	sub, err := q.subject(ctx, s, buildFile)
	if err != nil {
		return nil, err
	}
	var zone *time.Location
	sp, known, err := q.place(at, sub, s)
	if err != nil {
		return nil, err
	}
	if known {
		zone = sp.place.Zone
	}
	o, err := q.table.options(zone)
	if err != nil {
		return nil, err
	}
	t, err := readTable(s, args[0], o)
	if err != nil {
		return nil, err
	}
	list, empty := samples(t)
	if len(list) == 0 {
		said := ""
		for _, p := range t.Problems.All() {
			said += "\n" + p.String()
		}
		return nil, misuse("%s: no Voc, Isc, volts, amps or watts could be read in %s%s", args[0], count(len(t.Rows), "row"), said)
	}
	if at.when != "" && !t.Has("time") && !t.Has("date") { // the file has none: one instant for all
		for i := range list {
			list[i].Time = sp.when
		}
	}
	for _, x := range list {
		if !x.Time.IsZero() {
			sp.when = x.Time // for the air of the month and hour
			break
		}
	}
	set, notes, err := q.setting(sub, sp, known)
	if err != nil {
		return nil, err
	}
	r, err := bench.Examine(bench.Question{Samples: list, Kinds: sub.kinds, Default: sub.one, Setting: set})
	if err != nil {
		return nil, misuse("%v", err)
	}
	a := newBenchAnswer(t, args[0], r, set, sub)
	a.Empty = empty
	a.Assumed = append(a.Assumed, notes...)
	a.opened = sub.opened
	a.job = sheet.BenchJob{Report: r, Zone: a.zone, Assumed: sheetAssumed(a.Assumed)}
	for _, p := range t.Problems.All() {
		a.job.Unread = append(a.job.Unread, p.String())
	}
	if t.Has("temperature") && !t.Has("module_temperature") {
		a.Layout.Notes = append(a.Layout.Notes, `the column "temperature" is not used: whose it is, is not said; --column module_temperature=HEADER or air_temperature=HEADER`)
	}
	return a, nil
}

// runPlan answers --plan.
func (q *benchQuestion) runPlan(ctx context.Context, s *Streams, at *whereFlags, args []string, asJSON bool) error {
	buildFile := ""
	switch len(args) {
	case 1:
		buildFile = args[0]
	case 2:
		return misuse("bench --plan wants a build file or --module, and no readings")
	}
	sub, err := q.subject(ctx, s, buildFile)
	if err != nil {
		return err
	}
	sp, known, err := q.place(at, sub, s)
	if err != nil {
		return err
	}
	if !known {
		return misuse(`bench --plan wants a place: --at "Evora, PT"`)
	}
	set, notes, err := q.setting(sub, sp, known)
	if err != nil {
		return err
	}
	kind := sub.one
	if kind == nil {
		kind = &sub.opened.build.Types[0]
	}
	q.tools.Reference = q.reference != ""
	return s.showPlan(kind, set, sp, q.tools, append(sub.assumed, notes...), asJSON)
}

// orDash prints a dash for an empty text.
func orDash(s string) string {
	if strings.TrimSpace(s) == "" {
		return "-"
	}
	return s
}
