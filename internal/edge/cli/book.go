package cli

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/sheet/book"
)

func bookCommand(s *Streams) *cobra.Command {
	var out output
	var paper string
	var years int
	var seed uint64
	var noMends bool
	c := &cobra.Command{
		Use:   "book BUILD -o F.pdf",
		Short: "everything on paper: drawings, rules, cuts, days, cautions, cards, papers to ask about",
		Long: `Writes the sheets of the build as a PDF, with title blocks, what was assumed, sources and cautions.
Print it at 100 %, not fitted to the page: the drawings are to scale.

  noonmark book van.yaml -o van.pdf
  noonmark book van.yaml -o van.pdf --paper letter --force`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if _, err := out.ready(".pdf"); err != nil {
				return err
			}
			p, err := paperOf(paper)
			if err != nil {
				return err
			}
			if years < 1 || years > 10000 {
				return misuse("--years %d: wanted between 1 and 10000", years)
			}
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			stamp, err := stampOf(s, b, args[0], p)
			if err != nil {
				return err
			}
			j, err := jobOf(cmd.Context(), s, b, jobOptions{trip: forecast.Options{Years: years, Seed: seed}, shade: true, mends: !noMends})
			if err != nil {
				return err
			}
			sheets := book.Sheets(j)
			if err := out.write(func(w io.Writer) error { return book.Write(w, stamp, sheets) }); err != nil {
				return err
			}
			fmt.Fprintf(s.Out, "%s: %s\n", out.path, count(len(book.Pages(stamp, sheets)), "page"))
			return nil
		},
	}
	out.flags(c, "the PDF to write")
	c.Flags().StringVar(&paper, "paper", "A4", "A4 or Letter")
	c.Flags().IntVar(&years, "years", tripYears, "weather years")
	c.Flags().Uint64Var(&seed, "seed", 1, "seed of the weather years")
	c.Flags().BoolVar(&noMends, "no-mends", false, "look for no mends of the shade: quicker")
	return c
}

// flags adds -o and --force to a command.
func (o *output) flags(c *cobra.Command, what string) {
	c.Flags().StringVarP(&o.path, "output", "o", "", what)
	c.Flags().BoolVar(&o.force, "force", false, "write over a file that exists")
}
