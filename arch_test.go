package noonmark

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// floors are the floors from the ground up; a package imports those before its own.
var floors = []string{"base", "physics", "build", "answer", "sheet", "edge"}

// arrows are the imports allowed inside a floor, those of rooms to come included.
var arrows = map[string][]string{
	"base/shape":      {"base/quantity"},
	"physics/sky":     {"physics/sun", "physics/climate"},
	"physics/shade":   {"physics/sun", "physics/sky"},
	"physics/heat":    {"physics/sun", "physics/sky", "physics/shade"},
	"physics/circuit": {"physics/cell"},
	"physics/charge":  {"physics/cell", "physics/circuit"},
	"build/build":     {"build/catalog", "build/place"},
	"answer/check":    {"answer/forecast"},
	"answer/bands":    {"answer/forecast", "answer/needs"},
	"answer/battery":  {"answer/forecast"},
	"answer/bench":    {"answer/forecast"},
	"answer/needs":    {"answer/forecast"},
	"answer/parts":    {"answer/check", "answer/dayplan"},
	"answer/shading":  {"answer/forecast"},
	"answer/dayplan":  {"answer/forecast"},
	"answer/diagnose": {"answer/forecast", "answer/bench"},
	"answer/choose":   {"answer/forecast", "answer/check"},
	"answer/track":    {"answer/forecast", "answer/bench", "answer/diagnose"}, // what a lost part leaves is a fault built into the circuit
	"answer/whatif":   {"answer/forecast", "answer/check", "answer/needs", "answer/parts"},
	"sheet/sheet":     {"sheet/draw"},
	"sheet/book":      {"sheet/draw", "sheet/sheet"},
	"edge/store":      {"edge/buildfile"},
	"edge/web":        {"edge/buildfile", "edge/weather", "edge/tabular", "edge/partlist", "edge/store"},
	"edge/cli":        {"edge/buildfile", "edge/weather", "edge/tabular", "edge/calendar", "edge/partlist", "edge/store", "edge/web"},
}

// pureStd is the standard library a package below edge may use; time/tzdata embeds the zone rules, and
// all of encoding counts but what reads files of a kind.
var pureStd = []string{"bytes", "cmp", "context", "embed", "encoding", "encoding/binary", "encoding/json", "errors", "fmt", "io", "iter", "maps", "math", "math/rand/v2",
	"runtime", "slices", "sort", "strconv", "strings", "sync", "sync/atomic", "time", "time/tzdata", "unicode", "unicode/utf8"}

// granted are the rooms that may use more of the standard library, each pure.
var granted = map[string][]string{
	"build/build": {"regexp"}, // to find figures in a label's free text
}

// owners are the one room for each outside module; a second one states its reason.
var owners = map[string][]string{
	"go.yaml.in/yaml/v4":               {"edge/buildfile"},
	"github.com/spf13/cobra":           {"edge/cli"},
	"github.com/guptarohit/asciigraph": {"edge/cli"},
	"golang.org/x/text":                {"build/place", "edge/tabular"}, // folded town names; code pages
	"golang.org/x/term":                {"cmd/noonmark"},
	"codeberg.org/go-pdf/fpdf":         {"sheet/draw"},
	"golang.org/x/image":               {"sheet/draw", "edge/store"}, // the type and its measures; the head of a WebP picture
	"github.com/xuri/excelize/v2":      {"edge/partlist"},
	"rsc.io/qr":                        {"edge/web"},
	"modernc.org/sqlite":               {"edge/store"},
}

// testModules are the outside modules any test may use.
var testModules = []string{"pgregory.net/rapid", "github.com/santhosh-tekuri/jsonschema/v6", "golang.org/x/tools", "golang.org/x/net", "github.com/chromedp"}

// importsOf parses a Go file's imports and package comment.
func importsOf(t *testing.T, path string) (imports []string, comment bool) {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly|parser.ParseComments)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range f.Imports {
		p, err := strconv.Unquote(i.Path.Value)
		if err != nil {
			t.Fatal(err)
		}
		imports = append(imports, p)
	}
	return imports, f.Doc != nil
}

