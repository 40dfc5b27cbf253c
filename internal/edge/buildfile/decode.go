package buildfile

import (
	"errors"
	"fmt"
	"os"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"noonmark/internal/base/problem"
	"noonmark/internal/build/build"
)

// largest is the largest file read, in bytes.
const largest = 1 << 20

// deepest is the deepest nesting read.
const deepest = 16

// Open reads, checks and completes the build file at path. Bad input is a *problem.Error with every
// problem in it.
func Open(path string) (build.Build, error) {
	info, err := os.Stat(path)
	if err != nil {
		return build.Build{}, err
	}
	if info.IsDir() {
		return build.Build{}, fmt.Errorf("%s is a folder", path)
	}
	if info.Size() > largest {
		return build.Build{}, fmt.Errorf("%s is over %d kB: no build file", path, largest>>10)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return build.Build{}, err
	}
	return Build(path, data)
}

// Build reads, checks and completes a build file's text; name is its name in messages.
func Build(name string, data []byte) (build.Build, error) {
	doc, where, problems := Decode(name, data)
	if problems.Len() > 0 && len(where) == 0 {
		return build.Build{}, problems.Err()
	}
	b, found := build.Resolve(doc)
	known := problems.All()
	for _, p := range found.All() {
		if follows(p, known) {
			continue
		}
		at := where.Of(p.Path)
		p.File, p.Line, p.Column = name, max(1, at.Line), at.Column
		if p.Found == "" {
			p.Found = where[p.Path].Text
		}
		problems.Add(p)
	}
	return b, problems.Err()
}

// follows reports whether a problem of the document only follows from one of the text: it stands at, under
// or over a place that could not be read, or asks for the key that was mistyped.
func follows(p problem.Problem, text []problem.Problem) bool {
	for _, t := range text {
		if within(p.Path, t.Path) || within(t.Path, p.Path) {
			return true
		}
		parent := t.Path[:strings.LastIndexByte(t.Path, '.')+1] // with its dot; empty at the top
		if t.Likely != "" && within(p.Path, parent+t.Likely) {
			return true
		}
	}
	return false
}

// within reports whether a path is another or lies under it.
func within(path, over string) bool {
	rest, ok := strings.CutPrefix(path, over)
	return ok && over != "" && (rest == "" || rest[0] == '.' || rest[0] == '[')
}

// Mark is a place in a file, with the text that stands there when it is one value.
type Mark struct {
	Line, Column int
	Text         string
}

// Marks knows where each path of a file stands.
type Marks map[string]Mark

// Of returns the mark of a path, or of the nearest above it.
func (m Marks) Of(path string) Mark {
	for path != "" {
		if at, ok := m[path]; ok {
			return at
		}
		cut := strings.LastIndexAny(path, ".[")
		if cut < 0 {
			break
		}
		path = path[:cut]
	}
	return m[path]
}

// reader walks a file into a document.
type reader struct {
	file     string
	marks    Marks
	problems problem.List
}

// Decode reads a text into a document. The document is of use only when there is no problem.
func Decode(name string, data []byte) (*build.Document, Marks, *problem.List) {
	r := &reader{file: name, marks: Marks{}}
	doc := &build.Document{}
	if len(data) > largest {
		r.problems.Add(problem.Problem{File: name, Want: fmt.Sprintf("a file under %d kB", largest>>10)})
		return doc, r.marks, &r.problems
	}
	var all []yaml.Node
	if err := yaml.Load(data, &all, yaml.WithAllDocuments()); err != nil {
		r.problems.Add(syntax(name, err))
		return doc, r.marks, &r.problems
	}
	var root yaml.Node
	if len(all) > 0 {
		root = all[0]
	}
	if len(all) > 1 {
		r.problems.Add(problem.Problem{File: name, Line: all[1].Line, Want: "one vehicle and one trip a file: no second document"})
	}
	if len(root.Content) == 0 {
		r.problems.Add(problem.Problem{File: name, Line: 1, Want: "a build file; it is empty. noonmark example prints one"})
		return doc, r.marks, &r.problems
	}
	r.value(root.Content[0], reflect.ValueOf(doc).Elem(), "", 0, field{})
	return doc, r.marks, &r.problems
}

// lineOf finds the line in a message of the YAML module.
var lineOf = regexp.MustCompile(`line (\d+)`)

// syntax turns the YAML module's fault into a problem in plain words.
func syntax(name string, err error) problem.Problem {
	p := problem.Problem{File: name, Want: "YAML: " + strings.TrimPrefix(err.Error(), "yaml: ")}
	var le *yaml.LoadError
	if errors.As(err, &le) {
		p.Line, p.Column = le.Mark.Line, le.Mark.Column
		p.Want = "YAML that can be read: " + le.Message
	} else if m := lineOf.FindStringSubmatch(err.Error()); m != nil {
		p.Line, _ = strconv.Atoi(m[1])
	}
	return p
}

// add records a problem at a node.
func (r *reader) add(n *yaml.Node, path, found, want, likely string) {
	r.problems.Add(problem.Problem{File: r.file, Line: n.Line, Column: n.Column, Path: path, Found: clip(found), Want: want, Likely: likely})
}

// clip cuts a text that is too long for a message, between letters.
func clip(text string) string {
	n := 0
	for i := range text {
		if n++; n > 60 {
			return text[:i] + "…"
		}
	}
	return text
}

// field is what a document's tag says.
type field struct {
	name, doc, example string
	short              bool // a bare text stands for this field
	index              int
	named              bool // the key of a table
}

