package cli

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/bench"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
)

type nowAnswer struct {
	Place        string       `json:"place"`
	Time         time.Time    `json:"time"`
	Voc          float64      `json:"voc_V"`
	VocLow       float64      `json:"voc_V_low"`
	VocHigh      float64      `json:"voc_V_high"`
	Isc          float64      `json:"isc_A"`
	IscLow       float64      `json:"isc_A_low"`
	IscHigh      float64      `json:"isc_A_high"`
	Pmax         float64      `json:"pmax_W"`
	PmaxLow      float64      `json:"pmax_W_low"`
	PmaxHigh     float64      `json:"pmax_W_high"`
	Module       float64      `json:"module_degC"`
	ModuleLow    float64      `json:"module_degC_low"`
	ModuleHigh   float64      `json:"module_degC_high"`
	Plane        float64      `json:"plane_Wm2"`
	PlaneLow     float64      `json:"plane_Wm2_low"`
	PlaneHigh    float64      `json:"plane_Wm2_high"`
	Fraction     float64      `json:"fraction_of_label"`
	FractionLow  float64      `json:"fraction_of_label_low"`
	FractionHigh float64      `json:"fraction_of_label_high"`
	Vmp          float64      `json:"vmp_V"`
	Imp          float64      `json:"imp_A"`
	Dominant     string       `json:"band_dominated_by"`
	Mend         string       `json:"reading_that_would_shrink_it"`
	Cautions     []string     `json:"cautions"`
	Assumed      []assumption `json:"assumed"`
}

func nowCommand(s *Streams) *cobra.Command {
	var at whereFlags
	var q nowQuestion
	var asJSON bool
	c := &cobra.Command{
		Use:   `now "MODULE LABEL" --at PLACE [--time T] [--lying|--tilted DEG --facing DEG|--bonded] [--sky WORD]`,
		Short: "what this module should read at this minute: volts open, amps short, watts, temperature",
		Long: `Type the label as printed: technology, watts, Voc, Isc, Vmp, Imp, size. What is missing is
estimated and listed. Every figure has the band that 95 of 100 sound modules read in.

  noonmark now "foil CIGS 90 W Voc 28.3 V Isc 4.6 A Vmp 21.9 V Imp 4.11 A" --at "Evora, PT" --bonded
  noonmark now "110 W mono flexible" --at 45.4,9.2 --time "2027-07-01 13:00" --lying --air "27 °C"
  noonmark now "glass 200 W" --at "Hobart, AU" --tilted 20° --facing 0° --sky "half cloud"

Sky: clear, clean, hazy, smoky, few clouds, half cloud, much cloud, overcast; or --ghi from a meter.`,
		Args: exactly(1, "the label in quotes"),
		RunE: func(_ *cobra.Command, args []string) error {
			spot, err := at.read(s)
			if err != nil {
				return err
			}
			a, err := q.answer(args[0], spot)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(s.Out, a)
			}
			return a.print(s)
		},
	}
	at.add(c)
	f := c.Flags()
	f.BoolVar(&q.lying, "lying", false, "lies loose and flat on the ground (the default)")
	f.BoolVar(&q.bonded, "bonded", false, "bonded flat to a lid, nothing behind")
	f.StringVar(&q.tilted, "tilted", "", `leaning in the open, "30°" from the level, with --facing`)
	f.StringVar(&q.facing, "facing", "", `azimuth its face looks to, "180°" for south`)
	f.StringVar(&q.sky, "sky", "", "the sky as seen; empty: clear")
	f.StringVar(&q.global, "ghi", "", `light on the level from a meter, "812 W/m²"`)
	f.StringVar(&q.air, "air", "", `air temperature, "24 °C"; empty: usual for the month and hour`)
	f.StringVar(&q.wind, "wind", "", `wind, "2 m/s"; empty: 2 m/s`)
	f.BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

type nowQuestion struct {
	lying, bonded                          bool
	tilted, facing, sky, global, air, wind string
}

