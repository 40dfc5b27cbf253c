// Package catalog holds generic classes of parts, so that a person who has bought nothing can start.
// No row is a product: each is a round figure of its class, from common practice or from memory, and
// any value a build file gives wins over it.
package catalog

import (
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
)

// practice is the source of the rows: what the trade sells in a class, no table of anybody's.
var practice = cite.Source{Title: "class of the trade", Standing: cite.CommonPractice}

// Module is a class of module. Technology is a word a build file may use.
type Module struct {
	Name, Line, Technology string
	Pmax                   quantity.Power
	Voc, Vmp               quantity.Voltage
	Isc, Imp               quantity.Current
	Length, Width          quantity.Length
	Mass                   quantity.Mass
	Rows, Columns, Groups  int
	PerCell                bool
	Source                 cite.Source
}

// Modules returns the classes of module.
func Modules() []Module {
	return []Module{
		{"foil-90", "thin foil CIGS, 90 W, long and narrow", "foil CIGS", 90 * quantity.Watt, 28.3 * quantity.Volt, 21.9 * quantity.Volt,
			4.62 * quantity.Ampere, 4.11 * quantity.Ampere, 1.75 * quantity.Metre, 0.37 * quantity.Metre, 1.9 * quantity.Kilogram, 2, 21, 0, true, practice},
		{"foil-150", "thin foil CIGS, 150 W, wide", "foil CIGS", 150 * quantity.Watt, 29.6 * quantity.Volt, 22.9 * quantity.Volt,
			7.35 * quantity.Ampere, 6.55 * quantity.Ampere, 1.75 * quantity.Metre, 0.62 * quantity.Metre, 3.2 * quantity.Kilogram, 2, 22, 0, true, practice},
		{"flexible-110", "flexible crystalline, 110 W", "flexible mono", 110 * quantity.Watt, 22.4 * quantity.Volt, 18.6 * quantity.Volt,
			6.3 * quantity.Ampere, 5.914 * quantity.Ampere, 1.1 * quantity.Metre, 0.55 * quantity.Metre, 2.4 * quantity.Kilogram, 4, 9, 2, false, practice},
		{"glass-100", "glass and frame, 100 W", "mono PERC", 100 * quantity.Watt, 22.6 * quantity.Volt, 18.9 * quantity.Volt,
			5.62 * quantity.Ampere, 5.291 * quantity.Ampere, 1.02 * quantity.Metre, 0.53 * quantity.Metre, 6.4 * quantity.Kilogram, 4, 9, 2, false, practice},
		{"glass-200", "glass and frame, 200 W", "mono PERC", 200 * quantity.Watt, 24.6 * quantity.Volt, 20.5 * quantity.Volt,
			10.3 * quantity.Ampere, 9.756 * quantity.Ampere, 1.49 * quantity.Metre, 0.67 * quantity.Metre, 11 * quantity.Kilogram, 4, 9, 2, false, practice},
		{"glass-400", "house-roof glass and frame, 400 W", "mono PERC", 400 * quantity.Watt, 37.2 * quantity.Volt, 31.1 * quantity.Volt,
			13.75 * quantity.Ampere, 12.862 * quantity.Ampere, 1.72 * quantity.Metre, 1.13 * quantity.Metre, 21 * quantity.Kilogram, 6, 9, 3, false, practice},
		{"rear-contact-60", "thin flexible, rear contacts, 60 W", "rear contact", 60 * quantity.Watt, 21.6 * quantity.Volt, 18.2 * quantity.Volt,
			3.5 * quantity.Ampere, 3.297 * quantity.Ampere, 0.57 * quantity.Metre, 0.55 * quantity.Metre, 1.1 * quantity.Kilogram, 5, 6, 1, false, practice},
	}
}

// Charger is a class of charge controller or of an integrated unit's solar input.
type Charger struct {
	Name, Line                       string
	Integrated                       bool
	InputMax, StartMargin, RunMargin quantity.Voltage
	InputMin                         quantity.Voltage
	InputCurrent, ShortMax, Output   quantity.Current
	InputPower                       quantity.Power
	Efficiency                       quantity.Ratio
	FixedLoss, SelfUse               quantity.Power
	Source                           cite.Source
}

