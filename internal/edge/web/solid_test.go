package web

import (
	"encoding/json"
	"math"
	"testing"
)

// The solid has its sizes: the lid stands at its height, level ones at rest, and hinged lids keep the length
// of their sides; a thing's top lies its height off its foot.
func TestSolid(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	w := s.send("/api/builds/heron-van/solid", map[string]any{"base": 1, "leg": 0, "day": "2027-03-22"})
	var out solidJSON
	if err := json.Unmarshal(w.Body.Bytes(), &out); err != nil || w.Code != 200 {
		t.Fatal(w.Code, err)
	}
	long := func(a, b point3) float64 { return math.Hypot(math.Hypot(a[0]-b[0], a[1]-b[1]), a[2]-b[2]) }
	if len(out.Surfaces) != 1 || len(out.Modules) != 2 || len(out.Things) != 3 || out.Posture != "camped" || !out.Surfaces[0].Raised {
		t.Fatalf("%+v", out)
	}
	f := out.Surfaces[0]
	high := 0.0
	for i := range f.Level {
		k := (i + 1) % len(f.Level)
		if was, is := long(f.Level[i], f.Level[k]), long(f.Stands[i], f.Stands[k]); math.Abs(was-is) > 0.003 {
			t.Errorf("side %d: %.3f m level, %.3f m raised", i, was, is)
		}
		if math.Abs(f.Level[i][2]-2.05) > 1e-3 {
			t.Errorf("the lid at %.3f m, want 2.05", f.Level[i][2])
		}
		high = math.Max(high, f.Stands[i][2])
	}
	if want := 2.05 + 2.1*math.Sin(12*math.Pi/180); math.Abs(high-want) > 0.003 {
		t.Errorf("its rear at %.3f m, want %.3f", high, want)
	}
	for _, x := range out.Things {
		want := map[string]float64{"fan": 0.14, "hatch": 0.06, "rear bar": 0.09}[x.Name]
		for i := range x.Foot {
			if d := long(x.Foot[i], x.Top[i]); math.Abs(d-want) > 0.003 {
				t.Errorf("%s is %.3f m high, want %.3f", x.Name, d, want)
			}
		}
	}
	if w := s.send("/api/builds/heron-van/solid", map[string]any{"base": 1, "leg": 1, "day": "2027-03-22"}); w.Code != 400 {
		t.Errorf("a drive: %d", w.Code)
	}
}
