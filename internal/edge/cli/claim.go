package cli

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/diagnose"
	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/book"
)

// claimKeys are what a claim asks for beside readings, and what each is.
var claimKeys = map[string]string{
	"date": "day and time of the readings, 2027-06-21 12:10", "sky": "the sky during the readings", "instrument": "each instrument: model, class, last calibrated",
	"bought": "date of purchase", "seller": "who sold it", "price": "what was paid", "serial": "as on the label, readable on a photograph", "label": "label figures as printed, where they differ from the build",
	"installed": "date of installation", "installer": "who installed it", "noticed": "date the fault was noticed", "reported": "date it was reported to the seller",
	"mobile_use": "what the terms say of mobile use: allowed, excluded or not stated", "self_installation": "what the terms say of self-installation: allowed, excluded or not stated",
	"product_warranty": "years, as the terms say", "power_warranty": "FIRST, PER YEAR, YEARS: 98 %, 0.7 %, 10", "label_tolerance": "deducted by the terms", "lab_uncertainty": "deducted by the terms, 3 % is usual",
	"removal": "who pays removal, freight and bonding again", "done": "what was done to the module: washed, walked on, bent, cut, drilled, opened", "event": "DATE TEXT, a line of the timeline", "photo": "FILE, TIME, what it shows",
}

// single are the keys of which one is wanted, in the order of the packet.
var single = []string{"date", "sky", "bought", "seller", "price", "serial", "label", "installed", "installer", "noticed", "reported", "product_warranty", "power_warranty", "label_tolerance", "lab_uncertainty", "mobile_use", "self_installation", "removal"}

// needed are the keys without which a claim is easily turned away, with the reason. Source: handbook E9.
var needed = []struct{ key, why string }{
	{"bought", "no claim without proof of purchase"}, {"seller", "the claim goes to the seller first"}, {"serial", "an illegible serial number voids a warranty"},
	{"installed", "the timeline begins with it"}, {"noticed", "reports are wanted within 30 to 60 days"}, {"mobile_use", "some terms exclude mobile units such as caravans and motor homes: read them before you send"},
	{"self_installation", "some terms exclude installation by the owner"}, {"removal", "removing a bonded module destroys it: who pays it must be settled before"},
	{"done", "say that it was not walked on, bent, cut or drilled, or say what was done"}, {"instrument", "readings without an instrument's class prove nothing"},
	{"date", "readings need their day and time"}, {"sky", "readings need their sky"}, {"photo", "dated photographs wide and close, of back, plug and label"},
}

// photo is a picture of the packet.
type photo struct {
	Name, Time, Shows string
	data              []byte
}

// packet is a claim ready to print.
type packet struct {
	build    *openedBuild
	module   int
	file     *readingFile
	notes    map[string][]string
	photos   []photo
	when     time.Time
	dated    bool
	answer   *diagnose.Answer
	expected []diagnose.Expectation
	missing  []string
	promised *promise
}

// promise is the power warranty held against what is left.
type promise struct {
	Age, Share   float64
	Over         bool // the warranty is over
	Left, Unsure float64
	Verdict      string
}

func claimCommand(s *Streams) *cobra.Command {
	var out output
	var paper string
	c := &cobra.Command{
		Use:   "claim BUILD MODULE --readings FILE -o F.zip",
		Short: "the packet for a maker: terms, timeline, readings against expectation, twin, photographs, data",
		Long: `Writes one ZIP: claim.pdf to read, claim.json and readings.csv to check, and the photographs named.
The file holds readings as for diagnose, and lines KEY = VALUE of what a claim asks for:

` + claimHelp() + `
What is missing is listed on the first page. Equal input gives equal bytes.

  noonmark claim van.yaml A --readings claim.txt -o claim-A.zip`,
		Args: exactly(2, "a build file and the module's name"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if _, err := out.ready(".zip"); err != nil {
				return err
			}
			p, err := paperOf(paper)
			if err != nil {
				return err
			}
			path, _ := cmd.Flags().GetString("readings")
			if path == "" {
				return misuse("--readings is missing: the file of readings and terms")
			}
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			k, err := claimOf(s, b, args[1], path)
			if err != nil {
				return err
			}
			stamp, err := stampOf(s, b, args[0], p)
			if err != nil {
				return err
			}
			stamp.Made = k.when
			if err := out.write(func(w io.Writer) error { return k.write(w, stamp) }); err != nil {
				return err
			}
			fmt.Fprintf(s.Out, "%s: %s, %s\n", out.path, count(len(k.file.readings), "reading"), count(len(k.photos), "photograph"))
			for _, m := range k.missing {
				fmt.Fprintln(s.Out, "  missing:", m)
			}
			return nil
		},
	}
	out.flags(c, "the ZIP to write")
	c.Flags().String("readings", "", "file of readings and terms")
	c.Flags().StringVar(&paper, "paper", "A4", "A4 or Letter")
	return c
}

