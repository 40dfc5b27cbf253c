package diagnose

import (
	"math/rand/v2"
	"strings"
)

// begin is what is read first: what needs little, then each module and string.
func (c *truth) begin() []key {
	out := []key{{WorkVoltage, 0, -1, -1}, {WorkCurrent, 0, -1, -1}, {BatteryVoltage, 0, -1, -1}, {BatteryCurrent, 0, -1, -1}, {ArrayOpen, 0, -1, -1}}
	for l, s := range c.build.Chargers[0].Strings {
		out = append(out, key{StringCurrent, 0, l, -1}, key{StringOpen, 0, l, -1}, key{StringShort, 0, l, -1})
		for m := range c.build.Strings[s].Modules {
			for _, k := range []Kind{ModuleOpen, ModuleShort, SeenShadow, SeenDirt} {
				out = append(out, key{k, 0, l, m})
			}
		}
	}
	return out
}

// follow reads what is asked first, then what the answer asks for next, at most so many times.
func (c *truth) follow(r *rand.Rand, most int) (*Answer, []Reading, error) {
	var readings []Reading
	for _, k := range c.begin() {
		readings = append(readings, c.read(r, k))
	}
	s, err := Start(c.build, readings, c.given)
	if err != nil {
		return nil, readings, err
	}
	a := s.Answer()
	for range most {
		if len(a.Next) == 0 {
			break
		}
		for _, k := range c.places(a.Next[0]) {
			readings = append(readings, c.read(r, k))
			if err := s.Add(readings[len(readings)-1]); err != nil {
				return nil, readings, err
			}
		}
		a = s.Answer()
	}
	return a, readings, nil
}

// places are where a test is taken: a look or a probe is taken at all like places.
func (c *truth) places(t Test) []key {
	if !t.Sweep {
		return []key{keyOf(c, t)}
	}
	var out []key
	for l, s := range c.build.Chargers[0].Strings {
		modules := len(c.build.Strings[s].Modules)
		switch {
		case t.Kind == JointDrop:
			for j := range modules + 1 {
				out = append(out, key{t.Kind, 0, l, j})
			}
		case facts[t.Kind].at == ofString:
			out = append(out, key{t.Kind, 0, l, -1})
		default:
			for m := range modules {
				out = append(out, key{t.Kind, 0, l, m})
			}
		}
	}
	return out
}

// keyOf is a test's address.
func keyOf(c *truth, t Test) key {
	k := key{t.Kind, 0, -1, -1}
	for l, s := range c.build.Chargers[0].Strings {
		st := &c.build.Strings[s]
		if facts[t.Kind].at == ofString && st.Name == t.At {
			k.line = l
			if t.Kind == JointDrop {
				k.index = t.Joint
			}
		}
		for m, mod := range st.Modules {
			if facts[t.Kind].at == ofModule && c.build.Modules[mod].Name == t.At {
				k.line, k.index = l, m
			}
		}
	}
	return k
}

// is reports whether a cause is the true one, place included.
func (c *truth) is(a Cause, f Fault) bool {
	if a.Fault != f {
		return false
	}
	return c.where == "" || strings.HasSuffix(a.Where, " "+c.where) || strings.Contains(a.Where, "string "+c.where)
}
