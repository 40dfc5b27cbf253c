package web

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"net/http"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"noonmark/examples"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
	"noonmark/internal/sheet/sheet"
)

// The first five minutes: eight questions, an example, or a file make a build whose sheets open; a rejected
// form comes back as typed.
func TestBegin(t *testing.T) {
	s := openSite(t, nil)
	page := s.get("/new", 200)
	if n := count(page, "input", func(n *html.Node) bool { return attr(n, "name") != "" }); n != 9 {
		t.Errorf("%d inputs, want a name and eight answers", n)
	}
	s.sees(s.post("/new", "name", "my van", "vehicle", "2.4 m x 1.4 m", "where", "Evora, PT"), "/b/my%20van/needs")
	if !strings.Contains(s.text("my van"), "name: my van") {
		t.Error("the name is not in the text")
	}
	s.get("/b/my%20van/roof", 200)
	s.sees(s.post("/new"), "/b/my%20camper/needs")
	s.sees(s.post("/new"), "/b/my%20camper%202/needs")
	page = s.page(s.post("/new", "name", "x", "vehicle", "two by one", "people", "7"), 422)
	text := words(page)
	kept := count(page, "input", func(n *html.Node) bool { return attr(n, "value") == "two by one" || attr(n, "value") == "7" })
	if kept != 2 || !strings.Contains(text, "Not yet") {
		t.Errorf("rejected form: %d answers kept; %s", kept, text)
	}
	page = s.page(s.post("/new", "where", "Nowhere at all, XX"), 422)
	if !strings.Contains(words(page), "Nowhere at all") {
		t.Errorf("unknown town: %s", words(page))
	}
	s.sees(s.post("/example", "name", "heron-van"), "/b/heron-van/roof")
	if w := s.post("/example", "name", "nothing"); w.Code != 400 {
		t.Errorf("unknown example: %d", w.Code)
	}
	s.sees(s.upload("/open", "file", "karoo.yaml", examples.All()[1].Text), "/b/karoo/needs")
	if got := s.text("karoo"); got != string(examples.All()[1].Text) {
		t.Error("the file's text changed")
	}
	s.sees(s.upload("/open", "file", "odd.yaml", []byte("name: odd\nmodules: {A: {tpye: x}}\n")), "/b/odd/text")
	page = s.get("/b/odd/roof", 200)
	if text := words(page); !strings.Contains(text, "tpye") || !strings.Contains(text, "line 2") {
		t.Errorf("a broken build: %s", text)
	}
	if w := s.upload("/open", "other", "x.yaml", nil); w.Code != 400 {
		t.Errorf("no file: %d", w.Code)
	}
	if w := s.upload("/open", "file", "x.yaml", bytes.Repeat([]byte("a"), store.LargestText+1)); w.Code != 413 {
		t.Errorf("a file over the limit: %d", w.Code)
	}
}

// The editor shows every problem at its line, keeps the text as typed, and saves a revision.
func TestEditor(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	text := strings.NewReplacer("pmax: 95 W", "pmax: 95", "hinge: front", "hnge: front", "size: 1.7 m x 0.35 m", "size: 1.7 m").Replace(s.text("heron-van"))
	s.sees(s.post("/b/heron-van/text", "base", "1", "text", strings.ReplaceAll(text, "\n", "\r\n"), "note", "three faults"), "/b/heron-van/text?saved")
	if s.text("heron-van") != text {
		t.Error("the browser's line ends went into the text")
	}
	page := s.get("/b/heron-van/text", 200)
	lines := map[string]bool{}
	each(page, func(n *html.Node) {
		if l := attr(n, "data-line"); l != "" {
			lines[l] = true
		}
	})
	for _, fault := range []string{"pmax: 95\n", "hnge: front", "size: 1.7 m\n"} {
		if line := fmt.Sprint(1 + strings.Count(text[:strings.Index(text, fault)], "\n")); !lines[line] {
			t.Errorf("no problem at line %s, %q; there are %v", line, fault, lines)
		}
	}
	each(page, func(n *html.Node) {
		if n.Data == "textarea" && (n.FirstChild == nil || n.FirstChild.Data != text) {
			t.Error("the textarea does not hold the text")
		}
	})
	page = s.get("/b/heron-van/revisions", 200)
	if !strings.Contains(words(page), "three faults") {
		t.Error("the note is not shown")
	}
	w := s.do("GET", "/b/heron-van/build.yaml", nil)
	if w.Body.String() != text || !strings.Contains(w.Header().Get("Content-Disposition"), "heron-van.yaml") {
		t.Error("the file is not the text")
	}
	for _, path := range []string{"/b/heron-van/book.pdf", "/b/heron-van/parts.csv", "/b/heron-van/drawings/roof"} {
		if w := s.do("GET", path, nil); w.Code != 422 {
			t.Errorf("%s of a broken text: %d", path, w.Code)
		}
	}
}

