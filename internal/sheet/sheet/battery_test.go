package sheet

import (
	"context"
	"slices"
	"strings"
	"testing"

	"noonmark/internal/answer/bands"
	"noonmark/internal/answer/battery"
	"noonmark/internal/build/build"
)

// The battery's sheet has a row for each size and each way of keeping it, draws within its box, and says what no
// formula says in words; without an answer it says so.
func TestBattery(t *testing.T) {
	b := van(t)
	price := 450.0
	b.Battery.Price = &price
	j := job(t, b)
	if s := Battery(j); len(s.Tables)+len(s.Figures) != 0 || s.Lead == "" {
		t.Errorf("without an answer: %+v", s)
	}
	a, err := battery.Run(context.Background(), b, battery.Options{Years: 2, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	j.Battery = a
	s := Battery(j)
	if len(s.Figures) != 2 || len(s.Tables) != 2 || len(s.Tables[0].Rows) != len(a.Sizes) || len(s.Tables[1].Rows) != len(a.Cases) || !slices.Contains(s.Tables[0].Head, "price") {
		t.Errorf("%d figures, %d tables", len(s.Figures), len(s.Tables))
	}
	whole := func(s Sheet) {
		for _, tab := range s.Tables {
			for _, r := range tab.Rows {
				if len(r) != len(tab.Head) {
					t.Errorf("%s: row of %d under %d heads", tab.Title, len(r), len(tab.Head))
				}
			}
		}
		for _, f := range s.Figures {
			for _, size := range [][2]float64{{206, 60}, {180, 40}} {
				d := f.Draw(size[0], size[1])
				if out := d.Outside(); len(out) > 0 || d.Text == "" || len(d.Missing()) > 0 {
					t.Errorf("%s: beyond the edge %q, text %q", f.Title, out, d.Text)
				}
				if c := d.Clashes(); len(c) > 0 {
					t.Errorf("%s: over each other: %q", f.Title, c)
				}
			}
		}
	}
	whole(s)
	if w := s.InWords(); len(w.Figures)+len(w.Values)+len(w.Notes) != 0 || !strings.Contains(w.Lead, "band") || len(w.Tables) != 2 {
		t.Errorf("in words: %+v", w)
	}
	b.Battery.Chemistry = build.AGM
	if j.Battery, err = battery.Run(context.Background(), b, battery.Options{Years: 1, Seed: 1}); err != nil {
		t.Fatal(err)
	}
	s = Battery(j)
	whole(s)
	if len(s.Figures) != 1 || len(s.Tables[1].Rows) != 2 || !strings.Contains(strings.Join(s.Notes, " "), "no published formula") {
		t.Errorf("lead: %d figures, notes %q", len(s.Figures), s.Notes)
	}
}

// How sure stands on the trip's sheet when it was drawn: a row for each doubt that has a share, and what was taken.
func TestSure(t *testing.T) {
	b := van(t)
	j := job(t, b)
	plain := Trip(j)
	a, err := bands.Run(context.Background(), b, bands.Options{Rows: 8, Seed: 1, YearDraws: 2})
	if err != nil {
		t.Fatal(err)
	}
	j.Sure = a
	s := Trip(j)
	if len(s.Tables) != len(plain.Tables)+1 || len(s.Values) != len(plain.Values)+4 || len(s.Lists) != len(plain.Lists)+1 {
		t.Fatalf("%d tables, %d values", len(s.Tables), len(s.Values))
	}
	tab := s.Tables[len(s.Tables)-1]
	if len(tab.Rows) != len(a.Energy) || len(s.Lists[len(s.Lists)-1].Lines) != len(a.Doubts) {
		t.Errorf("%d rows of %d doubts with a share", len(tab.Rows), len(a.Energy))
	}
	for _, r := range tab.Rows {
		if len(r) != len(tab.Head) || slices.Contains(r, nothing) {
			t.Errorf("row %q under %q", r, tab.Head)
		}
	}
}
