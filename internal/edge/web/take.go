package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"

	"noonmark/internal/build/build"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// takeLayout makes a layout that was found the next revision.
func (s *Server) takeLayout(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	name := r.PathValue("build")
	c, err := s.candidate(name, r.PostFormValue("kind"), r.PostFormValue("place"))
	if err != nil {
		return nil, err
	}
	return s.changeBy(r, "roof", "layout: "+c.What, func(text []byte) ([]buildfile.Change, error) { return layoutChanges(text, c.Build) })
}

// changeBy saves the changes that make returns for the revision a form was made from, and goes to a sheet.
func (s *Server) changeBy(r *http.Request, back, note string, make func(text []byte) ([]buildfile.Change, error)) (*reply, error) {
	base, err := baseOf(r)
	if err != nil {
		return nil, err
	}
	name := r.PathValue("build")
	rev, err := s.config.Shelf.Read(r.Context(), name, strconv.Itoa(base))
	if err != nil {
		return nil, err
	}
	changes, err := make(rev.Text)
	if err != nil {
		return nil, err
	}
	if _, err := s.changeNoted(r, name, base, changes, note); err != nil {
		var conflict *store.Conflict
		if errors.As(err, &conflict) {
			return s.mergeReply(r, conflict)
		}
		return nil, err
	}
	return see(pathOf(name, back)), nil
}

// layoutChanges returns what turns a text into the layout and wiring of c: modules keep their names and what
// is typed about them, in their order; strings and chargers carry them; the rest goes. A serial
// number does not stay with a module of another type.
func layoutChanges(text []byte, c *build.Build) ([]buildfile.Change, error) {
	doc, _, problems := buildfile.Decode("", text)
	if problems.Len() > 0 || len(doc.Modules) == 0 || len(doc.Chargers) == 0 {
		return nil, wrong("the text has no modules and chargers to put the layout in: write them first")
	}
	var out []buildfile.Change
	set := func(texts []string, path ...string) {
		out = append(out, buildfile.Change{Path: path, Texts: texts, Last: true})
	}
	list := func(texts []string, path ...string) {
		out = append(out, buildfile.Change{Path: path, Texts: texts, List: true, Last: true})
	}
	cut := func(path ...string) { out = append(out, buildfile.Change{Path: path, Cut: true}) }

	for i := range c.Modules {
		name := c.Types[c.Modules[i].Type].Name
		if !slices.ContainsFunc(doc.Types, func(t build.TypeDoc) bool { return t.Name == name }) {
			doc.Types = append(doc.Types, build.TypeDoc{Name: name})
			set([]string{name}, "types", name, "like") // a class of the catalogue
		}
	}
	var names []string
	for i := range c.Modules {
		m := &c.Modules[i]
		kind, on := c.Types[m.Type].Name, c.Surfaces[m.Surface].Name
		place := []string{inUnitOf("m", m.X.Metres()), inUnitOf("m", m.Y.Metres())}
		if i < len(doc.Modules) {
			d := &doc.Modules[i]
			names = append(names, d.Name)
			if d.Type == nil || *d.Type != kind {
				set([]string{kind}, "modules", d.Name, "type")
				cut("modules", d.Name, "serial")
				cut("modules", d.Name, "bought")
			}
			holdAs(set, d, m)
			if d.On == nil || *d.On != on {
				set([]string{on}, "modules", d.Name, "on")
			}
			set(place, "modules", d.Name, "at")
			if d.Turn != nil || m.Turn != 0 {
				set([]string{turnText(m.Turn)}, "modules", d.Name, "turn")
			}
			continue
		}
		name := freeName(names, doc)
		names = append(names, name)
		first := true
		put := func(texts []string, key string) { // each goes before the one put last
			out = append(out, buildfile.Change{Path: []string{"modules", name, key}, Texts: texts, Last: first})
			first = false
		}
		if m.Attachment == build.StandOff {
			put([]string{inUnitOf("mm", m.Gap.Metres())}, "gap")
		}
		put([]string{m.Attachment.String()}, "attached")
		if m.Turn != 0 {
			put([]string{turnText(m.Turn)}, "turn")
		}
		put(place, "at")
		put([]string{on}, "on")
		put([]string{kind}, "type")
	}
	for i := len(c.Modules); i < len(doc.Modules); i++ {
		cut("modules", doc.Modules[i].Name)
	}

	old := stringsInOrder(doc)
	var taken []string
	for _, ch := range doc.Chargers {
		at := slices.IndexFunc(c.Chargers, func(x build.Charger) bool { return x.Name == ch.Name })
		if at < 0 {
			cut("chargers", ch.Name)
			continue
		}
		var strs []string
		for k, si := range c.Chargers[at].Strings {
			var in []string
			for _, m := range c.Strings[si].Modules {
				in = append(in, names[m])
			}
			var name string
			if k < len(ch.Strings) {
				name = ch.Strings[k]
			} else { // laid like the charger's first
				name = freeString(append(slices.Clone(old), taken...))
				like := ""
				switch {
				case len(ch.Strings) > 0:
					like = ch.Strings[0]
				case len(old) > 0: // none: the text leaves the one string unwritten
					like = old[0]
				}
				for j, f := range cableOf(text, like) {
					f.Path = append([]string{"strings", name}, f.Path[2:]...)
					out = append(out, buildfile.Change{Path: f.Path, Texts: f.Texts, Last: j == 0})
				}
			}
			taken, strs = append(taken, name), append(strs, name)
			list(in, "strings", name, "modules")
		}
		list(strs, "chargers", ch.Name, "strings")
	}
	for _, name := range old {
		if !slices.Contains(taken, name) {
			cut("strings", name)
		}
	}
	return out, nil
}

