package diagnose

import (
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

// reads returns what the first chain of a fault at the first place says of a key, and the healthy reading.
func reads(t *testing.T, label, series, parallel int, f Fault, text string, k key) (got, sound float64) {
	t.Helper()
	b := arrayOf(label, series, parallel)
	p, err := newPlant(b, 0, Options{Light: 1000 * quantity.WattPerSquareMetre, Cells: quantity.Celsius(25), Battery: 13.2 * quantity.Volt})
	if err != nil {
		t.Fatal(err)
	}
	healthy := newCore(p, p.healthy)
	for _, c := range hypotheses(p, 0, healthy, 1) {
		for n := range c.nodes {
			if c.fault == f && (text == "" || c.nodes[n].text == text) {
				got, _ = c.nodes[n].core.electric(k)
				sound, _ = healthy.electric(k)
				return got, sound
			}
		}
	}
	t.Fatalf("no %v, %s", f, text)
	return 0, 0
}

// A bypass section shorted takes its share of the open volts: a module of three sections reads two thirds.
//
// Source: trade handbook E7, after a report of a module that read 33 V of 49 with a failed diode [S69].
func TestShortedSection(t *testing.T) {
	got, sound := reads(t, 2, 1, 2, ShortedDiode, "1 of 3 groups lost", key{ModuleOpen, 0, 0, 0})
	testkit.Published(t, got/sound, testkit.Check{What: "open volts with one of three sections shorted, over sound, ratio",
		Source: cite.Source{Title: "solar technician's report quoted by trade handbook E7", Where: "33 V of 49 V"}, Want: 33.0 / 49, Tol: 0.5/49 + 0.5*33/49/49, Why: "both volts are printed whole"})
}

// One module shorted leaves the string the open volts of the others; a reversed pair reads the difference.
//
// Source: trade handbook E7, "Voc of string = all but one: one module shorted", and E3, "reversed pair reads
// Voc difference", standard content from memory.
func TestStringVolts(t *testing.T) {
	got, sound := reads(t, 0, 4, 1, ShortedModule, "", key{StringOpen, 0, 0, -1})
	testkit.Published(t, got/sound, testkit.Check{What: "open volts of four in series, one shorted, over sound, ratio", Source: cite.Source{Title: "trade handbook E7", Standing: cite.CommonPractice}, Want: 0.75, Tol: 0.001, Why: "equal modules"})
	got, sound = reads(t, 0, 2, 1, ReversedModule, "", key{StringOpen, 0, 0, -1})
	testkit.Published(t, got/sound, testkit.Check{What: "open volts of a pair, one the wrong way round, over sound, ratio", Source: cite.Source{Title: "IEC 62446-1 polarity test, trade handbook E3", Standing: cite.FromMemory}, Want: 0, Tol: 0.001, Why: "equal modules"})
	got, sound = reads(t, 0, 4, 1, ReversedModule, "", key{StringOpen, 0, 0, -1})
	testkit.Published(t, got/sound, testkit.Check{What: "open volts of four in series, one the wrong way round, over sound, ratio", Source: cite.Source{Title: "IEC 62446-1 polarity test, trade handbook E3", Standing: cite.FromMemory}, Want: 0.5, Tol: 0.001, Why: "equal modules"})
}

// An open branch of two takes one half of the current.
//
// Source: case C35 of the trade's cases, a blog's report of a corroded clamp: exactly one half all day is an
// open parallel branch.
func TestOpenBranch(t *testing.T) {
	got, sound := reads(t, 0, 2, 2, HalfConnector, "open", key{WorkCurrent, 0, -1, -1})
	testkit.Published(t, got/sound, testkit.Check{What: "working current of two branches, one open, over sound, ratio", Source: cite.Source{Title: "report of a roof array quoted as case C35", Standing: cite.CommonPractice}, Want: 0.5, Tol: 0.01, Why: "the cable's drop halves too"})
}

// The tail of a sum of squares is that of the chi-square table.
//
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, upper critical values.
func TestTail(t *testing.T) {
	for _, c := range []struct {
		n    int
		chi  float64
		want float64
	}{{5, 11.070, 0.05}, {10, 18.307, 0.05}, {10, 23.209, 0.01}, {20, 31.410, 0.05}, {30, 59.703, 0.001}} {
		testkit.Published(t, tail(c.chi, c.n).Float(), testkit.Check{What: "tail of chi-square, probability", Source: cite.Source{Title: "NIST/SEMATECH e-Handbook", Where: "1.3.6.7.4"},
			Want: c.want, Tol: 0.0015, Why: "the cube-root form is an approximation"})
	}
}

// A reading of 7.7 % uncertainty neither passes nor fails a limit of 5 %.
//
// Source: trade handbook E2, absolute short-circuit check: U 7.7 %, "cannot pass or fail a 5 % test".
func TestGuardBand(t *testing.T) {
	for _, c := range []struct {
		left float64
		want Shortfall
	}{{0.95, CannotShow}, {0.90, CannotShow}, {0.86, UnderLimit}, {1.0, CannotShow}, {1.04, WithinLimit}} {
		got := Against(quantity.Ratio(c.left), 3.85*quantity.Percent, 95*quantity.Percent)
		testkit.Published(t, float64(got), testkit.Check{What: "verdict at U 7.7 % on a limit of 95 %, number", Source: cite.Source{Title: "JCGM 100:2008 guard band, trade handbook E2"}, Want: float64(c.want), Tol: 0})
	}
}

// A warranty is often 90 % of the label less tolerance, after some 3 % of a laboratory.
//
// Source: trade handbook E6, from memory.
func TestGuarantee(t *testing.T) {
	g := Guarantee{First: 90 * quantity.Percent, Years: 10, Tolerance: 3 * quantity.Percent, Lab: 3 * quantity.Percent}
	share, ok := g.At(4)
	if !ok {
		t.Fatal("the warranty is over at 4 of 10 years")
	}
	testkit.Published(t, share.Float(), testkit.Check{What: "share of the label promised, ratio", Source: cite.Source{Title: "trade handbook E6", Standing: cite.FromMemory}, Want: 0.9 * 0.97 * 0.97, Tol: 1e-9})
	if _, ok := g.At(10.5); ok {
		t.Error("a warranty of 10 years holds at 10.5")
	}
	if _, ok := g.At(-1); ok {
		t.Error("a warranty holds before the purchase")
	}
}