// Chargers returns the classes of charger.
func Chargers() []Charger {
	return []Charger{
		{"controller-16a", "tracking controller, 80 V in, 16 A out", false, 80 * quantity.Volt, 5 * quantity.Volt, 1 * quantity.Volt, 0,
			16 * quantity.Ampere, 18 * quantity.Ampere, 16 * quantity.Ampere, 230 * quantity.Watt, 96 * quantity.Percent, 1 * quantity.Watt, 0.15 * quantity.Watt, practice},
		{"controller-32a", "tracking controller, 110 V in, 32 A out", false, 110 * quantity.Volt, 5 * quantity.Volt, 1 * quantity.Volt, 0,
			32 * quantity.Ampere, 36 * quantity.Ampere, 32 * quantity.Ampere, 460 * quantity.Watt, 97 * quantity.Percent, 1.5 * quantity.Watt, 0.2 * quantity.Watt, practice},
		{"controller-9a", "small tracking controller for one module, 28 V in, 9 A out", false, 28 * quantity.Volt, 2 * quantity.Volt, 1 * quantity.Volt, 0,
			9 * quantity.Ampere, 11 * quantity.Ampere, 9 * quantity.Ampere, 130 * quantity.Watt, 95 * quantity.Percent, 0.6 * quantity.Watt, 0.1 * quantity.Watt, practice},
		{"controller-20a", "tracking controller, 60 V in, 20 A out", false, 60 * quantity.Volt, 5 * quantity.Volt, 1 * quantity.Volt, 0,
			20 * quantity.Ampere, 25 * quantity.Ampere, 20 * quantity.Ampere, 290 * quantity.Watt, 96 * quantity.Percent, 1 * quantity.Watt, 0.2 * quantity.Watt, practice},
		{"unit-28", "small integrated power unit, solar input 12 to 28 V, 8 A, 120 W", true, 28 * quantity.Volt, 0, 0, 12 * quantity.Volt,
			8 * quantity.Ampere, 10 * quantity.Ampere, 10 * quantity.Ampere, 120 * quantity.Watt, 93 * quantity.Percent, 1.5 * quantity.Watt, 3 * quantity.Watt, practice},
		{"unit-150", "large integrated power unit, solar input 12 to 150 V, 15 A, 1 kW", true, 150 * quantity.Volt, 0, 0, 12 * quantity.Volt,
			15 * quantity.Ampere, 18 * quantity.Ampere, 50 * quantity.Ampere, 1000 * quantity.Watt, 95 * quantity.Percent, 4 * quantity.Watt, 6 * quantity.Watt, practice},
		{"unit-60", "integrated power unit, solar input 11 to 60 V, 10 A, 300 W", true, 60 * quantity.Volt, 0, 0, 11 * quantity.Volt,
			10 * quantity.Ampere, 15 * quantity.Ampere, 25 * quantity.Ampere, 300 * quantity.Watt, 94 * quantity.Percent, 2 * quantity.Watt, 5 * quantity.Watt, practice},
	}
}

// Battery is a class of battery.
type Battery struct {
	Name, Line, Chemistry   string
	Energy                  quantity.Energy
	Voltage                 quantity.Voltage
	MaxCharge, MaxDischarge quantity.Current
	Source                  cite.Source
}

// Batteries returns the classes of battery.
func Batteries() []Battery {
	return []Battery{
		{"lfp-100", "lithium iron phosphate, 100 Ah", "LFP", 1280 * quantity.WattHour, 12.8 * quantity.Volt, 50 * quantity.Ampere, 100 * quantity.Ampere, practice},
		{"lfp-200", "lithium iron phosphate, 200 Ah", "LFP", 2560 * quantity.WattHour, 12.8 * quantity.Volt, 100 * quantity.Ampere, 200 * quantity.Ampere, practice},
		{"unit-1000", "battery of an integrated power unit, 1 kWh", "LFP", 1024 * quantity.WattHour, 25.6 * quantity.Volt, 20 * quantity.Ampere, 60 * quantity.Ampere, practice},
		{"unit-500", "battery of a small integrated power unit, 0.5 kWh", "NMC", 518 * quantity.WattHour, 14.4 * quantity.Volt, 10 * quantity.Ampere, 30 * quantity.Ampere, practice},
		{"unit-2000", "battery of a large integrated power unit, 2 kWh", "LFP", 2048 * quantity.WattHour, 51.2 * quantity.Volt, 20 * quantity.Ampere, 45 * quantity.Ampere, practice},
		{"agm-100", "lead, glass mat, 100 Ah", "AGM", 1200 * quantity.WattHour, 12 * quantity.Volt, 20 * quantity.Ampere, 100 * quantity.Ampere, practice},
	}
}

