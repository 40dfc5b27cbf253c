package dayplan

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/bond"
)

// Materials is what the day uses up, and what lies ready.
type Materials struct {
	Masked        quantity.Area   // to clean, scuff and prime
	MaskTape      quantity.Length // with one tenth over
	Film          quantity.Area   // of full-face film or tape, with one twentieth over; 0: none
	FoamTape      quantity.Length // of 25 mm, with one tenth over; 0: none
	PrimerLeast   quantity.Volume // by the skin's least thirst; 0: no primer planned
	PrimerBuy     quantity.Volume // by its most
	Containers    int             // with one spare
	Container     quantity.Volume
	Wipes         int
	Alcohol       quantity.Volume // isopropyl, mixed
	Pads          int             // abrasive
	Gloves        int             // pairs
	Weights       int             // bags of 5 kg
	WeightMass    quantity.Mass
	WeightShare   quantity.Ratio // of the wet-out pressure that they give
	WeightNote    string
	Covers        []Cover
	ReadyToHand   []string
	PatchesByHour []Patches
}

// Patches is into how many parts the largest module's primed area is to be cut in an hour.
type Patches struct {
	Skin  quantity.Temperature
	Patch quantity.Area
	Parts int // 0: cannot be done
}

// Cover is the cutting pattern of a front-edge cover.
type Cover struct {
	Module   string
	Kind     string
	Width    quantity.Length // across the module, ends included
	Depth    quantity.Length // fore and aft
	OnModule quantity.Length
	OffCells quantity.Length // from its rear edge to the first cells; below 0: it lies on them
	Hook     quantity.Length // hook-and-loop, both halves each this long; 0: none
	Drains   int             // gaps of 10 mm in the sealant, at its ends and between
}

// Figures of the trade, common practice, and our own estimates where marked.
const (
	maskOutside  = 3.5e-3 // m, mask line outside the adhesive, 2 to 5 mm
	tenthOver    = 1.1
	filmOver     = 1.05
	stripWidth   = 25e-3 // m, foam tape
	wipesPerArea = 12.0  // a square metre: two wipes of each quarter, thrice; own estimate
	alcoholPer   = 60e-6 // m³ a square metre, two wipes; own estimate
	weightPer    = 25.0  // kg/m²
	bag          = 5.0   // kg
	onRoof       = 40e-3 // m of a cover beyond the module
)

// strips reports whether a piece lies on strips of foam tape.
func (p *piece) strips() bool { return p.attached == build.FoamTape && p.mount.Share < 0.8 }

func (p *piece) area() float64 { return p.kind.Length.Metres() * p.kind.Width.Metres() }

// tape returns the length of 25 mm tape under a piece, m; 0 for one that is bonded on its whole face.
func (p *piece) tape() float64 {
	if !p.strips() {
		return 0
	}
	return p.area() * p.mount.Share.Float() / stripWidth
}

// masked returns the area to prepare under a piece, m²: strips and their mask margin, or the whole face
// and its own.
func (p *piece) masked() float64 {
	l, b := p.kind.Length.Metres()+2*maskOutside, p.kind.Width.Metres()+2*maskOutside
	if p.strips() {
		return math.Min(l*b, p.tape()*(stripWidth+2*maskOutside))
	}
	return l * b
}

// materials returns what the day needs. People is the crew's number.
func (w *work) materials(people int) Materials {
	if len(w.pieces) == 0 {
		return Materials{}
	}
	m := Materials{Container: 100 * quantity.Millilitre}
	var masked, mask, film, tape, least, most, weights float64
	for i := range w.pieces {
		p := &w.pieces[i]
		masked += p.masked()
		mask += 2 * (p.kind.Length.Metres() + p.kind.Width.Metres() + 4*maskOutside) * tenthOver
		tape += p.tape() * tenthOver
		weights += p.area() * weightPer
		low, high := p.primer()
		least += low.CubicMetres()
		most += high.CubicMetres()
		if high > 0 {
			m.Container = p.mount.Container
		}
		if !p.strips() {
			film += p.area()
		}
		if c, ok := p.cover(); ok {
			m.Covers = append(m.Covers, c)
		}
	}
	m.Masked, m.MaskTape, m.FoamTape = quantity.Area(masked), quantity.Length(mask), quantity.Length(tape)
	m.Film = quantity.Area(film * filmOver)
	m.PrimerLeast, m.PrimerBuy = quantity.Volume(least), quantity.Volume(most)
	if most > 0 {
		m.Containers = bond.Containers(m.PrimerBuy, m.Container)
	}
	m.Wipes = int(math.Ceil(masked * wipesPerArea))
	m.Alcohol = quantity.Volume(masked * alcoholPer)
	m.Pads = int(math.Ceil(masked)) // one a square metre
	m.Gloves = 3 * people
	m.Weights = int(math.Ceil(weights / bag))
	m.WeightMass = quantity.Mass(weights)
	perArea := bond.WeightPressure(weightPer*quantity.Kilogram, 1*quantity.SquareMetre)
	m.WeightShare = quantity.Ratio(perArea.Pascals() / bond.WetOut.Pascals())
	m.WeightNote = "weights on foam-backed boards hold the edges in touch for an hour or more; they do not press the adhesive onto the skin, the roller does that, four hundred times as hard; none on bare cells"
	m.PatchesByHour = w.patches()
	m.ReadyToHand = []string{"a surface thermometer, a hygrometer, a wind meter", "firm roller, 50 mm", "thin wide blade, cutting wire and hot air for a module that lies wrong", "a 25 mm strip of the very tape for the peel test",
		"a tape measure, card template, pencil", "opaque cover for each module: it is live in light", "clock in sight: flash-off and cover times are called out", "water, shade, knee pads, gloves; platform, not the roof"}
	return m
}

// patches returns how the largest primed area is cut at four skin temperatures.
func (w *work) patches() []Patches {
	largest := 0.0
	for i := range w.pieces {
		if w.pieces[i].mount.Primer {
			largest = math.Max(largest, w.pieces[i].masked())
		}
	}
	if largest == 0 {
		return nil
	}
	var out []Patches
	for _, t := range []float64{15, 25, 35, 45} {
		skin := quantity.Celsius(t)
		patch := bond.Patch(bond.PrimerTimes(skin), bond.PaceOf())
		out = append(out, Patches{Skin: skin, Patch: patch, Parts: bond.Patches(quantity.Area(largest), patch)})
	}
	return out
}

// cover returns the pattern of a piece's front cover; ok is false when it has none.
func (p *piece) cover() (c Cover, ok bool) {
	if p.mount.Cover == "none" || p.mount.Cover == "" {
		return Cover{}, false
	}
	width := p.front.Metres()
	c = Cover{Module: p.name, Kind: p.mount.Cover, OnModule: p.mount.CoverOn, Width: quantity.Length(width + 2*onRoof), Depth: quantity.Length(p.mount.CoverOn.Metres() + onRoof),
		OffCells: p.kind.Cells.Margin - p.mount.CoverOn, Drains: 2 + int(width/0.4)}
	if p.mount.Cover == "fabric" {
		c.Hook = quantity.Length(width * tenthOver)
	}
	return c, true
}
