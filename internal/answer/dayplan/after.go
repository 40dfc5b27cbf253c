package dayplan

import (
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/bond"
)

// lookAhead is how long a bond is followed before it is called too cold to build.
const lookAhead = 21 * 24 * time.Hour

// townSpeed is what a bond of nine tenths may see. Common practice, no source.
const townSpeed = 50 * quantity.KilometrePerHour

// drive adds from when the vehicle may be driven: each half hour after the last module is down counts by
// the temperature of the bond, the days to come being like this one.
func (p *Plan) drive(s oneDay, w *work) {
	if p.Placed == 0 {
		return
	}
	down := p.Date
	for _, t := range p.Tasks {
		if t.Gate && t.To.After(down) {
			down = t.To
		}
	}
	full := w.strictest().FullBuild
	first := &w.pieces[0]
	plate := forecast.PlateOf(first.kind, first.attached, first.gap)
	stages := []bond.Stage{bond.MoveByHand, bond.TownSpeed, bond.MotorwaySpeed}
	for _, st := range stages {
		d := Drive{Stage: st}
		switch st {
		case bond.TownSpeed:
			d.Most = min(townSpeed, w.build.Mounting.TopSpeed)
		case bond.MotorwaySpeed:
			d.Most = w.build.Mounting.TopSpeed
		}
		need := bond.Needed(st, full)
		d.From, d.Found = reach(down, need, func(t time.Time) quantity.Temperature {
			air, _, _ := s.at(s.sameHour(t))
			return air
		})
		d.InSun, _ = reach(down, need, func(t time.Time) quantity.Temperature {
			air, light, wind := s.at(s.sameHour(t))
			return plate.Steady(light, air, wind)
		})
		p.Drive = append(p.Drive, d)
	}
}

// sameHour returns the instant of the planned date at the clock time of t.
func (s oneDay) sameHour(t time.Time) time.Time {
	return s.date.Add(time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute)
}

// reach returns when a bond that is down at a time has built as much as need, at the temperatures given;
// ok is false when it has not within lookAhead.
func reach(down time.Time, need time.Duration, at func(time.Time) quantity.Temperature) (when time.Time, ok bool) {
	const step = 10 * time.Minute
	sum := time.Duration(0)
	for t := down; t.Before(down.Add(lookAhead)); t = t.Add(step) {
		built := bond.AtRoom(bond.Spell{For: step, At: at(t)})
		if sum+built >= need && built > 0 {
			return t.Add(time.Duration(float64(step) * float64(need-sum) / float64(built))).Round(time.Minute), true
		}
		sum += built
	}
	return time.Time{}, false
}

// removalPerModule is what taking one off takes. Source: a travel blog's report, about an hour; the wire
// broke and a putty knife did it.
const removalPerModule = time.Hour

// removal returns how a module comes off again.
func (w *work) removal(k *piece) Removal {
	r := Removal{Module: k.name, Time: removalPerModule, Wire: quantity.Length(3 * (k.kind.Width.Metres() + 0.3)), Heat: quantity.Celsius(60)}
	if limit := k.skin.HeatLimit.Add(-10 * quantity.OneKelvin); limit.Before(r.Heat) {
		r.Heat = limit
	}
	switch k.skin.Suits {
	case bond.Good:
		r.Risk = "little to the skin: metal stands heat and blade"
	case bond.Fair:
		r.Risk = "paint or gelcoat comes off where the bond is better than its own hold: reckon with a repair the size of the module"
	case bond.Test:
		r.Risk = "plastic or fabric softens, tears or crazes: reckon with a lasting mark, try a corner first"
	case bond.Refuse:
		r.Risk = "little holds it: a blade alone may do; the skin dents when warm"
	}
	r.Steps = []string{
		"cover the module opaque, disconnect at the controller, then at the plugs; tape the ends; photograph",
		"cut the edge covers and sealant all round",
		"warm one end evenly by hot air, never a flame, the surface thermometer beside it; on from strip to strip",
		"start a thin wide blade flat under the warm end, then draw a cutting wire through the adhesive with two handles, sawing, never lifting; have spare wire, it breaks",
		"a module that is bent to a crease is lost: if it is to live, two people hold it flat",
		"residue: roll it off warm with the thumb, an eraser wheel on metal and paint only, then alcohol; no solvent that the skin does not stand",
		"clean, scuff, wipe and prime anew as on the first day; the peel test again: residue poisons a bond",
		"the successor: in series its working amps, in parallel its working volts within 3 % of its neighbours, size and plug sides alike, cells off the same cover; look at the cold voltage again",
		"write down which module, why, and the readings before and after",
	}
	return r
}
