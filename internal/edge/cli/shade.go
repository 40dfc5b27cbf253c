package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/shading"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
)

type shadeAnswer struct {
	Day       string         `json:"day,omitempty"`
	Place     string         `json:"place"`
	Offered   lossJSON       `json:"offered"`
	Obstacles []obstacleJSON `json:"obstacles"`
	Together  lossJSON       `json:"together"`
	Modules   []shadeModule  `json:"modules"`
	Mends     []mendJSON     `json:"mends"`
	Cheapest  string         `json:"cheapest_mend,omitempty"`
	Road      []roadJSON     `json:"road"`
	Cautions  []string       `json:"cautions"`
	Assumed   []assumption   `json:"assumed"`
}

type lossJSON struct {
	Day  *float64 `json:"day_Wh,omitempty"`
	Trip float64  `json:"trip_Wh"`
	Year float64  `json:"year_Wh"`
}

type obstacleJSON struct {
	Name   string  `json:"name"`
	Hours  float64 `json:"hours"`
	Energy float64 `json:"energy_Wh"`
	lossJSON
	HoursYear float64            `json:"hours_year"`
	Modules   map[string]float64 `json:"modules_year_Wh"`
}

type shadeModule struct {
	Name   string  `json:"name"`
	Energy float64 `json:"energy_Wh"`
	lossJSON
	Cells []float64 `json:"cell_light"`
}

type mendJSON struct {
	What   string  `json:"what"`
	Effort string  `json:"effort"`
	Gain   float64 `json:"gain_year_Wh"`
	Share  float64 `json:"gain_share"`
	Note   string  `json:"note,omitempty"`
}

// roadJSON is moving shade on a drive.
type roadJSON struct {
	From     string  `json:"from"`
	To       string  `json:"to"`
	Speed    float64 `json:"speed_mps"`
	Flicker  float64 `json:"trees_10m_apart_Hz"`
	Crossing float64 `json:"edge_over_module_s"`
	Tracking float64 `json:"tracking_loss"`
}

func shadeCommand(s *Streams) *cobra.Command {
	var date string
	var seed uint64
	var asJSON, noMends bool
	c := &cobra.Command{
		Use:   "shade BUILD",
		Short: "what each thing on the roof costs, and what would mend it",
		Long: `Charges each thing that shades a cell by leaving it out: hours of shadow and watt-hours, over the
trip and a year, and with --day over one clear day. Losses behind bypass diodes do not add up, so one
row says what all of them cost together.

  noonmark shade van.yaml
  noonmark shade van.yaml --day 2027-12-21`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			o := shading.Options{Mends: !noMends, Seed: seed}
			if date != "" {
				if o.Day, err = time.Parse("2006-01-02", date); err != nil || o.Day.Year() < 1950 || o.Day.Year() > 2100 {
					return misuse("--day %q: wanted a date, such as 2027-06-21, from 1950 to 2100", date)
				}
			}
			a, err := costsOf(cmd.Context(), s, b, o)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(s.Out, shadeJSON(b, a, date))
			}
			return printShade(s, b, a, date)
		},
	}
	c.Flags().StringVar(&date, "day", "", `a clear day too, "2027-12-21"`)
	c.Flags().Uint64Var(&seed, "seed", 1, "seed of the weather")
	c.Flags().BoolVar(&noMends, "no-mends", false, "look for no mends")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// errNoStay says that a trip of drives alone places the vehicle nowhere.
var errNoStay = misuse("the trip has no stay: it would say where the vehicle stands, and how")

func costsOf(ctx context.Context, s *Streams, b *openedBuild, o shading.Options) (*shading.Answer, error) {
	if s.Terminal {
		o.Progress = throttled(func(done, total int) {
			fmt.Fprintf(s.Err, "\r%d of %d runs", done, total)
			if done == total {
				fmt.Fprint(s.Err, "\r\x1b[K")
			}
		})
	}
	shaded := b.build
	for i := range shaded.Trip.Legs { // shade is compared in the built-in climate
		if shaded.Trip.Legs[i].WeatherFile != "" {
			legs := append([]build.Leg(nil), shaded.Trip.Legs...)
			for k := range legs {
				legs[k].WeatherFile = ""
			}
			shaded.Trip.Legs = legs
			break
		}
	}
	a, err := shading.Costs(ctx, &shaded, o)
	if errors.Is(err, shading.ErrNoTrip) {
		return nil, errNoStay
	}
	return a, err
}

