// Package parts lists what a build is made of, to buy and to cut.
package parts

import (
	"fmt"

	"noonmark/internal/build/build"
)

// Part is a line of the list.
type Part struct {
	Count string `json:"count"`
	Name  string `json:"name"`
	Note  string `json:"note"`
}

// waste is what is cut over a run's length: loops, ends and a second try. Common practice, no source.
const waste = 1.10

// Of returns the parts of b: modules by type, chargers, battery, and cable as a pair of conductors
// with one tenth over.
func Of(b *build.Build) []Part {
	var out []Part
	for i := range b.Types {
		n := 0
		for _, m := range b.Modules {
			if m.Type == i {
				n++
			}
		}
		if n > 0 {
			t := &b.Types[i]
			out = append(out, Part{fmt.Sprint(n), t.Name, fmt.Sprintf("%.0f W, %.2f × %.2f m, %.1f kg", t.Pmax.Watts(), t.Length.Metres(), t.Width.Metres(), t.Mass.Kilograms())})
		}
	}
	for _, c := range b.Chargers {
		out = append(out, Part{"1", "charger " + c.Name, fmt.Sprintf("input to %.0f V, output %.0f A", c.InputMax.Volts(), c.OutputCurrent.Amperes())})
	}
	out = append(out, Part{"1", "battery " + b.Battery.Name, fmt.Sprintf("%.0f Wh, %.1f V", b.Battery.Energy.WattHours(), b.Battery.Voltage.Volts())})
	for _, s := range b.Strings {
		out = append(out, cable(s.Cable)...)
	}
	for _, c := range b.Chargers {
		out = append(out, cable(c.InputCable)...)
		out = append(out, cable(c.BatteryCable)...)
	}
	return out
}

func cable(r build.Run) []Part {
	if r.Length <= 0 {
		return nil
	}
	out := []Part{{fmt.Sprintf("%.1f m", 2*waste*r.Length.Metres()), fmt.Sprintf("cable %.4g mm²", r.Area.SquareMillimetres()), r.Name + ", red and black together, one tenth over"}}
	if r.Fuse != nil {
		out = append(out, Part{"1", fmt.Sprintf("fuse %.4g A", r.Fuse.Amperes()), r.Name})
	}
	return out
}
