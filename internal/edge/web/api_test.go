package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/http/httptest"
	"os"
	"path"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"noonmark/examples"
	"noonmark/internal/answer/shading"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// send posts JSON to the API.
func (s *site) send(path string, v any) *httptest.ResponseRecorder {
	s.Helper()
	body, err := json.Marshal(v)
	if err != nil {
		s.Fatal(err)
	}
	return s.do("POST", path, bytes.NewReader(body), "Content-Type", "application/json")
}

// document is the OpenAPI document as served.
func (s *site) document() map[string]any {
	s.Helper()
	w := s.do("GET", "/api/openapi.json", nil)
	var doc map[string]any
	if err := json.Unmarshal(w.Body.Bytes(), &doc); err != nil || w.Code != 200 {
		s.Fatal(w.Code, err)
	}
	return doc
}

// commanded is a site whose commands answer with their names.
func commanded(t *testing.T) *site {
	return openSite(t, func(c *Config) {
		c.Command = func(_ context.Context, args []string) (out, errs []byte, code int) {
			if strings.Contains(strings.Join(args, " "), "--seed=7") {
				return nil, []byte("noonmark: --seed 7: no"), 2
			}
			for _, a := range args {
				if strings.HasSuffix(a, ".yaml") {
					if _, err := os.Stat(a); err != nil {
						return nil, []byte(err.Error()), 3
					}
				}
			}
			for _, c := range commands {
				if strings.Split(c.Name, "-")[0] == args[0] {
					body, _ := json.Marshal(map[string]any{c.Key: args})
					return body, nil, 0
				}
			}
			return nil, nil, 3
		}
	})
}

// The document and the routes hold the same paths and methods, and every reference in it leads somewhere.
func TestDocument(t *testing.T) {
	s := commanded(t)
	doc := s.document()
	described := map[string]bool{}
	for p, item := range doc["paths"].(map[string]any) {
		for method := range item.(map[string]any) {
			described[strings.ToUpper(method)+" "+p] = true
		}
	}
	served := 0
	for _, r := range s.server.routes {
		if strings.Contains(r.pattern, " /api/") {
			served++
			if !described[r.pattern] {
				t.Errorf("%s is not described", r.pattern)
			}
		}
	}
	if served != len(described) || served < 15 {
		t.Errorf("%d routes, %d described", served, len(described))
	}
	text, _ := json.Marshal(doc)
	schemas := doc["components"].(map[string]any)["schemas"].(map[string]any)
	for _, part := range strings.Split(string(text), `"$ref":"#/components/schemas/`)[1:] {
		name, _, _ := strings.Cut(part, `"`)
		if schemas[name] == nil {
			t.Errorf("no schema %s", name)
		}
	}
	if doc["openapi"] != "3.1.0" {
		t.Errorf("openapi %v", doc["openapi"])
	}
}

// held reports what an answer has against the schema the document gives for it.
func held(t *testing.T, doc map[string]any, method, path, status string, body []byte) {
	t.Helper()
	c := jsonschema.NewCompiler()
	if err := c.AddResource("doc.json", doc); err != nil {
		t.Fatal(err)
	}
	answers := doc["paths"].(map[string]any)[path].(map[string]any)[method].(map[string]any)["responses"].(map[string]any)
	answer, ok := answers[status].(map[string]any)
	if !ok {
		t.Fatalf("%s %s: no answer %s", method, path, status)
	}
	ref := answer["content"].(map[string]any)["application/json"].(map[string]any)["schema"].(map[string]any)["$ref"].(string)
	schema, err := c.Compile("doc.json" + ref)
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err == nil {
		err = schema.Validate(v)
	}
	if err != nil {
		t.Errorf("%s %s %s: %v", method, path, status, err)
	}
}

