// Package problem says what is wrong with an input, where, and what is wanted.
//
// Problems are collected, never thrown at the first: a List gathers them and is an error only when
// it holds one.
package problem

import (
	"fmt"
	"sort"
	"strings"
)

// Problem is one fault of an input, in plain words.
type Problem struct {
	Path   string // where in the document, "modules[1].type"; may be empty
	File   string // the file, when there is one
	Line   int    // 1-based line; 0: unknown
	Column int    // 1-based column; 0: unknown
	Found  string // what stands there, as the user wrote it; may be empty
	Want   string // what is wanted, one clause, lower case, no full stop
	Likely string // the value the tool takes as most likely meant; may be empty
}

// String returns the problem in one line: place, what was found, what is wanted, the likely value.
func (p Problem) String() string {
	var b strings.Builder
	if p.File != "" {
		b.WriteString(p.File)
		b.WriteByte(':')
	}
	if p.Line > 0 {
		fmt.Fprintf(&b, "%d:", p.Line)
		if p.Column > 0 {
			fmt.Fprintf(&b, "%d:", p.Column)
		}
	}
	if b.Len() > 0 {
		b.WriteByte(' ')
	}
	if p.Path != "" {
		b.WriteString(p.Path)
		b.WriteString(": ")
	}
	if p.Found != "" {
		fmt.Fprintf(&b, "%q: ", p.Found)
	}
	b.WriteString(p.Want)
	if p.Likely != "" {
		fmt.Fprintf(&b, "; most likely %s", p.Likely)
	}
	return b.String()
}

// List collects problems. The zero value is ready.
type List struct{ all []Problem }

// Add appends p.
func (l *List) Add(p Problem) { l.all = append(l.all, p) }

// Addf appends a problem at path with what is wanted, formatted.
func (l *List) Addf(path, format string, args ...any) {
	l.Add(Problem{Path: path, Want: fmt.Sprintf(format, args...)})
}

// Append appends all of m.
func (l *List) Append(m List) { l.all = append(l.all, m.all...) }

// Len returns the number of problems.
func (l *List) Len() int { return len(l.all) }

// All returns the problems in the order of their lines, then as added.
func (l *List) All() []Problem {
	out := append([]Problem(nil), l.all...)
	sort.SliceStable(out, func(i, j int) bool { return out[i].Line < out[j].Line })
	return out
}

// Err returns nil when the list is empty, and an *Error with all problems otherwise.
func (l *List) Err() error {
	if len(l.all) == 0 {
		return nil
	}
	return &Error{Problems: l.All()}
}

// Error is bad input: at least one problem.
type Error struct{ Problems []Problem }

// Error returns one line a problem.
func (e *Error) Error() string {
	lines := make([]string, len(e.Problems))
	for i, p := range e.Problems {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}
