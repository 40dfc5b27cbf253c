package shading

import (
	"context"
	"errors"
	"testing"
	"time"

	"noonmark/examples"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/buildfile"
)

// The light of cells lies between none and all, a roof with nothing on it keeps all, and the least lit cell
// is lit more where the thing that shades it is gone.
func TestLightOf(t *testing.T) {
	b, err := buildfile.Build("heron-van", examples.All()[0].Text)
	if err != nil {
		t.Fatal(err)
	}
	day := time.Date(2027, 4, 10, 0, 0, 0, 0, time.UTC)
	least := func(b *build.Build, span Span) quantity.Ratio {
		list, err := LightOf(context.Background(), b, span, 8, day, 1)
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
	bare := b
	bare.Obstacles = nil
	for _, span := range []Span{OneDay, WholeTrip} {
		with, without := least(&b, span), least(&bare, span)
		if with >= without || with < 0.3 {
			t.Errorf("span %d: least lit %v with things, %v without", span, with, without)
		}
	}
	if _, err := LightOf(context.Background(), &b, OneDay, 1, day, 1); !errors.Is(err, ErrNoLeg) {
		t.Errorf("a drive: %v", err)
	}
	bare.Trip.Legs = nil
	if _, err := LightOf(context.Background(), &bare, WholeYear, 0, day, 1); !errors.Is(err, ErrNoTrip) {
		t.Errorf("no trip: %v", err)
	}
}
