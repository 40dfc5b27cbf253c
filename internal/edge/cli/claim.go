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
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/diagnose"
	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/sheet/book"
	"noonmark/internal/sheet/sheet"
)

// claimKeys are what a claim asks for beside readings, and what each is.
var claimKeys = func() map[string]string {
	out := map[string]string{}
	for _, t := range diagnose.Terms() {
		out[t.Key] = t.Asks
	}
	return out
}()

// packet is a claim ready to print.
type packet struct {
	diagnose.Claim
	opened *openedBuild
	file   *readingFile
	photos [][]byte // of the claim's photographs
	beside bool     // a photograph must lie beside the file of readings
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
			if s.took != nil {
				s.took(sheet.Claim(&k.Claim, sheetAssumed(k.file.assumed)))
				return nil
			}
			stamp, err := stampOf(s, b, args[0], p)
			if err != nil {
				return err
			}
			stamp.Made = k.When
			if err := out.write(func(w io.Writer) error { return k.write(w, stamp) }); err != nil {
				return err
			}
			fmt.Fprintf(s.Out, "%s: %s, %s\n", out.path, count(len(k.Readings), "reading"), count(len(k.photos), "photograph"))
			for _, m := range k.Missing {
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
	for _, t := range diagnose.Terms() {
		fmt.Fprintf(&b, "  %-20s %s\n", t.Key, t.Asks)
	}
	return b.String()
}

// claimOf gathers a claim; every problem of the file is in the error.
func claimOf(s *Streams, b *openedBuild, module, path string) (*packet, error) {
	k := &packet{opened: b, beside: s.served, Claim: diagnose.Claim{Build: &b.build, Module: -1, Terms: map[string][]string{}}}
	var names []string
	for i := range b.build.Modules {
		names = append(names, b.build.Modules[i].Name)
		if b.build.Modules[i].Name == module {
			k.Module = i
		}
	}
	if k.Module < 0 {
		return nil, misuse("%q is no module of this build; it has %s", module, strings.Join(names, ", "))
	}
	f, err := readReadings(path, claimKeys)
	if err != nil {
		return nil, err
	}
	k.file, k.Readings, k.Texts = f, f.readings, f.texts
	var ps problem.List
	for _, n := range f.notes {
		k.note(n, path, &ps)
	}
	k.When = s.Clock()
	if d := k.First("date"); d != "" {
		if k.When, k.Dated = typedDay(d, b); !k.Dated {
			ps.Add(problem.Problem{File: path, Found: d, Want: "wanted the day of the readings as 2027-06-21 or 2027-06-21 12:10"})
		}
	}
	promise, promised := k.guarantee(path, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	if err := f.conditions(s, b, standFlags{}); err != nil {
		return nil, err
	}
	if err := k.Weigh(f.options); err != nil {
		return nil, asUse(err)
	}
	k.List()
	for _, a := range f.assumed {
		k.Missing = append(k.Missing, a.What+": "+a.Why)
	}
	if bought, ok := typedDay(k.First("bought"), b); ok && promised && k.Dated {
		k.Hold(promise, bought)
	}
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
		if k.beside && at != filepath.Base(at) {
			bad("wanted a photograph kept with this build, such as photo-1.jpg")
			return
		}
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
		k.Photographs = append(k.Photographs, diagnose.Photograph{Name: fmt.Sprintf("photos/%02d-%s", len(k.photos)+1, filepath.Base(at)), Time: strings.TrimSpace(p[1]), Shows: strings.TrimSpace(p[2])})
		k.photos = append(k.photos, data)
	}
	for _, t := range diagnose.Terms() {
		if t.Key == n.key && !t.Many && len(k.Terms[n.key]) > 0 {
			bad("wanted once; it stands twice")
			return
		}
	}
	k.Terms[n.key] = append(k.Terms[n.key], n.value)
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
	text := k.First("power_warranty")
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
				g.Years, err = strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(p[2]), "years")), 64)
			}
		}
	}
	if len(p) != 3 || err != nil || !(g.First > 0 && g.First <= 1) || !(g.PerYear >= 0 && g.PerYear < 0.2) || !(g.Years > 0 && g.Years <= 50) {
		bad("power_warranty", text, "wanted the share after the first year, the loss a year and the years: 98 %, 0.7 %, 10")
		return g, false
	}
	for key, to := range map[string]*quantity.Ratio{"label_tolerance": &g.Tolerance, "lab_uncertainty": &g.Lab} {
		if v := k.First(key); v != "" {
			if *to, err = quantity.ParseRatio(v); err != nil || *to < 0 || *to > 0.2 {
				bad(key, v, "wanted between 0 and 20 %")
			}
		}
	}
	return g, true
}