func lossOf(l shading.Loss, day bool) lossJSON {
	out := lossJSON{Trip: wh(l.Trip), Year: wh(l.Year)}
	if day {
		d := wh(l.Day)
		out.Day = &d
	}
	return out
}

func shadeJSON(b *openedBuild, a *shading.Answer, date string) shadeAnswer {
	day := date != ""
	out := shadeAnswer{Day: date, Place: a.Where, Offered: lossOf(a.Offered, day), Together: lossOf(a.Together, day),
		Obstacles: []obstacleJSON{}, Mends: []mendJSON{}, Road: []roadJSON{}, Cautions: shadeCautions, Assumed: shadeAssumed(b, a)}
	pick := func(l shading.Loss) float64 {
		if day {
			return wh(l.Day)
		}
		return wh(l.Trip)
	}
	for _, c := range a.Obstacles {
		o := obstacleJSON{Name: c.Name, Hours: round(c.Hours.Trip, 1), HoursYear: round(c.Hours.Year, 0), Energy: pick(c.Loss), lossJSON: lossOf(c.Loss, day), Modules: map[string]float64{}}
		if day {
			o.Hours = round(c.Hours.Day, 1)
		}
		for m, l := range c.Modules {
			o.Modules[a.Modules[m].Name] = wh(l.Year)
		}
		out.Obstacles = append(out.Obstacles, o)
	}
	for _, m := range a.Modules {
		j := shadeModule{Name: m.Name, Energy: pick(m.Loss), lossJSON: lossOf(m.Loss, day)}
		for _, c := range m.Cells {
			j.Cells = append(j.Cells, round(c.Float(), 3))
		}
		out.Modules = append(out.Modules, j)
	}
	for _, m := range a.Mends {
		out.Mends = append(out.Mends, mendJSON{What: m.What, Effort: m.Effort.String(), Gain: wh(m.Gain), Share: round(shareOf(m.Gain, a.Offered.Year), 4), Note: m.Note})
	}
	if m, ok := a.Cheapest(); ok {
		out.Cheapest = m.What
	}
	out.Road = append(out.Road, roads(&b.build)...)
	return out
}

func shareOf(part, whole quantity.Energy) float64 {
	if whole <= 0 {
		return 0
	}
	return part.Joules() / whole.Joules()
}

// roads returns the moving shade of each drive: trees every 10 m, and how long a shadow's edge takes over a
// module. Source of the loss: charge.TrackingEfficiency.
func roads(b *build.Build) []roadJSON {
	var out []roadJSON
	for i := range b.Trip.Legs {
		l := &b.Trip.Legs[i]
		span := l.Until.Sub(l.From).Seconds()
		if !l.Drive || span <= 0 || len(b.Modules) == 0 {
			continue
		}
		v := forecast.RouteLength(l).Metres() / span
		long := b.Types[b.Modules[0].Type].Length.Metres()
		if v < 1 {
			continue
		}
		out = append(out, roadJSON{From: l.Place.Name, To: l.To.Name, Speed: round(v, 1), Flicker: round(v/10, 2), Crossing: round(long/v, 3),
			Tracking: round(1-charge.TrackingEfficiency(true, quantity.Speed(v)).Float(), 3)})
	}
	return out
}

// shadeCautions are the usual ones where a shaded cell may get hot.
var shadeCautions = []string{
	"A shaded cell may burn what its neighbours give: do not leave a hard shadow, a strap or a leaf on a module for days; look for brown spots.",
	"Cover modules before you change plugs: they are live in light.",
}

func shadeAssumed(b *openedBuild, a *shading.Answer) []assumption {
	var out []assumption
	for _, t := range a.Assumed {
		out = append(out, assumption{What: "shade", Value: t})
	}
	return append(out, b.assumed()...)
}

