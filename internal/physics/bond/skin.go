package bond

import (
	"math"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
)

// Suits says how a skin takes a bond.
type Suits int

// How a skin takes a bond.
const (
	Good   Suits = iota // after cleaning
	Fair                // with care
	Test                // only after a peel test on the very skin
	Refuse              // not by an ordinary adhesive
)

// Skin is what a module is bonded to.
type Skin struct {
	Key              string
	EnergyLow        quantity.LineForce // surface energy, clean
	EnergyHigh       quantity.LineForce
	Expansion        quantity.PerKelvin
	HeatLimit        quantity.Temperature // softens, discolours or parts from its core above
	Suits            Suits
	Plasticiser      bool           // gives off plasticiser into the glue line
	Thirst           quantity.Ratio // for primer, of a smooth skin; above 1 for a porous one
	ThirstMost       quantity.Ratio
	PeelShare        quantity.Ratio // of the peel on steel
	TensionShare     quantity.Ratio // of the design tension on metal
	Touch            Touched
	Prepare, Solvent string
	Source           cite.Source
}

// Skins returns the skins, by the keys of a build file.
//
// Surface energies from a plastics-surface consultancy's table and from memory; expansion as in
// Materials; peel shares from a thin acrylic tape at 14 days (steel 9.6, PET 7.0, PVC 9.4, ABS 6.5, PE
// 3.5 N/cm) or our own judgement; tension shares are the derating of 2 to 5 on plastics and fabric, its
// middle for plastics and its end for fabric and polyethylene; heat limits from memory.
func Skins() []Skin {
	c := quantity.Celsius
	const m = quantity.MillinewtonPerMetre
	const ppm = quantity.PerMillionKelvin
	table := cite.Source{Title: "handbook A2, A5", Where: "surface and expansion tables; heat limits from memory", Standing: cite.FromMemory}
	const alcohol = "50:50 isopropyl alcohol and water, wiped dry before it evaporates; flash point about 12 °C: no flame, no heater, no sparks"
	return []Skin{
		{Key: "bare aluminium", EnergyLow: 500 * m, EnergyHigh: 800 * m, Expansion: 23 * ppm, HeatLimit: c(150), Suits: Good, Thirst: 1, ThirstMost: 1, PeelShare: 1, TensionShare: 1, Touch: Metal,
			Prepare: "degrease, abrade, wipe: an oil film rules, whatever the metal", Solvent: alcohol, Source: table},
		{Key: "painted aluminium", EnergyLow: 35 * m, EnergyHigh: 45 * m, Expansion: 23 * ppm, HeatLimit: c(110), Suits: Fair, Thirst: 1, ThirstMost: 1, PeelShare: 0.7, TensionShare: 1, Touch: Metal,
			Prepare: "clean, scuff, clean; powder coat is often low in energy: test it; the paint must hold to the metal better than the tape to the paint", Solvent: alcohol, Source: table},
		{Key: "painted steel", EnergyLow: 35 * m, EnergyHigh: 45 * m, Expansion: 12 * ppm, HeatLimit: c(110), Suits: Fair, Thirst: 1, ThirstMost: 1, PeelShare: 0.7, TensionShare: 1, Touch: Metal,
			Prepare: "clean, scuff, clean; treat rust first and seal what was scuffed through", Solvent: alcohol, Source: table},
		{Key: "gelcoat", EnergyLow: 41 * m, EnergyHigh: 44 * m, Expansion: 27 * ppm, HeatLimit: c(65), Suits: Fair, Thirst: 1, ThirstMost: 1.5, PeelShare: 0.7, TensionShare: 0.5, Touch: Plastic,
			Prepare: "wash, dewax, abrade to matt, wipe, primer: wax and mould release are the enemy, old gelcoat chalks", Solvent: alcohol, Source: table},
		{Key: "GRP", EnergyLow: 41 * m, EnergyHigh: 44 * m, Expansion: 27 * ppm, HeatLimit: c(65), Suits: Fair, Thirst: 1, ThirstMost: 1.5, PeelShare: 0.7, TensionShare: 0.5, Touch: Plastic,
			Prepare: "wash, dewax, abrade to matt, wipe, primer; hot bonded modules have discoloured and cracked such roofs and unglued the core", Solvent: alcohol, Source: table},
		{Key: "ABS", EnergyLow: 35 * m, EnergyHigh: 42 * m, Expansion: 85 * ppm, HeatLimit: c(80), Suits: Test, Thirst: 1, ThirstMost: 1, PeelShare: 0.68, TensionShare: 0.35, Touch: Plastic,
			Prepare: "clean and wipe; it moves a lot with heat", Solvent: "isopropyl alcohol only: other solvents craze it", Source: table},
		{Key: "polycarbonate", EnergyLow: 46 * m, EnergyHigh: 46 * m, Expansion: 68 * ppm, HeatLimit: c(115), Suits: Test, Thirst: 1, ThirstMost: 1, PeelShare: 0.7, TensionShare: 0.35, Touch: Plastic,
			Prepare: "clean and wipe; it moves a lot with heat, and stress with solvent cracks it", Solvent: "isopropyl alcohol only: other solvents craze it", Source: table},
		{Key: "polyethylene", EnergyLow: 30 * m, EnergyHigh: 31 * m, Expansion: 130 * ppm, HeatLimit: c(75), Suits: Refuse, Thirst: 1, ThirstMost: 1, PeelShare: 0.36, TensionShare: 0.2, Touch: Plastic,
			Prepare: "fix mechanically, or a system made for low-energy plastics with its own primer or flame treatment and a peel test in the field", Solvent: alcohol, Source: table},
		{Key: "coated fabric", EnergyLow: 33 * m, EnergyHigh: 38 * m, Expansion: 70 * ppm, HeatLimit: c(70), Suits: Test, Plasticiser: true, Thirst: 2, ThirstMost: 3, PeelShare: 0.33, TensionShare: 0.2, Touch: Plastic,
			Prepare: "plasticiser migrates into the glue line and softens it over days to years, faster when hot: a tape that stands it, a barrier, or a sewn or welded pocket", Solvent: "isopropyl alcohol on a hidden corner first", Source: table},
	}
}

