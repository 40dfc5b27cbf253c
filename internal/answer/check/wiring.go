package check

import (
	"noonmark/internal/build/build"
)

// Wiring returns the findings on b's strings, chargers, cables, fuses, fittings and battery, in the
// order of the build. It fails when a module's label fits no cell.
func Wiring(b *build.Build) ([]Finding, error) {
	var out []Finding
	e := ExtremesOf(b)
	for i := range b.Chargers {
		c := &b.Chargers[i]
		coldest := 0.0
		for _, si := range c.Strings {
			s := &b.Strings[si]
			v, err := voltsOf(b, s, e)
			if err != nil {
				return nil, err
			}
			coldest = max(coldest, v.edge)
			out = append(out, voltages(b, c, s, v, e)...)
		}
		out = append(out, currents(b, c)...)
		for _, l := range linesOf(b, c) {
			out = append(out, l.findings(b)...)
		}
		out = append(out, stringFuses(b, c, coldest)...)
		out = append(out, batteryFuse(b, c)...)
		out = append(out, fittings(b, c)...)
	}
	return append(out, battery(b, e)...), nil
}
