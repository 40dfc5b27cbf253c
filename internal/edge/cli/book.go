package cli

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"noonmark/internal/sheet/book"
)

func bookCommand(s *Streams) *cobra.Command {
	var p printing
	c := &cobra.Command{
		Use:   "book BUILD -o F.pdf",
		Short: "everything on paper: drawings, rules, cuts, days, cautions, cards, papers to ask about",
		Long: `Writes the sheets of the build as a PDF, with title blocks, what was assumed, sources and cautions.
Print it at 100 %, not fitted to the page: the drawings are to scale.

  noonmark book van.yaml -o van.pdf
  noonmark book van.yaml -o van.pdf --paper letter --force`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if _, err := p.out.ready(".pdf"); err != nil {
				return err
			}
			j, stamp, err := p.job(cmd.Context(), s, args[0], jobOptions{shade: true, bank: true, sure: true})
			if err != nil {
				return err
			}
			sheets := book.Sheets(j)
			if err := p.out.write(func(w io.Writer) error { return book.Write(w, stamp, sheets) }); err != nil {
				return err
			}
			fmt.Fprintf(s.Out, "%s: %s\n", p.out.path, count(len(book.Pages(stamp, sheets)), "page"))
			return nil
		},
	}
	p.flags(c, "the PDF to write")
	return c
}

// flags adds -o and --force to a command.
func (o *output) flags(c *cobra.Command, what string) {
	c.Flags().StringVarP(&o.path, "output", "o", "", what)
	c.Flags().BoolVar(&o.force, "force", false, "write over a file that exists")
}
