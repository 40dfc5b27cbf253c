package climate

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// The packed form of the tables, all numbers big-endian or unsigned varints:
//
//	"NMC1", count of grids (1 byte)
//	per grid: layers, rows, columns (2 bytes each)
//	          7 frequency tables, each: count n of entries (varint), then n frequencies (varints)
//	          in the order of residuals 0, -1, 1, -2, 2, …; they sum to 4096, or n is 0
//	          length of the code (4 bytes), the code
//
// A value is predicted from its western and northern (row before) neighbours and from the layer
// before; the residual, modulo 256, is coded by a range asymmetric numeral system (J. Duda, 2013,
// arXiv:1311.2540) with 12-bit frequencies that depend on the size of the neighbouring residuals.
// The coding is exact: what is lost is lost in the rounding to bytes.
const (
	packMagic    = "NMC1"
	packBits     = 12
	packTotal    = 1 << packBits
	packLow      = 1 << 23 // least state of the coder
	packContexts = 7
	packLargest  = 1 << 22 // most values in a grid
)

// errPacked marks a packed table that cannot be read.
var errPacked = errors.New("packed table damaged")

// Grid is a table of bytes: layers (months), rows from south to north, columns from west to east.
type Grid struct {
	Layers, Rows, Columns int
	Values                []byte
}

// predict returns the expected value at index i of the grid v whose row has columns values and
// whose layer has size values.
func predict(v []byte, i, layer, row, column, columns, size int) int {
	switch {
	case layer == 0 && row == 0 && column == 0:
		return 128
	case layer == 0 && row == 0:
		return int(v[i-1])
	case layer == 0 && column == 0:
		return int(v[i-columns])
	case layer == 0: // median of west, north and their plane
		w, n, nw := int(v[i-1]), int(v[i-columns]), int(v[i-columns-1])
		return max(min(w, n), min(max(w, n), w+n-nw))
	}
	p := i - size
	switch {
	case row == 0 && column == 0:
		return int(v[p])
	case row == 0:
		return int(v[p]) + int(v[i-1]) - int(v[p-1])
	case column == 0:
		return int(v[p]) + int(v[i-columns]) - int(v[p-columns])
	}
	dw := int(v[i-1]) - int(v[p-1])
	dn := int(v[i-columns]) - int(v[p-columns])
	dnw := int(v[i-columns-1]) - int(v[p-columns-1])
	return int(v[p]) + (3*(dw+dn)-2*dnw)>>2
}

// contextOf returns which frequency table codes a residual beside residuals w and n.
func contextOf(w, n int8) int {
	a := max(int(w), -int(w)) + max(int(n), -int(n))
	switch {
	case a <= 2:
		return a
	case a <= 4:
		return 3
	case a <= 8:
		return 4
	case a <= 16:
		return 5
	}
	return 6
}

// residualAt returns the k-th residual of the order 0, -1, 1, -2, 2, … as a byte.
func residualAt(k int) byte {
	if k&1 == 1 {
		return byte(-(k + 1) / 2)
	}
	return byte(k / 2)
}

// Pack returns the grids in packed form. It panics when a grid has not Layers·Rows·Columns values,
// none, or more than 4 million.
func Pack(grids []Grid) []byte {
	out := append([]byte(packMagic), byte(len(grids)))
	for _, g := range grids {
		size := g.Rows * g.Columns
		if len(g.Values) != g.Layers*size || len(g.Values) == 0 || len(g.Values) > packLargest {
			panic("climate: grid of the wrong size")
		}
		symbols, contexts := residuals(g)
		var freq [packContexts][256]int
		for i, s := range symbols {
			freq[contexts[i]][s]++
		}
		out = binary.BigEndian.AppendUint16(out, uint16(g.Layers))
		out = binary.BigEndian.AppendUint16(out, uint16(g.Rows))
		out = binary.BigEndian.AppendUint16(out, uint16(g.Columns))
		var start [packContexts][256]int
		for c := range freq {
			normalise(&freq[c])
			n, sum := 0, 0
			for s, f := range freq[c] {
				start[c][s] = sum
				sum += f
			}
			for k := range 256 {
				if freq[c][residualAt(k)] > 0 {
					n = k + 1
				}
			}
			out = binary.AppendUvarint(out, uint64(n))
			for k := range n {
				out = binary.AppendUvarint(out, uint64(freq[c][residualAt(k)]))
			}
		}
		x := uint32(packLow)
		var code []byte // backwards
		for i := len(symbols) - 1; i >= 0; i-- {
			f := uint32(freq[contexts[i]][symbols[i]])
			for x >= (packLow>>packBits<<8)*f {
				code = append(code, byte(x))
				x >>= 8
			}
			x = x/f<<packBits + x%f + uint32(start[contexts[i]][symbols[i]])
		}
		code = append(code, byte(x), byte(x>>8), byte(x>>16), byte(x>>24))
		out = binary.BigEndian.AppendUint32(out, uint32(len(code)))
		for i := len(code) - 1; i >= 0; i-- {
			out = append(out, code[i])
		}
	}
	return out
}

// residuals returns the residual of each value of g and the table that codes it.
func residuals(g Grid) (symbols []byte, contexts []int) {
	size := g.Rows * g.Columns
	symbols, contexts = make([]byte, len(g.Values)), make([]int, len(g.Values))
	above := make([]int8, g.Columns)
	for i, v := range g.Values {
		layer, row, column := i/size, i%size/g.Columns, i%g.Columns
		if row == 0 && column == 0 {
			clear(above)
		}
		var west int8
		if column > 0 {
			west = above[column-1]
		}
		contexts[i] = contextOf(west, above[column])
		symbols[i] = v - byte(predict(g.Values, i, layer, row, column, g.Columns, size))
		above[column] = int8(symbols[i])
	}
	return symbols, contexts
}

