// Package needs says what the vehicle uses in a day and how long the battery alone carries it.
package needs

import (
	"sort"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/load"
)

// Load is a use of energy in a day, seen at the battery.
type Load struct {
	Name   string
	Energy quantity.Energy
}

// Answer is what is used.
type Answer struct {
	Day     quantity.Energy // mean over the trip, at the battery
	Loads   []Load          // a parked day, largest first, as used at the plug
	Usable  quantity.Energy // between the user's highest and lowest charge
	Nights  float64         // days the usable energy lasts with no sun at all
	AirLow  quantity.Temperature
	AirHigh quantity.Temperature
}

// Of returns the needs of b over its computed trip. Fridges are taken at the trip's mean air.
func Of(b *build.Build, a *forecast.Answer) Answer {
	n := Answer{AirLow: a.Days[0].AirLow, AirHigh: a.Days[0].AirHigh}
	mean := 0.0
	for _, d := range a.Days {
		if d.AirLow.Before(n.AirLow) {
			n.AirLow = d.AirLow
		}
		if n.AirHigh.Before(d.AirHigh) {
			n.AirHigh = d.AirHigh
		}
		mean += (d.AirLow.Celsius() + d.AirHigh.Celsius()) / 2 / float64(len(a.Days))
	}
	n.Day = quantity.Energy(a.Demand.Joules() / float64(len(a.Days)))
	for _, l := range b.Loads {
		n.Loads = append(n.Loads, Load{Name: l.Name, Energy: DayOf(&l, quantity.Celsius(mean))})
	}
	if b.Inverter != nil {
		hours := 0.0
		for _, on := range b.Inverter.On {
			if on || b.Inverter.AlwaysOn {
				hours++
			}
		}
		n.Loads = append(n.Loads, Load{Name: "inverter, idle", Energy: quantity.Energy(b.Inverter.Idle.Watts() * hours * 3600)})
	}
	self := 0.0
	for _, c := range b.Chargers {
		self += c.SelfUse.Watts()
	}
	n.Loads = append(n.Loads, Load{Name: "controller's own use", Energy: quantity.Energy(self * 86400)})
	sort.SliceStable(n.Loads, func(i, j int) bool { return n.Loads[i].Energy > n.Loads[j].Energy })
	bt := &b.Battery
	n.Usable = quantity.Energy(bt.Energy.Joules() * bt.Health.Float() * (bt.HighestCharge.Float() - bt.LowestCharge.Float()) * bt.DischargeEfficiency.Float())
	if n.Day > 0 {
		n.Nights = n.Usable.Joules() / n.Day.Joules()
	}
	return n
}

// DayOf returns a load's energy in a parked day of a month it is used in.
func DayOf(l *build.Load, air quantity.Temperature) quantity.Energy {
	if l.Kind == build.Fridge {
		return quantity.Energy(load.FridgePower(l.Fridge.DayAt25C, air, l.Fridge.Rise, l.Fridge.Running).Watts() * 86400)
	}
	sum := 0.0
	for _, w := range l.Watts {
		sum += w.Watts() * 3600
	}
	return quantity.Energy(sum)
}