func (q *nowQuestion) answer(label string, sp spot) (nowAnswer, error) {
	kind, assumed, err := build.ParseLabel(label)
	if err != nil {
		return nowAnswer{}, misuse("%v", err)
	}
	scene, notes, err := q.scene(&kind, sp)
	if err != nil {
		return nowAnswer{}, err
	}
	r, err := bench.Expect(scene)
	if errors.Is(err, bench.ErrNight) {
		return nowAnswer{}, misuse("%s at %s: the sun is down, a module reads nothing that proves anything", sp.place.Name, sp.when.In(sp.place.Zone).Format("15:04 MST"))
	}
	if err != nil {
		return nowAnswer{}, err
	}
	a := nowAnswer{
		Place: sp.place.Name, Time: sp.when.In(sp.place.Zone),
		Voc: r.Open.Expected, VocLow: r.Open.Low, VocHigh: r.Open.High,
		Isc: r.Short.Expected, IscLow: r.Short.Low, IscHigh: r.Short.High,
		Pmax: r.Power.Expected, PmaxLow: r.Power.Low, PmaxHigh: r.Power.High,
		Module: r.Module.Expected, ModuleLow: r.Module.Low, ModuleHigh: r.Module.High,
		Plane: r.Plane.Expected, PlaneLow: r.Plane.Low, PlaneHigh: r.Plane.High,
		Fraction: r.Fraction.Expected, FractionLow: r.Fraction.Low, FractionHigh: r.Fraction.High,
		Vmp: r.Working.Voltage.Volts(), Imp: r.Working.Current.Amperes(),
		Dominant: fmt.Sprintf("%s, %.0f %% of the variance", r.Why[0].Name, r.Why[0].Share.Percent()),
		Mend:     mends[r.Why[0].Name],
		Cautions: []string{
			"A module is live in light: cover it before you touch a plug, and never part a plug under load.",
			"Short-circuit amps: meter on its 10 A jack, fused, a few seconds; never at a battery.",
		},
		Assumed: notes,
	}
	if kind.Technology == build.CIGS || kind.Technology == build.CIGSFoil {
		a.Cautions = append(a.Cautions, "CIGS wakes up in light: give it 30 to 60 minutes of sun before you judge it (3 to 5 % low before).")
	}
	for _, x := range assumed {
		a.Assumed = append(a.Assumed, assumption{What: x.Path, Value: x.Value, Why: x.Why, Source: x.Source})
	}
	return a, nil
}

// mends name the one reading that would shrink the band most.
var mends = map[string]string{
	"light":              "light on the module's plane with a meter or a twin module read in the same minute (--ghi)",
	"air temperature":    "air temperature in the shade (--air)",
	"wind":               "temperature of the module's back, taped and shaded from the sun",
	"label tolerance":    "the same reading of a twin module: the ratio cancels light and meter",
	"thermal model":      "temperature of the module's back, taped and shaded from the sun",
	"model of the volts": "temperature of the module's back, taped and shaded from the sun",
}

// scene reads the flags into a scene.
func (q *nowQuestion) scene(kind *build.ModuleType, sp spot) (bench.Scene, []assumption, error) {
	sc := bench.Scene{Module: kind, Attachment: build.LooseFlat, Place: sp.place, Time: sp.when}
	seen, ok := bench.SkyAsSeen(q.sky)
	if !ok && q.sky != "" {
		return sc, nil, misuse("--sky %q: wanted %s", q.sky, bench.SkyWords)
	}
	if q.sky != "" && q.global != "" {
		return sc, nil, misuse("--sky and --ghi say the same thing twice; give one")
	}
	if q.bonded && q.tilted != "" || q.bonded && q.lying || q.lying && q.tilted != "" {
		return sc, nil, misuse("give one of --lying, --tilted and --bonded")
	}
	haze := strings.ToLower(strings.TrimSpace(q.sky))
	if _, plain := hazes[haze]; !plain {
		haze = ""
	}
	o, err := skyQuestion{haze: haze, global: q.global, tilt: q.tilted, facing: q.facing}.read()
	if err != nil {
		return sc, nil, err
	}
	sc.Haze, sc.Cloud, sc.Measured, sc.Albedo = o.haze, seen.Cloud, o.global, o.albedo
	notes := append(sp.assumed, o.assumed...)
	switch {
	case q.bonded:
		sc.Attachment = build.Bonded
	case q.tilted != "":
		sc.Attachment = build.Rack
		sc.Facing = shape.Facing{Tilt: o.facing.Tilt, Azimuth: o.facing.Azimuth}
	case !q.lying:
		notes = append(notes, assumption{What: "lies", Value: "loose and flat", Why: "give --tilted or --bonded"})
	}
	more, err := q.weather(&sc)
	return sc, append(notes, more...), err
}

