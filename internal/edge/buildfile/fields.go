package buildfile

import (
	"fmt"
	"reflect"
	"strconv"

	"go.yaml.in/yaml/v4"

	"noonmark/internal/build/build"
)

// Group is a thing of a build file, a module or a leg of the trip, with its values.
type Group struct {
	Section string // "modules"
	Name    string // "A"; empty: the section is one thing
	Line    int    // where it stands; 0: not in the text
	Fields  []Field
}

// Field is a value of a build file, written or not.
type Field struct {
	Path    []string
	Key     string   // "at", "input_cable length"
	Texts   []string // as typed, several for a list; empty: not written
	Doc     string
	Example string
}

// Fields returns what a text says in the named sections, thing by thing, with the values it leaves out; the
// text need not resolve. A text that is no YAML, or has no such section, gives none.
func Fields(text []byte, sections ...string) []Group {
	var root yaml.Node
	if len(text) > largest || yaml.Load(text, &root) != nil || len(root.Content) == 0 {
		return nil
	}
	var out []Group
	top := fieldsOf(reflect.TypeFor[build.Document]())
	for _, section := range sections {
		for _, f := range top {
			if f.name == section {
				t := reflect.TypeFor[build.Document]().Field(f.index).Type
				out = append(out, groupsOf(section, t, child(root.Content[0], section), f)...)
			}
		}
	}
	return out
}

// child returns the value of a key, nil when it is not there.
func child(n *yaml.Node, key string) *yaml.Node {
	if n == nil || n.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return n.Content[i+1]
		}
	}
	return nil
}

// groupsOf returns the things of a section.
func groupsOf(section string, t reflect.Type, n *yaml.Node, f field) []Group {
	if _, leaf := readers[t]; leaf || t.Kind() == reflect.Pointer && isLeaf(t.Elem()) {
		g := Group{Section: section, Fields: []Field{leafOf([]string{section}, section, n, f)}}
		if n != nil {
			g.Line = n.Line
		}
		return []Group{g}
	}
	switch {
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Struct && n != nil && n.Kind == yaml.MappingNode:
		var out []Group
		for i := 0; i+1 < len(n.Content); i += 2 {
			g := Group{Section: section, Name: n.Content[i].Value, Line: n.Content[i].Line}
			g.Fields = walk([]string{section, g.Name}, "", t.Elem(), n.Content[i+1])
			out = append(out, g)
		}
		return out
	case t.Kind() == reflect.Pointer && t.Elem().Kind() == reflect.Struct:
		g := Group{Section: section, Fields: walk([]string{section}, "", t.Elem(), n)}
		if n != nil {
			g.Line = n.Line
		}
		return append([]Group{g}, legsOf(section, t.Elem(), n)...)
	}
	return nil
}

// legsOf returns the things of a section's own lists: the legs of a trip.
func legsOf(section string, t reflect.Type, n *yaml.Node) []Group {
	var out []Group
	for _, f := range fieldsOf(t) {
		list := child(n, f.name)
		e := t.Field(f.index).Type
		if isLeaf(e) || e.Kind() != reflect.Slice || e.Elem().Kind() != reflect.Struct || list == nil || list.Kind != yaml.SequenceNode {
			continue
		}
		for i, item := range list.Content {
			for _, kind := range fieldsOf(e.Elem()) {
				part := child(item, kind.name)
				sub := e.Elem().Field(kind.index).Type
				if part == nil || sub.Kind() != reflect.Pointer || isLeaf(sub.Elem()) {
					continue
				}
				path := []string{section, f.name, strconv.Itoa(i), kind.name}
				out = append(out, Group{Section: section, Name: fmt.Sprintf("%s %d", kind.name, i+1), Line: item.Line, Fields: walk(path, "", sub.Elem(), part)})
			}
		}
	}
	return out
}

// isLeaf reports whether a type is read from one text.
func isLeaf(t reflect.Type) bool {
	_, ok := readers[t]
	return ok
}

// walk returns the values of a table; those of tables inside it carry both keys.
func walk(path []string, before string, t reflect.Type, n *yaml.Node) []Field {
	var out []Field
	for _, f := range fieldsOf(t) {
		if f.named || f.name == "" {
			continue
		}
		e := t.Field(f.index).Type
		if e.Kind() == reflect.Pointer {
			e = e.Elem()
		}
		at := append(append([]string{}, path...), f.name)
		v := child(n, f.name)
		switch {
		case isLeaf(e):
			out = append(out, leafOf(at, before+f.name, v, f))
		case e.Kind() == reflect.Struct && before == "":
			out = append(out, walk(at, f.name+" ", e, v)...)
		}
	}
	return out
}

func leafOf(path []string, key string, n *yaml.Node, f field) Field {
	out := Field{Path: path, Key: key, Doc: f.doc, Example: f.example}
	switch {
	case n == nil:
	case n.Kind == yaml.ScalarNode && n.Value != "":
		out.Texts = []string{n.Value}
	case n.Kind == yaml.SequenceNode:
		for _, c := range n.Content {
			if c.Kind != yaml.ScalarNode || c.Value == "" {
				return Field{Path: path, Key: key, Doc: f.doc, Example: f.example}
			}
			out.Texts = append(out.Texts, c.Value)
		}
	}
	return out
}