// The answers are as the document says, good ones and refusals.
func TestAnswersHold(t *testing.T) {
	s := commanded(t).with("heron-van")
	doc := s.document()
	move := []map[string]any{{"kind": "modules", "name": "A", "x_m": 0.25, "y_m": 0.15}}
	for _, c := range []struct {
		method, path, at string
		in               any
		code             int
		status           string
	}{
		{"get", "/api/builds", "/api/builds", nil, 200, "200"},
		{"get", "/api/builds/{build}", "/api/builds/heron-van", nil, 200, "200"},
		{"get", "/api/builds/{build}", "/api/builds/none", nil, 404, "default"},
		{"get", "/api/builds/{build}/revisions", "/api/builds/heron-van/revisions", nil, 200, "200"},
		{"post", "/api/builds", "/api/builds", map[string]any{"name": "two", "text": "name: two"}, 200, "200"},
		{"post", "/api/builds", "/api/builds", map[string]any{"name": "two", "text": "name: two"}, 409, "default"},
		{"post", "/api/builds", "/api/builds", map[string]any{"name": "a/b", "text": "x"}, 422, "default"},
		{"post", "/api/builds/{build}", "/api/builds/two", map[string]any{"base": 1, "text": "name: 2"}, 200, "200"},
		{"post", "/api/builds/{build}", "/api/builds/two", map[string]any{"base": 1, "text": "name: 3"}, 409, "409"},
		{"post", "/api/builds/{build}/try", "/api/builds/heron-van/try", map[string]any{"base": 1, "moves": move}, 200, "200"},
		{"post", "/api/builds/{build}/try", "/api/builds/heron-van/try", map[string]any{"base": 1, "moves": move, "save": true}, 200, "200"},
		{"post", "/api/builds/{build}/try", "/api/builds/heron-van/try", map[string]any{"base": 1, "moves": move, "save": true}, 200, "200"}, // sent again: kept once
		{"post", "/api/builds/{build}/try", "/api/builds/heron-van/try", map[string]any{"base": 1, "moves": []map[string]any{{"kind": "modules", "name": "Z"}}}, 400, "default"},
		{"post", "/api/builds/{build}/try", "/api/builds/heron-van/try", map[string]any{"base": 1, "moves": []map[string]any{{"kind": "modules", "name": "A", "turn_deg": 45}}}, 400, "default"},
		{"post", "/api/builds/{build}/try", "/api/builds/two/try", map[string]any{"base": 1}, 422, "default"},
		{"post", "/api/builds/{build}/try", "/api/builds/heron-van/try", map[string]any{"base": 1, "unknown": 1}, 400, "default"},
		{"post", "/api/builds/{build}/course", "/api/builds/heron-van/course", map[string]any{"base": 1, "leg": 0, "day": "2027-03-22"}, 200, "200"},
		{"post", "/api/builds/{build}/course", "/api/builds/heron-van/course", map[string]any{"base": 1, "leg": 1, "day": "2027-03-22"}, 400, "default"},
		{"post", "/api/builds/{build}/course", "/api/builds/heron-van/course", map[string]any{"base": 1, "leg": 0, "day": "soon"}, 400, "default"},
		{"post", "/api/builds/{build}/energy", "/api/builds/heron-van/energy", map[string]any{"base": 1, "leg": 0, "day": "2027-03-22"}, 200, "200"},
		{"post", "/api/problems", "/api/problems", map[string]any{"text": "name: [1"}, 200, "200"},
		{"post", "/api/commands/plan", "/api/commands/plan", map[string]any{"store": "heron-van", "flags": map[string]any{"seed": 3}}, 200, "200"},
		{"post", "/api/commands/plan", "/api/commands/plan", map[string]any{"store": "heron-van", "flags": map[string]any{"seed": 7}}, 400, "default"},
		{"post", "/api/commands/plan", "/api/commands/plan", map[string]any{"build": "name: x"}, 422, "default"},
		{"post", "/api/commands/plan", "/api/commands/plan", map[string]any{}, 400, "default"},
		{"post", "/api/commands/plan", "/api/commands/plan", map[string]any{"store": "heron-van", "flags": map[string]any{"data": "/etc/passwd"}}, 400, "default"},
		{"post", "/api/commands/curve", "/api/commands/curve", map[string]any{"store": "heron-van", "args": map[string]any{"module": "--help"}}, 200, "200"},
		{"post", "/api/commands/sun", "/api/commands/sun", map[string]any{"flags": map[string]any{"at": "38,-7"}}, 200, "200"},
	} {
		w := s.do("GET", c.at, nil)
		if c.method == "post" {
			w = s.send(c.at, c.in)
		}
		if w.Code != c.code {
			t.Errorf("%s %s %v: %d, want %d: %s", c.method, c.at, c.in, w.Code, c.code, clipped(w.Body.String()))
			continue
		}
		held(t, doc, c.method, c.path, c.status, w.Body.Bytes())
	}
	if w := s.do("POST", "/api/problems", strings.NewReader("text=x"), "Content-Type", "application/x-www-form-urlencoded"); w.Code != 400 {
		t.Errorf("a form to the API: %d", w.Code)
	}
}