// FindSkin returns the skin of a key.
func FindSkin(key string) (Skin, bool) {
	for _, s := range Skins() {
		if s.Key == key {
			return s, true
		}
	}
	return Skin{}, false
}

// Bondable is the least surface energy an ordinary adhesive asks for, and Wetting by how much a skin
// should be over the adhesive. Source: plastics-surface consultancy's table; dyne pens are good to ±3.
const (
	Bondable = 36 * quantity.MillinewtonPerMetre
	Wetting  = 8 * quantity.MillinewtonPerMetre
)

// Material is an expansion with its range.
type Material struct {
	Name      string
	Low, High quantity.PerKelvin
	Typical   quantity.PerKelvin
	Source    cite.Source
}

// Materials returns linear thermal expansions. Plastics scatter by filler and make.
func Materials() []Material {
	const ppm = quantity.PerMillionKelvin
	text := cite.Source{Title: "Callister & Rethwisch, Materials Science and Engineering", Where: "appendix B, linear expansion"}
	tables := cite.Source{Title: "engineering tables of linear expansion (handbook S10b, S11)"}
	fm := cite.Source{Title: "handbook A5", Standing: cite.FromMemory}
	return []Material{
		{"glass", 9 * ppm, 9 * ppm, 9 * ppm, text}, {"ferritic stainless foil", 10.4 * ppm, 10.4 * ppm, 10.4 * ppm, fm}, {"steel", 11 * ppm, 12 * ppm, 12 * ppm, tables},
		{"copper", 16 * ppm, 17 * ppm, 16.5 * ppm, tables}, {"stainless 304", 17.3 * ppm, 17.3 * ppm, 17.3 * ppm, fm}, {"aluminium", 21 * ppm, 24 * ppm, 23 * ppm, tables},
		{"GRP", 20 * ppm, 35 * ppm, 27 * ppm, tables}, {"flexible laminate", 17 * ppm, 30 * ppm, 20 * ppm, fm}, {"polycarbonate", 65 * ppm, 122 * ppm, 68 * ppm, text},
		{"ABS", 72 * ppm, 108 * ppm, 85 * ppm, tables}, {"ETFE", 60 * ppm, 130 * ppm, 100 * ppm, fm}, {"polyethylene", 106 * ppm, 198 * ppm, 130 * ppm, tables},
	}
}

// Expansion returns the typical expansion of a material of Materials.
func Expansion(name string) (quantity.PerKelvin, bool) {
	for _, m := range Materials() {
		if m.Name == name {
			return m.Typical, true
		}
	}
	return 0, false
}

// Growth returns how much a length of a material grows: its expansion times the change times the length.
func Growth(expansion quantity.PerKelvin, change quantity.TempDiff, length quantity.Length) quantity.Length {
	return quantity.Length(expansion.PerKelvin() * change.Kelvins() * math.Max(0, length.Metres()))
}
