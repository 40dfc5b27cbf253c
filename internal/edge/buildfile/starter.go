package buildfile

import (
	"errors"
	"fmt"
	"strings"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Answers are the eight answers a first build file is made from; texts as typed, empty for the default.
type Answers struct {
	Vehicle string // 1: roof or lid, "2.1 m x 1.35 m"
	Modules string // 2: "2 x foil CIGS 90 W Voc 28.3 V ..."
	Charger string // 3: class of the catalogue, or highest input volts and amps "80 V 16 A"
	Battery string // 4: "100 Ah at 12.8 V", or a class
	People  string // 5
	Loads   string // 6: classes, "fridge-40, lights, phones"
	Where   string // 7: a town or latitude, longitude
	When    string // 8: "2027-06-01, 14 nights"
}

// Starter returns a first build file, commented, that resolves; or what is wrong with the answers.
func Starter(a Answers) ([]byte, error) {
	size, err := sizeText(orText(a.Vehicle, "2.1 m x 1.35 m"))
	if err != nil {
		return nil, fmt.Errorf("roof: %s", first(explain(err)))
	}
	n, label := 2, strings.TrimSpace(orText(a.Modules, "2 x foil CIGS 90 W"))
	if head, rest, ok := strings.Cut(label, " x "); ok {
		if _, err := fmt.Sscanf(head, "%d", &n); err == nil {
			label = rest
		}
	}
	if n < 1 || n > 12 {
		return nil, fmt.Errorf("modules: 1 to 12, not %d", n)
	}
	kind, assumed, err := build.ParseLabel(label)
	if err != nil {
		return nil, fmt.Errorf("module label: %w", err)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "# A first build file, made from eight answers. Change anything; noonmark plan says what it assumed.\nnoonmark: %d\nname: my camper\npeople: %s\n\n", build.Version, orText(a.People, "2"))
	fmt.Fprintf(&b, "surfaces:\n  roof:\n    size: %v x %v      # front to rear by left to right\n    # height: 2.1 m\n    # colour: white\n\n", size.Length, size.Width)
	b.WriteString("# What stands on the roof:\n# obstacles:\n#   fan: {at: [1.6 m, 0.9 m], size: 0.4 m x 0.4 m, height: 140 mm}\n\n")
	b.WriteString("types:\n  module:             # the label as printed; a line with # is an estimate: read yours and take the # away\n")
	writeType(&b, &kind, assumed)
	if err := place(&b, n, &kind, size); err != nil {
		return nil, err
	}
	charger, err := chargerLines(orText(a.Charger, "controller-16a"))
	if err != nil {
		return nil, err
	}
	b.WriteString(charger)
	b.WriteString(batteryLine(orText(a.Battery, "lfp-100")))
	b.WriteString("loads:\n")
	seen := map[string]bool{}
	for l := range strings.SplitSeq(orText(a.Loads, "fridge-40, lights, phones, standby"), ",") {
		l = strings.TrimSpace(l)
		if l == "" || seen[l] {
			continue
		}
		seen[l] = true
		fmt.Fprintf(&b, "  %s: {like: %s}\n", l, l)
	}
	start, nights, err := when(orText(a.When, "2027-06-01, 14 nights"))
	if err != nil {
		return nil, err
	}
	b.WriteString("# Driving charges too:\n# alternator: {current: 20 A}\n")
	fmt.Fprintf(&b, "\ntrip:\n  start: %s\n  legs:\n    - stay: {at: %q, nights: %d, surroundings: open}   # or suburb, town, trees in leaf\n", start, orText(a.Where, "Evora, PT"), nights)
	if _, err := Build("the answers", []byte(b.String())); err != nil {
		return nil, unplaced(err)
	}
	return []byte(b.String()), nil
}

// unplaced takes the lines out of problems: the answers have none.
func unplaced(err error) error {
	var bad *problem.Error
	if !errors.As(err, &bad) {
		return err
	}
	var out problem.List
	for _, p := range bad.Problems {
		p.File, p.Line, p.Column = "", 0, 0
		out.Add(p)
	}
	return out.Err()
}

func orText(s, def string) string {
	if strings.TrimSpace(s) == "" {
		return def
	}
	return strings.TrimSpace(s)
}

func first(a, b string) string {
	if b == "" {
		return a
	}
	return a + "; most likely " + b
}

// writeType writes a module type: what the label said as values, what was estimated as remarks, so that
// it stays listed as assumed.
func writeType(b *strings.Builder, t *build.ModuleType, assumed []build.Assumed) {
	guessed := map[string]bool{}
	for _, a := range assumed {
		if !strings.Contains(a.Why, "without a name") && !strings.Contains(a.Why, "the larger of two") {
			guessed[strings.TrimPrefix(a.Path, "label.")] = true
		}
	}
	line := func(key, format string, args ...any) {
		mark := ""
		if guessed[key] {
			mark = "# "
		}
		fmt.Fprintf(b, "    %s%s: %s\n", mark, key, fmt.Sprintf(format, args...))
	}
	line("technology", "%s", t.Technology)
	line("pmax", "%v", t.Pmax)
	line("voc", "%.4g V", t.Voc.Volts())
	line("isc", "%.4g A", t.Isc.Amperes())
	line("vmp", "%.4g V", t.Vmp.Volts())
	line("imp", "%.4g A", t.Imp.Amperes())
	line("pmax_coefficient", "%.4g %%/K", t.PmaxCoefficient.PercentPerKelvin())
	line("voc_coefficient", "%.4g %%/K", t.VocCoefficient.PercentPerKelvin())
	line("tolerance", "%.3g %%", t.ToleranceHigh.Percent())
	line("size", "%.4g m x %.4g m", t.Length.Metres(), t.Width.Metres())
	line("mass", "%.3g kg", t.Mass.Kilograms())
	if t.MaxFuse != nil {
		line("max_fuse", "%v", *t.MaxFuse)
	}
	b.WriteString("\n")
}

// gap is left between modules and to the edges. Common practice, no source: 3 to 10 mm and 10 to 25 mm.
const gap = 20 * quantity.Millimetre

// place lays n modules on the roof in rows, lengthwise or across, and writes them in series.
func place(b *strings.Builder, n int, t *build.ModuleType, roof build.SizeDoc) error {
	for _, turned := range []bool{false, true} {
		l, w := t.Length+gap, t.Width+gap
		if turned {
			l, w = w, l
		}
		along, across := int((roof.Length.Metres()-gap.Metres())/l.Metres()), int((roof.Width.Metres()-gap.Metres())/w.Metres())
		if along*across < n || along < 1 {
			continue
		}
		b.WriteString("modules:\n")
		for k := range n {
			x := gap.Metres() + float64(k%along)*l.Metres()
			y := gap.Metres() + float64(k/along)*w.Metres()
			turn := ""
			if turned {
				turn = ", turn: 90°"
			}
			fmt.Fprintf(b, "  m%d: {type: module, at: [%.3f m, %.3f m], attached: bonded%s}\n", k+1, x, y, turn)
		}
		b.WriteString("\n")
		return nil
	}
	return fmt.Errorf("%d modules of %.2f by %.2f m do not fit on %.2f by %.2f m with %v around each", n, t.Length.Metres(), t.Width.Metres(), roof.Length.Metres(), roof.Width.Metres(), gap)
}

func chargerLines(text string) (string, error) {
	f := strings.Fields(text)
	if len(f) == 1 {
		return fmt.Sprintf("chargers:\n  solar: {like: %s}\n\n", text), nil
	}
	var volts, amps float64
	if n, _ := fmt.Sscanf(text, "%f V %f A", &volts, &amps); n != 2 {
		return "", fmt.Errorf("controller %q: a class such as controller-16a, or its highest input and its output, 80 V 16 A", text)
	}
	return fmt.Sprintf("chargers:\n  solar: {input_max: %g V, output_current: %g A, input_current: %g A, short_circuit_max: %g A, input_power: %g W}\n\n", volts, amps, amps, amps*1.25, amps*14.5), nil
}

func batteryLine(text string) string {
	if _, err := quantity.ParseEnergy(text); err != nil {
		return fmt.Sprintf("battery: {like: %s}\n\n", text)
	}
	return fmt.Sprintf("battery: {energy: %s}\n\n", text)
}

func when(text string) (start string, nights int, err error) {
	date, rest, _ := strings.Cut(text, ",")
	nights = 14
	if rest = strings.TrimSpace(rest); rest != "" {
		if n, _ := fmt.Sscanf(rest, "%d", &nights); n != 1 {
			return "", 0, fmt.Errorf("when %q: a date and the nights, 2027-06-01, 14 nights", text)
		}
	}
	if _, err := timeText(date); err != nil {
		return "", 0, fmt.Errorf("when: %s", first(explain(err)))
	}
	return strings.TrimSpace(date), nights, nil
}
