package cli

import (
	"errors"
	"math"
	"testing"
	"time"

	"noonmark/internal/base/problem"
)

// No text of readings makes the reader panic or return a value that is not finite; a refusal has its lines.
func FuzzReadings(f *testing.F) {
	for _, s := range []string{"voc A = 24.9 V\nlight = 850 W/m²", "joint_v lid 1 = 5 mV", "isc,A,4 A ± 0.1 A", "shadow A = no", "frame_ohm A = OL", "kind,at,value\n\"voc\",\"a,b\",3 V", "voc;A;3,5 V", "date = 2027-01-01", "=", ",,,", "cells_unsure = 1e999 K", "date = 2027-06-21 12:10\nsky = clear\nposture = x\ntilt = 30°\nfacing = 180°\nair = 24 °C"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := parseReadings("r.txt", text, claimKeys)
		if err != nil {
			var bad *problem.Error
			if !errors.As(err, &bad) || len(bad.Problems) == 0 {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		if len(r.readings) != len(r.texts) {
			t.Fatalf("%q: %d readings, %d texts", text, len(r.readings), len(r.texts))
		}
		r.stood.at = "" // names of towns are looked up elsewhere
		if st, _, err := r.stand(&Streams{Clock: func() time.Time { return time.Unix(1.8e9, 0) }}, &openedBuild{}, r.stood); err == nil && st.Air != nil && math.IsNaN(st.Air.Celsius()) {
			t.Fatalf("%q: air %v", text, st.Air)
		}
		for _, x := range r.readings {
			if math.IsNaN(x.Value) || math.IsInf(x.Value, 0) || x.Unsure < 0 || math.IsNaN(x.Unsure) {
				t.Fatalf("%q: %+v", text, x)
			}
		}
	})
}