func printShade(s *Streams, b *openedBuild, a *shading.Answer, date string) error {
	out := s.Out
	fmt.Fprintf(out, "%s: what shade costs, at the battery\n\n", b.build.Name)
	if len(a.Obstacles) == 0 {
		fmt.Fprintln(out, "Nothing stands on the roof in the postures of this trip. Obstacles are written under obstacles: in the build file.")
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	head := "\ttrip\tyear\tof the year\tshadow on a cell\t\n"
	if date != "" {
		head = "\t" + date + "\ttrip\tyear\tof the year\tshadow on a cell\t\n"
	}
	fmt.Fprint(w, head)
	row := func(name string, l shading.Loss, hours string) {
		day := ""
		if date != "" {
			day = fmt.Sprintf("%.0f Wh\t", l.Day.WattHours())
		}
		whole := a.Offered.Year.Joules() + a.Together.Year.Joules()
		fmt.Fprintf(w, "%s\t%s%.0f Wh\t%.1f kWh\t%.1f %%\t%s\t\n", name, day, l.Trip.WattHours(), l.Year.WattHours()/1000, 100*l.Year.Joules()/math.Max(1, whole), hours)
	}
	for _, c := range a.Obstacles {
		row(c.Name, c.Loss, fmt.Sprintf("%.0f h a year", c.Hours.Year))
	}
	if len(a.Obstacles) > 0 {
		row("all together", a.Together, "")
	}
	row("left to use", a.Offered, "")
	if err := w.Flush(); err != nil {
		return err
	}
	if c, ok := a.Worst(); ok {
		fmt.Fprintf(out, "\nWorst: %s.", c.Name)
		if m, ok := a.Cheapest(); ok {
			fmt.Fprintf(out, " Cheapest mend that gives 1 %% or more: %s, %+.1f kWh a year (%s).", m.What, m.Gain.WattHours()/1000, m.Effort)
		} else if len(a.Mends) > 0 {
			fmt.Fprint(out, " No mend tried gives 1 % of the year.")
		}
		fmt.Fprintln(out)
	}
	for m := range a.Modules {
		fmt.Fprintln(out)
		printCells(out, &b.build, m, a.Modules[m].Cells)
	}
	if len(a.Mends) > 0 {
		fmt.Fprintln(out, "\nWhat would change it, kWh a year")
		for _, m := range a.Mends {
			fmt.Fprintf(out, "  %+6.1f  %s (%s)\n", m.Gain.WattHours()/1000, m.What, m.Effort)
			if m.Note != "" && math.Abs(shareOf(m.Gain, a.Offered.Year)) >= 0.01 {
				fmt.Fprintf(out, "          %s\n", m.Note)
			}
		}
	}
	if r := roads(&b.build); len(r) > 0 {
		fmt.Fprintln(out, "\nOn the road")
		for _, x := range r {
			fmt.Fprintf(out, "  %s to %s, %.0f km/h: trees 10 m apart flicker at %.1f Hz, a shadow's edge crosses a module in %.2f s; tracking loses %.0f %%, counted.\n",
				x.From, x.To, x.Speed*3.6, x.Flicker, x.Crossing, 100*x.Tracking)
		}
	}
	fmt.Fprintln(out)
	for _, c := range shadeCautions {
		fmt.Fprintln(out, c)
	}
	printAssumed(out, shadeAssumed(b, a))
	return nil
}

// printCells draws a module as it lies, front up: the light of each cell over the year, in percent.
func printCells(out io.Writer, b *build.Build, m int, light []quantity.Ratio) {
	cells := b.Cells(&b.Modules[m])
	var rows []float64
	at := map[[2]int]quantity.Ratio{}
	index := func(list *[]float64, x float64) int {
		for i, y := range *list {
			if math.Abs(x-y) < 1e-4 {
				return i
			}
		}
		*list = append(*list, x)
		return len(*list) - 1
	}
	var columns []float64
	for k := range cells {
		c := cells[k].Outline.Bounds().Low
		index(&rows, c.X)
		index(&columns, c.Y)
	}
	slices.Sort(rows)
	slices.Sort(columns)
	for k := range cells {
		c := cells[k].Outline.Bounds().Low
		at[[2]int{index(&rows, c.X), index(&columns, c.Y)}] = light[k]
	}
	fmt.Fprintf(out, "%s, light of each cell over the year in percent of an unshaded one's (front up, left to the left)\n", b.Modules[m].Name)
	for r := range rows {
		fmt.Fprint(out, "  ")
		for c := range columns {
			fmt.Fprintf(out, "%4.0f", 100*at[[2]int{r, c}].Float())
		}
		fmt.Fprintln(out)
	}
}
