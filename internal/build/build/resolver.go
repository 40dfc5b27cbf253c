package build

import (
	"fmt"
	"slices"
	"strings"

	"noonmark/internal/base/problem"
)

// resolver turns a document into a build, gathering problems and what was assumed.
type resolver struct {
	doc      *Document
	build    *Build
	problems problem.List
}

// Resolve checks a document and completes it. The build is of use only when the list is empty; every
// value that was not written is in Assumed. The document is left as it was.
func Resolve(doc *Document) (Build, problem.List) {
	r := &resolver{doc: doc, build: &Build{}}
	r.head()
	r.surfaces()
	r.vehicle()
	r.postures()
	r.obstacles()
	r.types()
	r.modules()
	r.mounting()
	r.strings()
	r.battery()
	r.chargers()
	r.helpers()
	r.loads()
	r.doubts()
	r.trip()
	return *r.build, r.problems
}

// wrong records a problem.
func (r *resolver) wrong(path, format string, args ...any) { r.problems.Addf(path, format, args...) }

// assume records a value that was not written.
func (r *resolver) assume(path, value, why, source string) {
	r.build.Assumed = append(r.build.Assumed, Assumed{Path: path, Value: value, Why: why, Source: source})
}

// or returns what was written, or the default, which is recorded with its reason.
func or[T fmt.Stringer](r *resolver, written *T, path string, def T, why, source string) T {
	if written != nil {
		return *written
	}
	r.assume(path, def.String(), why, source)
	return def
}

// quiet returns what was written, or a default too plain to list.
func quiet[T any](written *T, def T) T {
	if written != nil {
		return *written
	}
	return def
}

// choice reads a word of a list; def stands when nothing was written.
func choice[T any](r *resolver, written *string, path string, list []word[T], def T) T {
	if written == nil {
		return def
	}
	v, ok := find(list, *written)
	if !ok {
		var names []string
		for _, w := range list {
			names = append(names, w.text)
		}
		r.problems.Add(problem.Problem{Path: path, Found: *written, Want: "one of " + texts(list), Likely: Nearest(*written, names)})
		return def
	}
	return v
}

// index returns the place of a name among names, recording a problem when it is none.
func (r *resolver) index(name, path, noun string, names []string) int {
	i := slices.Index(names, name)
	if i < 0 {
		if len(names) == 0 {
			r.wrong(path, "a %s; the file has none", noun)
		} else {
			r.problems.Add(problem.Problem{Path: path, Found: name, Want: "the name of a " + noun + ": " + strings.Join(names, ", "), Likely: Nearest(name, names)})
		}
	}
	return i
}

// What a value that was not written rests on, when no table has it.
const (
	estimate  = "our own estimate"
	memory    = "from memory"
	customary = "common practice, no source"
)

// head reads what stands at the top of the file.
func (r *resolver) head() {
	d := r.doc
	switch {
	case d.Noonmark == nil:
		r.wrong("noonmark", "the version of the file on top: noonmark: %d", Version)
	case *d.Noonmark != Version:
		r.wrong("noonmark", "version %d; this program reads no other", Version)
	}
	r.build.Name = quiet(d.Name, "unnamed build")
	r.build.People = quiet(d.People, 2)
	if r.build.People < 1 || r.build.People > 20 {
		r.wrong("people", "1 to 20")
	}
	r.build.Units = choice(r, d.Units, "units", unitWords, Metric)
	r.build.Currency = quiet(d.Currency, "")
	if d.Home != nil {
		if p, ok := r.place("home", d.Home.At, d.Home.Altitude, d.Home.Zone); ok {
			r.build.Home = &p
		}
	}
}
