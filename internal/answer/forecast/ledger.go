package forecast

import "noonmark/internal/base/quantity"

// Item is a line of the ledger.
type Item int

// The lines, in the order energy meets them.
const (
	Sunlight       Item = iota // on the modules' area, under an open sky
	FromAlternator             // what the battery and the loads took from it
	BatteryBefore              // stored at the first minute

	Surroundings   // kept off by trees, houses, hills
	RoofShade      // kept off by what stands on the roof, and by its curve
	Reflection     // thrown back by the front
	Dirt           // lost in dirt
	NotConverted   // turned to heat by a cell working as its label says
	Weaker         // modules that give less than their label, by a Variation; below zero where more
	LowLight       // efficiency falls in weak light
	CellHeat       // and in hot cells
	Mismatch       // cells held to the current of weaker ones
	Bypass         // cells whose bypass diode conducts, and what it and they burn
	VoltageWindow  // array volts under what the controller needs, or over its limit
	InputLimit     // amperes or watts over the controller's input
	TrackingMiss   // the controller beside the peak
	ArrayCable     // module to controller
	ControllerLoss // conversion
	OutputLimit    // over the controller's output current
	BatteryCable   // controller to battery
	BatteryFull    // offered, and the battery was full or at its charge limit
	BatteryCold    // offered, and the cells were too cold
	BatteryLoss    // charge, discharge, self-discharge
	ControllerUse  // the controller's own draw, night and day
	InverterLoss   // idle and conversion
	Heater         // battery heater
	DCLoads        // served
	MainsLoads     // served
	BatteryAfter   // stored at the last minute

	items // their number
)

// Inward reports whether the item brings energy in.
func (i Item) Inward() bool { return i <= BatteryBefore }

// String returns the item's name as printed.
func (i Item) String() string { return itemNames[i] }

var itemNames = [items]string{
	Sunlight: "sunlight on the modules", FromAlternator: "alternator", BatteryBefore: "battery, before",
	Surroundings: "surroundings", RoofShade: "shade of the roof's own things", Reflection: "reflection", Dirt: "dirt", NotConverted: "not converted, at label efficiency",
	Weaker: "weaker than the label", LowLight: "weak light", CellHeat: "hot cells", Mismatch: "mismatch of cells and modules", Bypass: "bypassed cells",
	VoltageWindow: "controller's voltage window", InputLimit: "controller's input limit", TrackingMiss: "tracking",
	ArrayCable: "cable to the controller", ControllerLoss: "controller", OutputLimit: "controller's output limit",
	BatteryCable: "cable to the battery", BatteryFull: "unused, battery full or at its charge limit",
	BatteryCold: "unused, battery too cold", BatteryLoss: "battery", ControllerUse: "controller's own use",
	InverterLoss: "inverter", Heater: "battery heater", DCLoads: "loads on the battery", MainsLoads: "loads on the inverter",
	BatteryAfter: "battery, after",
}

// account gathers energies in joules, by item.
type account [items]float64

// residual returns ins less outs, in joules: zero but for rounding.
func (a *account) residual() float64 {
	var in, out float64
	for i := range a {
		if Item(i).Inward() {
			in += a[i]
		} else {
			out += a[i]
		}
	}
	return in - out
}

func (a *account) add(b *account, share float64) {
	for i := range a {
		a[i] += b[i] * share
	}
}

// Entry is a printed line of the ledger.
type Entry struct {
	Item   Item
	Energy quantity.Energy
}
