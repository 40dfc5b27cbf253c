package cli

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

type dayplanAnswer struct {
	Build     string        `json:"build"`
	Date      string        `json:"date"`
	Place     string        `json:"place"`
	Surface   string        `json:"surface"`
	Skin      string        `json:"skin"`
	Adhesives []string      `json:"adhesives"`
	Crew      int           `json:"crew"`
	CrewLeast int           `json:"crew_least"`
	Rise      string        `json:"rise,omitempty"`
	Set       string        `json:"set,omitempty"`
	Hours     []dayHour     `json:"hours"`
	Window    dayWindow     `json:"window"`
	Materials dayMaterials  `json:"materials"`
	Tasks     []dayTask     `json:"tasks"`
	Fits      bool          `json:"fits"`
	Placed    int           `json:"placed"`
	Holds     []dayHold     `json:"holds"`
	Trial     []string      `json:"trial"`
	Drive     []dayDrive    `json:"drive"`
	Removals  []dayRemoval  `json:"removals"`
	Cautions  []string      `json:"cautions"`
	Notes     []string      `json:"notes"`
	Assumed   []assumption  `json:"assumed"`
	plan      *dayplan.Plan // as computed
}

type dayHour struct {
	From     string   `json:"from"`
	Air      float64  `json:"air_degC"`
	Dew      float64  `json:"dew_point_degC"`
	Humidity float64  `json:"humidity"`
	Skin     float64  `json:"skin_degC"`
	Light    float64  `json:"ghi_Wm2"`
	Wind     float64  `json:"wind_mps"`
	Open     bool     `json:"open"`
	Reasons  []string `json:"reasons"`
	Touch    float64  `json:"touch_s"`
	Patch    float64  `json:"patch_m2"`
}

type dayWindow struct {
	Found    bool   `json:"found"`
	From     string `json:"from,omitempty"`
	Until    string `json:"until,omitempty"`
	Start    string `json:"bonding_from,omitempty"`
	WarmFrom string `json:"warm_from,omitempty"`
	HotFrom  string `json:"hot_from,omitempty"`
	HotUntil string `json:"hot_until,omitempty"`
	Why      string `json:"why"`
}

type dayMaterials struct {
	Masked      float64    `json:"masked_m2"`
	MaskTape    float64    `json:"masking_tape_m"`
	Film        float64    `json:"film_m2"`
	FoamTape    float64    `json:"foam_tape_m"`
	PrimerLeast float64    `json:"primer_least_ml"`
	PrimerMost  float64    `json:"primer_most_ml"`
	Containers  int        `json:"containers"`
	Container   float64    `json:"container_ml"`
	Wipes       int        `json:"wipes"`
	Alcohol     float64    `json:"alcohol_ml"`
	Pads        int        `json:"pads"`
	Gloves      int        `json:"gloves"`
	Weights     int        `json:"weights"`
	WeightMass  float64    `json:"weights_kg"`
	Share       float64    `json:"weights_share_of_wet_out"`
	WeightNote  string     `json:"weights_note"`
	Patches     []dayPatch `json:"patches"`
	Covers      []dayCover `json:"covers"`
	AtHand      []string   `json:"at_hand"`
}

type dayPatch struct {
	Skin  float64 `json:"skin_degC"`
	Patch float64 `json:"patch_m2"`
	Parts int     `json:"parts"`
}

type dayCover struct {
	Module   string  `json:"module"`
	Kind     string  `json:"kind"`
	Width    float64 `json:"width_m"`
	Depth    float64 `json:"depth_m"`
	OffCells float64 `json:"off_cells_m"`
	Hook     float64 `json:"hook_and_loop_m"`
	Drains   int     `json:"drains"`
}

type dayTask struct {
	Name   string `json:"name"`
	Before int    `json:"days_before"`
	From   string `json:"from,omitempty"`
	To     string `json:"to,omitempty"`
	People int    `json:"people"`
	Gate   bool   `json:"gate"`
	Hold   bool   `json:"hold"`
	Note   string `json:"note,omitempty"`
}

type dayHold struct {
	Before string `json:"before"`
	Ask    string `json:"ask"`
	NoGo   string `json:"no_go"`
}

type dayDrive struct {
	Stage string  `json:"stage"`
	Most  float64 `json:"most_mps"`
	From  string  `json:"from,omitempty"`
	InSun string  `json:"in_clear_sun_from,omitempty"`
}

type dayRemoval struct {
	Module string   `json:"module"`
	Time   float64  `json:"time_min"`
	Wire   float64  `json:"wire_m"`
	Heat   float64  `json:"heat_degC"`
	Risk   string   `json:"risk"`
	Steps  []string `json:"steps"`
}

