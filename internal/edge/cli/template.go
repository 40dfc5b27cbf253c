package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"noonmark/internal/build/build"
	"noonmark/internal/sheet/book"
)

func templateCommand(s *Streams) *cobra.Command {
	var out output
	var paper, surface string
	var cut book.Cut
	c := &cobra.Command{
		Use:   "template BUILD -o F.pdf",
		Short: "the modules in their own size, over as many pages as it takes, to mask and to mark from",
		Long: `Writes a 1 : 1 template as a PDF: a map of the tiles, then the tiles, with crosses to join them and a bar
to measure. Print at 100 %, never fitted to the page, and measure the bar.

  noonmark template van.yaml -o template.pdf
  noonmark template van.yaml -o A.pdf --module A --paper letter`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if _, err := out.ready(".pdf"); err != nil {
				return err
			}
			p, err := paperOf(paper)
			if err != nil {
				return err
			}
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			if err := pick(&b.build, &cut, surface); err != nil {
				return err
			}
			stamp, err := stampOf(s, b, args[0], p)
			if err != nil {
				return err
			}
			pages, err := book.TemplatePages(stamp, &b.build, cut)
			if err != nil {
				return misuse("%v", err)
			}
			if err := out.write(func(w io.Writer) error { return book.Template(w, stamp, &b.build, cut) }); err != nil {
				return err
			}
			fmt.Fprintf(s.Out, "%s: a map and %s\n", out.path, count(len(pages)-1, "tile"))
			return nil
		},
	}
	out.flags(c, "the PDF to write")
	c.Flags().StringVar(&paper, "paper", "A4", "A4 or Letter")
	c.Flags().StringVar(&surface, "surface", "", "which surface, when modules lie on several")
	c.Flags().StringVar(&cut.Module, "module", "", "one module only")
	c.Flags().BoolVar(&cut.Mirror, "mirror", false, "mirrored, to mark from below")
	return c
}

// pick finds the surface and the module named.
func pick(b *build.Build, cut *book.Cut, surface string) error {
	if len(b.Modules) == 0 {
		return misuse("the build has no modules")
	}
	cut.Surface = b.Modules[0].Surface
	if surface != "" {
		at := slices.IndexFunc(b.Surfaces, func(s build.Surface) bool { return s.Name == surface })
		if at < 0 {
			var names []string
			for _, s := range b.Surfaces {
				names = append(names, s.Name)
			}
			return misuse("no surface %q; there are %s", surface, strings.Join(names, ", "))
		}
		cut.Surface = at
	}
	if cut.Module != "" {
		at := slices.IndexFunc(b.Modules, func(m build.Module) bool { return m.Name == cut.Module })
		if at < 0 {
			var names []string
			for _, m := range b.Modules {
				names = append(names, m.Name)
			}
			return misuse("no module %q; there are %s", cut.Module, strings.Join(names, ", "))
		}
		if surface != "" && b.Modules[at].Surface != cut.Surface {
			return misuse("module %s lies on %s, not on %s", cut.Module, b.Surfaces[b.Modules[at].Surface].Name, surface)
		}
		cut.Surface = b.Modules[at].Surface
	}
	return nil
}