// fault says why a package may not import a path; "" when it may. A package is "floor/room".
func fault(pkg, path string, test bool) string {
	floor, _, _ := strings.Cut(pkg, "/")
	at := slices.Index(floors, floor)
	if at < 0 {
		return "stands on no floor"
	}
	if rest, own := strings.CutPrefix(path, "noonmark/"); own {
		if test && (rest == "internal/testkit" || rest == "examples") {
			return ""
		}
		if rest == "examples" && floor == "edge" {
			return ""
		}
		other, internal := strings.CutPrefix(rest, "internal/")
		otherFloor, _, _ := strings.Cut(other, "/")
		below := slices.Index(floors, otherFloor)
		switch {
		case !internal || below < 0:
			return "imports " + path + ", which is on no floor"
		case other == pkg || below < at || below == at && slices.Contains(arrows[pkg], other):
			return ""
		case test && below == at && floor != "edge":
			return "" // a test may hold two rooms of a floor against each other
		case test && floor == "edge" && below < at:
			return ""
		}
		return "may not import " + other
	}
	if strings.HasPrefix(path, "database/") && pkg != "edge/store" {
		return "may not use " + path + ": its owner is edge/store"
	}
	if !strings.Contains(strings.Split(path, "/")[0], ".") { // standard library
		if test || floor == "edge" || slices.Contains(pureStd, path) || slices.Contains(granted[pkg], path) {
			return ""
		}
		return "is below edge and may not use " + path
	}
	within := func(module string) bool { return path == module || strings.HasPrefix(path, module+"/") }
	if test && slices.ContainsFunc(testModules, within) {
		return ""
	}
	for module, who := range owners {
		if within(module) {
			if slices.Contains(who, pkg) {
				return ""
			}
			return "may not use " + module + ": its owner is " + strings.Join(who, ", ")
		}
	}
	return "uses " + path + ", which has no owner"
}