func dayplanCommand(s *Streams) *cobra.Command {
	var date, at string
	var crew int
	var asJSON bool
	c := &cobra.Command{
		Use:   "dayplan BUILD [--date D] [--at PLACE]",
		Short: "the installation day: weather gate, work by the hour, materials, hold points, when to drive",
		Long: `Plans the day on which modules are bonded: the hours in which skin, dew point, humidity and wind let
it, the work in them, what it uses, where to hold and ask, from when the vehicle may be driven, and how
a module comes off again. Without --date: the last day, by fortnights back from the trip, on which all
modules are down in time. Without --at: home, or where the trip begins. A plan to choose a day by; on
the day the instruments decide.

  noonmark dayplan van.yaml
  noonmark dayplan van.yaml --date 2027-05-14 --at "Evora, PT" --crew 3`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			if crew < 0 || crew > 50 {
				return misuse("--crew %d: wanted up to 50 people, 0 for as many as it takes", crew)
			}
			p, notes, err := dayOf(&b.build, date, at, crew)
			if err != nil {
				return err
			}
			a := dayJSON(b, p, notes)
			if asJSON {
				return writeJSON(s.Out, a)
			}
			return a.print(s, b)
		},
	}
	c.Flags().StringVar(&date, "date", "", `"2027-05-14"; empty: the last fit day before the trip`)
	c.Flags().StringVar(&at, "at", "", `where: "38.57,-7.91" or a town, "Evora, PT"; empty: home, or where the trip begins`)
	c.Flags().IntVar(&crew, "crew", 0, "people; 0: as many as the longest module asks for")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// dayOf plans the day asked for, or the last fit one before the trip.
func dayOf(b *build.Build, date, at string, crew int) (*dayplan.Plan, []assumption, error) {
	var notes []assumption
	var job dayplan.Job
	job.Crew = crew
	switch {
	case at != "":
		p, n, err := findPlace(at)
		if err != nil {
			return nil, nil, err
		}
		job.Place, notes = p, n
	case b.Home != nil:
		job.Place = *b.Home
	case len(b.Trip.Legs) > 0:
		job.Place = b.Trip.Legs[0].Place
		notes = append(notes, assumption{What: "place of the day", Value: job.Place.Name, Why: "no home is given: where the trip begins"})
	}
	var p *dayplan.Plan
	var err error
	if date != "" {
		zone := job.Place.Zone
		if zone == nil {
			zone = time.UTC
		}
		if job.Day, err = time.ParseInLocation("2006-01-02", date, zone); err != nil {
			return nil, nil, misuse("--date %q: wanted a date, such as 2027-05-14", date)
		}
		if job.Day, err = checkYear(job.Day.Add(12 * time.Hour)); err != nil {
			return nil, nil, err
		}
		if crew == 0 {
			job.Crew = dayplan.CrewOf(b)
		}
		p, err = dayplan.Make(b, job)
	} else if len(b.Trip.Legs) > 0 {
		job.Day = b.Trip.Legs[0].From
		p, err = dayplan.Latest(b, job)
		if err == nil {
			why := "the last fortnight before the trip on which all modules are down in time"
			if !p.Fits {
				why = "two weeks before the trip: no fortnight of a year lets all modules down in time"
			}
			notes = append(notes, assumption{What: "date of the day", Value: p.Date.Format("2 January 2006"), Why: why})
		}
	} else {
		return nil, nil, misuse("--date is missing, and the build has no trip to plan back from")
	}
	switch {
	case errors.Is(err, dayplan.ErrNothingBonded), errors.Is(err, dayplan.ErrNoPlace):
		return nil, nil, misuse("%w", err)
	case err != nil:
		return nil, nil, err
	}
	return p, notes, nil
}

func stampTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}

