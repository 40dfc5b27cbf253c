package diagnose

import (
	"math"
	"strconv"

	"noonmark/internal/base/quantity"
)

// Kind is what is read.
type Kind int

const (
	ModuleOpen        Kind = iota // V at a module's own plugs, unplugged
	ModuleShort                   // A through a meter across a module's own plugs
	CoveredShort                  // the same with each bypass group covered whole in turn, the least
	StringOpen                    // V at a string's ends, unplugged
	StringShort                   // A
	StringCovered                 // A of the shorted string with each group of each module covered whole in turn, the least
	ArrayOpen                     // V at the charger's plugs, unplugged from it
	ArrayShort                    // A
	WorkVoltage                   // V at the charger's input, working
	WorkCurrent                   // A into the charger, by clamp or display
	StringCurrent                 // A in a string, working, by clamp
	ModuleVoltage                 // V over a module, working
	JointDrop                     // V over a joint of a string, working; joint 0 is at the plus end
	BatteryVoltage                // V at the battery's posts
	BatteryCurrent                // A from the charger into the battery
	BatteryWarmth                 // °C of the battery
	InputFuse                     // Ω over the fuse of array or string, taken out
	BatteryFuse                   // Ω over the fuse at the battery, taken out
	FrameResistance               // Ω from a module's joined poles to its frame or backing
	ChassisResistance             // Ω from the array's poles to the vehicle's chassis, unplugged
	BoxWarmer                     // K, a module's junction box over its neighbours', working
	SpotWarmer                    // K, the hottest spot of a module over the cells around it, working
	SeenShadow                    // 1: a shadow lies on the module; 0: none
	SeenDirt                      // 1: the module is dirty; 0: clean
	MeterRight                    // 1: the meter reads a known battery and a known current right; 0: it does not
	kinds
)

// place is what a reading belongs to.
type place int

const (
	ofModule place = iota
	ofString
	ofCharger
	ofAll
)

