// Package cite names published sources, so that every figure can be traced.
package cite

import "strings"

// Standing says how far a value can be trusted to be what the source prints.
type Standing int

const (
	LookedUp       Standing = iota // seen in the source or a public copy of it
	FromMemory                     // remembered, not confirmed: overridable, listed on the sheet
	CommonPractice                 // a fact of the trade without a source
	Judgement                      // our own estimate
)

// String returns the standing as it is printed.
func (s Standing) String() string {
	switch s {
	case LookedUp:
		return "looked up"
	case FromMemory:
		return "from memory"
	case CommonPractice:
		return "common practice, no source"
	case Judgement:
		return "our own estimate"
	}
	panic("cite: unknown standing")
}

// Source is a published source: what, edition or year, and the clause, table, equation or page.
type Source struct {
	Title    string // "IEC 60228:2004", "Bird & Hulstrom 1981, SERI/TR-642-761"
	Where    string // "table 2", "eq. 3", "p. 165"; may be empty
	Standing Standing
}

// String returns "title, where (standing)"; a looked-up source says no standing.
func (s Source) String() string {
	var b strings.Builder
	b.WriteString(s.Title)
	if s.Where != "" {
		if s.Title != "" {
			b.WriteString(", ")
		}
		b.WriteString(s.Where)
	}
	if s.Standing != LookedUp && !strings.HasSuffix(b.String(), s.Standing.String()) { // a title may say it itself
		if b.Len() > 0 {
			b.WriteString(" (" + s.Standing.String() + ")")
		} else {
			b.WriteString(s.Standing.String())
		}
	}
	return b.String()
}
