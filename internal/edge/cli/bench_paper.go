package cli

import (
	"crypto/sha256"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"noonmark/internal/sheet/book"
	"noonmark/internal/sheet/sheet"
)

// onPaper is a sheet's way to a PDF, for commands whose first answer is text.
type onPaper struct {
	output
	paper string
}

func (p *onPaper) add(c *cobra.Command) {
	p.flags(c, "write the sheet to this PDF too")
	c.Flags().StringVar(&p.paper, "paper", "A4", "A4 or Letter, for the PDF")
}

// asked reports whether a PDF is wanted, and whether it may be written.
func (p *onPaper) asked() (bool, error) {
	if p.path == "" {
		return false, nil
	}
	if _, err := p.ready(".pdf"); err != nil {
		return false, err
	}
	_, err := paperOf(p.paper)
	return err == nil, err
}

// sheets writes the sheets. Without a build the title block has the readings' file and its mark.
func (p *onPaper) sheets(s *Streams, b *openedBuild, buildFile, readings string, list ...sheet.Sheet) error {
	if s.took != nil {
		s.took(list)
		return nil
	}
	paper, err := paperOf(p.paper)
	if err != nil {
		return err
	}
	stamp := book.Stamp{Build: readings, Revision: "–", Made: s.Clock(), Program: version, Paper: paper}
	switch {
	case b != nil:
		if stamp, err = stampOf(s, b, buildFile, paper); err != nil {
			return err
		}
	case readings != "-":
		text, err := os.ReadFile(readings)
		if err != nil {
			return misuse("%v", err)
		}
		sum := sha256.Sum256(text)
		stamp.Revision = fmt.Sprintf("%x", sum[:4])
	}
	if err := p.write(func(w io.Writer) error { return book.Packet(w, stamp, list[0].Title+": "+stamp.Build, list) }); err != nil {
		return err
	}
	fmt.Fprintf(s.Err, "%s: %s\n", p.path, count(len(book.PacketPages(stamp, list)), "page"))
	return nil
}