// write writes the ZIP: every entry has the time of the readings, so equal input gives equal bytes.
func (k *packet) write(w io.Writer, stamp book.Stamp) error {
	z := zip.NewWriter(w)
	add := func(name string, data []byte) error {
		h := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: k.When.UTC().Truncate(2 * time.Second)}
		h.SetMode(0o644)
		f, err := z.CreateHeader(h)
		if err == nil {
			_, err = f.Write(data)
		}
		return err
	}
	var pdf, table bytes.Buffer
	if err := book.Packet(&pdf, stamp, "claim: module "+k.Build.Modules[k.Module].Name, sheet.Claim(&k.Claim, sheetAssumed(k.file.assumed))); err != nil {
		return err
	}
	data, err := json.MarshalIndent(k.data(), "", "  ")
	if err != nil {
		return err
	}
	c := csv.NewWriter(&table)
	for _, row := range sheet.ClaimTable(&k.Claim) {
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
	for i, p := range k.Photographs {
		if err := add(p.Name, k.photos[i]); err != nil {
			return err
		}
	}
	return z.Close()
}

// data is the packet's JSON.
func (k *packet) data() any {
	m := &k.Build.Modules[k.Module]
	t := &k.Build.Types[m.Type]
	type reading struct {
		Reading   string  `json:"reading"`
		At        string  `json:"at"`
		Read      string  `json:"read"`
		Unit      string  `json:"unit"`
		Value     float64 `json:"value"`
		OverRange bool    `json:"over_range"`
		Expected  float64 `json:"expected"`
		Unsure    float64 `json:"expanded_uncertainty"`
		Ratio     float64 `json:"ratio_to_twins,omitempty"`
		URatio    float64 `json:"ratio_expanded_uncertainty,omitempty"`
		Twins     int     `json:"twins"`
	}
	var readings []reading
	for _, e := range k.Expected {
		r := k.Readings[e.Reading]
		readings = append(readings, reading{r.Kind.String(), r.Place(), k.Texts[e.Reading], r.Kind.Unit(), r.Value, r.Over, round(e.Value, 6), round(2*e.Unsure, 6), round(e.Ratio, 5), round(e.URatio, 5), e.Twins})
	}
	photos := []map[string]string{}
	for _, p := range k.Photographs {
		photos = append(photos, map[string]string{"file": p.Name, "time": p.Time, "shows": p.Shows})
	}
	d := diagnosed(k.Answer, k.file)
	out := map[string]any{
		"module": m.Name, "type": t.Name, "serial": m.Serial, "program": "noonmark " + version,
		"label":     map[string]float64{"pmax_W": t.Pmax.Watts(), "voc_V": t.Voc.Volts(), "isc_A": t.Isc.Amperes(), "vmp_V": t.Vmp.Volts(), "imp_A": t.Imp.Amperes()},
		"light_Wm2": d.Light, "cells_degC": d.Cells, "readings": readings, "verdict": d.Verdict, "causes": d.Causes, "would_overturn": d.Overturn,
		"as_typed": k.Terms, "photographs": photos, "missing": k.Missing, "assumed": append(k.file.assumed, k.opened.assumedOf(electric...)...),
	}
	if p := k.Promised; p != nil {
		out["power_warranty"] = map[string]any{"age_years": round(p.Age, 2), "promised_fraction": round(p.Share.Float(), 4), "over": p.Over, "left_fraction": round(p.Left.Float(), 4), "left_expanded_uncertainty": round(2*p.Unsure.Float(), 4), "verdict": p.Verdict}
	}
	return out
}

// sheetAssumed turns what was assumed into a sheet's.
func sheetAssumed(list []assumption) []sheet.Assumption {
	out := make([]sheet.Assumption, len(list))
	for i, a := range list {
		out[i] = sheet.Assumption{What: a.What, Value: a.Value, Why: a.Why, Source: a.Source}
	}
	return out
}