// normalise scales the counts of f to a sum of 4096, none that was above 0 becoming 0. All zero
// stays so.
func normalise(f *[256]int) {
	total, largest := 0, 0
	for s, n := range f {
		total += n
		if n > f[largest] {
			largest = s
		}
	}
	if total == 0 {
		return
	}
	sum := 0
	for s, n := range f {
		if n > 0 {
			f[s] = max(1, n*packTotal/total)
			sum += f[s]
		}
	}
	// At most 256 entries were raised to 1, so the largest, above 4096/256, bears the difference;
	// it is spread when it cannot.
	for sum > packTotal && f[largest] <= sum-packTotal {
		for s := range f {
			if f[s] > 1 && sum > packTotal {
				f[s]--
				sum--
			}
		}
	}
	f[largest] += packTotal - sum
}

// Unpack returns the grids that b holds, made by Pack. It returns an error for anything else and
// never panics.
func Unpack(b []byte) ([]Grid, error) {
	r := reader{b: b}
	if string(r.take(len(packMagic))) != packMagic {
		return nil, fmt.Errorf("%w: no heading", errPacked)
	}
	head := r.take(1)
	if r.bad {
		return nil, fmt.Errorf("%w: no count", errPacked)
	}
	grids := make([]Grid, head[0])
	for k := range grids {
		if err := r.grid(&grids[k]); err != nil {
			return nil, fmt.Errorf("grid %d: %w", k, err)
		}
	}
	if len(r.b) != 0 {
		return nil, fmt.Errorf("%w: %d bytes too many", errPacked, len(r.b))
	}
	return grids, nil
}

// reader takes bytes off the front of b; bad is set once b was too short.
type reader struct {
	b   []byte
	bad bool
}

func (r *reader) take(n int) []byte {
	if n < 0 || n > len(r.b) {
		r.bad, r.b = true, nil
		return nil
	}
	head := r.b[:n]
	r.b = r.b[n:]
	return head
}

func (r *reader) uvarint() int {
	v, n := binary.Uvarint(r.b)
	if n <= 0 || v > packTotal {
		r.bad, r.b = true, nil
		return 0
	}
	r.b = r.b[n:]
	return int(v)
}

// table is one frequency table, ready to decode: the symbol of each of the 4096 slots, the
// frequency and the start of each symbol.
type table struct {
	symbol      [packTotal]byte
	freq, start [256]uint16
}

// grid reads one grid.
func (r *reader) grid(g *Grid) error {
	head := r.take(6)
	if r.bad {
		return fmt.Errorf("%w: no size", errPacked)
	}
	g.Layers, g.Rows, g.Columns = int(binary.BigEndian.Uint16(head)), int(binary.BigEndian.Uint16(head[2:])), int(binary.BigEndian.Uint16(head[4:]))
	size := g.Rows * g.Columns
	if g.Layers == 0 || size == 0 || size > packLargest || g.Layers*size > packLargest {
		return fmt.Errorf("%w: size %d × %d × %d", errPacked, g.Layers, g.Rows, g.Columns)
	}
	var tables [packContexts]table
	for c := range tables {
		if err := r.table(&tables[c]); err != nil {
			return err
		}
	}
	head = r.take(4)
	if r.bad {
		return fmt.Errorf("%w: no code", errPacked)
	}
	code := r.take(int(binary.BigEndian.Uint32(head)))
	if r.bad || len(code) < 4 {
		return fmt.Errorf("%w: code cut short", errPacked)
	}
	x, code := binary.BigEndian.Uint32(code), code[4:]
	g.Values = make([]byte, g.Layers*size)
	above := make([]int8, g.Columns)
	i := 0
	for layer := range g.Layers {
		clear(above)
		for row := range g.Rows {
			var west int8
			for column := range g.Columns {
				t := &tables[contextOf(west, above[column])]
				slot := x & (packTotal - 1)
				s := t.symbol[slot]
				x = uint32(t.freq[s])*(x>>packBits) + slot - uint32(t.start[s])
				for x < packLow && len(code) > 0 {
					x = x<<8 | uint32(code[0])
					code = code[1:]
				}
				g.Values[i] = byte(predict(g.Values, i, layer, row, column, g.Columns, size)) + s
				west = int8(s)
				above[column] = west
				i++
			}
		}
	}
	if len(code) != 0 || x != packLow {
		return fmt.Errorf("%w: code does not end", errPacked)
	}
	return nil
}

// table reads one frequency table; an empty one decodes every slot as 0.
func (r *reader) table(t *table) error {
	n := r.uvarint()
	if n > 256 {
		return fmt.Errorf("%w: %d frequencies", errPacked, n)
	}
	sum := 0
	for k := range n {
		f := r.uvarint()
		t.freq[residualAt(k)] = uint16(f)
		sum += f
	}
	if r.bad || n > 0 && sum != packTotal {
		return fmt.Errorf("%w: frequencies sum to %d", errPacked, sum)
	}
	slot := 0
	for s, f := range t.freq {
		t.start[s] = uint16(slot)
		for range f {
			t.symbol[slot] = byte(s)
			slot++
		}
	}
	return nil
}