// holdAs writes how a module is held, where that differs.
func holdAs(set func(texts []string, path ...string), d *build.ModuleDoc, m *build.Module) {
	if how := m.Attachment.String(); d.Attached == nil && m.Attachment != build.Bonded || d.Attached != nil && *d.Attached != how {
		set([]string{how}, "modules", d.Name, "attached")
	}
	if m.Attachment == build.StandOff && (d.Gap == nil || math.Abs((*d.Gap-m.Gap).Metres()) > 1e-6) {
		set([]string{inUnitOf("mm", m.Gap.Metres())}, "modules", d.Name, "gap")
	}
}

// freeString returns a name that no string has.
func freeString(taken []string) string {
	for n := 1; ; n++ {
		if name := fmt.Sprintf("S%d", n); !slices.Contains(taken, name) {
			return name
		}
	}
}

// stringsInOrder returns the names of the strings, those of the chargers in their order before the others.
func stringsInOrder(doc *build.Document) []string {
	var out []string
	for _, ch := range doc.Chargers {
		out = append(out, ch.Strings...)
	}
	for _, s := range doc.Strings {
		if !slices.Contains(out, s.Name) {
			out = append(out, s.Name)
		}
	}
	return out
}

// freeName returns a letter that no module has, or a number.
func freeName(taken []string, doc *build.Document) string {
	used := func(n string) bool {
		return slices.Contains(taken, n) || slices.ContainsFunc(doc.Modules, func(m build.ModuleDoc) bool { return m.Name == n })
	}
	for r := 'A'; r <= 'Z'; r++ {
		if !used(string(r)) {
			return string(r)
		}
	}
	n := 1
	for used(fmt.Sprint("M", n)) {
		n++
	}
	return fmt.Sprint("M", n)
}

// written returns a value as typed.
func written(text []byte, section, name, key string) []string {
	for _, g := range buildfile.Fields(text, section) {
		for _, f := range g.Fields {
			if g.Name == name && f.Key == key && len(f.Texts) > 0 {
				return f.Texts
			}
		}
	}
	return nil
}

// cableOf returns what is typed about a string's cable.
func cableOf(text []byte, name string) []buildfile.Field {
	var out []buildfile.Field
	for _, g := range buildfile.Fields(text, "strings") {
		for _, f := range g.Fields {
			if g.Name == name && len(f.Texts) > 0 && f.Key != "modules" {
				out = append(out, f)
			}
		}
	}
	return out
}

