package cli

import (
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/wiring"
)

type cableAnswer struct {
	Current    float64      `json:"current_A"`
	Length     float64      `json:"length_m"`
	Area       float64      `json:"area_mm2"`
	Voltage    float64      `json:"voltage_V"`
	Resistance float64      `json:"resistance_ohm"`
	Drop       float64      `json:"drop_V"`
	Fraction   float64      `json:"drop_fraction"`
	Loss       float64      `json:"loss_W"`
	Ampacity   float64      `json:"ampacity_A"`
	AmpSource  string       `json:"ampacity_source"`
	Fuse       *float64     `json:"fuse_A"`
	FuseWhy    string       `json:"fuse_reason"`
	Next       *nextSize    `json:"next_size"`
	For3       float64      `json:"area_for_3_percent_mm2"`
	Cautions   []string     `json:"cautions"`
	Assumed    []assumption `json:"assumed"`
}

type nextSize struct {
	Area     float64 `json:"area_mm2"`
	Name     string  `json:"name"`
	Drop     float64 `json:"drop_V"`
	Fraction float64 `json:"drop_fraction"`
	Saves    float64 `json:"saves_W"`
}

func cableCommand(s *Streams) *cobra.Command {
	var q cableQuestion
	var asJSON bool
	c := &cobra.Command{
		Use:   "cable --current A --length M --size MM²|AWG --voltage V",
		Short: "one cable run: drop, loss, ampacity, fuse, the next size",
		Long: `Drop out and back of a run of copper; the length is one way. Ampacity by 33 CFR 183.425 table 5
for the insulation's rating, brought to the temperature where the cable lies. The figures are a
check of arithmetic: check the edition of the code in force where you are.

  noonmark cable --current "15 A" --length "6 m" --size "6 mm²" --voltage "12.8 V"
  noonmark cable --current "15 A" --length "20 ft" --size "AWG 10" --voltage "24 V" --lies-at "60 °C"`,
		Args: exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			a, err := q.answer()
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(s.Out, a)
			}
			return a.print(s)
		},
	}
	c.Flags().StringVar(&q.current, "current", "", `"15 A"`)
	c.Flags().StringVar(&q.length, "length", "", `one way, "6 m" or "20 ft"`)
	c.Flags().StringVar(&q.size, "size", "", `of one conductor, "6 mm²" or "AWG 10"`)
	c.Flags().StringVar(&q.voltage, "voltage", "", `of the circuit, "12.8 V"`)
	c.Flags().StringVar(&q.liesAt, "lies-at", "", `air where it lies, "60 °C"; empty: 45 °C`)
	c.Flags().StringVar(&q.rating, "insulation", "", `temperature rating, "105 °C"; empty: 90 °C`)
	c.Flags().IntVar(&q.bundle, "bundle", 2, "current-carrying conductors bundled together")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

type cableQuestion struct {
	current, length, size, voltage, liesAt, rating string
	bundle                                         int
}