// Inverter is a class of inverter.
type Inverter struct {
	Name, Line  string
	Rated, Idle quantity.Power
	Efficiency  quantity.Ratio
	Source      cite.Source
}

// Inverters returns the classes of inverter.
func Inverters() []Inverter {
	hand := cite.Source{Title: "handbook C6, D3", Standing: cite.FromMemory}
	return []Inverter{
		{"inverter-300", "sine inverter, 300 W", 300 * quantity.Watt, 6 * quantity.Watt, 88 * quantity.Percent, hand},
		{"inverter-1000", "sine inverter, 1 kW", 1000 * quantity.Watt, 14 * quantity.Watt, 91 * quantity.Percent, hand},
		{"inverter-2000", "sine inverter, 2 kW", 2000 * quantity.Watt, 22 * quantity.Watt, 92 * quantity.Percent, hand},
	}
}

// Load is a class of load.
type Load struct {
	Name, Line string
	Fridge     bool
	Mains      bool
	Power      quantity.Power
	Hours      string          // as a build file says them
	Day        quantity.Energy // of a fridge at 25 °C
	Source     cite.Source
}

// Loads returns the starter list.
func Loads() []Load {
	hand := cite.Source{Title: "handbook D1, D2", Standing: cite.FromMemory}
	return []Load{
		{Name: "fridge-40", Line: "compressor fridge, 40 litres", Fridge: true, Power: 45 * quantity.Watt, Day: 420 * quantity.WattHour, Source: hand},
		{Name: "fridge-90", Line: "compressor fridge, 90 litres", Fridge: true, Power: 60 * quantity.Watt, Day: 620 * quantity.WattHour, Source: hand},
		{Name: "freezer-40", Line: "the same box as a freezer at -15 °C", Fridge: true, Power: 50 * quantity.Watt, Day: 840 * quantity.WattHour, Source: hand},
		{Name: "lights", Line: "LED lights", Power: 8 * quantity.Watt, Hours: "19-23", Source: hand},
		{Name: "phones", Line: "two phones and a tablet", Power: 20 * quantity.Watt, Hours: "18-20", Source: hand},
		{Name: "laptop", Line: "one laptop, three hours", Power: 45 * quantity.Watt, Hours: "14-17", Source: hand},
		{Name: "fan", Line: "roof fan, low", Power: 6 * quantity.Watt, Hours: "14-22", Source: hand},
		{Name: "heater", Line: "diesel air heater in winter", Power: 18 * quantity.Watt, Hours: "17-8", Source: hand},
		{Name: "pump", Line: "water pump, ten minutes", Power: 12 * quantity.Watt, Hours: "8-9", Source: hand},
		{Name: "cpap", Line: "breathing aid without heat", Power: 11 * quantity.Watt, Hours: "22-6", Source: hand},
		{Name: "internet", Line: "satellite internet in the evening", Power: 50 * quantity.Watt, Hours: "18-22", Source: hand},
		{Name: "camera", Line: "one camera battery a day", Power: 20 * quantity.Watt, Hours: "19-20", Source: hand},
		{Name: "drone", Line: "one drone battery a day", Power: 100 * quantity.Watt, Hours: "13-14", Source: hand},
		{Name: "e-bike", Line: "one e-bike battery a day, on the inverter", Mains: true, Power: 130 * quantity.Watt, Hours: "10-14", Source: hand},
		{Name: "kettle", Line: "one litre boiled, on the inverter", Mains: true, Power: 115 * quantity.Watt, Hours: "7-8", Source: hand},
		{Name: "standby", Line: "alarm, clock, radio", Power: 2 * quantity.Watt, Hours: "always", Source: hand},
	}
}

// Skins returns the roof skins a build file may name.
func Skins() []string {
	return []string{"painted aluminium", "bare aluminium", "painted steel", "gelcoat", "GRP", "ABS", "polyethylene", "coated fabric", "polycarbonate"}
}
