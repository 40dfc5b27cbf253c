package buildfile

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// Change is a value to write at a place of a build file, or a place to take out.
type Change struct {
	Path  []string // keys, and numbers of a list from 0: "modules", "A", "at"
	Texts []string // one for a value, several for a list of values such as a place
	List  bool     // a list of names, however many: "strings", "lid", "modules"
	Cut   bool     // the key at Path goes, with what stands under it; Texts is then unused
	Last  bool     // a key that is missing is put after the last of its table, where that can be done
}

// ErrShape says that a text is laid out in a way that Set does not change: the value runs over several
// lines, or the place is in a list that is not long enough.
var ErrShape = errors.New("this place of the text is to be changed by hand")

// Set writes values into a build file's text and leaves every other letter as it was typed. A key that is
// missing is put before the first of its table, with the tables below it. The result is read again: a value
// that does not come back as written is ErrShape. It does not ask whether the text resolves.
func Set(text []byte, changes ...Change) ([]byte, error) {
	for _, c := range changes {
		var err error
		if text, err = set(text, c); err != nil {
			return nil, fmt.Errorf("%s: %w", strings.Join(c.Path, "."), err)
		}
	}
	return text, nil
}

// set writes one value.
func set(text []byte, c Change) ([]byte, error) {
	if len(c.Path) == 0 || len(c.Texts) == 0 && !c.Cut || len(text) > largest {
		return nil, ErrShape
	}
	if c.Cut {
		return cut(text, c.Path)
	}
	for _, t := range c.Texts {
		if t == "" || len(t) > 200 || strings.ContainsFunc(t, func(r rune) bool { return r < ' ' || r == utf8.RuneError }) {
			return nil, fmt.Errorf("%w: %q is no value of one line", ErrShape, clip(t))
		}
	}
	whole := c.Path
	above, n, missing := find(text, c.Path)
	var out []byte
	var err error
	switch {
	case n != nil && c.List:
		out, err = relist(text, n, c.Texts)
	case n != nil && n.Kind == yaml.SequenceNode && len(n.Content) == len(c.Texts) && len(c.Texts) > 1:
		out = text
		for i := len(c.Texts) - 1; i >= 0; i-- { // from the back, so that places before stay
			if out, err = replace(out, n.Content[i], c.Texts[i]); err != nil {
				return nil, err
			}
		}
	case n != nil && n.Kind == yaml.ScalarNode && n.Value != "":
		out, err = replace(text, n, strings.Join(c.Texts, ", "))
	case n == nil && above != nil && above.Kind == yaml.MappingNode && len(above.Content) > 0:
		c.Path = whole[len(whole)-missing:]
		out, err = insert(text, above, c)
	default:
		return nil, ErrShape
	}
	if err != nil {
		return nil, err
	}
	_, now, _ := find(out, whole)
	if now == nil || !slices.Equal(values(now, len(c.Texts)), c.Texts) {
		return nil, ErrShape
	}
	return out, nil
}

// values returns a node's texts, as many as wanted.
func values(n *yaml.Node, count int) []string {
	if n.Kind == yaml.SequenceNode {
		var out []string
		for _, c := range n.Content {
			out = append(out, c.Value)
		}
		return out
	}
	if count == 1 {
		return []string{n.Value}
	}
	out := strings.Split(n.Value, ",")
	for i := range out {
		out[i] = strings.TrimSpace(out[i])
	}
	return out
}

// find returns the node at a path; when it is not there, nil and the last one above it that is, with how many
// keys are missing below that.
func find(text []byte, path []string) (above, at *yaml.Node, missing int) {
	var root yaml.Node
	if yaml.Load(text, &root) != nil || len(root.Content) == 0 {
		return nil, nil, 0
	}
	at = root.Content[0]
	for i, key := range path {
		above, at = at, nil
		switch above.Kind {
		case yaml.MappingNode:
			at = child(above, key)
		case yaml.SequenceNode:
			if i, err := strconv.Atoi(key); err == nil && i >= 0 && i < len(above.Content) {
				at = above.Content[i]
			}
		}
		if at == nil {
			return above, nil, len(path) - i
		}
	}
	return above, at, 0
}

