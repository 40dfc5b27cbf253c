package catalog

import (
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
)

// Expansion is the thermal expansion of a material, from least to greatest.
type Expansion struct {
	Low, High quantity.PerKelvin
	Source    cite.Source
}

func ppm(low, high float64, s cite.Source) Expansion {
	return Expansion{quantity.PerKelvin(low) * quantity.PerMillionKelvin, quantity.PerKelvin(high) * quantity.PerMillionKelvin, s}
}

// Where the expansions stand: a textbook's appendix, engineering tables, a building handbook.
var (
	textbook = cite.Source{Title: "Callister & Rethwisch, Materials Science and Engineering", Where: "appendix B"}
	tables   = cite.Source{Title: "engineering tables of linear expansion"}
	building = cite.Source{Title: "building construction handbook", Where: "expansion of materials"}
	recalled = cite.Source{Title: "handbook A5", Standing: cite.FromMemory}
)

// SkinExpansion returns the expansion of a skin of Skins; false when the catalog has none, as for
// fabric, which gives way.
func SkinExpansion(skin string) (Expansion, bool) {
	switch skin {
	case "painted aluminium", "bare aluminium":
		return ppm(21, 24, tables), true
	case "painted steel":
		return ppm(11, 12, tables), true
	case "gelcoat", "GRP":
		return ppm(20, 36, building), true
	case "ABS":
		return ppm(72, 108, tables), true
	case "polyethylene":
		return ppm(106, 198, textbook), true
	case "polycarbonate":
		return ppm(65, 122, textbook), true
	}
	return Expansion{}, false
}

// Laminate is what a module's body is, for its expansion.
type Laminate int

const (
	GlassBody    Laminate = iota // glass governs
	FoilBody                     // ferritic stainless foil
	PolymerSheet                 // oriented polyester film governs
)

// LaminateExpansion returns the expansion of a module's body. It panics at a body that is none.
func LaminateExpansion(l Laminate) Expansion {
	switch l {
	case GlassBody:
		return ppm(9, 9, textbook)
	case FoilBody:
		return ppm(10.4, 10.4, recalled)
	case PolymerSheet:
		return ppm(17, 30, recalled)
	}
	panic("catalog: unknown laminate")
}
