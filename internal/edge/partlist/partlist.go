// Package partlist writes a parts list for a spreadsheet: CSV, and XLSX with a second sheet for the cuts.
//
// A name that begins with =, +, - or @, or with a tab or a line end, is text and never a formula: XLSX holds
// it as a string, CSV, which has no types, puts an apostrophe before it.
package partlist

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"noonmark/internal/answer/parts"
)

// List is a parts list with what stands over it.
type List struct {
	Build    string
	Currency string
	Parts    []parts.Part
	Cuts     []parts.Cut
}

// text makes a cell of CSV that no spreadsheet takes for a formula.
func text(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r\n", rune(s[0])) {
		return "'" + s
	}
	return s
}

func (l *List) head() []string {
	money := "price each"
	sum := "price together"
	if l.Currency != "" {
		money, sum = money+", "+l.Currency, sum+", "+l.Currency
	}
	return []string{"group", "number", "unit", "part", "note", money, sum}
}

var cutHead = []string{"run", "pole", "size", "along the run, m", "slack, m", "loops, m", "ends, m", "cut, m", "loops for"}

// WriteCSV writes the list as CSV in UTF-8 with a decimal point, the parts and then, under a heading, the cuts.
func WriteCSV(w io.Writer, l List) error {
	c := csv.NewWriter(w)
	rows := [][]string{l.head()}
	for _, p := range l.Parts {
		row := []string{text(string(p.Group)), number(p.Number), text(p.Unit), text(p.Name), text(p.Note), "", ""}
		if p.Price != nil {
			row[5] = number(*p.Price)
		}
		if p.Sum != nil {
			row[6] = number(*p.Sum)
		}
		rows = append(rows, row)
	}
	if len(l.Cuts) > 0 {
		rows = append(rows, []string{}, cutHead)
	}
	for _, k := range l.Cuts {
		rows = append(rows, []string{text(k.Run), k.Pole, text(k.Size), number(k.OneWay.Metres()), number(k.Slack.Metres()), number(k.Loops.Metres()),
			number(k.Ends.Metres()), number(k.Length.Metres()), text(k.Why)})
	}
	if err := c.WriteAll(rows); err != nil {
		return fmt.Errorf("parts list: %w", err)
	}
	return nil
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// WriteXLSX writes the list as a workbook: sheet "parts" and sheet "cuts". Sums are values, not formulas.
func WriteXLSX(w io.Writer, l List) error {
	f := excelize.NewFile()
	defer f.Close()
	b := book{f: f}
	b.do(f.SetSheetName("Sheet1", "parts"))
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Border: []excelize.Border{{Type: "bottom", Style: 1, Color: "000000"}}})
	b.do(err)
	// A quote prefix keeps a text a text when a hand edits the cell later.
	quoted, err := f.NewStyle(&excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}, NumFmt: 49})
	b.do(err)
	b.row("parts", 1, bold, anys(l.head()))
	r := 2
	for _, p := range l.Parts {
		row := []any{string(p.Group), p.Number, p.Unit, p.Name, p.Note, nil, nil}
		if p.Price != nil {
			row[5] = *p.Price
		}
		if p.Sum != nil {
			row[6] = *p.Sum
		}
		b.row("parts", r, quoted, row)
		r++
	}
	if sum, unpriced := parts.Total(l.Parts); sum > 0 {
		b.row("parts", r+1, bold, []any{"together", nil, nil, fmt.Sprintf("of the lines with a price; %d have none, tools not counted", unpriced), nil, nil, sum})
	}
	for i, width := range []float64{24, 9, 7, 40, 70, 14, 14} {
		b.width("parts", i, width)
	}
	b.panes("parts")
	_, err = f.NewSheet("cuts")
	b.do(err)
	b.row("cuts", 1, bold, anys(cutHead))
	for i, k := range l.Cuts {
		b.row("cuts", i+2, quoted, []any{k.Run, k.Pole, k.Size, k.OneWay.Metres(), k.Slack.Metres(), k.Loops.Metres(), k.Ends.Metres(), k.Length.Metres(), k.Why})
	}
	for i, width := range []float64{28, 8, 10, 14, 10, 10, 10, 10, 28} {
		b.width("cuts", i, width)
	}
	b.panes("cuts")
	b.do(f.SetDocProps(&excelize.DocProperties{Title: "parts of " + l.Build, Creator: "noonmark"}))
	if b.err == nil {
		b.do(f.Write(w))
	}
	if b.err != nil {
		return fmt.Errorf("parts list: %w", b.err)
	}
	return nil
}

// book gathers the first error of many small calls.
type book struct {
	f   *excelize.File
	err error
}

func (b *book) do(err error) {
	if b.err == nil {
		b.err = err
	}
}

// row writes a row: texts as strings, whatever they begin with, numbers as numbers, nil as nothing.
func (b *book) row(sheet string, r, style int, cells []any) {
	for i, c := range cells {
		at, err := excelize.CoordinatesToCellName(i+1, r)
		b.do(err)
		switch v := c.(type) {
		case string:
			b.do(b.f.SetCellStr(sheet, at, v))
			b.do(b.f.SetCellStyle(sheet, at, at, style))
		case float64:
			b.do(b.f.SetCellFloat(sheet, at, v, -1, 64))
		}
	}
}

func (b *book) width(sheet string, i int, width float64) {
	name, err := excelize.ColumnNumberToName(i + 1)
	b.do(err)
	b.do(b.f.SetColWidth(sheet, name, name, width))
}

func (b *book) panes(sheet string) {
	b.do(b.f.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}))
}

func anys(list []string) []any {
	out := make([]any, len(list))
	for i, s := range list {
		out[i] = s
	}
	return out
}
