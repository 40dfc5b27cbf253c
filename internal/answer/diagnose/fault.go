package diagnose

import "noonmark/internal/base/cite"

// Fault is a kind of cause.
type Fault int

const (
	Healthy Fault = iota
	NoneOfThese
	OpenCell
	BurntBusbar
	ShortedDiode
	OpenDiode
	ShortedModule
	ShuntedCells
	CrackedCell
	Moisture
	Shade
	Dirt
	JointResistance
	HalfConnector
	ReversedModule
	WrongWiring
	WindowNotMet
	BatteryFull
	BatteryCold
	InputFuseBlown
	BatteryFuseBlown
	ChassisFault
	MeterFuse
	MeterRange
	LabelWrong
	faults
)

// field is the study that orders faults inside modules: of those without broken glass, 36 parts internal
// circuit, 12 junction box and cable, 10 cells, 8 encapsulant and backsheet.
var field = cite.Source{Title: "DeGraaff et al. 2011, field study of module failures in the first eight years, shares quoted by IEA PVPS T13-01:2014", Standing: cite.FromMemory}

// ours is our own estimate of how often a cause is met when somebody takes out a meter, ordered after the
// signatures and reports of the handbook, E7 and H7.
var ours = cite.Source{Title: "ordered after handbook E7 and H7", Standing: cite.Judgement}

// causes are the faults with their prior weight over the whole array.
var causes = [faults]struct {
	word, mend, overturn string
	prior                float64
	source               cite.Source
}{
	Healthy:          {"healthy: reads as it should", "", "a reading outside its band at more light", 0.30, ours},
	NoneOfThese:      {"none of these fits", "have it looked at by someone with a curve tracer, or repeat all readings with another meter", "the same readings repeated within the bands of a listed cause", 0.03, ours},
	OpenCell:         {"open cell or tab", "module to be replaced; a claim, with readings", "the module's open volts back to normal when pressed or cold", 0.04, field},
	BurntBusbar:      {"burnt busbar or bad tab joint inside", "module to be replaced; keep it covered: it may arc", "short-circuit current normal at the module's own plugs", 0.035, field},
	ShortedDiode:     {"bypass diode shorted", "diode or module to be replaced", "the lost volts back when warm or cold", 0.025, field},
	OpenDiode:        {"bypass diode open", "diode or module to be replaced before it stands in shade", "current kept with a cell covered", 0.012, field},
	ShortedModule:    {"module shorted", "replace the module or its box", "volts at the module's own plugs", 0.008, field},
	ShuntedCells:     {"cells shunted", "module to be watched or replaced", "current at working volts normal in dry air", 0.016, field},
	CrackedCell:      {"cracked cell", "watch for a hot spot; a claim, with readings", "the loss gone after washing, or a shadow found", 0.03, field},
	Moisture:         {"moisture, leak to the frame", "dry, seal, read the insulation again; replace if it stays low", "insulation high when wet", 0.02, field},
	Shade:            {"shade on cells", "move the thing or the vehicle", "no shadow seen and the loss the same at another hour", 0.09, ours},
	Dirt:             {"dirt", "wash and read again", "the same reading after washing", 0.06, ours},
	JointResistance:  {"resistance in a joint", "remake the joint with the same maker's plugs and tool", "less than 50 mV over each joint at 5 A", 0.07, ours},
	HalfConnector:    {"half-made or open connector", "plug in until it clicks; renew a burnt pair", "full current with the plug as it is", 0.06, ours},
	ReversedModule:   {"module or string the wrong way round", "cover, unplug, turn the polarity", "plus found at the plus plug of each module", 0.03, ours},
	WrongWiring:      {"series and parallel mixed up", "rewire as drawn", "string volts the sum of its modules'", 0.02, ours},
	WindowNotMet:     {"charger's start or working volts not met", "more modules in series, or a charger with a lower window", "the charger starting at these volts", 0.04, ours},
	BatteryFull:      {"battery full: the charger holds back", "none: switch on a load and look again", "current still low with the battery at rest volts or a load on", 0.09, ours},
	BatteryCold:      {"battery refuses charge: cold or its own electronics", "warm it above 5 °C", "no charge from another source at the same time, battery warm", 0.03, ours},
	InputFuseBlown:   {"fuse of the array blown or breaker open", "find why, then replace with the same rating", "continuity of the fuse", 0.03, ours},
	BatteryFuseBlown: {"fuse at the battery blown or breaker open", "find why, then replace with the same rating", "continuity of the fuse", 0.03, ours},
	ChassisFault:     {"array touches the chassis", "leave it covered and off; find the rubbed cable", "megohms from poles to chassis", 0.012, ours},
	MeterFuse:        {"the meter's own ampere fuse is blown", "replace the fuse in the meter with its own type", "a known current read right", 0.03, ours},
	MeterRange:       {"meter on the wrong range or jack", "set the range above the expected value and read again", "a known battery read right", 0.03, ours},
	LabelWrong:       {"label promises more than the module has", "compare with its area, its papers and a twin; ask for money back", "a measured curve at 1000 W/m² and 25 °C at the label", 0.025, ours},
}

// String returns the cause in words.
func (f Fault) String() string {
	if f < 0 || f >= faults {
		panic("diagnose: unknown fault")
	}
	return causes[f].word
}

// Mend returns what is done about the cause, and Overturn what would still speak against it.
func (f Fault) Mend() string { return causes[f].mend }

// Overturn returns the reading that would still overturn the cause.
func (f Fault) Overturn() string { return causes[f].overturn }

// Prior returns the weight the cause has before any reading, over the whole array, and where it is from.
func (f Fault) Prior() (weight float64, source cite.Source) { return causes[f].prior, causes[f].source }

// Faults returns all causes.
func Faults() []Fault {
	out := make([]Fault, faults)
	for k := range out {
		out[k] = Fault(k)
	}
	return out
}
