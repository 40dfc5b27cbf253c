package climate

import "testing"

func FuzzUnpack(f *testing.F) {
	f.Add([]byte{})
	f.Add(Pack([]Grid{{1, 2, 3, []byte{1, 2, 3, 4, 5, 6}}}))
	f.Add(Pack([]Grid{{2, 2, 2, []byte{1, 1, 1, 1, 9, 9, 9, 9}}, {1, 1, 1, []byte{0}}}))
	f.Fuzz(func(t *testing.T, b []byte) {
		grids, err := Unpack(b)
		if err != nil {
			return
		}
		for _, g := range grids {
			if len(g.Values) != g.Layers*g.Rows*g.Columns {
				t.Fatalf("%d values of %d × %d × %d", len(g.Values), g.Layers, g.Rows, g.Columns)
			}
		}
	})
}
