package noonmark

import (
	"fmt"
	"go/ast"
	"go/constant"
	"go/parser"
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

// bare reports whether an expression is a number written out or named, not zero, that stands as a
// quantity without its unit. A Ratio is a plain number by nature.
func bare(info *types.Info, e ast.Expr) (string, bool) {
	tv := info.Types[e]
	name, ok := quantityType(tv.Type)
	return name, ok && name != "Ratio" && tv.Value != nil && constant.Sign(tv.Value) != 0 && unitless(info, e)
}

// unitless reports whether no part of a constant expression is a unit, a constant declared as a quantity.
func unitless(info *types.Info, e ast.Expr) bool {
	plain := true
	ast.Inspect(e, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.CallExpr: // a conversion: judged by itself
			plain = plain && !info.Types[x.Fun].IsType()
		case *ast.Ident:
			if c, ok := info.Uses[x].(*types.Const); ok {
				if _, unit := quantityType(c.Type()); unit {
					plain = false
				}
			}
		}
		return plain
	})
	return plain
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
		case *ast.AssignStmt:
			if x.Tok == token.MUL_ASSIGN || x.Tok == token.QUO_ASSIGN {
				a, okA := variable(x.Lhs[0])
				if _, okB := variable(x.Rhs[0]); okA && okB {
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
			if name, ok := quantityType(info.Types[x.Fun].Type); ok && name != "Ratio" {
				if v := info.Types[x.Args[0]].Value; v != nil && constant.Sign(v) != 0 && unitless(info, x.Args[0]) {
					out = append(out, fset.Position(x.Pos()).String()+": a bare number as a "+name)
				}
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

// changes finds in a file the writes to a package's variables outside its declarations: below edge
// nothing changes what the next call sees. A sync.OnceValue holds what is made at first use.
func changes(fset *token.FileSet, p *types.Package, info *types.Info, f *ast.File) []string {
	var out []string
	look := func(e ast.Expr) {
		for {
			switch x := e.(type) {
			case *ast.IndexExpr:
				e = x.X
				continue
			case *ast.SelectorExpr:
				if v, ok := info.Uses[x.Sel].(*types.Var); ok && v.Parent() != nil && v.Pkg() != nil && v.Parent() == v.Pkg().Scope() {
					out = append(out, fset.Position(x.Pos()).String()+": writes to "+v.Name())
				}
				e = x.X
				continue
			case *ast.StarExpr:
				e = x.X
				continue
			case *ast.ParenExpr:
				e = x.X
				continue
			case *ast.Ident:
				if v, ok := info.Uses[x].(*types.Var); ok && v.Parent() == p.Scope() {
					out = append(out, fset.Position(x.Pos()).String()+": writes to "+v.Name())
				}
			}
			return
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.AssignStmt:
			for _, e := range x.Lhs {
				look(e)
			}
		case *ast.IncDecStmt:
			look(x.X)
		}
		return true
	})
	return out
}

// No quantity is multiplied by a quantity, none becomes another, and no bare number is one, outside
// package quantity; below edge no package variable is written to. The test asks the go command, so it
// runs with -count=1.
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
			if !strings.Contains(p.PkgPath, "/internal/edge/") && strings.Contains(p.PkgPath, "/internal/") {
				for _, fault := range changes(p.Fset, p.Types, p.TypesInfo, f) {
					t.Error(fault)
				}
			}
		}
	}
	if files < 30 {
		t.Errorf("looked at %d files, want the whole house", files)
	}
}

// The rules can fail: each fault of a bad file shows, and nothing of a good one.
func TestUnitsCanFail(t *testing.T) {
	pkgs, err := packages.Load(&packages.Config{Mode: loadMode}, "./internal/base/quantity")
	if err != nil || len(pkgs) != 1 {
		t.Fatalf("%v, %d packages", err, len(pkgs))
	}
	quantity := pkgs[0].Types
	for _, c := range []struct {
		name, code string
		want       int
	}{
		{"good", "const least = 2.5 * quantity.SquareMillimetre\nfunc F(a quantity.Power, x float64, r quantity.Ratio) (quantity.Power, quantity.Power, bool) { return a * 2, quantity.Power(x * a.Watts()), a > 0 && a < 3*quantity.Watt && r < 0.5 }", 0},
		{"product", "func F(a, b quantity.Power) quantity.Power { return a * b }", 1},
		{"quotient", "func F(a, b quantity.Power) quantity.Power { return a / b }", 1},
		{"product in place", "func F(a, b quantity.Power) quantity.Power { a *= b; return a }", 1},
		{"conversion", "func F(v quantity.Voltage) quantity.Power { return quantity.Power(v) }", 1},
		{"bare return", "func F() quantity.Power { return 7 }", 1},
		{"bare negative", "func F(a quantity.Power) bool { return a < -7 }", 1},
		{"bare named", "const most = 7\nfunc F(a quantity.Power) bool { return a > most }", 1},
		{"bare converted", "func F() quantity.Area { return quantity.Area(2.5) }", 1},
		{"bare argument", "func G(quantity.Area) {}\nfunc F() { G(2.5) }", 1},
		{"bare field", "type S struct{ A quantity.Area }\nvar F = S{A: 2.5}", 1},
		{"written variable", "var count int\nvar table [3]int\nfunc F() { count++; table[1] = 2; local := 1; local++; _ = local }", 2},
	} {
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, "bad.go", "package bad\nimport \"noonmark/internal/base/quantity\"\nvar _ quantity.Power\n"+c.code+"\n", 0)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}}
		p, err := (&types.Config{Importer: only{quantity}}).Check("bad", set, []*ast.File{f}, info)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		faults := append(unitFaults(set, info, f), changes(set, p, info, f)...)
		if len(faults) != c.want {
			t.Errorf("%s: got %d faults, want %d: %v", c.name, len(faults), c.want, faults)
		}
	}
}

// only imports one package.
type only struct{ p *types.Package }

func (o only) Import(path string) (*types.Package, error) {
	if path != o.p.Path() {
		return nil, fmt.Errorf("no package %s", path)
	}
	return o.p, nil
}