// weather fills in air and wind.
func (q *nowQuestion) weather(sc *bench.Scene) ([]assumption, error) {
	var notes []assumption
	var err error
	if q.air != "" {
		if sc.Air, err = quantity.ParseTemperature(q.air); err != nil {
			return nil, misuse("--air: %v", err)
		}
		if c := sc.Air.Celsius(); c < -60 || c > 60 {
			return nil, misuse("--air %s: wanted between -60 °C and 60 °C", q.air)
		}
		sc.AirUnsure = 1 * quantity.OneKelvin
	} else {
		sc.Air = bench.UsualAir(sc.Place, sc.Time)
		sc.AirUnsure = 5 * quantity.OneKelvin
		notes = append(notes, assumption{What: "air", Value: fmt.Sprintf("%.0f °C ± 10 K", sc.Air.Celsius()), Why: "usual for the month and the hour", Source: "built-in climate: " + climateCredit})
	}
	sc.Wind = 2 * quantity.MetrePerSecond
	if q.wind == "" {
		return append(notes, assumption{What: "wind", Value: "2 m/s at 10 m", Why: "a light breeze", Source: "our own estimate"}), nil
	}
	if sc.Wind, err = quantity.ParseSpeed(q.wind); err != nil {
		return nil, misuse("--wind: %v", err)
	}
	if sc.Wind < 0 || sc.Wind > 60*quantity.MetrePerSecond {
		return nil, misuse("--wind %s: wanted 0 to 60 m/s", q.wind)
	}
	return notes, nil
}

func (a nowAnswer) print(s *Streams) error {
	fmt.Fprintf(s.Out, "%s, %s\n\n", a.Place, a.Time.Format("2 Jan 2006 15:04 MST"))
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', tabwriter.AlignRight)
	row := func(name, unit, f string, v, low, high float64) {
		fmt.Fprintf(w, "%s\t"+f+" %s\t"+f+" to "+f+" %s\t\n", name, v, unit, low, high, unit)
	}
	fmt.Fprintf(w, "\texpected\t95 of 100 sound modules\t\n")
	row("volts open (Voc)", "V", "%.2f", a.Voc, a.VocLow, a.VocHigh)
	row("amps short (Isc)", "A", "%.2f", a.Isc, a.IscLow, a.IscHigh)
	row("watts, tracked", "W", "%.0f", a.Pmax, a.PmaxLow, a.PmaxHigh)
	row("of its label", "%", "%.0f", a.Fraction*100, a.FractionLow*100, a.FractionHigh*100)
	row("module", "°C", "%.0f", a.Module, a.ModuleLow, a.ModuleHigh)
	row("light on it", "W/m²", "%.0f", a.Plane, a.PlaneLow, a.PlaneHigh)
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(s.Out, "\nThe band comes mostly from: %s.\nTo shrink it, read %s.\n", a.Dominant, a.Mend)
	for _, c := range a.Cautions {
		fmt.Fprintln(s.Out, c)
	}
	printAssumed(s.Out, a.Assumed)
	return nil
}