func (q *cableQuestion) answer() (cableAnswer, error) {
	var a cableAnswer
	amps, err := quantity.ParseCurrent(q.current)
	if err != nil {
		return a, misuse("--current: %v", err)
	}
	length, err := quantity.ParseLength(q.length)
	if err != nil {
		return a, misuse("--length: %v", err)
	}
	area, err := quantity.ParseArea(q.size)
	if err != nil {
		return a, misuse("--size: %v", err)
	}
	volts, err := quantity.ParseVoltage(q.voltage)
	if err != nil {
		return a, misuse("--voltage: %v", err)
	}
	if amps <= 0 || length <= 0 || area <= 0 || volts <= 0 {
		return a, misuse("current, length, size and voltage must be above zero")
	}
	air, rating := quantity.Celsius(45), quantity.Celsius(90)
	if q.liesAt == "" {
		a.Assumed = append(a.Assumed, assumption{What: "air where it lies", Value: "45 °C", Why: "inside a summer vehicle; a roof or lid runs to 70 °C", Source: "our own estimate"})
	} else if air, err = quantity.ParseTemperature(q.liesAt); err != nil {
		return a, misuse("--lies-at: %v", err)
	}
	if q.rating == "" {
		a.Assumed = append(a.Assumed, assumption{What: "insulation", Value: "90 °C", Why: "printed on the cable; give --insulation", Source: "our own estimate"})
	} else if rating, err = quantity.ParseTemperature(q.rating); err != nil {
		return a, misuse("--insulation: %v", err)
	}
	if q.bundle < 1 || q.bundle > 100 {
		return a, misuse("--bundle %d: wanted 1 to 100", q.bundle)
	}
	run := wiring.Run{Length: length, Area: area, Temperature: air}
	a.Current, a.Length, a.Area, a.Voltage = amps.Amperes(), length.Metres(), area.SquareMillimetres(), volts.Volts()
	a.Resistance = wiring.Resistance(run).Ohms()
	a.Drop = wiring.Drop(run, amps).Volts()
	a.Fraction = a.Drop / volts.Volts()
	a.Loss = wiring.Loss(run, amps).Watts()
	return a, q.rest(&a, run, amps, volts, air, rating)
}

// rest fills in ampacity, fuse and the next size.
func (q *cableQuestion) rest(a *cableAnswer, run wiring.Run, amps quantity.Current, volts quantity.Voltage, air, rating quantity.Temperature) error {
	most, source, err := wiring.Ampacity(wiring.Lay{Area: run.Area, Rating: rating, Ambient: air, Bundle: q.bundle})
	if err != nil {
		return misuse("ampacity: %v", err)
	}
	a.Ampacity, a.AmpSource = most.Amperes(), source.String()
	if f, ok := wiring.SuggestFuse(amps, most); ok {
		x := f.Amperes()
		a.Fuse, a.FuseWhy = &x, "at least 1.25 of the current, at most the ampacity; next to the source that can feed the fault"
	} else {
		a.FuseWhy = "no standard fuse lies between 1.25 of the current and the ampacity: take a larger size"
	}
	if n, ok := wiring.NextSize(run.Area); ok {
		bigger := run
		bigger.Area = n.Area
		d := wiring.Drop(bigger, amps).Volts()
		a.Next = &nextSize{Area: n.Area.SquareMillimetres(), Name: n.Name, Drop: d, Fraction: d / volts.Volts(), Saves: a.Loss - wiring.Loss(bigger, amps).Watts()}
	}
	a.For3 = wiring.AreaForDrop(run, amps, quantity.Voltage(0.03*volts.Volts())).SquareMillimetres()
	a.Cautions = []string{
		"Fuse within reach of the battery's post: 178 mm (7 in) by common marine practice; check the edition in force where you are.",
		"Never part a plug under load; cover the modules first.",
	}
	return nil
}

func (a cableAnswer) print(s *Streams) error {
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "drop, out and back\t%.3f V\t%.1f %% of %.4g V\n", a.Drop, a.Fraction*100, a.Voltage)
	fmt.Fprintf(w, "lost in the run\t%.1f W\t\n", a.Loss)
	fmt.Fprintf(w, "for 3 %% you need\t%.1f mm²\t\n", a.For3)
	fmt.Fprintf(w, "ampacity\t%.0f A\t%s\n", a.Ampacity, a.AmpSource)
	if a.Fuse != nil {
		fmt.Fprintf(w, "fuse\t%.4g A\t%s\n", *a.Fuse, a.FuseWhy)
	} else {
		fmt.Fprintf(w, "fuse\tnone\t%s\n", a.FuseWhy)
	}
	if a.Next != nil {
		fmt.Fprintf(w, "next size, %s\t%.3f V\t%.1f %%, saves %.1f W\n", a.Next.Name, a.Next.Drop, a.Next.Fraction*100, a.Next.Saves)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for _, c := range a.Cautions {
		fmt.Fprintln(s.Out, c)
	}
	printAssumed(s.Out, a.Assumed)
	return nil
}
