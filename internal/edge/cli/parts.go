package cli

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/parts"
	"noonmark/internal/edge/partlist"
)

func partsCommand(s *Streams) *cobra.Command {
	var out output
	c := &cobra.Command{
		Use:   "parts BUILD -o F.xlsx|F.csv",
		Short: "the parts list and the cut list for a spreadsheet",
		Long: `Writes what to buy and what to cut: modules and devices, cable with slack, loops and waste, plugs,
fuses, labels, what is used up, tools, spares, and prices where the build gives them.

  noonmark parts van.yaml -o parts.xlsx
  noonmark parts van.yaml -o parts.csv`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			kind, err := out.ready(".xlsx", ".csv")
			if err != nil {
				return err
			}
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			l := partlist.List{Build: b.build.Name, Currency: b.build.Currency, Parts: parts.Of(&b.build), Cuts: parts.Cuts(&b.build)}
			write := partlist.WriteXLSX
			if kind == ".csv" {
				write = partlist.WriteCSV
			}
			if err := out.write(func(w io.Writer) error { return write(w, l) }); err != nil {
				return err
			}
			fmt.Fprintf(s.Out, "%s: %s, %s\n", out.path, count(len(l.Parts), "line"), count(len(l.Cuts), "cut"))
			return nil
		},
	}
	out.flags(c, "the XLSX or CSV to write")
	return c
}
