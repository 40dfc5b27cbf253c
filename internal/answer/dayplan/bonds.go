package dayplan

import (
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/bond"
)

// Bond is what one module's bond takes, without waste.
type Bond struct {
	Module      string
	Attachment  build.Attachment
	Adhesive    string
	Area        quantity.Area   // of the module
	Around      quantity.Length // its edge
	Film        quantity.Area   // of a full-face film or sheet of tape; 0: strips
	Tape        quantity.Length // of 25 mm tape in strips; 0: on its whole face
	Least       quantity.Length // of 25 mm tape that the creep rule asks for its mass
	Masked      quantity.Area   // to clean, scuff and prime
	PrimerLeast quantity.Volume // by the skin's least thirst, three tenths waste; 0: none planned
	PrimerMost  quantity.Volume // by its most
	Porous      bool            // the skin drinks more than a smooth one
}

// Bonds returns what each glued module of b takes, in the order of the build; modules that nothing glues are
// left out. It panics for a build that build.Resolve did not make.
func Bonds(b *build.Build) []Bond {
	mounted(b)
	w := workOf(b)
	out := make([]Bond, len(w.pieces))
	for i := range w.pieces {
		p := &w.pieces[i]
		l, wide := p.kind.Length.Metres(), p.kind.Width.Metres()
		o := Bond{Module: p.name, Attachment: p.attached, Adhesive: p.glue.Key, Area: quantity.Area(l * wide), Around: quantity.Length(2 * (l + wide)), Tape: quantity.Length(p.tape()),
			Least: quantity.Length(bond.AreaForMass(p.kind.Mass).SquareMetres() / stripWidth), Masked: quantity.Area(p.masked()), Porous: p.skin.ThirstMost > 1}
		if !p.strips() {
			o.Film = o.Area
		}
		o.PrimerLeast, o.PrimerMost = p.primer()
		out[i] = o
	}
	return out
}

// MaterialsOf returns what bonding all modules of b uses up, for a crew of people; nothing when none is glued.
// It panics for a build that build.Resolve did not make.
func MaterialsOf(b *build.Build, people int) Materials {
	mounted(b)
	return workOf(b).materials(people)
}

func mounted(b *build.Build) {
	if len(b.Mounting.Mounts) != len(b.Modules) {
		panic("dayplan: a build without its mounting")
	}
}

// primer returns the least and the most a piece's skin may drink.
func (p *piece) primer() (least, most quantity.Volume) {
	if !p.mount.Primer {
		return 0, 0
	}
	low, high := p.skin.Thirst, p.skin.ThirstMost
	if p.mount.Thirst > 0 {
		low, high = quantity.Ratio(p.mount.Thirst), quantity.Ratio(p.mount.Thirst)
	}
	job := bond.Priming{Masked: quantity.Area(p.masked()), Coverage: p.mount.Coverage, Coats: p.mount.Coats, Waste: bond.PrimerWaste, Thirst: low}
	least = job.Volume()
	job.Thirst = high
	return least, job.Volume()
}
