package shading

import (
	"context"
	"errors"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// The light of cells lies between none and all, and the least lit cell is lit more where the things that shade
// it are gone; over a day, the trip and a year.
func TestLightOf(t *testing.T) {
	b := van(t)
	day := b.Trip.Legs[0].From
	least := func(b *build.Build, span Span) quantity.Ratio {
		list, err := LightOf(context.Background(), b, span, 0, day, 1)
		if err != nil {
			t.Fatal(err)
		}
		out := quantity.Ratio(2)
		for m, cells := range list {
			if len(cells) != len(b.Cells(&b.Modules[m])) {
				t.Fatalf("%d cells of %d", len(cells), len(b.Cells(&b.Modules[m])))
			}
			for _, c := range cells {
				if c < 0 || c > 1.0001 {
					t.Errorf("light %v, want 0 to 1", c)
				}
				out = min(out, c)
			}
		}
		return out
	}
	bare := *b
	bare.Obstacles = nil
	for _, span := range []Span{OneDay, WholeTrip, WholeYear} {
		if with, without := least(b, span), least(&bare, span); with >= without || with <= 0 {
			t.Errorf("span %d: least lit %v with things, %v without", span, with, without)
		}
	}
	if _, err := LightOf(context.Background(), b, OneDay, 99, day, 1); !errors.Is(err, ErrNoLeg) {
		t.Errorf("no leg: %v", err)
	}
	bare.Trip.Legs = nil
	if _, err := LightOf(context.Background(), &bare, WholeYear, 0, time.Time{}, 1); !errors.Is(err, ErrNoTrip) {
		t.Errorf("no trip: %v", err)
	}
}
