package quantity

// LineForce is a force spread along a line, N/m: the peel of a bonded edge, the load along its front.
// A surface energy has the same unit.
type LineForce float64

// Units of a line force.
const (
	NewtonPerMetre      LineForce = 1
	NewtonPerCentimetre LineForce = 100
	MillinewtonPerMetre LineForce = 1e-3
)

// NewtonsPerMetre returns l in N/m.
func (l LineForce) NewtonsPerMetre() float64 { return float64(l) }

// NewtonsPerCentimetre returns l in N/cm, as tape sheets print it.
func (l LineForce) NewtonsPerCentimetre() float64 { return float64(l) / 100 }

// lineForces are the spellings of peel on tape sheets; "N/25mm" is a strip of that width.
var lineForces = &dimension{"a force along a line", "20 N/cm", []unit{{1, "N/m Nm-1"}, {100, "N/cm"}, {1e3, "N/mm kN/m"}, {40, "N/25mm"}, {4.4482216152605 / 0.0254, "lbf/in lb/in"},
	{1e-3, "mN/m dyn/cm dyne/cm"}}, nil}

// ParseLineForce reads a force along a line: "20 N/cm", "11 lbf/in".
func ParseLineForce(text string) (LineForce, error) { return Strict.LineForce(text) }

// LineForce reads a force along a line.
func (m Manner) LineForce(text string) (LineForce, error) {
	v, err := lineForces.read(text, m)
	return LineForce(v), err
}

// Text prints a line force in N/cm or lbf/in, under 1 N/m in mN/m.
func (l LineForce) Text(s Style) string {
	return s.choose(float64(l), []part{{1, 100, "N/cm"}, {0, 1e-3, "mN/m"}}, []part{{1, 4.4482216152605 / 0.0254, "lbf/in"}, {0, 1e-3, "mN/m"}})
}

// String prints the line force in the zero Style.
func (l LineForce) String() string { return l.Text(Style{}) }