// mend makes one of the changes that a sheet names the next revision: a module put elsewhere, another habit of
// a charger, strings side by side, a thing left out.
func (s *Server) mend(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	kind, of := r.PostFormValue("kind"), r.PostFormValue("of")
	back := r.PostFormValue("back")
	if !known(back) {
		back = "shade"
	}
	return s.changeBy(r, back, "mend: "+clip(r.PostFormValue("what"), 200), func(text []byte) ([]buildfile.Change, error) {
		switch kind {
		case "place":
			x, err1 := strconv.ParseFloat(r.PostFormValue("x"), 64)
			y, err2 := strconv.ParseFloat(r.PostFormValue("y"), 64)
			turn, err3 := strconv.ParseFloat(r.PostFormValue("turn"), 64)
			if err := errors.Join(err1, err2, err3); err != nil {
				return nil, wrong("a place and a turn are numbers")
			}
			return placeChanges(text, of, x, y, turn)
		case "set":
			paths, values := r.PostForm["path"], r.PostForm["value"]
			if len(paths) == 0 || len(paths) != len(values) || len(paths) > 20 {
				return nil, wrong("the form's paths and values do not belong together")
			}
			var out []buildfile.Change
			for i := range paths {
				path, err := splitPath(paths[i])
				if err != nil {
					return nil, err
				}
				if i > 0 && paths[i] == paths[i-1] { // values of one path in a row are a list
					out[len(out)-1].Texts = append(out[len(out)-1].Texts, values[i])
					continue
				}
				out = append(out, buildfile.Change{Path: path, Texts: []string{values[i]}})
			}
			return out, nil
		case "tracking":
			return []buildfile.Change{{Path: []string{"chargers", of, "tracking"}, Texts: []string{"global"}}}, nil
		case "without":
			return []buildfile.Change{{Path: []string{"obstacles", of}, Cut: true}}, nil
		case "parallel":
			return parallelChanges(text, of)
		}
		return nil, wrong("no mend of that kind")
	})
}

// placeChanges puts a module somewhere.
func placeChanges(text []byte, name string, x, y, turn float64) ([]buildfile.Change, error) {
	in := tryJSON{Moves: []move{{Kind: "modules", Name: name, X: &x, Y: &y}}}
	if was := written(text, "modules", name, "turn"); was != nil || turn != 0 {
		in.Moves[0].Turn = &turn
	}
	return in.changes(text)
}

// parallelChanges wires the modules of a string side by side, each in a string of its own with the same cable.
func parallelChanges(text []byte, of string) ([]buildfile.Change, error) {
	doc, _, _ := buildfile.Decode("", text)
	at := slices.IndexFunc(doc.Strings, func(s build.StringDoc) bool { return s.Name == of })
	if at < 0 || len(doc.Strings[at].Modules) < 2 {
		return nil, wrong("no string of several modules is called %s", of)
	}
	charger := slices.IndexFunc(doc.Chargers, func(c build.ChargerDoc) bool { return slices.Contains(c.Strings, of) })
	if charger < 0 {
		return nil, wrong("no charger has the string %s", of)
	}
	var out []buildfile.Change
	strs := slices.Clone(doc.Chargers[charger].Strings)
	for i, m := range doc.Strings[at].Modules {
		name := of
		if i > 0 {
			for name, k := of+" "+m, 2; ; k++ {
				if !slices.ContainsFunc(doc.Strings, func(s build.StringDoc) bool { return s.Name == name }) {
					strs = append(strs, name)
					break
				}
				name = fmt.Sprintf("%s %s %d", of, m, k)
			}
			name = strs[len(strs)-1]
			for j, f := range cableOf(text, of) {
				f.Path = append([]string{"strings", name}, f.Path[2:]...)
				out = append(out, buildfile.Change{Path: f.Path, Texts: f.Texts, Last: j == 0})
			}
		}
		out = append(out, buildfile.Change{Path: []string{"strings", name, "modules"}, Texts: []string{m}, List: true, Last: true})
	}
	return append(out, buildfile.Change{Path: []string{"chargers", doc.Chargers[charger].Name, "strings"}, Texts: strs, List: true}), nil
}