// offset returns where a node begins in the text. A column counts letters.
func offset(text []byte, n *yaml.Node) int {
	at := 0
	for range n.Line - 1 {
		next := bytes.IndexByte(text[at:], '\n')
		if next < 0 {
			return -1
		}
		at += next + 1
	}
	for range n.Column - 1 {
		_, size := utf8.DecodeRune(text[at:])
		if size == 0 {
			return -1
		}
		at += size
	}
	return at
}

// replace puts a text in a scalar's place.
func replace(text []byte, n *yaml.Node, with string) ([]byte, error) {
	end, err := scalarEnd(text, n)
	if err != nil {
		return nil, err
	}
	return slices.Concat(text[:offset(text, n)], []byte(quoted(with)), text[end:]), nil
}

// scalarEnd returns where a value of one line ends.
func scalarEnd(text []byte, n *yaml.Node) (int, error) {
	at := offset(text, n)
	if at < 0 || n.Kind != yaml.ScalarNode {
		return 0, ErrShape
	}
	rest := text[at:]
	end := 0
	switch {
	case len(rest) > 0 && rest[0] == '"':
		for end = 1; end < len(rest) && rest[end] != '"'; end++ {
			if rest[end] == '\\' {
				end++
			}
		}
		end++
	case len(rest) > 0 && rest[0] == '\'':
		for end = 1; end < len(rest); end++ {
			if rest[end] == '\'' {
				if end+1 < len(rest) && rest[end+1] == '\'' {
					end++
					continue
				}
				break
			}
		}
		end++
	case bytes.HasPrefix(rest, []byte(n.Value)):
		end = len(n.Value)
	default:
		return 0, ErrShape
	}
	if end > len(rest) || bytes.IndexByte(rest[:end], '\n') >= 0 {
		return 0, ErrShape
	}
	return at + end, nil
}

// insert puts a key before the first of a table, in the table's own layout.
func insert(text []byte, table *yaml.Node, c Change) ([]byte, error) {
	first := table.Content[0]
	at := offset(text, first)
	if at < 0 {
		return nil, ErrShape
	}
	value := joined(c.Texts)
	var line strings.Builder
	for i, key := range c.Path {
		line.WriteString(quoted(key) + ": ")
		if i < len(c.Path)-1 {
			line.WriteString("{")
		}
	}
	if len(c.Texts) > 1 || c.List {
		line.WriteString("[" + value + "]")
	} else {
		line.WriteString(value)
	}
	line.WriteString(strings.Repeat("}", len(c.Path)-1))
	if end := afterLast(text, table); c.Last && end > 0 {
		return slices.Concat(text[:end], []byte(strings.Repeat(" ", first.Column-1)+line.String()+"\n"), text[end:]), nil
	}
	if table.Style&yaml.FlowStyle != 0 {
		line.WriteString(", ")
	} else {
		line.WriteString("\n" + strings.Repeat(" ", first.Column-1))
	}
	return slices.Concat(text[:at], []byte(line.String()), text[at:]), nil
}

// joined writes values one after the other.
func joined(texts []string) string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = quoted(t)
	}
	return strings.Join(out, ", ")
}

// quoted returns a value as YAML: plain where it reads back the same in every layout.
func quoted(t string) string {
	if strings.ContainsAny(t, "\"'#{}[],&*!|>%@`\\:") || strings.TrimSpace(t) != t || strings.HasPrefix(t, "-") && !numeric(t) || strings.HasPrefix(t, "?") {
		return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(t) + `"`
	}
	return t
}

// numeric reports whether a text is a minus sign before a digit.
func numeric(t string) bool { return len(t) > 1 && t[1] >= '0' && t[1] <= '9' }
