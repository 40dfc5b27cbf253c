package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"path"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

//go:embed templates/*.html
var templateFiles embed.FS

//go:embed static
var staticFiles embed.FS

// pages are the templates; they place finished text.
var pages = template.Must(template.New("").Funcs(template.FuncMap{"asset": asset, "sentence": sentence}).ParseFS(templateFiles, "templates/*.html"))

// assets are the files a page loads, by name, with a mark of their content.
var assets = func() map[string]string {
	out := map[string]string{}
	err := fs.WalkDir(staticFiles, "static", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := staticFiles.ReadFile(p)
		sum := sha256.Sum256(text)
		out[path.Base(p)] = hex.EncodeToString(sum[:6])
		return err
	})
	if err != nil {
		panic("web: " + err.Error())
	}
	return out
}()

// asset returns the address of a file a page loads; it changes with the content, so that it may be kept.
func asset(name string) string { return "/static/" + name + "?" + assets[name] }

// kinds are the content types of the files served.
var kinds = map[string]string{".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".woff2": "font/woff2", ".txt": "text/plain; charset=utf-8"}

func (s *Server) static(r *http.Request) (*reply, error) {
	name := r.PathValue("file")
	kind, ok := kinds[path.Ext(name)]
	if _, known := assets[name]; !known || !ok {
		return nil, errNoPage
	}
	text, err := staticFiles.ReadFile("static/" + name)
	if err != nil {
		return nil, err
	}
	return &reply{kind: kind, body: text, lasting: r.URL.RawQuery == assets[name]}, nil
}

// tab is a sheet in the row of sheets.
type tab struct {
	Number int
	Key    string
	Title  string
	Here   bool
	Later  bool // of what was measured: in the second row
}

// tabs are the sheets of a build, in the order of the work.
var tabs = func() []tab {
	var out []tab
	for i, t := range [][2]string{{"needs", "Needs"}, {"roof", "Roof"}, {"shade", "Shade"}, {"choice", "Choice"}, {"wiring", "Wiring"}, {"mounting", "Mounting"}, {"dayplan", "Day"},
		{"trip", "Trip"}, {"battery", "Battery"}, {"parts", "Parts"}, {"rules", "Rules"}, {"basis", "Basis"}, {"book", "Book"}} {
		out = append(out, tab{Number: i + 1, Key: t[0], Title: t[1]})
	}
	for _, t := range [][2]string{{"bench", "Bench"}, {"record", "Record"}, {"log", "Log"}, {"fault", "Fault"}, {"claim", "Claim"}} {
		out = append(out, tab{Number: len(out) + 1, Key: t[0], Title: t[1], Later: true})
	}
	return out
}()

// sheetKeys are the tabs by name.
func sheetKeys() []string {
	var out []string
	for _, t := range tabs {
		out = append(out, t.Key)
	}
	return out
}

// frame is what every page has.
type frame struct {
	Title   string
	Build   string // its name on the shelf; empty: a page of none
	Name    string // as the text calls it
	Tabs    []tab
	Module  string // a script of its own; empty: none
	Notice  string
	Sheet   string // "2 Roof"
	Rev     int
	When    string
	Head    bool // the revision shown is the current one
	CanUndo bool
	CanRedo bool
	Paper   bool   // a sheet of measurements: it prints from the browser
	Units   string // as typed; empty: not written
	Parent  int    // the revision it was made from; 0: none
}

// Here returns the key of the sheet shown, "" for another page.
func (f frame) Here() string {
	for _, t := range f.Tabs {
		if t.Here {
			return t.Key
		}
	}
	return ""
}

// HasSheet reports whether the page is a sheet that can be compared.
func (f frame) HasSheet() bool { return f.Here() != "" && f.Here() != "book" && !f.Paper }

// UnitWords are how figures can print.
func (f frame) UnitWords() []string { return []string{"metric", "imperial", "as typed"} }

// frameOf returns the frame of a build's page.
func (s *Server) frameOf(o opened, key, title string) frame {
	f := frame{Title: title, Build: o.Build, Name: o.Build, Rev: o.Number, When: day(o.At), Head: o.Head, CanUndo: o.Parent > 0, CanRedo: o.Next > 0, Sheet: title, Parent: o.Parent}
	if o.build != nil && o.build.Name != "" {
		f.Name = o.build.Name
	}
	for _, g := range buildfile.Fields(o.Text, "units") {
		if len(g.Fields[0].Texts) == 1 {
			f.Units = g.Fields[0].Texts[0]
		}
	}
	for _, t := range tabs {
		t.Here = t.Key == key
		if t.Here {
			f.Sheet = fmt.Sprintf("%d %s", t.Number, t.Title)
		}
		f.Tabs = append(f.Tabs, t)
	}
	return f
}

// Path returns the address of a page of the build.
func (f frame) Path(page string) string { return "/b/" + url.PathEscape(f.Build) + "/" + page }

// day prints the date of a revision.
func day(t time.Time) string { return t.Local().Format("2 Jan 2006, 15:04") }

// pathOf returns the address of a build's page.
func pathOf(name, page string) string { return "/b/" + url.PathEscape(name) + "/" + page }

// baseOf reads the revision a form was made from.
func baseOf(r *http.Request) (int, error) {
	var base int
	if n, err := fmt.Sscanf(r.PostFormValue("base"), "%d", &base); n != 1 || err != nil || base < 1 {
		return 0, wrong("the form does not say which revision it was made from")
	}
	return base, nil
}

// formOf reads a form; a body over its limit is refused.
func formOf(r *http.Request) error {
	if strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data") {
		return formError(r.ParseMultipartForm(store.LargestText))
	}
	return formError(r.ParseForm())
}

func formError(err error) error {
	if err == nil || statusOf(err) == http.StatusRequestEntityTooLarge {
		return err
	}
	return wrong("the form cannot be read: %v", err)
}

// sentence begins a text with a capital, and leaves its full stop to the page.
func sentence(text string) string {
	text = strings.TrimRight(text, ". ")
	r, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[size:]
}
