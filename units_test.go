package noonmark

import (
	"go/ast"
	"go/constant"
	"go/token"
	"go/types"
	"strings"
	"testing"

	"golang.org/x/tools/go/packages"
)

// quantityType reports whether a type is one of package quantity's numbers, and its name. Ratio is a
// plain number by nature and may multiply.
func quantityType(t types.Type) (string, bool) {
	n, ok := t.(*types.Named)
	if !ok || n.Obj().Pkg() == nil || n.Obj().Pkg().Path() != "noonmark/internal/base/quantity" {
		return "", false
	}
	_, number := n.Underlying().(*types.Basic)
	return n.Obj().Name(), number
}

// bare reports whether an expression is a number written out, not zero, that stands as a quantity. A
// Ratio is a plain number by nature.
func bare(info *types.Info, e ast.Expr) (string, bool) {
	x := e
	if u, ok := x.(*ast.UnaryExpr); ok && u.Op == token.SUB {
		x = u.X
	}
	if _, ok := x.(*ast.BasicLit); !ok {
		return "", false
	}
	tv := info.Types[e]
	name, ok := quantityType(tv.Type)
	return name, ok && name != "Ratio" && tv.Value != nil && constant.Sign(tv.Value) != 0
}

// parts returns the expressions of a node in which a bare number would stand as a quantity.
func parts(n ast.Node) []ast.Expr {
	switch x := n.(type) {
	case *ast.BinaryExpr:
		if x.Op != token.MUL && x.Op != token.QUO {
			return []ast.Expr{x.X, x.Y}
		}
	case *ast.KeyValueExpr:
		return []ast.Expr{x.Value}
	case *ast.CompositeLit:
		return x.Elts
	case *ast.AssignStmt:
		if x.Tok != token.MUL_ASSIGN && x.Tok != token.QUO_ASSIGN {
			return x.Rhs
		}
	case *ast.ReturnStmt:
		return x.Results
	case *ast.ValueSpec:
		return x.Values
	}
	return nil
}

// unitFaults finds in a file: variable times or over variable of quantity types, conversion of one
// quantity type to another, and a bare non-zero number as a quantity.
func unitFaults(fset *token.FileSet, info *types.Info, f *ast.File) []string {
	var out []string
	variable := func(e ast.Expr) (string, bool) {
		tv := info.Types[e]
		name, ok := quantityType(tv.Type)
		return name, ok && (tv.Value == nil || tv.Value.Kind() == constant.Unknown)
	}
	ast.Inspect(f, func(n ast.Node) bool {
		for _, e := range parts(n) {
			if name, ok := bare(info, e); ok {
				out = append(out, fset.Position(e.Pos()).String()+": a bare number as a "+name)
			}
		}
		switch x := n.(type) {
		case *ast.BinaryExpr:
			if x.Op == token.MUL || x.Op == token.QUO {
				a, okA := variable(x.X)
				_, okB := variable(x.Y)
				if okA && okB {
					out = append(out, fset.Position(x.Pos()).String()+": two variables of "+a+" multiplied or divided")
				}
			}
		case *ast.CallExpr:
			if !info.Types[x.Fun].IsType() {
				for _, e := range x.Args {
					if name, ok := bare(info, e); ok {
						out = append(out, fset.Position(e.Pos()).String()+": a bare number as a "+name)
					}
				}
				return true
			}
			if len(x.Args) != 1 {
				return true
			}
			to, okTo := quantityType(info.Types[x.Fun].Type)
			from, okFrom := quantityType(info.Types[x.Args[0]].Type)
			if okTo && okFrom && to != from {
				out = append(out, fset.Position(x.Pos()).String()+": "+from+" converted to "+to)
			}
		}
		return true
	})
	return out
}

const loadMode = packages.NeedName | packages.NeedFiles | packages.NeedSyntax | packages.NeedTypes | packages.NeedTypesInfo | packages.NeedImports | packages.NeedDeps

// No quantity is multiplied by a quantity, none becomes another, and no bare number is one, outside
// package quantity. The
// test asks the go command, so it runs with -count=1.
func TestUnits(t *testing.T) {
	pkgs, err := packages.Load(&packages.Config{Mode: loadMode}, "./internal/...", "./cmd/...")
	if err != nil {
		t.Fatal(err)
	}
	files := 0
	for _, p := range pkgs {
		for _, e := range p.Errors {
			t.Error(e)
		}
		if strings.HasSuffix(p.PkgPath, "base/quantity") {
			continue
		}
		for _, f := range p.Syntax {
			files++
			for _, fault := range unitFaults(p.Fset, p.TypesInfo, f) {
				t.Error(fault)
			}
		}
	}
	if files < 30 {
		t.Errorf("looked at %d files, want the whole house", files)
	}
}

// The rule can fail: a file with all three faults shows them.
func TestUnitsCanFail(t *testing.T) {
	dir := t.TempDir()
	overlay := map[string][]byte{dir + "/bad.go": []byte(`package bad
import "noonmark/internal/base/quantity"
func Bad(a, b quantity.Power, v quantity.Voltage) (quantity.Power, quantity.Power, quantity.Power) { return a * b, quantity.Power(v), 7 }
`)}
	pkgs, err := packages.Load(&packages.Config{Mode: loadMode, Overlay: overlay}, "file="+dir+"/bad.go")
	if err != nil || len(pkgs) == 0 {
		t.Fatalf("%v, %d packages", err, len(pkgs))
	}
	var faults []string
	for _, f := range pkgs[0].Syntax {
		faults = append(faults, unitFaults(pkgs[0].Fset, pkgs[0].TypesInfo, f)...)
	}
	if len(faults) != 3 {
		t.Errorf("got %d faults, want 3: %v %v", len(faults), faults, pkgs[0].Errors)
	}
}
