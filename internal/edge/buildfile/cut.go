package buildfile

import (
	"bytes"
	"slices"

	"go.yaml.in/yaml/v4"
)

// relist puts a list of names in the place of another, or of a single name. A list over several lines is
// ErrShape unless it has as many names.
func relist(text []byte, n *yaml.Node, names []string) ([]byte, error) {
	switch {
	case n.Kind == yaml.ScalarNode && n.Value != "":
		end, err := scalarEnd(text, n)
		if err != nil {
			return nil, err
		}
		return slices.Concat(text[:offset(text, n)], []byte("["+joined(names)+"]"), text[end:]), nil
	case n.Kind != yaml.SequenceNode:
		return nil, ErrShape
	case n.Style&yaml.FlowStyle != 0:
		at, end := offset(text, n), flowEnd(text, n)
		if at < 0 || end < 0 {
			return nil, ErrShape
		}
		return slices.Concat(text[:at], []byte("["+joined(names)+"]"), text[end:]), nil
	case len(n.Content) == len(names):
		out := text
		for i := len(names) - 1; i >= 0; i-- {
			var err error
			if out, err = replace(out, n.Content[i], names[i]); err != nil {
				return nil, err
			}
		}
		return out, nil
	}
	return nil, ErrShape
}

// cut takes a key out of its table, with what stands under it; the last key of a table stays, for a table
// without keys is another thing.
func cut(text []byte, path []string) ([]byte, error) {
	table, n, _ := find(text, path)
	if n == nil {
		return text, nil // it is not there
	}
	if table == nil || table.Kind != yaml.MappingNode || len(table.Content) < 4 {
		return nil, ErrShape
	}
	i := 0
	for table.Content[i].Value != path[len(path)-1] {
		i += 2
	}
	from := offset(text, table.Content[i])
	if from < 0 {
		return nil, ErrShape
	}
	var out []byte
	switch {
	case table.Style&yaml.FlowStyle == 0:
		line := bytes.LastIndexByte(text[:from], '\n') + 1
		end := lineAfter(text, lastLine(n))
		if end < 0 || len(bytes.TrimSpace(text[line:from])) > 0 { // it begins in the line of another, as in a list
			return nil, ErrShape
		}
		out = slices.Concat(text[:line], text[end:])
	case i+2 < len(table.Content):
		next := offset(text, table.Content[i+2])
		if next < from {
			return nil, ErrShape
		}
		out = slices.Concat(text[:from], text[next:])
	default: // the last of a table in braces: the comma before it goes too
		end, err := nodeEnd(text, n)
		comma := bytes.LastIndexByte(text[:from], ',')
		if err != nil || comma < 0 || len(bytes.TrimSpace(text[comma+1:from])) > 0 {
			return nil, ErrShape
		}
		out = slices.Concat(text[:comma], text[end:])
	}
	before, now, _ := find(out, path)
	if now != nil || before == nil || before.Kind != yaml.MappingNode || len(before.Content) != len(table.Content)-2 {
		return nil, ErrShape
	}
	return out, nil
}

// nodeEnd returns where a value of one line, or in brackets, ends.
func nodeEnd(text []byte, n *yaml.Node) (int, error) {
	if n.Kind == yaml.ScalarNode {
		return scalarEnd(text, n)
	}
	if end := flowEnd(text, n); end >= 0 {
		return end, nil
	}
	return 0, ErrShape
}

// flowEnd returns where a list or table in brackets ends: after the bracket that closes it, which follows
// its last value; -1 where it cannot be told.
func flowEnd(text []byte, n *yaml.Node) int {
	at := offset(text, n)
	if at < 0 || n.Style&yaml.FlowStyle == 0 {
		return -1
	}
	if k := len(n.Content); k > 0 {
		var err error
		if at, err = nodeEnd(text, n.Content[k-1]); err != nil {
			return -1
		}
	} else {
		at++
	}
	for ; at < len(text); at++ {
		switch text[at] {
		case ']', '}':
			return at + 1
		case ' ', '\t', '\n', '\r', ',':
		default:
			return -1
		}
	}
	return -1
}

// lastLine returns the last line that a value stands on, as far as its own values tell.
func lastLine(n *yaml.Node) int {
	line := n.Line
	for _, c := range n.Content {
		line = max(line, lastLine(c))
	}
	return line
}

// lineAfter returns where the line after the given one begins, -1 where there is none.
func lineAfter(text []byte, line int) int {
	at := 0
	for range line {
		next := bytes.IndexByte(text[at:], '\n')
		if next < 0 {
			return -1
		}
		at += next + 1
	}
	return at
}

// afterLast returns where a key may follow the last of a table that stands in lines of its own; -1 where it
// cannot be told.
func afterLast(text []byte, table *yaml.Node) int {
	if table.Style&yaml.FlowStyle != 0 {
		return -1
	}
	last := table.Content[len(table.Content)-1]
	if last.Kind == yaml.ScalarNode && last.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0 {
		return -1
	}
	return lineAfter(text, lastLine(last))
}
