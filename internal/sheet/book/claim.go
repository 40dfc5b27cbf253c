package book

import (
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
	var all []laid
	for i := range sheets {
		all = append(all, layOn(st, i+1, &sheets[i], nil)...)
	}
	var out []*draw.Scene
	for i := range all {
		out = append(out, all[i].finish(st, i+1, len(all)))
	}
	return out
}
