package book

import (
	"fmt"
	"io"

	"noonmark/internal/sheet/draw"
	"noonmark/internal/sheet/sheet"
)

// Packet writes sheets as a PDF of their own, without a first page. Equal sheets and an equal stamp give
// equal bytes.
func Packet(w io.Writer, st Stamp, title string, sheets []sheet.Sheet) error {
	d := draw.NewDocument(draw.About{Title: title, Subject: st.Build + ", made by noonmark " + st.Program, Made: st.Made})
	for _, p := range PacketPages(st, sheets) {
		d.Page(p)
	}
	_, err := d.WriteTo(w)
	return err
}

// PacketPages returns the pages of a packet as scenes, numbered through.
func PacketPages(st Stamp, sheets []sheet.Sheet) []*draw.Scene {
	var all [][]laid
	total := 0
	for i := range sheets {
		all = append(all, lay(st, i+1, &sheets[i]))
		total += len(all[i])
	}
	w, h := st.Paper.size()
	var out []*draw.Scene
	for i, pages := range all {
		for k, p := range pages {
			name := fmt.Sprintf("%d %s", i+1, sheets[i].Title)
			if k > 0 {
				name += ", continued"
			}
			titleBlock(p.scene, st, w, h, name, p.scale, len(out)+1, total)
			p.scene.Title = name
			out = append(out, p.scene)
		}
	}
	return out
}
