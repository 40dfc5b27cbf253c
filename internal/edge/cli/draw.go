package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"noonmark/internal/sheet/book"
	"noonmark/internal/sheet/draw"
	"noonmark/internal/sheet/sheet"
)

// Width and height of a drawing alone, in millimetres: the field of an A4 page on its long side.
const fieldWidth, fieldHeight = 206, 150

func drawCommand(s *Streams) *cobra.Command {
	var p printing
	var figure int
	c := &cobra.Command{
		Use:   "draw BUILD SHEET -o F.svg|F.pdf",
		Short: "one sheet or one drawing: " + strings.Join(sheet.Keys(), ", "),
		Long: `Writes a drawing of the sheet as SVG, or the whole sheet with its title block as PDF.
Sheets: ` + strings.Join(sheet.Keys(), ", ") + `. SVG takes the first drawing of the sheet, or the one --figure names;
a sheet without a drawing is written as PDF only.

  noonmark draw van.yaml roof -o roof.svg
  noonmark draw van.yaml wiring -o wiring.pdf`,
		Args: exactly(2, "a build file and a sheet"),
		RunE: func(cmd *cobra.Command, args []string) error {
			kind, err := p.out.ready(".svg", ".pdf")
			if err != nil {
				return err
			}
			at := slices.Index(sheet.Keys(), args[1])
			if at < 0 {
				return misuse("no sheet %q; there are %s", args[1], strings.Join(sheet.Keys(), ", "))
			}
			j, stamp, err := p.job(cmd.Context(), s, args[0], jobOptions{shade: args[1] == "shade", bank: args[1] == "battery", sure: args[1] == "trip" && kind == ".pdf"})
			if err != nil {
				return err
			}
			sh := sheet.All(j)[at]
			if kind == ".pdf" {
				pages := book.Single(stamp, at+1, sh)
				return p.out.write(func(w io.Writer) error {
					d := draw.NewDocument(draw.About{Title: stamp.Build + ": " + sh.Title, Made: stamp.Made})
					for _, p := range pages {
						d.Page(p)
					}
					_, err := d.WriteTo(w)
					return err
				})
			}
			if figure < 1 || figure > len(sh.Figures) {
				return misuse("sheet %s has %s; --figure %d is none of them", args[1], count(len(sh.Figures), "drawing"), figure)
			}
			f := sh.Figures[figure-1]
			scene := f.Draw(fieldWidth, fieldHeight)
			if err := p.out.write(func(w io.Writer) error { _, err := w.Write(scene.SVG(sh.Key)); return err }); err != nil {
				return err
			}
			fmt.Fprintf(s.Out, "%s: %s\n", p.out.path, f.Title)
			return nil
		},
	}
	p.flags(c, "the SVG or PDF to write")
	c.Flags().IntVar(&figure, "figure", 1, "which drawing of the sheet, for SVG")
	return c
}