func dayJSON(b *openedBuild, p *dayplan.Plan, notes []assumption) *dayplanAnswer {
	w, m := &p.Window, &p.Materials
	a := &dayplanAnswer{Build: b.build.Name, Date: p.Date.Format("2006-01-02"), Place: p.Place, Surface: p.Surface, Skin: p.Skin, Adhesives: p.Adhesives, Crew: p.Crew, CrewLeast: p.CrewLeast,
		Rise: stampTime(p.Rise), Set: stampTime(p.Set), Fits: p.Fits, Placed: p.Placed, Trial: p.Trial, Cautions: p.Cautions, Notes: p.Notes, Assumed: append(notes, b.assumed()...),
		Hours: []dayHour{}, Tasks: []dayTask{}, Holds: []dayHold{}, Drive: []dayDrive{}, Removals: []dayRemoval{}, plan: p,
		Window: dayWindow{Found: w.Found, From: stampTime(w.From), Until: stampTime(w.Until), Start: stampTime(w.Start), WarmFrom: stampTime(w.WarmFrom), HotFrom: stampTime(w.HotFrom), HotUntil: stampTime(w.HotUntil), Why: w.Why},
		Materials: dayMaterials{Masked: round(m.Masked.SquareMetres(), 3), MaskTape: round(m.MaskTape.Metres(), 2), Film: round(m.Film.SquareMetres(), 3), FoamTape: round(m.FoamTape.Metres(), 2),
			PrimerLeast: round(m.PrimerLeast.Millilitres(), 1), PrimerMost: round(m.PrimerBuy.Millilitres(), 1), Containers: m.Containers, Container: round(m.Container.Millilitres(), 1),
			Wipes: m.Wipes, Alcohol: round(m.Alcohol.Millilitres(), 0), Pads: m.Pads, Gloves: m.Gloves, Weights: m.Weights, WeightMass: round(m.WeightMass.Kilograms(), 1), Share: round(m.WeightShare.Float(), 5),
			WeightNote: m.WeightNote, AtHand: m.ReadyToHand, Patches: []dayPatch{}, Covers: []dayCover{}}}
	for _, h := range p.Hours {
		o := dayHour{From: stampTime(h.From), Air: round(h.Air.Celsius(), 1), Dew: round(h.Dew.Celsius(), 1), Humidity: round(h.Humidity.Float(), 3), Skin: round(h.Skin.Celsius(), 1),
			Light: round(h.Light.WattsPerSquareMetre(), 0), Wind: round(h.Wind.MetresPerSecond(), 2), Open: h.Open, Reasons: []string{}, Touch: round(h.Touch.Seconds(), 0), Patch: round(h.Patch.SquareMetres(), 3)}
		for _, r := range h.Reasons {
			o.Reasons = append(o.Reasons, r.String())
		}
		a.Hours = append(a.Hours, o)
	}
	for _, t := range p.Tasks {
		a.Tasks = append(a.Tasks, dayTask{Name: t.Name, Before: t.BeforeDays, From: stampTime(t.From), To: stampTime(t.To), People: t.People, Gate: t.Gate, Hold: t.Hold, Note: t.Note})
	}
	for _, h := range p.Holds {
		a.Holds = append(a.Holds, dayHold{h.Before, h.Ask, h.NoGo})
	}
	for _, d := range p.Drive {
		o := dayDrive{Stage: d.Stage.String(), Most: round(d.Most.MetresPerSecond(), 2), InSun: stampTime(d.InSun)}
		if d.Found {
			o.From = stampTime(d.From)
		}
		a.Drive = append(a.Drive, o)
	}
	for _, r := range p.Removals {
		a.Removals = append(a.Removals, dayRemoval{r.Module, r.Time.Minutes(), round(r.Wire.Metres(), 2), round(r.Heat.Celsius(), 1), r.Risk, r.Steps})
	}
	for _, q := range m.PatchesByHour {
		a.Materials.Patches = append(a.Materials.Patches, dayPatch{round(q.Skin.Celsius(), 1), round(q.Patch.SquareMetres(), 3), q.Parts})
	}
	for _, c := range m.Covers {
		a.Materials.Covers = append(a.Materials.Covers, dayCover{c.Module, c.Kind, round(c.Width.Metres(), 4), round(c.Depth.Metres(), 4), round(c.OffCells.Metres(), 4), round(c.Hook.Metres(), 3), c.Drains})
	}
	return a
}