// The floors and their arrows hold, every package has a comment, no file is over 500 lines.
func TestHouse(t *testing.T) {
	comments := map[string]bool{}
	err := filepath.WalkDir("internal", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") {
			return err
		}
		pkg := strings.TrimPrefix(filepath.ToSlash(filepath.Dir(path)), "internal/")
		imports, comment := importsOf(t, path)
		test := strings.HasSuffix(path, "_test.go")
		if pkg == "testkit" { // beside the floors, on base alone
			for _, i := range imports {
				if strings.Contains(i, "noonmark/") && !strings.HasPrefix(i, "noonmark/internal/base/") {
					t.Errorf("%s may not import %s", path, i)
				}
			}
			return nil
		}
		for _, i := range imports {
			if f := fault(pkg, i, test); f != "" {
				t.Errorf("%s %s", path, f)
			}
		}
		if !test {
			comments[pkg] = comments[pkg] || comment
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			if n := strings.Count(string(text), "\n"); n > 500 {
				t.Errorf("%s has %d lines, want at most 500", path, n)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for pkg, ok := range comments {
		if !ok {
			t.Errorf("%s has no package comment", pkg)
		}
		if room := pkg[strings.Index(pkg, "/")+1:]; slices.Contains([]string{"util", "common", "types", "helpers"}, room) {
			t.Errorf("%s: a room named for nothing", pkg)
		}
	}
}

// The rule can fail: these imports are faults.
func TestHouseCanFail(t *testing.T) {
	for _, c := range [][2]string{
		{"physics/sun", "noonmark/internal/physics/sky"}, {"physics/sky", "os"}, {"base/quantity", "noonmark/internal/physics/sun"},
		{"answer/forecast", "noonmark/internal/answer/check"}, {"answer/forecast", "time/xyz"}, {"build/build", "go.yaml.in/yaml/v4"},
		{"physics/sun", "regexp"}, {"physics/sun", "github.com/nobody/nothing"}, {"base/numeric", "noonmark/internal/base/quantity"}, {"answer/forecast", "noonmark/internal/edge/cli"},
		{"edge/web", "database/sql"}, {"edge/cli", "modernc.org/sqlite"}, {"edge/store", "noonmark/internal/edge/cli"}, {"cellar/wine", "fmt"}, {"edge/weather", "noonmark/internal/edge/cli"}, {"physics/sun", "noonmark/internal/testkit"},
	} {
		if fault(c[0], c[1], false) == "" {
			t.Errorf("%s importing %s passed", c[0], c[1])
		}
	}
	if fault("physics/sun", "github.com/nobody/nothing", true) == "" || fault("physics/sun", "noonmark/internal/edge/cli", true) == "" {
		t.Error("a test may import anything")
	}
	if f := fault("physics/sun", "pgregory.net/rapid", true); f != "" {
		t.Error(f)
	}
}

// A command is main only: it has no room of its own to import, and a comment; outside modules have
// their owners here too.
func TestCommands(t *testing.T) {
	files, err := filepath.Glob("cmd/*/*.go")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	comments := map[string]bool{}
	for _, path := range files {
		dir := filepath.ToSlash(filepath.Dir(path))
		imports, comment := importsOf(t, path)
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		comments[dir] = comments[dir] || comment
		for _, i := range imports {
			if i == "noonmark/internal/testkit" {
				t.Errorf("%s may not import %s", path, i)
			}
			if strings.Contains(strings.Split(i, "/")[0], ".") {
				owned := false
				for module, who := range owners {
					owned = owned || (i == module || strings.HasPrefix(i, module+"/")) && slices.Contains(who, dir)
				}
				if !owned {
					t.Errorf("%s may not use %s", path, i)
				}
			}
		}
	}
	for dir, ok := range comments {
		if !ok {
			t.Errorf("%s has no package comment", dir)
		}
	}
}

// No file is left with a note to finish it.
func TestNoNotes(t *testing.T) {
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() && strings.HasPrefix(d.Name(), ".") && path != "." {
			return filepath.SkipDir
		}
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, ".md") {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, note := range []string{"TO" + "DO", "FIX" + "ME"} {
			if strings.Contains(string(text), note) {
				t.Errorf("%s has a %s", path, note)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Below edge nothing reads the clock or draws from the global source.
func TestPure(t *testing.T) {
	banned := map[string][]string{"time": {"Now", "Since", "Until", "Sleep", "After", "Tick"}, "rand": {"Float64", "IntN", "NormFloat64", "Int", "Perm", "Shuffle", "N"}}
	for _, floor := range floors[:len(floors)-1] {
		if _, err := os.Stat(filepath.Join("internal", floor)); os.IsNotExist(err) {
			continue // a floor to come
		}
		err := filepath.WalkDir(filepath.Join("internal", floor), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			set := token.NewFileSet()
			f, err := parser.ParseFile(set, path, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(f, func(n ast.Node) bool {
				if s, ok := n.(*ast.SelectorExpr); ok {
					if x, ok := s.X.(*ast.Ident); ok && x.Obj == nil && slices.Contains(banned[x.Name], s.Sel.Name) {
						t.Errorf("%s: %s.%s below edge", set.Position(s.Pos()), x.Name, s.Sel.Name)
					}
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// Every published test names its source in its comment.
func TestSourcesNamed(t *testing.T) {
	err := filepath.WalkDir("internal", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || d.Name() != "published_test.go" {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		for _, decl := range f.Decls {
			fn, ok := decl.(*ast.FuncDecl)
			if ok && fn.Recv == nil && strings.HasPrefix(fn.Name.Name, "Test") && !strings.Contains("\n"+fn.Doc.Text(), "\nSource:") {
				t.Errorf("%s: %s has no Source line", path, fn.Name.Name)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
