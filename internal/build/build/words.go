package build

import (
	"slices"
	"strings"

	"noonmark/internal/base/quantity"
)

// word is a value a file may name.
type word[T any] struct {
	text  string
	value T
}

// find returns the value of a text, ignoring case, hyphens and underscores.
func find[T any](list []word[T], text string) (T, bool) {
	t := plainWord(text)
	for _, w := range list {
		if plainWord(w.text) == t {
			return w.value, true
		}
	}
	var none T
	return none, false
}

func plainWord(s string) string {
	return strings.NewReplacer("-", " ", "_", " ").Replace(strings.ToLower(strings.TrimSpace(s)))
}

// texts lists the words as they are printed in messages.
func texts[T any](list []word[T]) string {
	var out []string
	for _, w := range list {
		if !slices.Contains(out, w.text) {
			out = append(out, w.text)
		}
	}
	return strings.Join(out, ", ")
}

var (
	unitWords = []word[UnitSystem]{{"metric", Metric}, {"imperial", Imperial}, {"as typed", AsTyped}}
	edgeWords = []word[Edge]{{"front", Front}, {"rear", Rear}, {"left", Left}, {"right", Right}}
	techWords = []word[Technology]{{"mono PERC", MonoPERC}, {"mono TOPCon", MonoTOPCon}, {"heterojunction", Heterojunction}, {"rear contact", RearContact},
		{"poly", Poly}, {"flexible mono", FlexibleMono}, {"foil CIGS", CIGSFoil}, {"CIGS", CIGS}, {"CdTe", CdTe}, {"amorphous", AmorphousSilicon}}
	frontWords  = []word[FrontMaterial]{{"float glass", FloatGlass}, {"textured glass", TexturedGlass}, {"fluoropolymer", Fluoropolymer}, {"PET", PET}}
	attachWords = []word[Attachment]{{"bonded", Bonded}, {"foam tape", FoamTape}, {"stand-off", StandOff}, {"rack", Rack}, {"fabric pocket", FabricPocket}, {"loose", LooseFlat}}
	trackWords  = []word[Tracking]{{"global", GlobalPeak}, {"nearest", NearestPeak}, {"none", NoTracking}}
	chemWords   = []word[Chemistry]{{"LFP", LFP}, {"NMC", NMC}, {"AGM", AGM}}
	aroundWords = []word[Surroundings]{{"open", Open}, {"motorway", Motorway}, {"suburb", Suburb}, {"town", Town}, {"street", Street},
		{"trees in leaf", TreesInLeaf}, {"bare trees", TreesBare}}
	// Solar absorptance by colour. Source: handbook A6, shells of cars and roofs; the rest from memory.
	colourWords = []word[quantity.Ratio]{{"white", 25 * quantity.Percent}, {"light grey", 45 * quantity.Percent}, {"silver", 48 * quantity.Percent},
		{"mid", 68 * quantity.Percent}, {"dark", 85 * quantity.Percent}, {"black", 93 * quantity.Percent}}
)

// Technologies lists the words for kinds of cell.
func Technologies() []string {
	var out []string
	for _, w := range techWords {
		out = append(out, w.text)
	}
	return out
}

// String returns the technology's word.
func (t Technology) String() string {
	for _, w := range techWords {
		if w.value == t {
			return w.text
		}
	}
	panic("build: unknown technology")
}