// fieldsOf reads the tags of a struct type.
func fieldsOf(t reflect.Type) []field {
	var out []field
	for i := range t.NumField() {
		tag := t.Field(i).Tag
		name := tag.Get("file")
		out = append(out, field{name: name, doc: tag.Get("doc"), example: tag.Get("eg"), short: tag.Get("short") == "true", index: i, named: name == "-"})
	}
	return out
}

// value reads a node into v.
func (r *reader) value(n *yaml.Node, v reflect.Value, path string, depth int, f field) {
	if path != "" {
		r.marks[path] = Mark{n.Line, n.Column, clip(n.Value)}
	}
	switch {
	case depth > deepest:
		r.add(n, path, "", "less nesting", "")
	case n.Kind == yaml.AliasNode || n.Anchor != "":
		r.add(n, path, "", "the value itself: anchors and aliases are not read", "")
	case v.Kind() == reflect.Pointer:
		fresh := reflect.New(v.Type().Elem())
		if r.scalarOr(n, fresh.Elem(), path, depth, f) {
			v.Set(fresh)
		}
	default:
		r.scalarOr(n, v, path, depth, f)
	}
}

// scalarOr reads a node into a value that is no pointer, and reports whether it could.
func (r *reader) scalarOr(n *yaml.Node, v reflect.Value, path string, depth int, f field) bool {
	if read, ok := readers[v.Type()]; ok {
		return r.text(n, v, path, f, read)
	}
	switch v.Kind() {
	case reflect.Struct:
		return r.table(n, v, path, depth)
	case reflect.Slice:
		return r.list(n, v, path, depth, f)
	}
	panic("buildfile: no reader for " + v.Type().String())
}

// text reads a scalar by a reader of texts.
func (r *reader) text(n *yaml.Node, v reflect.Value, path string, f field, read textReader) bool {
	text := n.Value
	if n.Kind == yaml.SequenceNode && read.list {
		parts := make([]string, 0, len(n.Content))
		for _, c := range n.Content {
			if c.Kind != yaml.ScalarNode {
				r.add(c, path, "", read.want, "")
				return false
			}
			parts = append(parts, c.Value)
		}
		text = strings.Join(parts, ", ")
	} else if n.Kind != yaml.ScalarNode {
		r.add(n, path, "", one(f, read.want), "")
		return false
	}
	if n.Tag == "!!null" || text == "" {
		r.add(n, path, "", one(f, read.want)+"; it is empty", "")
		return false
	}
	if err := read.into(text, v); err != nil {
		want, likely := explain(err)
		r.add(n, path, text, want, likely)
		return false
	}
	return true
}

// one says what is wanted, with the field's example.
func one(f field, want string) string {
	if f.example != "" {
		return want + ", such as " + f.example
	}
	return want
}

// table reads a mapping into a struct; a bare text stands for its short field.
func (r *reader) table(n *yaml.Node, v reflect.Value, path string, depth int) bool {
	fields := fieldsOf(v.Type())
	if n.Kind == yaml.ScalarNode && n.Tag != "!!null" {
		for _, f := range fields {
			if f.short {
				before := r.problems.Len()
				r.value(n, v.Field(f.index), path, depth+1, f)
				return r.problems.Len() == before
			}
		}
	}
	if n.Kind != yaml.MappingNode {
		if n.Tag == "!!null" && n.Kind == yaml.ScalarNode {
			r.add(n, path, "", "a table of "+keys(fields)+"; it is empty", "")
		} else {
			r.add(n, path, n.Value, "a table of "+keys(fields), "")
		}
		return false
	}
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		at := join(path, k.Value)
		if line, twice := seen[k.Value]; twice {
			r.add(k, at, k.Value, fmt.Sprintf("each key once; it stands on line %d already", line), "")
			continue
		}
		seen[k.Value] = k.Line
		known := false
		for _, f := range fields {
			if f.name == k.Value && !f.named {
				known = true
				r.value(n.Content[i+1], v.Field(f.index), at, depth+1, f)
			}
		}
		if !known {
			r.add(k, at, k.Value, "a key of "+keys(fields), build.Nearest(k.Value, names(fields)))
		}
	}
	return true
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// list reads a sequence, or a table of named things, into a slice.
func (r *reader) list(n *yaml.Node, v reflect.Value, path string, depth int, f field) bool {
	t := v.Type().Elem()
	named := t.Kind() == reflect.Struct && t.NumField() > 0 && t.Field(0).Tag.Get("file") == "-"
	switch {
	case named && n.Kind == yaml.MappingNode:
		seen := map[string]int{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			k := n.Content[i]
			if line, twice := seen[k.Value]; twice {
				r.add(k, join(path, k.Value), k.Value, fmt.Sprintf("each name once; it stands on line %d already", line), "")
				continue
			}
			seen[k.Value] = k.Line
			item := reflect.New(t).Elem()
			item.Field(0).SetString(k.Value)
			r.value(n.Content[i+1], item, join(path, k.Value), depth+1, field{})
			v.Set(reflect.Append(v, item))
		}
	case !named && n.Kind == yaml.SequenceNode:
		for i, c := range n.Content {
			item := reflect.New(t).Elem()
			r.value(c, item, fmt.Sprintf("%s[%d]", path, i), depth+1, field{})
			v.Set(reflect.Append(v, item))
		}
	case named:
		r.add(n, path, n.Value, "a table of names, each with its own table", "")
		return false
	default:
		r.add(n, path, n.Value, one(f, "a list"), "["+n.Value+"]")
		return false
	}
	return true
}

// keys lists the names of fields for a message.
func keys(fields []field) string { return strings.Join(names(fields), ", ") }

func names(fields []field) []string {
	var out []string
	for _, f := range fields {
		if !f.named {
			out = append(out, f.name)
		}
	}
	return out
}