// facts of a kind of reading.
var facts = [kinds]struct {
	word, unit, how, caution string
	at                       place
	unplug, danger           float64 // trouble of taking it
	direct                   byte    // 'V' or 'A': through the hand meter's volts or fused ampere jack
	floor                    float64 // smallest scale, for what a wrong reading may be
}{
	ModuleOpen:        {"voc", "V", "open-circuit volts of the module at its own plugs", "unplug only with the charger off and no current; the pair is live in light", ofModule, 2, 0.3, 'V', 5},
	ModuleShort:       {"isc", "A", "short-circuit current of the module, meter on its 10 A jack, a few seconds", "cover the module before making and breaking the circuit: it arcs; stay under the meter's fuse", ofModule, 2, 1, 'A', 1},
	CoveredShort:      {"covered_isc", "A", "short-circuit current with each bypass group covered whole in turn, the least; of a diode per cell, one cell", "as short circuit; cover with cardboard, do not stand on the module", ofModule, 2.5, 1, 'A', 1},
	StringOpen:        {"string_voc", "V", "open-circuit volts of the string", "charger off first; a string may be over 60 V: fingers off bare plugs", ofString, 1, 0.4, 'V', 5},
	StringShort:       {"string_isc", "A", "short-circuit current of the string, meter on its 10 A jack, a few seconds", "cover the string before making and breaking the circuit: it arcs", ofString, 1, 1.2, 'A', 1},
	StringCovered:     {"string_covered_isc", "A", "short-circuit current of the string while each bypass group of each module is covered whole in turn, the least; note where it falls", "cover the string before making and breaking the circuit: it arcs; cardboard, do not stand on the modules", ofString, 1.2, 1.2, 'A', 1},
	ArrayOpen:         {"array_voc", "V", "open-circuit volts at the charger's plugs, unplugged", "switch the array off before unplugging; battery stays connected", ofCharger, 1, 0.4, 'V', 5},
	ArrayShort:        {"array_isc", "A", "short-circuit current of the array", "only by a switch made for direct current and within the meter's fuse", ofCharger, 1, 1.5, 'A', 1},
	WorkVoltage:       {"array_v", "V", "volts at the charger's input while it works", "probes on live terminals: one hand, no slip between plus and minus", ofCharger, 0, 0.1, 'V', 5},
	WorkCurrent:       {"array_i", "A", "current into the charger while it works, clamp or display", "zero the clamp; nothing is opened", ofCharger, 0, 0, 0, 1},
	StringCurrent:     {"string_i", "A", "current of the string while working, by clamp", "zero the clamp; nothing is opened", ofString, 0, 0, 0, 1},
	ModuleVoltage:     {"module_v", "V", "volts over the module while working, by thin probes at the plugs' backs", "do not pull a plug under load; do not pierce insulation", ofModule, 0.3, 0.3, 'V', 5},
	JointDrop:         {"joint_v", "V", "volts over the joint while current flows; over 50 mV at 5 A is bad", "do not pull a plug under load; a bad joint may be hot", ofString, 0.3, 0.3, 'V', 0.5},
	BatteryVoltage:    {"battery_v", "V", "volts at the battery's posts", "no metal across the posts", ofAll, 0, 0.1, 'V', 5},
	BatteryCurrent:    {"battery_i", "A", "current from the charger into the battery, clamp or display", "nothing is opened", ofCharger, 0, 0, 0, 1},
	BatteryWarmth:     {"battery_temperature", "°C", "temperature of the battery's cells", "no charging below 0 °C", ofAll, 0, 0, 0, 20},
	InputFuse:         {"input_fuse", "Ω", "resistance of the array's fuse, taken out", "never pull a fuse under load: cover the array first", ofCharger, 1, 0.5, 0, 1},
	BatteryFuse:       {"battery_fuse", "Ω", "resistance of the fuse at the battery, taken out", "array off first: a charger without battery may be destroyed", ofCharger, 1, 0.8, 0, 1},
	FrameResistance:   {"frame_ohm", "Ω", "insulation from the module's joined poles to its frame or backing", "insulation tester at 250 V at most and never across the module; cover it", ofModule, 2, 0.8, 0, 1},
	ChassisResistance: {"chassis_ohm", "Ω", "resistance from the array's poles to the chassis, unplugged, covered", "array off and unplugged first", ofCharger, 1.5, 0.5, 0, 1},
	BoxWarmer:         {"box_warmer", "K", "junction box over the other modules' boxes while working, infrared on a tape patch", "hot surfaces; work at height", ofModule, 0, 0.1, 0, 10},
	SpotWarmer:        {"spot_warmer", "K", "hottest spot over the cells around it while working, infrared on a tape patch", "hot surfaces; work at height", ofModule, 0, 0.1, 0, 10},
	SeenShadow:        {"shadow", "", "look for a shadow on the module, a cable's or a bar's counts", "work at height", ofModule, 0, 0.05, 0, 1},
	SeenDirt:          {"dirt", "", "look for dirt, leaves, bird droppings; wash and read again", "work at height; wet surfaces slip", ofModule, 0, 0.05, 0, 1},
	MeterRight:        {"meter_right", "", "read a battery of known volts and a lamp's known current with the same meter", "a shorted meter across a battery blows: volts on the volt jack only", ofAll, 0, 0.1, 0, 1},
}

// String returns the word of the kind, as reading files have it.
func (k Kind) String() string {
	if k < 0 || k >= kinds {
		panic("diagnose: unknown kind of reading")
	}
	return facts[k].word
}

// Unit returns the unit a reading's value counts in; empty for what is seen.
func (k Kind) Unit() string { return facts[k].unit }

// How returns how the reading is taken.
func (k Kind) How() string { return facts[k].how }

