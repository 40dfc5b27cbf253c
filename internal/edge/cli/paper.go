package cli

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/battery"
	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/needs"
	"noonmark/internal/answer/shading"
	"noonmark/internal/sheet/book"
	"noonmark/internal/sheet/sheet"
)

// output is where a command that makes a file puts it.
type output struct {
	path  string
	force bool
}

// ready says, before anything is computed, whether the file may be written and is of a kind the command makes.
func (o *output) ready(kinds ...string) (kind string, err error) {
	if o.path == "" {
		return "", misuse("-o is missing: name the file to write, %s", strings.Join(kinds, " or "))
	}
	kind = strings.ToLower(filepath.Ext(o.path))
	found := false
	for _, k := range kinds {
		found = found || k == kind
	}
	if !found {
		return "", misuse("-o %s: wanted a name that ends in %s", o.path, strings.Join(kinds, " or "))
	}
	info, err := os.Stat(o.path)
	switch {
	case err == nil && info.IsDir():
		return "", misuse("%s is a folder", o.path)
	case err == nil && !o.force:
		return "", misuse("%s exists; --force writes over it", o.path)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return "", misuse("%v", err)
	}
	if dir, err := os.Stat(filepath.Dir(o.path)); err != nil || !dir.IsDir() {
		return "", misuse("%s: no such folder", filepath.Dir(o.path))
	}
	return kind, nil
}

// write makes the whole file in memory, puts it beside its place under another name, and moves it there:
// nothing half-written stays, and what was there before stays when something fails.
func (o *output) write(fill func(w io.Writer) error) (err error) {
	var b bytes.Buffer
	if err := fill(&b); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(o.path), "."+filepath.Base(o.path)+".*")
	if err != nil {
		return misuse("%v", err)
	}
	defer func() {
		if err != nil {
			os.Remove(f.Name())
			err = misuse("%v", err)
		}
	}()
	_, err = f.Write(b.Bytes())
	if err == nil {
		err = f.Chmod(0o644)
	}
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	if o.force {
		return os.Rename(f.Name(), o.path)
	}
	// A link fails where a file has come into being meanwhile; a rename would write over it.
	if err = os.Link(f.Name(), o.path); errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s exists; --force writes over it", o.path)
	}
	if err != nil { // a file system without links
		return os.Rename(f.Name(), o.path)
	}
	os.Remove(f.Name())
	return nil
}

// printing is what a command that puts sheets on paper is told.
type printing struct {
	out     output
	paper   string
	years   int
	seed    uint64
	noMends bool
}

func (p *printing) flags(c *cobra.Command, what string) {
	p.out.flags(c, what)
	c.Flags().StringVar(&p.paper, "paper", "A4", "A4 or Letter, for PDF")
	c.Flags().IntVar(&p.years, "years", tripYears, "weather years")
	c.Flags().Uint64Var(&p.seed, "seed", 1, "seed of the weather years")
	c.Flags().BoolVar(&p.noMends, "no-mends", false, "look for no mends of the shade: quicker")
}

// job computes what the sheets of the build at path show as o says, and the title block's words.
func (p *printing) job(ctx context.Context, s *Streams, path string, o jobOptions) (j sheet.Job, st book.Stamp, err error) {
	paper, err := paperOf(p.paper)
	if err != nil {
		return j, st, err
	}
	if p.years < 1 || p.years > 10000 {
		return j, st, misuse("--years %d: wanted between 1 and 10000", p.years)
	}
	b, err := openBuild(ctx, s, path)
	if err != nil {
		return j, st, err
	}
	if st, err = stampOf(s, b, path, paper); err != nil {
		return j, st, err
	}
	o.trip, o.mends = forecast.Options{Years: p.years, Seed: p.seed}, !p.noMends
	j, err = jobOf(ctx, s, b, o)
	return j, st, err
}

// paperOf returns the paper named.
func paperOf(name string) (book.Paper, error) {
	switch strings.ToLower(name) {
	case "a4":
		return book.A4, nil
	case "letter":
		return book.Letter, nil
	}
	return 0, misuse("--paper %q: wanted A4 or Letter", name)
}

// jobOptions say what the sheets are made from.
type jobOptions struct {
	trip  forecast.Options
	shade bool // what shade costs, which takes longest
	mends bool // and what would mend it
	bank  bool // the battery's sizes, ageing and cold mornings
	sure  bool // what is not known, drawn; only for a trip of enough years
}

// Weather years of each size of the battery on paper, years of the trip from which the bands are drawn, and their rows.
const paperBatteryYears, paperSureFrom, paperRows = 20, 20, 48

// jobOf computes what the sheets show.
func jobOf(ctx context.Context, s *Streams, b *openedBuild, o jobOptions) (sheet.Job, error) {
	list, err := findings(&b.build)
	if err != nil {
		return sheet.Job{}, err
	}
	a, err := runTrip(ctx, s, b, o.trip)
	if err != nil {
		return sheet.Job{}, err
	}
	j := sheet.Job{Build: &b.build, Forecast: a, Needs: needs.Of(&b.build, a), Findings: append(list, check.Trip(a)), Climate: climateCredit}
	for _, n := range b.assumed() {
		j.Assumed = append(j.Assumed, sheet.Assumption{What: n.What, Value: n.Value, Why: n.Why, Source: n.Source})
	}
	day, notes, err := dayOf(&b.build, "", "", 0)
	if err != nil { // the sheet says why
		j.NoDay = err.Error()
	}
	j.Day = day
	for _, n := range notes {
		j.Assumed = append(j.Assumed, sheet.Assumption{What: n.What, Value: n.Value, Why: n.Why, Source: n.Source})
	}
	switch {
	case len(shading.Casters(&b.build)) == 0:
		j.NoShade = "nothing that stands on the roof shades a module in the postures of this trip"
	case o.shade:
		j.Shade, err = costsOf(ctx, s, b, shading.Options{YearOnly: true, Mends: o.mends, Seed: o.trip.Seed})
		if errors.Is(err, errNoStay) {
			j.NoShade = err.Error()
		} else if err != nil {
			return sheet.Job{}, err
		}
	}
	if o.bank {
		years := min(o.trip.Years, paperBatteryYears)
		if j.Battery, err = battery.Run(ctx, &b.build, battery.Options{Years: years, Seed: o.trip.Seed, Files: b.weather}); err != nil {
			return sheet.Job{}, err
		}
	}
	if o.sure && o.trip.Years >= paperSureFrom {
		if j.Sure, err = runBands(ctx, s, b, paperRows, 0, o.trip.Seed); err != nil {
			return sheet.Job{}, err
		}
	}
	return j, nil
}

// stampOf returns the title block's words: the revision is the store's number, or a mark made from the build
// file's bytes.
func stampOf(s *Streams, b *openedBuild, path string, p book.Paper) (book.Stamp, error) {
	if b.revision > 0 {
		return book.Stamp{Build: b.build.Name, Revision: strconv.Itoa(b.revision), Made: s.Clock(), Program: version, Paper: p}, nil
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return book.Stamp{}, misuse("%v", err)
	}
	sum := sha256.Sum256(text)
	return book.Stamp{Build: b.build.Name, Revision: fmt.Sprintf("%x", sum[:4]), Made: s.Clock(), Program: version, Paper: p}, nil
}