// A thing that is moved is written in the unit it was typed in, and the sheet draws it there.
func TestMove(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	inches := strings.Replace(s.text("heron-van"), "at: [0.2 m, 0.15 m]", "at: [8 in, 150 mm]", 1)
	s.post("/b/heron-van/text", "base", "1", "text", inches)
	w := s.send("/api/builds/heron-van/try", map[string]any{"base": 2, "save": true, "moves": []map[string]any{{"kind": "modules", "name": "A", "x_m": 0.254, "y_m": 0.1}, {"kind": "obstacles", "name": "fan", "x_m": 1.55, "y_m": 0.93}}})
	var out planJSON
	if err := json.Unmarshal(w.Body.Bytes(), &out); err != nil || w.Code != 200 || !out.Saved || out.Revision != 3 {
		t.Fatalf("%d %v %s", w.Code, err, clipped(w.Body.String()))
	}
	text := s.text("heron-van")
	if !strings.Contains(text, "at: [10 in, 100 mm]") || !strings.Contains(text, "fan: {on: lid, at: [1.55 m, 0.93 m]") {
		t.Errorf("the text: %s", text[strings.Index(text, "\nmodules"):][:200])
	}
	for _, x := range out.Hands[0].Things {
		if x.Name == "A" && (x.AtX < 0.2539 || x.AtX > 0.2541 || x.Y >= out.Hands[0].Things[1].Y) {
			t.Errorf("A stands at %v", x)
		}
	}
	if len(out.Hands[0].Cells) != 84 {
		t.Errorf("%d cells, want two modules of 42", len(out.Hands[0].Cells))
	}
	over := s.send("/api/builds/heron-van/try", map[string]any{"base": 3, "save": true, "moves": []map[string]any{{"kind": "modules", "name": "A", "x_m": 0.2, "y_m": 0.4}}})
	if over.Code != 422 || s.text("heron-van") != text {
		t.Errorf("one module on the other: %d", over.Code)
	}
}

// The sun's day over the roof: nothing before sunrise, light kept never over the open sky's, a shadow while
// a thing stands between.
func TestCourse(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	w := s.send("/api/builds/heron-van/course", map[string]any{"base": 1, "leg": 8, "day": "2027-04-10"})
	var c courseJSON
	if err := json.Unmarshal(w.Body.Bytes(), &c); err != nil {
		t.Fatal(err)
	}
	shaded, up := 0, 0
	for _, m := range c.Moments {
		if m.Elevation <= 0 && (m.Open != 0 || len(m.Lit) != 0) {
			t.Errorf("%v h: the sun is down, and %v W", m.Hour, m.Open)
		}
		if m.Left > m.Open {
			t.Errorf("%v h: %v of %v W kept", m.Hour, m.Left, m.Open)
		}
		if m.Elevation > 0 {
			up++
			dark := false
			for _, l := range m.Lit {
				dark = dark || l < 99
				if l < 0 || l > 100 {
					t.Errorf("lit %d %%", l)
				}
			}
			if dark {
				shaded++
			}
		}
	}
	if len(c.Moments) != 145 || up < 60 || shaded == 0 || shaded == up || len(w.Body.Bytes()) > 200<<10 {
		t.Errorf("%d moments, %d with sun, %d with shade, %d bytes", len(c.Moments), up, shaded, w.Body.Len())
	}
}