// Kinds returns all kinds of readings.
func Kinds() []Kind {
	out := make([]Kind, kinds)
	for k := range out {
		out[k] = Kind(k)
	}
	return out
}

// Reading is one value read.
type Reading struct {
	Kind   Kind
	At     string  // module, string or charger; empty where the build has one only
	Joint  int     // of JointDrop: 0 at the string's plus end, then between modules
	Value  float64 // in the kind's unit
	Over   bool    // the meter shows that it is over its range
	Unsure float64 // standard uncertainty, in the kind's unit; 0: the usual instrument's
}

// Place is where the reading was taken, as a readings file has it: a joint has its number behind the string.
func (r *Reading) Place() string {
	if r.Kind == JointDrop {
		return r.At + " " + strconv.Itoa(r.Joint)
	}
	return r.At
}

// Options are the conditions of the readings.
type Options struct {
	Light       quantity.Irradiance  // on the modules
	LightUnsure quantity.Ratio       // standard uncertainty; 0: 3 %, a meter of ±5 %
	Cells       quantity.Temperature // of the cells
	CellsUnsure quantity.TempDiff    // standard uncertainty; 0: 3 K
	Battery     quantity.Voltage     // 0: the reading, or the battery's nominal volts
}

// key is a reading's address: what, where by index, and which joint.
type key struct {
	kind  Kind
	unit  int // charger
	line  int // string of the charger; -1: none
	index int // module in the string, or joint; -1: none
}

// ohmic reports whether a kind is weighed by its logarithm.
func (k Kind) ohmic() bool {
	return k == InputFuse || k == BatteryFuse || k == FrameResistance || k == ChassisResistance
}

// seen reports whether a kind is yes or no.
func (k Kind) seen() bool { return k == SeenShadow || k == SeenDirt || k == MeterRight }

// overOhms is what an ohmmeter over its range is taken as, Ω. A hand meter shows 20 to 60 MΩ at most
// (common practice).
const overOhms = 5e7

// instrument returns the standard uncertainty of the usual instrument at value v. Source: handbook E1,
// ±(0.5 % + 2 digits) of volts, ±(1.5 % + 3 digits) of amperes, clamp ±(2.5 % + 5 digits), infrared ±2 K,
// each taken as a rectangle (E2), from memory.
func (k Kind) instrument(v float64) float64 {
	v = math.Abs(v)
	root3 := math.Sqrt(3)
	switch k {
	case ModuleShort, CoveredShort, StringShort, StringCovered, ArrayShort:
		return (0.015*v + 0.03) / root3
	case WorkCurrent, StringCurrent, BatteryCurrent:
		return (0.025*v + 0.05) / root3
	case JointDrop:
		return (0.005*v + 0.002) / root3
	case BatteryWarmth, BoxWarmer, SpotWarmer:
		return 2 / root3
	case InputFuse, BatteryFuse, FrameResistance, ChassisResistance:
		return 0.3 // of the logarithm
	}
	return (0.005*v + 0.02) / root3
}

// model returns how far a sound module of another make with the same label may stand from ours at a value:
// our own estimate, label tolerance and curve shape, standard.
func (k Kind) model(v float64) float64 {
	v = math.Abs(v)
	switch k {
	case ModuleOpen, StringOpen, ArrayOpen:
		return 0.012 * v
	case ModuleShort, CoveredShort, StringShort, StringCovered, ArrayShort:
		return 0.018*v + 0.01
	case WorkVoltage, ModuleVoltage:
		return 0.025 * v
	case WorkCurrent, StringCurrent, BatteryCurrent:
		return 0.022*v + 0.02
	case JointDrop:
		return 0.003 + 0.2*v
	case BatteryVoltage:
		return 0.02
	case BoxWarmer, SpotWarmer:
		return 2 + 0.35*v
	case InputFuse, BatteryFuse, FrameResistance, ChassisResistance:
		return 1
	case BatteryWarmth:
		return 1
	}
	return 0.01 * v
}