// Two windows on one build never save over each other: the second meets a page with both changes, joined
// where they touch other lines.
func TestMerge(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	first := s.text("heron-van")
	one := strings.Replace(first, "people: 2", "people: 3", 1)
	two := strings.Replace(first, "start_charge: 90 %", "start_charge: 80 %", 1)
	s.sees(s.post("/b/heron-van/text", "base", "1", "text", one), "/b/heron-van/text?saved")
	page := s.page(s.post("/b/heron-van/text", "base", "1", "text", two), 409)
	if s.text("heron-van") != one {
		t.Fatal("the second window saved over the first")
	}
	joined := ""
	each(page, func(n *html.Node) {
		if n.Data == "textarea" && n.FirstChild != nil {
			joined = n.FirstChild.Data
		}
	})
	if want := strings.Replace(one, "start_charge: 90 %", "start_charge: 80 %", 1); joined != want {
		t.Errorf("joined text is not both changes:\n%s", clipped(joined))
	}
	s.sees(s.post("/b/heron-van/text", "base", "2", "text", joined), "/b/heron-van/text?saved")
	three := strings.Replace(first, "people: 2", "people: 5", 1)
	page = s.page(s.post("/b/heron-van/text", "base", "1", "text", three), 409)
	if text := words(page); !strings.Contains(text, "people: 5") || !strings.Contains(text, "people: 3") || !strings.Contains(text, "same lines") {
		t.Errorf("both changes are not on the page: %s", clipped(text))
	}
	// a drag and an undo from a stale window
	w := s.do("POST", "/api/builds/heron-van/try", strings.NewReader(`{"base":1,"save":true,"moves":[{"kind":"modules","name":"A","x_m":0.25,"y_m":0.15}]}`), "Content-Type", "application/json")
	if w.Code != 409 || !strings.Contains(w.Body.String(), `"head":3`) {
		t.Errorf("a stale drag: %d %s", w.Code, clipped(w.Body.String()))
	}
	if w := s.post("/b/heron-van/undo", "base", "1", "back", "roof"); w.Code != 409 {
		t.Errorf("a stale undo: %d", w.Code)
	}
	s.page(s.post("/b/heron-van/set", "base", "1", "back", "needs", "path", "people", "was", "2", "value", "4"), 409)
}

// Merging joins runs of lines that do not touch, and only those.
func TestMergeLines(t *testing.T) {
	for _, c := range []struct {
		base, yours, theirs, want string
		clean                     bool
	}{
		{"a\nb\nc\nd\n", "a\nB\nc\nd\n", "a\nb\nc\nD\n", "a\nB\nc\nD\n", true},
		{"a\nb\nc\nd\n", "a\nb\nc\nD\n", "A\nb\nc\nd\n", "A\nb\nc\nD\n", true},
		{"a\nb\nc\n", "a\nB\nc\n", "a\nX\nc\n", "a\nB\nc\n", false},
		{"a\nb\n", "a\nB\n", "A\nb\n", "a\nB\n", false}, // they touch
		{"a\nb\nc\n", "a\nc\n", "a\nb\nc\nd\n", "a\nc\nd\n", true},
		{"a\nb\nc\ne\n", "b\nc\ne\n", "a\nb\nc\ne\nf\n", "b\nc\ne\nf\n", true},
		{"a\n", "a\n", "b\n", "b\n", true}, {"a\n", "c\n", "a\n", "c\n", true}, {"a\n", "c\n", "c\n", "c\n", true}, {"", "x", "y", "x", false},
	} {
		if got, clean := merge(c.base, c.yours, c.theirs); got != c.want || clean != c.clean {
			t.Errorf("%q, %q, %q: got %q %v, want %q %v", c.base, c.yours, c.theirs, got, clean, c.want, c.clean)
		}
	}
}