// What all sheets load together stays under 150 kB of script and style, type and the solid view apart, and
// nothing in it reaches outside.
func TestWeight(t *testing.T) {
	s := openSite(t, nil)
	all := 0
	err := fs.WalkDir(staticFiles, "static", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, _ := staticFiles.ReadFile(p)
		if (path.Ext(p) == ".js" || path.Ext(p) == ".css") && path.Base(p) != "solid.js" { // which is loaded when asked for
			all += len(text)
		}
		if path.Ext(p) == ".js" || path.Ext(p) == ".css" {
			for _, foreign := range []string{"http://", "https://", "eval(", "new Function", "import("} {
				if strings.Contains(strings.ReplaceAll(string(text), "http://www.w3.org/2000/svg", ""), foreign) {
					t.Errorf("%s has %s", p, foreign)
				}
			}
		}
		w := s.do("GET", "/static/"+path.Base(p)+"?"+assets[path.Base(p)], nil)
		if kinds[path.Ext(p)] == "" || w.Code != 200 || w.Body.Len() != len(text) || !strings.Contains(w.Header().Get("Cache-Control"), "max-age") {
			t.Errorf("%s: %d, %d bytes", p, w.Code, w.Body.Len())
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if all > 150<<10 {
		t.Errorf("script and style of all sheets together: %d bytes", all)
	}
	t.Logf("script and style of all sheets together: %d bytes", all)
}

// Every file of others has its package, version and licence beside it, and is the one that was looked at.
func TestVendored(t *testing.T) {
	list, err := staticFiles.ReadFile("static/VENDORED.txt")
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]string{}
	for line := range strings.Lines(string(list)) {
		f := strings.Fields(line)
		if strings.HasPrefix(line, "#") {
			continue
		}
		if len(f) < 4 || strings.Count(f[2], "@") < 1 || !strings.Contains(line, "OFL") {
			t.Errorf("no package, version and licence: %q", line)
			continue
		}
		known[f[1]] = f[0]
	}
	entries, err := staticFiles.ReadDir("static")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		text, _ := staticFiles.ReadFile("static/" + e.Name())
		if sum := fmt.Sprintf("%x", sha256.Sum256(text)); path.Ext(e.Name()) == ".woff2" && known[e.Name()] != sum {
			t.Errorf("%s: %s, listed %q", e.Name(), sum, known[e.Name()])
		}
	}
	if len(known) != 3 {
		t.Errorf("%d files of others", len(known))
	}
}

// BenchmarkRedraw is an edit to the redrawn roof: a new place each time, so that nothing is kept from before.
func BenchmarkRedraw(b *testing.B) {
	for _, e := range examples.All() {
		b.Run(e.Name, func(b *testing.B) {
			s, o := loaded(b, e.Text)
			slow := time.Duration(0)
			for i := range b.N {
				text, err := buildfile.Set(o.Text, buildfile.Change{Path: []string{"name"}, Texts: []string{fmt.Sprintf("n%d", i)}})
				if err != nil {
					b.Fatal(err)
				}
				began := time.Now()
				out, err := s.redraw(context.Background(), opened{o.Revision, s.analyses.of(text, "")})
				if err != nil || len(out.Figures) == 0 {
					b.Fatal(err)
				}
				slow = max(slow, time.Since(began))
			}
			b.ReportMetric(float64(slow.Microseconds())/1000, "slowest-ms")
		})
	}
}

// BenchmarkCourse is the sun's day over the roof; BenchmarkEnergy the clear day's watt-hours.
func BenchmarkCourse(b *testing.B) {
	_, o := loaded(b, examples.All()[0].Text)
	for b.Loop() {
		if _, err := courseOf(o.analysis, 0, time.Date(2027, 3, 22, 0, 0, 0, 0, time.UTC)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEnergy(b *testing.B) {
	_, o := loaded(b, examples.All()[0].Text)
	for b.Loop() {
		if _, err := shading.ClearDay(context.Background(), o.build, 0, time.Date(2027, 3, 22, 0, 0, 0, 0, time.UTC)); err != nil {
			b.Fatal(err)
		}
	}
}

// loaded is a server without a store, and a build on it.
func loaded(b *testing.B, text []byte) (*Server, opened) {
	b.Helper()
	s := &Server{config: Config{Clock: time.Now}}
	s.analyses.init()
	x := s.analyses.of(text, "")
	if x.build == nil {
		b.Fatal(x.problems)
	}
	return s, opened{store.Revision{Number: 1, Text: text}, x}
}

// A length is written in the unit of the one it takes the place of, with every digit it has.
func TestInUnitOf(t *testing.T) {
	for _, c := range []struct {
		was    string
		metres float64
		want   string
	}{{"0.2 m", 0.1, "0.1 m"}, {"1 m", 10, "10 m"}, {"150 mm", 0.1, "100 mm"}, {"15 cm", 1.2, "120 cm"}, {"8 in", 0.254, "10 in"}, {`8"`, 0.0127, "0.5 in"}, {"1 ft", 3.048, "10 ft"}, {"1 m", -0.0001, "0 m"}, {"1 m", -0.25, "-0.25 m"}} {
		if got := inUnitOf(c.was, c.metres); got != c.want {
			t.Errorf("%v m for %q: got %q, want %q", c.metres, c.was, got, c.want)
		}
	}
}
