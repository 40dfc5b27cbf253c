package bond

import (
	"time"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
)

// Adhesive is a class of what holds a module down. Its own sheet comes before every figure here.
type Adhesive struct {
	Key, Line string
	Thickness quantity.Length    // as commonly sold or laid
	Tension   quantity.Pressure  // design against gusts, on metal or glass
	Creep     quantity.Pressure  // carried for long
	Peel      quantity.LineForce // 90°, fresh, fast, on steel; 0: peel is not how it fails, or no figure is known
	Strain    quantity.Ratio     // design shear strain each cycle
	Most      quantity.Ratio     // shear strain taken once

	ServiceLong, ServiceShort quantity.Temperature // held for years; for hours
	Cold                      quantity.Temperature // below it turns glassy to a blow
	ApplyFrom                 quantity.Temperature // skin and adhesive
	ApplyBest, ApplyBestTo    quantity.Temperature // both between these
	FullBuild                 time.Duration        // at 21 °C to full strength

	Plasticiser bool   // made to stand plasticiser from a soft skin
	Structural  bool   // may carry a module alone
	Warning     string // what it is bad for; empty: nothing of its own
	Source      cite.Source
}

// memory, custom and judged are the standings of rows without a source seen.
var (
	memory = cite.Source{Title: "handbook A1, A8", Standing: cite.FromMemory}
	judged = cite.Source{Title: "handbook A8", Where: "figures after structural sealant practice", Standing: cite.Judgement}
)

// Adhesives returns the classes, the commonest first.
//
// Foam tape: creep from a tape supplier's note; tension, service and peel from memory. The film is the
// thin tape of a published data extract (steel 9.6 N/cm). Beads: 138 kPa for gusts and 7 kPa for dead
// load are figures of structural sealants (ASTM C1401, from memory), taken for beads of the trade by our
// own judgement.
func Adhesives() []Adhesive {
	c := quantity.Celsius
	const day = 24 * time.Hour
	return []Adhesive{
		{Key: "acrylic foam tape", Line: "acrylic foam tape, closed cells, both faces sticky", Thickness: 1.1 * quantity.Millimetre, Tension: ShortTerm, Creep: CreepLimit(),
			Peel: 20 * quantity.NewtonPerCentimetre, Strain: DesignStrain, Most: MostStrain, ServiceLong: c(80), ServiceShort: c(120), Cold: c(-20), ApplyFrom: c(10),
			ApplyBest: c(21), ApplyBestTo: c(38), FullBuild: 3 * day, Structural: true, Source: memory},
		{Key: "factory film", Line: "thin acrylic film that comes on the module's back", Thickness: 0.4 * quantity.Millimetre, Tension: ShortTerm, Creep: CreepLimit(),
			Peel: 9.6 * quantity.NewtonPerCentimetre, Strain: DesignStrain, Most: MostStrain, ServiceLong: c(80), ServiceShort: c(120), Cold: c(-20), ApplyFrom: c(15),
			ApplyBest: c(21), ApplyBestTo: c(38), FullBuild: 3 * day, Structural: true, Source: cite.Source{Title: "thin double-sided tape data extract (handbook S7b)", Where: "peel; the rest from memory", Standing: cite.FromMemory}},
		{Key: "low-energy tape", Line: "acrylic foam tape made for low-energy plastics", Thickness: 1.1 * quantity.Millimetre, Tension: ShortTerm, Creep: CreepLimit(),
			Peel: 20 * quantity.NewtonPerCentimetre, Strain: DesignStrain, Most: MostStrain, ServiceLong: c(70), ServiceShort: c(100), Cold: c(-20), ApplyFrom: c(10),
			ApplyBest: c(21), ApplyBestTo: c(38), FullBuild: 3 * day, Structural: true, Source: memory},
		{Key: "plasticiser-resistant tape", Line: "tape with a face that stands plasticiser, for soft PVC and coated fabric", Thickness: 0.8 * quantity.Millimetre, Tension: ShortTerm, Creep: CreepLimit(),
			Peel: 12 * quantity.NewtonPerCentimetre, Strain: DesignStrain, Most: MostStrain, ServiceLong: c(70), ServiceShort: c(100), Cold: c(-20), ApplyFrom: c(10),
			ApplyBest: c(21), ApplyBestTo: c(38), FullBuild: 3 * day, Plasticiser: true, Structural: true, Source: cite.Source{Title: "handbook A2", Standing: cite.Judgement}},
		{Key: "polyurethane bead", Line: "bead of polyurethane sealant-adhesive, 2 to 5 mm", Thickness: 3 * quantity.Millimetre, Tension: 138 * quantity.Kilopascal, Creep: 7 * quantity.Kilopascal,
			Strain: 0.25, Most: 1, ServiceLong: c(80), ServiceShort: c(120), Cold: c(-40), ApplyFrom: c(5), ApplyBest: c(15), ApplyBestTo: c(30), FullBuild: 7 * day, Structural: true,
			Warning: "hard to take off; not for polyethylene; isocyanate: gloves, no skin contact", Source: judged},
		{Key: "MS polymer bead", Line: "bead of MS polymer sealant-adhesive, 2 to 5 mm", Thickness: 3 * quantity.Millimetre, Tension: 138 * quantity.Kilopascal, Creep: 7 * quantity.Kilopascal,
			Strain: 0.25, Most: 1, ServiceLong: c(80), ServiceShort: c(100), Cold: c(-40), ApplyFrom: c(5), ApplyBest: c(15), ApplyBestTo: c(30), FullBuild: 7 * day, Structural: true,
			Warning: "hard to take off; not for polyethylene", Source: judged},
		{Key: "butyl tape", Line: "butyl tape: a seal that never hardens", Thickness: 1.5 * quantity.Millimetre, Tension: 0, Creep: 0, Strain: 1, Most: 3, ServiceLong: c(70), ServiceShort: c(90), Cold: c(-40),
			ApplyFrom: c(5), ApplyBest: c(15), ApplyBestTo: c(35), FullBuild: time.Hour, Warning: "a seal, not a hold: it flows under load when hot", Source: memory},
		{Key: "silicone", Line: "silicone sealant", Thickness: 3 * quantity.Millimetre, Tension: 0, Creep: 0, Strain: 0.25, Most: 1, ServiceLong: c(150), ServiceShort: c(200), Cold: c(-50),
			ApplyFrom: c(5), ApplyBest: c(15), ApplyBestTo: c(30), FullBuild: 7 * day, Warning: "spoils the skin: nothing sticks to its residue again, tape included", Source: memory},
	}
}

// FindAdhesive returns the class of a key.
func FindAdhesive(key string) (Adhesive, bool) {
	for _, a := range Adhesives() {
		if a.Key == key {
			return a, true
		}
	}
	return Adhesive{}, false
}
