package diagnose

import (
	"testing"

	"noonmark/internal/base/quantity"
)

// asRead returns what an array reads of a key by one of its nodes, as typed.
func asRead(c *truth, n *node, ch *chain, k key) Reading {
	f := n.predict(ch, k)
	r := Reading{Kind: k.kind, Value: f.value}
	if k.line >= 0 {
		st := &c.build.Strings[k.line]
		r.At, r.Joint = st.Name, max(0, k.index)
		if facts[k.kind].at == ofModule {
			r.At = c.build.Modules[st.Modules[k.index]].Name
		}
	}
	switch {
	case k.kind.seen():
		r.Value = yes(f.yes > 0.5)
	case k.kind.ohmic() && f.value > overOhms/10:
		r.Over, r.Value = true, 0
	}
	return r
}

// An open bypass diode reads as a sound array in full sun: while nothing has been covered it stands beside
// "healthy" as what these readings cannot tell, nothing is proven, and the search comes to ask for the test
// that tells them apart. With full current the array is proven sound; with the current gone the diode is
// first, at its module once that was covered by itself.
func TestOpenDiodeHidden(t *testing.T) {
	for _, broken := range []bool{false, true} {
		c, readings := soundReadings(t, 0, 2, 2)
		o := noon
		o.Battery = 13.2 * quantity.Volt
		p, err := newPlant(c.build, 0, o)
		if err != nil {
			t.Fatal(err)
		}
		sound := newCore(p, p.healthy)
		real := &chain{fault: Healthy, line: -1, index: -1}
		n := &node{core: sound}
		if broken {
			for _, h := range hypotheses(p, 0, sound, 1) {
				if h.fault == OpenDiode && h.line == 1 && h.index == 1 {
					real, n = &h, &h.nodes[0]
					break
				}
			}
		}
		s, err := Start(c.build, readings, noon)
		if err != nil {
			t.Fatal(err)
		}
		covered := false
		a := s.Answer()
		for step := 0; step < 16 && a.Verdict != Proven; step++ {
			if len(a.Next) == 0 {
				t.Fatalf("broken %v, step %d: no test left; %v %.2f", broken, step, a.Causes[0].Fault, a.Causes[0].Probability.Float())
			}
			next := a.Next[0]
			if next.Kind == StringCovered || next.Kind == CoveredShort {
				covered = true
			}
			if !covered {
				if a.Causes[0].Fault != Healthy {
					t.Fatalf("step %d: %v first", step, a.Causes[0].Fault)
				}
				named := false
				for _, k := range a.Alike {
					named = named || a.Causes[k].Fault == OpenDiode
				}
				for _, x := range a.Causes {
					if x.Fault == OpenDiode && !named {
						t.Errorf("step %d: an open diode is listed and not named as one that cannot be told", step)
						break
					}
				}
			}
			for _, k := range c.places(next) {
				if err := s.Add(asRead(c, n, real, k)); err != nil {
					t.Fatal(err)
				}
			}
			a = s.Answer()
		}
		if !covered {
			t.Errorf("broken %v: nothing was covered", broken)
		}
		first := a.Causes[0]
		want, where := Healthy, ""
		if broken {
			want, where = OpenDiode, "module "+c.build.Modules[c.build.Strings[1].Modules[1]].Name
		}
		if a.Verdict != Proven || first.Fault != want || first.Where != where {
			t.Errorf("broken %v: %v, %v at %q %.3f", broken, a.Verdict, first.Fault, first.Where, first.Probability.Float())
		}
	}
}

// A part lost leaves what the circuit says: of two like strings one open, half; with its cells and diodes all
// there, everything.
//
// Source: an owner's blog of a roof array on tilting frames, exactly one half all day, case C35; common practice.
func TestLosses(t *testing.T) {
	list, err := Losses(arrayOf(2, 1, 2), Options{Light: 700 * quantity.WattPerSquareMetre, Cells: quantity.Celsius(45)})
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, x := range list {
		if x.Left < 0 || x.Left > 1.001 {
			t.Errorf("%v at %s leaves %.3f", x.Fault, x.Where, x.Left.Float())
		}
		if x.Fault == HalfConnector {
			found = true
			if left := x.Left.Float(); left < 0.49 || left > 0.51 {
				t.Errorf("one of two strings open leaves %.3f", left)
			}
		}
	}
	if !found || len(list) < 6 {
		t.Errorf("%d losses", len(list))
	}
}
