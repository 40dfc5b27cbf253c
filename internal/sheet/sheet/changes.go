package sheet

import (
	"fmt"
	"slices"
	"strings"
)

// nothing stands in the column of a side that does not have the thing.
const nothing = "–"

// Changes returns a table of what differs between a sheet as it is now and as changed, in two columns: values,
// verdicts and rows of tables, differences only. It reports false where nothing does. Figures and notes are
// not compared.
func Changes(now, changed Sheet) (Table, bool) {
	t := Table{Title: "Now and changed", Head: []string{"what", "now", "changed"}, Fine: true}
	add := func(list [][3]string) {
		for _, r := range list {
			t.Rows = append(t.Rows, r[:])
		}
	}
	add(differ(valuesOf(now), valuesOf(changed)))
	add(differ(wordsOf(now), wordsOf(changed)))
	for i := range changed.Tables {
		c := &changed.Tables[i]
		var before *Table
		if k := slices.IndexFunc(now.Tables, func(o Table) bool { return o.Title == c.Title }); k >= 0 {
			before = &now.Tables[k]
		}
		add(differRows(before, c))
	}
	for i := range now.Tables {
		if o := &now.Tables[i]; !slices.ContainsFunc(changed.Tables, func(c Table) bool { return c.Title == o.Title }) {
			add(differRows(o, nil))
		}
	}
	return t, len(t.Rows) > 0
}

// named is a text with what it is of; of several of one name each is told apart by its number.
type named struct {
	name string
	nth  int
}

// series is texts by name, in order.
type series struct {
	order []named
	texts map[named]string
}

func (s *series) add(name, text string) {
	if s.texts == nil {
		s.texts = map[named]string{}
	}
	k := named{name: name}
	for {
		if _, taken := s.texts[k]; !taken {
			break
		}
		k.nth++
	}
	s.texts[k] = text
	s.order = append(s.order, k)
}

// differ returns the names whose texts differ, with both, in the order of the changed side.
func differ(now, changed series) [][3]string {
	var out [][3]string
	for _, k := range changed.order {
		was, ok := now.texts[k]
		if !ok {
			was = nothing
		}
		if is := changed.texts[k]; is != was {
			out = append(out, [3]string{k.name, was, is})
		}
	}
	for _, k := range now.order {
		if _, ok := changed.texts[k]; !ok {
			out = append(out, [3]string{k.name, now.texts[k], nothing})
		}
	}
	return out
}

func valuesOf(s Sheet) series {
	var out series
	for _, v := range s.Values {
		out.add(v.Name, v.Text)
	}
	return out
}

func wordsOf(s Sheet) series {
	var out series
	for _, v := range s.Verdicts {
		out.add(v.Title, v.Word)
	}
	return out
}

// differRows compares the rows of a table, each named by its first column that holds words.
func differRows(now, changed *Table) [][3]string {
	was, is := rowsOf(now), rowsOf(changed)
	var out [][3]string
	for _, d := range differ(was, is) {
		if now != nil && changed != nil && len(now.Head) == len(changed.Head) && d[1] != nothing && d[2] != nothing {
			d[1], d[2] = cellsThatDiffer(changed.Head, d[1], d[2])
		}
		d[1], d[2] = strings.ReplaceAll(d[1], cellEnd, ", "), strings.ReplaceAll(d[2], cellEnd, ", ")
		out = append(out, d)
	}
	return out
}

// cellEnd parts the cells of a row's text.
const cellEnd = "\x00"

// rowsOf returns a table's rows, their cells but the name joined.
func rowsOf(t *Table) series {
	var out series
	if t == nil {
		return out
	}
	for _, r := range t.Rows {
		at := 0
		for at < len(r)-1 && slices.Contains(t.Right, at) {
			at++
		}
		rest := slices.Delete(slices.Clone(r), at, at+1)
		out.add(r[at], strings.Join(rest, cellEnd))
	}
	return out
}

// cellsThatDiffer returns the cells of two rows that differ, each with its head where it has one.
func cellsThatDiffer(head []string, now, changed string) (string, string) {
	was, is := strings.Split(now, cellEnd), strings.Split(changed, cellEnd)
	if len(was) != len(is) || len(head) != len(is)+1 {
		return now, changed
	}
	var a, b []string
	for i := range is {
		if was[i] == is[i] {
			continue
		}
		name := head[i+1]
		if name != "" {
			name += " "
		}
		a, b = append(a, fmt.Sprint(name, was[i])), append(b, fmt.Sprint(name, is[i]))
	}
	return strings.Join(a, ", "), strings.Join(b, ", ")
}
