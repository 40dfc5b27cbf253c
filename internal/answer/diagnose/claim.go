package diagnose

import (
	"strings"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Term is something a claim asks for beside readings.
type Term struct {
	Key  string // as a file has it
	Asks string
	Why  string // a claim is easily turned away without it; empty: it helps
	Many bool   // may stand more than once
}

// terms in the order of the packet. Source of what is needed: handbook E9.
var terms = []Term{
	{Key: "date", Asks: "day and time of the readings, 2027-06-21 12:10", Why: "readings need their day and time"},
	{Key: "sky", Asks: "the sky during the readings", Why: "readings need their sky"},
	{Key: "bought", Asks: "date of purchase", Why: "no claim without proof of purchase"},
	{Key: "seller", Asks: "who sold it", Why: "the claim goes to the seller first"},
	{Key: "price", Asks: "what was paid"},
	{Key: "serial", Asks: "as on the label, readable on a photograph", Why: "an illegible serial number voids a warranty"},
	{Key: "label", Asks: "label figures as printed, where they differ from the build"},
	{Key: "installed", Asks: "date of installation", Why: "the timeline begins with it"},
	{Key: "installer", Asks: "who installed it"},
	{Key: "noticed", Asks: "date the fault was noticed", Why: "reports are wanted within 30 to 60 days"},
	{Key: "reported", Asks: "date it was reported to the seller"},
	{Key: "product_warranty", Asks: "years, as the terms say"},
	{Key: "power_warranty", Asks: "FIRST, PER YEAR, YEARS: 98 %, 0.7 %, 10"},
	{Key: "label_tolerance", Asks: "deducted by the terms"},
	{Key: "lab_uncertainty", Asks: "deducted by the terms, 3 % is usual"},
	{Key: "mobile_use", Asks: "what the terms say of mobile use: allowed, excluded or not stated", Why: "some terms exclude mobile units such as caravans and motor homes: read them before you send"},
	{Key: "self_installation", Asks: "what the terms say of self-installation: allowed, excluded or not stated", Why: "some terms exclude installation by the owner"},
	{Key: "removal", Asks: "who pays removal, freight and bonding again", Why: "removing a bonded module destroys it: who pays it must be settled before"},
	{Key: "instrument", Asks: "each instrument: model, class, last calibrated", Why: "readings without an instrument's class prove nothing", Many: true},
	{Key: "done", Asks: "what was done to the module: washed, walked on, bent, cut, drilled, opened", Why: "say that it was not walked on, bent, cut or drilled, or say what was done", Many: true},
	{Key: "event", Asks: "DATE TEXT, a line of the timeline", Many: true},
	{Key: "photo", Asks: "FILE, TIME, what it shows", Why: "dated photographs wide and close, of back, plug and label", Many: true},
}

// Terms returns what a claim asks for, in the order of the packet.
func Terms() []Term { return append([]Term(nil), terms...) }

// Photograph is a picture that goes with a claim.
type Photograph struct{ Name, Time, Shows string }

// Claim is what a packet for a maker holds, photographs' bytes left out.
type Claim struct {
	Build       *build.Build
	Module      int
	Readings    []Reading
	Texts       []string            // the readings as typed
	Terms       map[string][]string // as typed, by key
	Photographs []Photograph
	When        time.Time // of the readings
	Dated       bool      // When was typed
	Answer      *Answer
	Expected    []Expectation
	Missing     []string
	Promised    *Promise // nil: no power warranty was typed, or an age is not known
}

// Promise is a power warranty held against what is left.
type Promise struct {
	Age          float64 // years
	Share        quantity.Ratio
	Over         bool // the warranty is over, or not yet begun
	Left, Unsure quantity.Ratio
	Verdict      string
}

// First returns the first text typed for a key; empty where none was.
func (c *Claim) First(key string) string {
	if len(c.Terms[key]) == 0 {
		return ""
	}
	return c.Terms[key][0]
}

// Weigh fills in Answer and Expected from the readings.
func (c *Claim) Weigh(o Options) (err error) {
	if c.Answer, err = Run(c.Build, c.Readings, o); err != nil {
		return err
	}
	c.Expected, err = Expect(c.Build, c.Readings, o)
	return err
}

// Hold sets what a guarantee promises at the module's age against what the readings leave of it. Where the
// module is not the first cause's it is taken as whole, to 3 %, our own estimate; where the readings tell no
// cause they show nothing. It wants an Answer.
func (c *Claim) Hold(g Guarantee, bought time.Time) {
	age := c.When.Sub(bought).Hours() / 24 / 365.25
	p := &Promise{Age: age, Left: 1, Unsure: 3 * quantity.Percent}
	if first := c.Answer.Causes[0]; first.Where == "module "+c.Build.Modules[c.Module].Name {
		p.Left, p.Unsure = first.Left, first.LeftUnsure
	}
	share, within := g.At(age)
	p.Share, p.Over = share, !within
	p.Verdict = "the power warranty is over, or not yet begun, at this age"
	if within {
		p.Verdict = Against(p.Left, p.Unsure, share).String()
		if c.Answer.Verdict == CannotTell || c.Answer.Verdict == NoneFits {
			p.Verdict = "these readings cannot show it: their cause is not told (" + c.Answer.Verdict.String() + ")"
		}
	}
	c.Promised = p
}

// List names what is missing of terms and of a twin's readings.
func (c *Claim) List() {
	c.Missing = nil
	for _, t := range terms {
		if t.Why != "" && len(c.Terms[t.Key]) == 0 {
			c.Missing = append(c.Missing, t.Key+": "+t.Asks+" ("+t.Why+")")
		}
	}
	for _, e := range c.Expected {
		if e.Twins > 0 && c.Readings[e.Reading].At == c.Build.Modules[c.Module].Name {
			return
		}
	}
	c.Missing = append(c.Missing, "twin: the same readings of a healthy module of the type, in the same minutes (light and meter cancel)")
}

// Excluded returns the uses that the terms exclude, in words.
func (c *Claim) Excluded() []string {
	var out []string
	for _, key := range []string{"mobile_use", "self_installation"} {
		if strings.EqualFold(c.First(key), "excluded") {
			out = append(out, strings.ReplaceAll(key, "_", " "))
		}
	}
	return out
}
