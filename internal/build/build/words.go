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
	unitWords  = []word[UnitSystem]{{"metric", Metric}, {"imperial", Imperial}, {"as typed", AsTyped}}
	orderWords = []word[bool]{{"along the length", true}, {"across", false}}
	edgeWords  = []word[Edge]{{"front", Front}, {"rear", Rear}, {"left", Left}, {"right", Right}}
	techWords  = []word[Technology]{{"mono PERC", MonoPERC}, {"mono TOPCon", MonoTOPCon}, {"heterojunction", Heterojunction}, {"rear contact", RearContact},
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
func (t Technology) String() string { return textOf(techWords, t) }

// String returns the word for how a module is held.
func (a Attachment) String() string { return textOf(attachWords, a) }

// textOf returns the first word for a value. It panics for one that has none.
func textOf[T comparable](list []word[T], value T) string {
	for _, w := range list {
		if w.value == value {
			return w.text
		}
	}
	panic("build: a value without a word")
}

// farthest is how many letters a mistyped word may differ in from the one it is taken for; a short word
// a third of its letters and one.
const farthest = 3

// Nearest returns the one of names that a mistyped word most likely means, "" when none is near.
func Nearest(word string, names []string) string {
	typed := plainWord(word)
	if len(typed) > 40 {
		return ""
	}
	best, least := "", min(farthest, len(typed)/3+1)+1
	for _, n := range names {
		if d := edits(typed, plainWord(n)); d < least {
			best, least = n, d
		}
	}
	return best
}

// edits returns the number of letters to change, add, drop or swap with a neighbour to make b of a:
// the optimal string alignment distance.
func edits(a, b string) int {
	rows := [3][]int{make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)}
	for j := range rows[1] {
		rows[1][j] = j
	}
	for i := 1; i <= len(a); i++ {
		before, last, row := rows[(i+2)%3], rows[i%3], rows[(i+1)%3]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
	}
	return rows[(len(a)+1)%3][len(b)]
}