// Typed figures change their own letters, and nothing else of the text.
func TestSetValues(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	before := s.text("heron-van")
	at := joinPath("modules", "A", "at")
	s.sees(s.post("/b/heron-van/set", "base", "1", "back", "roof", "path", at, "was", "0.2 m", "value", "0.25 m", "path", at, "was", "0.15 m", "value", "0.15 m",
		"path", joinPath("people"), "was", "2", "value", "2"), "/b/heron-van/roof")
	if got, want := s.text("heron-van"), strings.Replace(before, "A: {type: foil-95, on: lid, at: [0.2 m,", "A: {type: foil-95, on: lid, at: [0.25 m,", 1); got != want {
		t.Errorf("got %s", clipped(got))
	}
	s.sees(s.post("/b/heron-van/set", "base", "2", "back", "needs", "path", "", "was", "", "value", "laptop"), "/b/heron-van/needs")
	if !strings.Contains(s.text("heron-van"), "laptop: {like: laptop}") {
		t.Error("no load was added")
	}
	s.sees(s.post("/b/heron-van/set", "base", "3", "back", "needs", "path", "people", "was", "2", "value", "2"), "/b/heron-van/needs")
	if r, err := s.store.Read(context.Background(), "heron-van", ""); err != nil || r.Number != 3 {
		t.Errorf("nothing changed, and revision %d, %v", r.Number, err)
	}
	page := s.page(s.post("/b/heron-van/set", "base", "3", "back", "roof", "path", at, "was", "0.25 m", "value", "a foot", "path", at, "was", "0.15 m", "value", "0.15 m"), 422)
	if !strings.Contains(words(page), "a foot") {
		t.Errorf("a value that is none: %s", words(page))
	}
	for _, bad := range [][]string{{"base", "0"}, {"base", "x"}, {}, {"base", "3", "path", "a"}, {"base", "3", "path", "%zz", "was", "", "value", "1"}} {
		if w := s.post("/b/heron-van/set", bad...); w.Code != 400 {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
}

// Undo and redo walk the revisions, tags name them, two are compared, and a build goes off the shelf only
// when its name is typed.
func TestRevisions(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	first := s.text("heron-van")
	second := strings.Replace(first, "people: 2", "people: 3", 1)
	s.post("/b/heron-van/text", "base", "1", "text", second)
	s.sees(s.post("/b/heron-van/undo", "base", "2", "back", "roof"), "/b/heron-van/roof")
	if s.text("heron-van") != first {
		t.Error("undo")
	}
	s.sees(s.post("/b/heron-van/undo", "base", "1", "back", "http://evil.example"), "/b/heron-van/needs")
	s.sees(s.post("/b/heron-van/redo", "base", "1", "back", "text"), "/b/heron-van/text")
	if s.text("heron-van") != second {
		t.Error("redo")
	}
	text := words(s.get("/b/heron-van/compare?from=1&to=2", 200))
	if !strings.Contains(text, "people") || !strings.Contains(text, "people: 3") {
		t.Errorf("compare: %s", text)
	}
	s.sees(s.post("/b/heron-van/tag", "revision", "1", "tag", "as built"), "/b/heron-van/revisions")
	if !strings.Contains(words(s.get("/b/heron-van/revisions", 200)), "as built") || s.do("GET", "/b/heron-van/basis?at=as+built", nil).Code != 200 {
		t.Error("the tag is not there")
	}
	page := s.get("/b/heron-van/needs?at=1", 200)
	if n := count(page, "button", func(n *html.Node) bool { return strings.HasPrefix(words(n), "Save") }); n != 0 {
		t.Error("an old revision can be changed")
	}
	if w := s.do("GET", "/b/heron-van/roof?at=99", nil); w.Code != 404 {
		t.Errorf("revision 99: %d", w.Code)
	}
	if w := s.post("/b/heron-van/remove", "base", "2", "name", "heron"); w.Code != 400 {
		t.Errorf("removed under another name: %d", w.Code)
	}
	s.sees(s.post("/b/heron-van/remove", "base", "2", "name", "heron-van"), "/")
	s.get("/b/heron-van/roof", 404)
}

// The book, the drawings and the parts come as files.
func TestFiles(t *testing.T) {
	s := openSite(t, nil).with("ptarmigan-trailer")
	for path, begins := range map[string]string{"book.pdf?sheet=roof": "%PDF", "book.pdf?sheet=shade&paper=letter": "%PDF", "parts.xlsx": "PK", "parts.csv": "", "drawings/roof": "<svg", "drawings/trip?figure=2": "<svg"} {
		w := s.do("GET", "/b/ptarmigan-trailer/"+path, nil)
		if w.Code != 200 || !strings.HasPrefix(w.Body.String(), begins) || w.Body.Len() < 500 || !strings.HasPrefix(w.Header().Get("Content-Disposition"), "attachment") {
			t.Errorf("%s: %d, %d bytes, %q", path, w.Code, w.Body.Len(), w.Header().Get("Content-Disposition"))
		}
	}
	for _, path := range []string{"drawings/roof?figure=9", "drawings/parts", "drawings/none", "book.pdf?sheet=none"} {
		if w := s.do("GET", "/b/ptarmigan-trailer/"+path, nil); w.Code != 404 {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
}

// A reading sent twice is kept once; a photograph is one, whatever its file says it is.
func TestLadder(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	for range 2 {
		s.sees(s.post("/b/heron-van/readings", "point", "A, open volts", "value", "27,9 V", "key", "abc", "when", "2027-03-14T10:00:00Z"), "/b/heron-van/ladder")
	}
	if w := s.post("/b/heron-van/readings", "point", "", "value", "1 V"); w.Code != 400 {
		t.Errorf("a reading of nothing: %d", w.Code)
	}
	if n := strings.Count(words(s.get("/b/heron-van/ladder", 200)), "27,9 V"); n != 2-1 { // the placeholder is no text
		t.Errorf("the reading stands %d times", n)
	}
	var picture bytes.Buffer
	if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, 20, 10))); err != nil {
		t.Fatal(err)
	}
	s.sees(s.upload("/b/heron-van/photos", "photo", "../roof.png", picture.Bytes()), "/b/heron-van/ladder")
	page := s.get("/b/heron-van/ladder", 200)
	src := ""
	each(page, func(n *html.Node) {
		if n.Data == "img" {
			src = attr(n, "src")
		}
	})
	w := s.do("GET", src, nil)
	if w.Code != 200 || w.Header().Get("Content-Type") != "image/png" || w.Body.Len() != picture.Len() {
		t.Errorf("%s: %d %s", src, w.Code, w.Header().Get("Content-Type"))
	}
	for _, bad := range [][]byte{[]byte("<svg onload=alert(1)>"), []byte("GIF89a"), nil, picture.Bytes()[:20]} {
		if w := s.upload("/b/heron-van/photos", "photo", "x.png", bad); w.Code != 422 && w.Code != 400 {
			t.Errorf("no picture: %d", w.Code)
		}
	}
	if w := s.do("GET", strings.Replace(src, "heron-van", "other", 1), nil); w.Code != http.StatusNotFound {
		t.Errorf("the picture under another build: %d", w.Code)
	}
}

// A build that came by the browser names no file of this machine.
func TestWeatherFiles(t *testing.T) {
	s := openSite(t, func(c *Config) {
		c.Command = func(context.Context, []string) ([]byte, []byte, int) { t.Error("a command ran"); return nil, nil, 3 }
		c.Sheets = func(context.Context, []string) ([]sheet.Sheet, []byte, int) {
			t.Error("a command ran")
			return nil, nil, 3
		}
	}).with("heron-van")
	text, err := buildfile.Set([]byte(s.text("heron-van")), buildfile.Change{Path: []string{"trip", "legs", "0", "stay", "weather"}, Texts: []string{"/etc/passwd"}})
	if err != nil {
		t.Fatal(err)
	}
	s.sees(s.post("/b/heron-van/text", "base", "1", "text", string(text)), "/b/heron-van/text?saved")
	if got := words(s.get("/b/heron-van/basis", 200)); !strings.Contains(got, "weather file /etc/passwd: built-in climate") {
		t.Errorf("the sheet does not say which weather it took: %s", clipped(got))
	}
	w := s.do("POST", "/api/commands/trip", strings.NewReader(`{"store":"heron-van"}`), "Content-Type", "application/json")
	if w.Code != 400 || !strings.Contains(w.Body.String(), "weather files") {
		t.Errorf("by a command: %d %s", w.Code, w.Body)
	}
	if got := words(s.get("/b/heron-van/record", 200)); !strings.Contains(got, "weather files are read only beside") {
		t.Errorf("by a sheet: %s", clipped(got))
	}
	if w := s.do("GET", "/b/heron-van/template.pdf", nil); w.Code != 400 {
		t.Errorf("by a file: %d", w.Code)
	}
}
