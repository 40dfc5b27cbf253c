package diagnose

import (
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Loss is what all arrays together give with a fault in them.
type Loss struct {
	Fault Fault
	Where string
	Left  quantity.Ratio // of the sound arrays' power
}

// Losses returns what b's arrays give at a light and temperature with a module, a string, a bypass group or
// an array lost, each built into the circuit, the charger's window counted; what a record's step down is held
// against. Options' uncertainties are not used. It fails as Start does.
func Losses(b *build.Build, o Options) ([]Loss, error) {
	s := &Session{build: b, options: o}
	if s.options.Battery <= 0 {
		s.options.Battery = b.Battery.Voltage
	}
	if err := s.plant(); err != nil {
		return nil, err
	}
	total, watts := 0.0, make([]float64, len(s.plants))
	for u, p := range s.plants {
		if p != nil {
			s.sound[u].work()
			watts[u] = s.sound[u].volts * s.sound[u].amps
			total += watts[u]
		}
	}
	var out []Loss
	if total <= 0 {
		return nil, nil
	}
	for u, p := range s.plants {
		if p == nil {
			continue
		}
		for _, c := range hypotheses(p, u, s.sound[u], 1) {
			switch c.fault {
			case ShortedModule, OpenCell, ShortedDiode, ReversedModule, InputFuseBlown:
			case HalfConnector: // fully open, at the first joint
				if c.index != 0 {
					continue
				}
			default:
				continue
			}
			n := &c.nodes[len(c.nodes)-1]
			n.core.work()
			where := c.where
			if c.fault == HalfConnector {
				where = s.groupName(&c)
			}
			out = append(out, Loss{c.fault, where, quantity.Ratio((total - watts[u] + n.core.volts*n.core.amps) / total)})
		}
	}
	return out, nil
}