func (a *dayplanAnswer) print(s *Streams, b *openedBuild) error {
	out, p, m := s.Out, a.plan, &a.plan.Materials
	st := quantity.Style{Digits: 3}
	if b.build.Units == build.Imperial {
		st.System = quantity.Imperial
	}
	brief := st // for the weather, where a digit more says nothing
	brief.Digits = 2
	clock := func(t time.Time) string { return t.Format("15:04") }
	fmt.Fprintf(out, "%s: the installation day\n%s at %s; %s of %s, %s; %s, at least %d.\n", b.build.Name, p.Date.Format("Monday 2 January 2006"), p.Place, p.Surface, p.Skin, strings.Join(p.Adhesives, ", "), people(p.Crew), p.CrewLeast)
	if p.Window.Found {
		fmt.Fprintf(out, "The gate is open from %s to %s; %s. Bonding begins at %s: %d of %d modules are down in time.\n", clock(p.Window.From), clock(p.Window.Until), p.Window.Why, clock(p.Window.Start), p.Placed, len(p.Removals))
	} else {
		fmt.Fprintf(out, "%s.\n", p.Window.Why)
	}
	fmt.Fprintln(out, "\nGate, by daylight")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, h := range p.Hours {
		if h.Light <= 0 {
			continue
		}
		state := "open"
		if !h.Open {
			state = "shut"
		}
		var why []string
		for _, r := range h.Reasons {
			why = append(why, r.String())
		}
		fmt.Fprintf(w, "  %s\t%s\tskin %s\tair %s\tdew %s\t%.0f %% humid\twind %s\t%s\n", clock(h.From), state, h.Skin.Text(brief), h.Air.Text(brief), h.Dew.Text(brief), h.Humidity.Percent(), h.Wind.Text(brief), strings.Join(why, "; "))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(out, "\nWork (* hold: somebody answers go or no go before it starts)")
	for _, t := range p.Tasks {
		when, hold := fmt.Sprintf("%s before ", count(t.BeforeDays, "day")), " "
		if t.BeforeDays == 0 {
			when = clock(t.From) + " to " + clock(t.To)
		}
		if t.Hold {
			hold = "*"
		}
		fmt.Fprintf(out, "  %-14s %s %s, %s\n", when, hold, t.Name, people(t.People))
		if t.Note != "" {
			fmt.Fprintf(out, "                   %s\n", t.Note)
		}
	}
	fmt.Fprintln(out, "\nHold points")
	for _, h := range p.Holds {
		fmt.Fprintf(out, "  before %s: %s No: %s.\n", h.Before, h.Ask, h.NoGo)
	}
	fmt.Fprintf(out, "\nIt uses\n  %s to clean, scuff and prime; %s of masking tape", m.Masked.Text(st), m.MaskTape.Text(st))
	if m.FoamTape > 0 {
		fmt.Fprintf(out, "; %s of foam tape, 25 mm", m.FoamTape.Text(st))
	}
	if m.Containers > 0 {
		fmt.Fprintf(out, "; primer %s to %s, %s of %s with one spare", m.PrimerLeast.Text(st), m.PrimerBuy.Text(st), count(m.Containers, "container"), m.Container.Text(st))
	}
	fmt.Fprintf(out, ";\n  %d wipes, %s of alcohol and water, %s, %s of gloves; %d bags of 5 kg\n  %s\n", m.Wipes, m.Alcohol.Text(st), count(m.Pads, "abrasive pad"), count(m.Gloves, "pair"), m.Weights, m.WeightNote)
	for _, q := range m.PatchesByHour {
		if q.Parts > 0 {
			fmt.Fprintf(out, "  skin %s: one person primes and covers %s in time, the largest module in %s\n", q.Skin.Text(st), q.Patch.Text(st), count(q.Parts, "part"))
		} else {
			fmt.Fprintf(out, "  skin %s: it cannot be done\n", q.Skin.Text(st))
		}
	}
	fmt.Fprintln(out, "\nDriving")
	for _, d := range p.Drive {
		from := "not within three weeks"
		if d.Found {
			from = d.From.Format("Mon 2 Jan 15:04")
		}
		most := ""
		if d.Most > 0 {
			most = ", at most " + d.Most.Text(st)
		}
		fmt.Fprintf(out, "  %s%s: from %s in the shade", d.Stage, most, from)
		if !d.InSun.IsZero() {
			fmt.Fprintf(out, ", %s in clear sun", d.InSun.Format("Mon 2 Jan 15:04"))
		}
		fmt.Fprintln(out)
	}
	for _, l := range []struct {
		title string
		lines []string
	}{{"Before anything is glued", p.Trial}, {"Taking one off again", removalLines(p)}, {"Cautions", p.Cautions}, {"Notes", p.Notes}} {
		if len(l.lines) > 0 {
			fmt.Fprintf(out, "\n%s\n  %s\n", l.title, strings.Join(l.lines, "\n  "))
		}
	}
	printAssumed(out, a.Assumed)
	return nil
}

func people(n int) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}

// removalLines are what taking off asks for each module, and the steps once.
func removalLines(p *dayplan.Plan) []string {
	var out []string
	for _, r := range p.Removals {
		out = append(out, fmt.Sprintf("%s: %.0f min, %.1f m of wire, bond to %.0f °C at most; %s", r.Module, r.Time.Minutes(), r.Wire.Metres(), r.Heat.Celsius(), r.Risk))
	}
	if len(p.Removals) > 0 {
		out = append(out, p.Removals[0].Steps...)
	}
	return out
}
