package problem

import (
	"errors"
	"testing"
)

// A problem prints in one line what is known of it, and no more.
func TestString(t *testing.T) {
	for want, p := range map[string]Problem{
		`van.yaml:4:9: roof.length: "41": a unit after the number; most likely 41 in`: {Path: "roof.length", File: "van.yaml", Line: 4, Column: 9, Found: "41", Want: "a unit after the number", Likely: "41 in"},
		`roof: wanted`: {Path: "roof", Want: "wanted"},
		`4: wanted`:    {Line: 4, Column: 0, Want: "wanted"},
		`wanted`:       {Want: "wanted", Column: 7},
	} {
		if got := p.String(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// A list is an error only when it holds something, and then holds all, in the order of their lines.
func TestList(t *testing.T) {
	var l, m List
	if l.Err() != nil {
		t.Error("an empty list is an error")
	}
	l.Add(Problem{Line: 9, Want: "c"})
	m.Addf("x", "%d", 2)
	m.Add(Problem{Line: 3, Want: "b"})
	l.Append(m)
	var e *Error
	if !errors.As(l.Err(), &e) || e.Error() != "x: 2\n3: b\n9: c" || l.Len() != 3 {
		t.Errorf("got %v", l.Err())
	}
}
