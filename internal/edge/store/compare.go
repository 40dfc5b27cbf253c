package store

import (
	"bytes"
	"context"
	"database/sql"
	"sort"

	"noonmark/internal/edge/buildfile"
)

// Line is a line that one text has and the other has not.
type Line struct {
	Added  bool   // it stands in the second text only; else in the first only
	Number int    // in its own text, from 1
	Text   string // without the end of the line
}

// Value is a value of the build file that differs. Where a path is in one text only, the other value is nil.
type Value struct {
	Path     string // "modules[1].at"
	Was, Is  *string
	WasLine  int // 0: not there
	IsLine   int
	sortLine int
}

// Comparison is what differs between two texts.
type Comparison struct {
	Lines  []Line  // in the order of the texts, what went before what came
	Values []Value // in the order of the second text; empty when a text is no YAML
}

// Compare compares two revisions of a build: a number, a tag, or "" for the current one.
func (s *Store) Compare(ctx context.Context, name, from, to string) (a, b Revision, c Comparison, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		build, err := find(ctx, tx, name)
		if err != nil {
			return err
		}
		for _, side := range []struct {
			ref  string
			into *Revision
		}{{from, &a}, {to, &b}} {
			n, err := resolve(ctx, tx, build, side.ref)
			if err != nil {
				return err
			}
			if *side.into, err = load(ctx, tx, build, n); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return Revision{}, Revision{}, Comparison{}, err
	}
	return a, b, Diff(a.Text, b.Text), nil
}

// Diff compares two texts of a build file, line by line and value by value.
func Diff(a, b []byte) Comparison {
	return Comparison{Lines: changedLines(lines(a), lines(b)), Values: changedValues(a, b)}
}

// lines cuts a text into its lines, without their ends.
func lines(text []byte) []string {
	var out []string
	for line := range bytes.Lines(text) {
		out = append(out, string(bytes.TrimRight(line, "\r\n")))
	}
	return out
}

// most is the number of changed lines up to which the shortest list is looked for.
const most = 1000

// changedLines returns what was taken from a and added to make b: the fewest lines, unless that is over most,
// where all between the common head and tail counts as changed.
// Source: E. W. Myers, An O(ND) difference algorithm and its variations, Algorithmica 1 (1986), section 3. From memory.
func changedLines(a, b []string) []Line {
	head := 0
	for head < len(a) && head < len(b) && a[head] == b[head] {
		head++
	}
	tail := 0
	for tail < len(a)-head && tail < len(b)-head && a[len(a)-1-tail] == b[len(b)-1-tail] {
		tail++
	}
	a, b = a[head:len(a)-tail], b[head:len(b)-tail]
	taken, added := make([]bool, len(a)), make([]bool, len(b))
	if !fewest(a, b, taken, added) {
		for i := range taken {
			taken[i] = true
		}
		for j := range added {
			added[j] = true
		}
	}
	var out []Line
	for i, j := 0, 0; i < len(a) || j < len(b); {
		switch {
		case i < len(a) && taken[i]:
			out = append(out, Line{Number: head + i + 1, Text: a[i]})
			i++
		case j < len(b) && added[j]:
			out = append(out, Line{Added: true, Number: head + j + 1, Text: b[j]})
			j++
		default:
			i, j = i+1, j+1
		}
	}
	return out
}

// fewest marks the fewest lines taken and added, and reports whether these are at most most. The path that gets
// furthest on each diagonal k = x-y is kept for every number of changes, and then followed back.
func fewest(a, b []string, taken, added []bool) bool {
	n, m := len(a), len(b)
	reach := make([]int, 2*most+3) // of diagonal k at k+most+1
	var trail [][]int
	for d := 0; d <= min(n+m, most); d++ {
		trail = append(trail, append([]int(nil), reach[most+1-d:most+2+d]...)) // diagonals -d..d before this step
		for k := -d; k <= d; k += 2 {
			x := 0
			switch at := most + 1 + k; {
			case d == 0:
			case k == -d || k != d && reach[at-1] < reach[at+1]:
				x = reach[at+1]
			default:
				x = reach[at-1] + 1
			}
			y := x - k
			for x < n && y < m && a[x] == b[y] {
				x, y = x+1, y+1
			}
			reach[most+1+k] = x
			if x >= n && y >= m {
				back(trail, n, m, taken, added)
				return true
			}
		}
	}
	return false
}

// back follows the trail from the end of both texts.
func back(trail [][]int, x, y int, taken, added []bool) {
	for d := len(trail) - 1; d > 0; d-- {
		before := func(k int) int { return trail[d][k+d] }
		k := x - y
		down := k == -d || k != d && before(k-1) < before(k+1)
		from := k - 1
		if down {
			from = k + 1
		}
		px := before(from)
		py := px - from
		if down {
			added[py] = true
		} else {
			taken[px] = true
		}
		x, y = px, py
	}
}

// changedValues returns the values that differ, by the path of the build file.
func changedValues(a, b []byte) []Value {
	_, was, _ := buildfile.Decode("", a)
	_, is, _ := buildfile.Decode("", b)
	if len(was) == 0 || len(is) == 0 {
		return nil
	}
	var out []Value
	for path, m := range is {
		old, there := was[path]
		if m.Text == "" && old.Text == "" || there && old.Text == m.Text {
			continue
		}
		v := Value{Path: path, Is: &m.Text, IsLine: m.Line, sortLine: m.Line}
		if there {
			v.Was, v.WasLine = &old.Text, old.Line
		}
		out = append(out, v)
	}
	for path, old := range was {
		if _, there := is[path]; !there && old.Text != "" {
			out = append(out, Value{Path: path, Was: &old.Text, WasLine: old.Line, sortLine: old.Line})
		}
	}
	sort.Slice(out, func(i, j int) bool {
		if out[i].sortLine != out[j].sortLine {
			return out[i].sortLine < out[j].sortLine
		}
		return out[i].Path < out[j].Path
	})
	return out
}
