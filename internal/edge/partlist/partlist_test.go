package partlist

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"noonmark/internal/answer/parts"
	"noonmark/internal/base/quantity"
)

// sample is the list of an example, with names that look like formulas.
func sample(t *testing.T) List {
	t.Helper()
	each, sum := 310.0, 620.0
	l := List{Build: "Heron", Currency: "EUR", Parts: []parts.Part{
		{Group: parts.Modules, Number: 2, Name: "foil-95", Note: "95 W, 1.70 × 0.35 m", Price: &each, Sum: &sum},
		{Group: parts.Cable, Number: 5.5, Unit: "m", Name: "cable 4 mm², red"},
	}, Cuts: []parts.Cut{{Run: "roof", Pole: "plus", Size: "4 mm²", OneWay: 4.5 * quantity.Metre, Slack: 135 * quantity.Millimetre,
		Loops: 0.7 * quantity.Metre, Ends: 0.3 * quantity.Metre, Length: 5.65 * quantity.Metre, Why: "drip loop and hinge loop"}}}
	for _, name := range []string{"=1+1", "+49 30", "-5 V", "@SUM(A1:A9)", "\tcmd", `=HYPERLINK("http://x","y")`, "a, \"b\"; c", "Ω ² ° −"} {
		l.Parts = append(l.Parts, parts.Part{Group: parts.Spares, Number: 1, Name: name, Note: name})
	}
	l.Cuts = append(l.Cuts, parts.Cut{Run: "=2+2", Pole: "plus", Size: "4 mm²"})
	return l
}

// The workbook, opened again, holds every line; numbers are numbers and no cell is a formula.
func TestXLSX(t *testing.T) {
	l := sample(t)
	var out bytes.Buffer
	if err := WriteXLSX(&out, l); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&out)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for sheet, n := range map[string]int{"parts": len(l.Parts), "cuts": len(l.Cuts)} {
		rows, err := f.GetRows(sheet)
		if err != nil || len(rows) < n+1 {
			t.Fatalf("%s: %d rows, want %d and more: %v", sheet, len(rows), n+1, err)
		}
		for r := range rows {
			for c := range rows[r] {
				at, _ := excelize.CoordinatesToCellName(c+1, r+1)
				if formula, err := f.GetCellFormula(sheet, at); err != nil || formula != "" {
					t.Errorf("%s %s is the formula %q, %v", sheet, at, formula, err)
				}
			}
		}
	}
	for i, p := range l.Parts {
		row := strconv.Itoa(i + 2)
		for col, want := range map[string]string{"A": string(p.Group), "C": p.Unit, "D": p.Name, "E": p.Note} {
			if got, err := f.GetCellValue("parts", col+row); err != nil || got != want {
				t.Errorf("%s%s: got %q, want %q, %v", col, row, got, want, err)
			}
			if kind, _ := f.GetCellType("parts", col+row); want != "" && kind != excelize.CellTypeSharedString && kind != excelize.CellTypeInlineString {
				t.Errorf("%s%s, %q, is of kind %v, want text", col, row, want, kind)
			}
		}
		raw, err := f.GetCellValue("parts", "B"+row, excelize.Options{RawCellValue: true})
		got, bad := strconv.ParseFloat(raw, 64)
		if err != nil || bad != nil || math.Abs(got-p.Number) > 1e-12 {
			t.Errorf("B%s: got %q, want %g", row, raw, p.Number)
		}
		if p.Sum != nil {
			raw, _ := f.GetCellValue("parts", "G"+row, excelize.Options{RawCellValue: true})
			if got, _ := strconv.ParseFloat(raw, 64); got != *p.Sum {
				t.Errorf("G%s: got %q, want %g", row, raw, *p.Sum)
			}
		}
	}
}

// CSV reads back, and no cell of it begins as a formula does.
func TestCSV(t *testing.T) {
	l := sample(t)
	var out bytes.Buffer
	if err := WriteCSV(&out, l); err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(&out)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		for _, cell := range row {
			if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
				t.Errorf("row %d: %q begins as a formula", i, cell)
			}
		}
	}
	for i, p := range l.Parts {
		if got := strings.TrimPrefix(rows[i+1][3], "'"); got != p.Name {
			t.Errorf("row %d: got %q, want %q", i+1, got, p.Name)
		}
	}
}