func claimHelp() string {
	var b strings.Builder
	for _, k := range append(append([]string{}, single...), "instrument", "done", "event", "photo") {
		fmt.Fprintf(&b, "  %-20s %s\n", k, claimKeys[k])
	}
	return b.String()
}

// claimOf gathers a claim; every problem of the file is in the error.
func claimOf(s *Streams, b *openedBuild, module, path string) (*packet, error) {
	k := &packet{build: b, module: -1, notes: map[string][]string{}}
	var names []string
	for i := range b.build.Modules {
		names = append(names, b.build.Modules[i].Name)
		if b.build.Modules[i].Name == module {
			k.module = i
		}
	}
	if k.module < 0 {
		return nil, misuse("%q is no module of this build; it has %s", module, strings.Join(names, ", "))
	}
	f, err := readReadings(path, claimKeys)
	if err != nil {
		return nil, err
	}
	k.file = f
	var ps problem.List
	for _, n := range f.notes {
		k.note(n, path, &ps)
	}
	k.when = s.Clock()
	if d := k.first("date"); d != "" {
		if k.when, k.dated = typedDay(d, b); !k.dated {
			ps.Add(problem.Problem{File: path, Found: d, Want: "wanted the day of the readings as 2027-06-21 or 2027-06-21 12:10"})
		}
	}
	if g, ok := k.guarantee(path, &ps); ok && ps.Len() == 0 {
		defer func() { k.hold(g) }()
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	if err := f.conditions(s, b, standFlags{}); err != nil {
		return nil, err
	}
	if k.answer, err = diagnose.Run(&b.build, f.readings, f.options); err != nil {
		return nil, asUse(err)
	}
	if k.expected, err = diagnose.Expect(&b.build, f.readings, f.options); err != nil {
		return nil, asUse(err)
	}
	k.list()
	return k, nil
}

// note takes a line that is no reading.
func (k *packet) note(n note, path string, ps *problem.List) {
	bad := func(want string) {
		ps.Add(problem.Problem{File: path, Line: n.line, Path: n.key, Found: n.value, Want: want})
	}
	switch n.key {
	case "mobile_use", "self_installation":
		if v := strings.ToLower(n.value); v != "allowed" && v != "excluded" && v != "not stated" {
			bad("wanted allowed, excluded or not stated")
			return
		}
	case "photo":
		p := strings.SplitN(n.value, ",", 3)
		if len(p) != 3 {
			bad("wanted FILE, TIME, what it shows")
			return
		}
		at := strings.TrimSpace(p[0])
		if !filepath.IsAbs(at) {
			at = filepath.Join(filepath.Dir(path), at)
		}
		info, err := os.Stat(at)
		if err != nil || info.IsDir() {
			bad("wanted a file that is there")
			return
		}
		if info.Size() > 20<<20 {
			bad("wanted a photograph of at most 20 MB")
			return
		}
		data, err := os.ReadFile(at)
		if err != nil {
			bad("wanted a file that can be read")
			return
		}
		k.photos = append(k.photos, photo{fmt.Sprintf("photos/%02d-%s", len(k.photos)+1, filepath.Base(at)), strings.TrimSpace(p[1]), strings.TrimSpace(p[2]), data})
	}
	for _, one := range single {
		if one == n.key && len(k.notes[n.key]) > 0 {
			bad("wanted once; it stands twice")
			return
		}
	}
	k.notes[n.key] = append(k.notes[n.key], n.value)
}

func (k *packet) first(key string) string {
	if len(k.notes[key]) == 0 {
		return ""
	}
	return k.notes[key][0]
}

// typedDay reads a day, with or without its time, in the build's home zone or UTC.
func typedDay(text string, b *openedBuild) (time.Time, bool) {
	zone := time.UTC
	if b.build.Home != nil && b.build.Home.Zone != nil {
		zone = b.build.Home.Zone
	}
	for _, form := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02"} {
		if t, err := time.ParseInLocation(form, strings.TrimSpace(text), zone); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}

// guarantee reads the power warranty; ok is false where none was typed.
func (k *packet) guarantee(path string, ps *problem.List) (g diagnose.Guarantee, ok bool) {
	text := k.first("power_warranty")
	if text == "" {
		return g, false
	}
	bad := func(key, found, want string) {
		ps.Add(problem.Problem{File: path, Path: key, Found: found, Want: want})
	}
	p := strings.Split(text, ",")
	var err error
	if len(p) == 3 {
		if g.First, err = quantity.ParseRatio(strings.TrimSpace(p[0])); err == nil {
			if g.PerYear, err = quantity.ParseRatio(strings.TrimSpace(p[1])); err == nil {
				_, err = fmt.Sscanf(strings.TrimSpace(p[2]), "%g", &g.Years)
			}
		}
	}
	if len(p) != 3 || err != nil || !(g.First > 0 && g.First <= 1) || !(g.PerYear >= 0 && g.PerYear < 0.2) || !(g.Years > 0 && g.Years <= 50) {
		bad("power_warranty", text, "wanted the share after the first year, the loss a year and the years: 98 %, 0.7 %, 10")
		return g, false
	}
	for key, to := range map[string]*quantity.Ratio{"label_tolerance": &g.Tolerance, "lab_uncertainty": &g.Lab} {
		if v := k.first(key); v != "" {
			if *to, err = quantity.ParseRatio(v); err != nil || *to < 0 || *to > 0.2 {
				bad(key, v, "wanted between 0 and 20 %")
			}
		}
	}
	return g, true
}

// hold sets what is promised at the module's age against what the readings leave of it.
func (k *packet) hold(g diagnose.Guarantee) {
	from, ok := typedDay(k.first("bought"), k.build)
	if !ok || k.answer == nil || !k.dated {
		return
	}
	age := k.when.Sub(from).Hours() / 24 / 365.25
	p := &promise{Age: age, Left: 1, Unsure: 0.03}
	name := "module " + k.build.build.Modules[k.module].Name
	if c := k.answer.Causes[0]; c.Where == name {
		p.Left, p.Unsure = c.Left.Float(), c.LeftUnsure.Float()
	}
	share, within := g.At(age)
	p.Share, p.Over = share.Float(), !within
	p.Verdict = "the power warranty is over, or not yet begun, at this age"
	if within {
		p.Verdict = diagnose.Against(quantity.Ratio(p.Left), quantity.Ratio(p.Unsure), share).String()
		if k.answer.Verdict == diagnose.CannotTell || k.answer.Verdict == diagnose.NoneFits {
			p.Verdict = "these readings cannot show it: their cause is not told (" + k.answer.Verdict.String() + ")"
		}
	}
	k.promised = p
}

// list names what is missing.
func (k *packet) list() {
	for _, n := range needed {
		if len(k.notes[n.key]) == 0 {
			k.missing = append(k.missing, fmt.Sprintf("%s: %s (%s)", n.key, claimKeys[n.key], n.why))
		}
	}
	twins := false
	for _, e := range k.expected {
		twins = twins || e.Twins > 0 && k.file.readings[e.Reading].At == k.build.build.Modules[k.module].Name
	}
	if !twins {
		k.missing = append(k.missing, "twin: the same readings of a healthy module of the type, in the same minutes (light and meter cancel)")
	}
	for _, a := range k.file.assumed {
		k.missing = append(k.missing, a.What+": "+a.Why)
	}
}

// write writes the ZIP: every entry has the time of the readings, so equal input gives equal bytes.
func (k *packet) write(w io.Writer, stamp book.Stamp) error {
	z := zip.NewWriter(w)
	add := func(name string, data []byte) error {
		h := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: k.when.UTC().Truncate(2 * time.Second)}
		h.SetMode(0o644)
		f, err := z.CreateHeader(h)
		if err == nil {
			_, err = f.Write(data)
		}
		return err
	}
	var pdf, table bytes.Buffer
	if err := book.Packet(&pdf, stamp, "claim: module "+k.build.build.Modules[k.module].Name, k.sheets()); err != nil {
		return err
	}
	data, err := json.MarshalIndent(k.data(), "", "  ")
	if err != nil {
		return err
	}
	c := csv.NewWriter(&table)
	for _, row := range k.table() {
		if err := c.Write(row); err != nil {
			return err
		}
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return err
	}
	if err := add("claim.pdf", pdf.Bytes()); err != nil {
		return err
	}
	if err := add("claim.json", append(data, '\n')); err != nil {
		return err
	}
	if err := add("readings.csv", table.Bytes()); err != nil {
		return err
	}
	for _, p := range k.photos {
		if err := add(p.Name, p.data); err != nil {
			return err
		}
	}
	return z.Close()
}

// kind returns the module's type.
func (k *packet) kind() *build.ModuleType {
	return &k.build.build.Types[k.build.build.Modules[k.module].Type]
}
