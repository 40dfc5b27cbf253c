package quantity

import (
	"errors"
	"math"
	"testing"
	"unicode/utf8"
)

// No text makes a parser panic or return anything but a finite number, a bounded one; a refusal is
// a ParseError with something wanted; what is read and printed reads back as the same.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"41 1/2 in", `5' 6"`, "2/0 AWG", "100 Ah at 12.8 V", "-0.36 %/K", "1,5 m", "1 280 Wh", "23×10⁻⁶ 1/K", "−40 °F", "50 W/h", "1e999 V", "½\"", "16 W/(m²·K)", "NaN", "\xff", "5°3'", "1/", "1/0 in", "@", "1 at 1 at", "9,9.9,9", "- "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for name, parse := range parsers {
			v, err := parse(s)
			if math.IsNaN(v) || math.Abs(v) > 1e16 {
				t.Fatalf("%s %q: %g", name, s, v)
			}
			var pe *ParseError
			if err != nil && (!errors.As(err, &pe) || pe.Want == "" || utf8.ValidString(s) && !utf8.ValidString(pe.Error())) {
				t.Fatalf("%s %q: bad refusal %v", name, s, err)
			}
			if err == nil && len(s) > longest {
				t.Fatalf("%s: read %d bytes", name, len(s))
			}
		}
		if l, err := Lenient.Length(s); err == nil {
			if again, err := ParseLength(l.String()); err != nil || math.Abs(float64(again-l)) > 1e-9*math.Abs(float64(l)) {
				t.Fatalf("%q: %v read back as %v, %v", s, l, again, err)
			}
		}
	})
}
