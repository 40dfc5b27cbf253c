package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"noonmark/internal/edge/store"
)

// A foreign Host, a foreign Origin, another site's fetch and another method are refused; the reader's own
// requests and a program's are not.
func TestGuard(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	for _, c := range []struct {
		what    string
		method  string
		path    string
		headers []string
		want    int
	}{
		{"own page", "GET", "/", nil, 200},
		{"localhost", "GET", "/", []string{"Host", "localhost:8417"}, 200},
		{"six", "GET", "/", []string{"Host", "[::1]:8417"}, 200},
		{"rebound name", "GET", "/", []string{"Host", "evil.example:8417"}, 421},
		{"rebound name that begins well", "GET", "/", []string{"Host", "127.0.0.1.evil.example"}, 421},
		{"no host", "GET", "/", []string{"Host", ""}, 421},
		{"another machine's address", "GET", "/", []string{"Host", "192.168.1.7:8417"}, 421},
		{"foreign origin", "POST", "/example", []string{"Origin", "https://evil.example"}, 403},
		{"origin of another port", "POST", "/example", []string{"Origin", "http://127.0.0.1:9999"}, 403},
		{"null origin", "POST", "/example", []string{"Origin", "null"}, 403},
		{"foreign origin reads", "GET", "/api/builds", []string{"Origin", "https://evil.example"}, 403},
		{"cross-site form", "POST", "/example", []string{"Sec-Fetch-Site", "cross-site"}, 403},
		{"same site, other port", "POST", "/example", []string{"Sec-Fetch-Site", "same-site"}, 403},
		{"cross-site image", "GET", "/b/heron-van/roof", []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "no-cors", "Sec-Fetch-Dest", "image"}, 403},
		{"a link followed", "GET", "/b/heron-van/basis", []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate", "Sec-Fetch-Dest", "document"}, 200},
		{"in a frame", "GET", "/b/heron-van/basis", []string{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate", "Sec-Fetch-Dest", "iframe"}, 403},
		{"put", "PUT", "/b/heron-van/text", nil, 405},
		{"trace", "TRACE", "/", nil, 405},
		{"unknown page", "GET", "/b/heron-van/nothing", nil, 404},
		{"unknown build", "GET", "/b/none/roof", nil, 404},
		{"path of the machine", "GET", "/static/..%2fdoc.go", nil, 404},
		{"a template", "GET", "/static/frame.html", nil, 404},
	} {
		w := s.do(c.method, c.path, strings.NewReader(""), c.headers...)
		if w.Code != c.want {
			t.Errorf("%s: %d, want %d", c.what, w.Code, c.want)
		}
		if got := w.Header().Get("Content-Security-Policy"); got != policy {
			t.Errorf("%s: policy %q", c.what, got)
		}
	}
	if strings.Contains(policy, "unsafe") || !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "http") {
		t.Errorf("policy %q", policy)
	}
}

// endless is a body that never ends and counts what was read of it.
type endless struct{ read int64 }

func (e *endless) Read(p []byte) (int, error) {
	e.read += int64(len(p))
	for i := range p {
		p[i] = 'a'
	}
	return len(p), nil
}

// A hundred megabytes are refused: at once when the request says so, else once the limit is read.
func TestLargeBodies(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	for _, path := range []string{"/open", "/b/heron-van/text", "/b/heron-van/set", "/new", "/api/problems", "/b/heron-van/photos", "/join", "/api/builds/heron-van/try"} {
		body := &endless{}
		kind := "application/x-www-form-urlencoded"
		if strings.HasPrefix(path, "/api/") {
			kind = "application/json"
		}
		if strings.HasSuffix(path, "photos") || path == "/open" {
			kind = "multipart/form-data; boundary=x"
		}
		w := s.do("POST", path, io.LimitReader(body, 100<<20), "Content-Type", kind)
		if w.Code != http.StatusRequestEntityTooLarge && w.Code != http.StatusBadRequest || body.read > 40<<20 {
			t.Errorf("%s: status %d after %d bytes", path, w.Code, body.read)
		}
		known := &endless{}
		r := bytes.NewReader(make([]byte, 100<<20))
		w = s.do("POST", path, r, "Content-Type", kind)
		if w.Code != http.StatusRequestEntityTooLarge || r.Len() != 100<<20 || known.read != 0 {
			t.Errorf("%s, length told: status %d after %d bytes", path, w.Code, 100<<20-r.Len())
		}
	}
	if w := s.do("GET", "/", bytes.NewReader(make([]byte, 10))); w.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("a body on GET: %d", w.Code)
	}
	if got := s.text("heron-van"); !strings.HasPrefix(got, "# Heron") {
		t.Errorf("the build changed: %s", clipped(got))
	}
}

// Script in names, notes, labels and file names comes out as text.
func TestScriptInWords(t *testing.T) {
	const evil = `<script>alert(1)</script><img src=x onerror=alert(2)>`
	s := openSite(t, nil).with("heron-van")
	text := strings.NewReplacer("name: Heron, a survey van", "name: '"+evil+"'", "  fan: {", `  "`+evil+`": {`, "modules: [A, B]", `modules: ["`+evil+`", B]`, "  A: {type", `  "`+evil+`": {type`).Replace(s.text("heron-van"))
	if text == s.text("heron-van") || strings.Count(text, evil) != 4 {
		t.Fatal("the example changed its words")
	}
	s.sees(s.post("/b/heron-van/text", "base", "1", "text", text, "note", evil), "/b/heron-van/text?saved")
	if w := s.upload("/open", "file", `..\..\`+evil+`/../<b>.yaml`, []byte("name: "+evil)); w.Code != 303 {
		t.Errorf("upload: %d", w.Code)
	}
	s.post("/b/heron-van/readings", "point", evil, "value", evil, "key", "k1")
	paths := []string{"/", "/b/heron-van/text", "/b/heron-van/revisions", "/b/heron-van/compare?from=1&to=2", "/b/heron-van/ladder", "/nowhere/" + "%3Cscript%3E"}
	for _, key := range sheetKeys() {
		paths = append(paths, "/b/heron-van/"+key)
	}
	for _, path := range paths {
		w := s.do("GET", path, nil)
		page, err := html.Parse(w.Body)
		if err != nil || w.Code == 500 {
			t.Errorf("%s: %d %v", path, w.Code, err)
			continue
		}
		each(page, func(n *html.Node) {
			if n.Data == "script" && (n.FirstChild != nil || attr(n, "src") == "") || n.Data == "img" && attr(n, "src") == "x" || attr(n, "onerror") != "" {
				t.Errorf("%s: the words became a %s", path, n.Data)
			}
		})
		if strings.HasSuffix(path, "roof") && !strings.Contains(words(page), "<script>alert(1)</script>") {
			t.Errorf("%s: the name is not shown", path)
		}
	}
	// redrawn SVG and margin go into the page as markup: they must be escaped too
	w := s.do("POST", "/api/builds/heron-van/try", strings.NewReader(`{"base":2}`), "Content-Type", "application/json")
	var out planJSON
	if err := json.Unmarshal(w.Body.Bytes(), &out); err != nil || w.Code != 200 || len(out.Figures) == 0 {
		t.Fatalf("redrawn: %d %v %s", w.Code, err, clipped(w.Body.String()))
	}
	for _, f := range append(out.Figures, svgJSON{out.Margin}) {
		if strings.Contains(string(f.SVG), "<script") || strings.Contains(string(f.SVG), "<img") {
			t.Errorf("redrawn with markup: %s", clipped(string(f.SVG)))
		}
	}
}

// Names for the shelf are made of file names without their paths and signs.
func TestNameOfFile(t *testing.T) {
	for in, want := range map[string]string{"van.yaml": "van", "../../etc/passwd": "passwd", `C:\x\my van.yml`: "my van", ".yaml": "build", "": "build", "<b>.yaml": "b-", "a/b/..": "build", "ä ö.yaml": "ä ö", "..": "build"} {
		got := nameOfFile(in)
		if got != want && !(in == "<b>.yaml" && got == "b") {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
}

// Another machine is refused without --phone; with it, it needs the code, which has five tries and is used
// up by the first device.
func TestPhoneCode(t *testing.T) {
	s := openSite(t, nil)
	s.remote = "192.168.1.20:4000"
	if w := s.do("GET", "/", nil); w.Code != 403 {
		t.Errorf("without --phone: %d", w.Code)
	}
	code := NewCode()
	s = openSite(t, func(c *Config) { c.Code, c.Hosts = code, []string{"192.168.1.7"} }).with("heron-van")
	s.remote = "192.168.1.20:4000"
	host := []string{"Host", "192.168.1.7:8417", "Origin", "http://192.168.1.7:8417", "Content-Type", "application/x-www-form-urlencoded"}
	for _, path := range []string{"/", "/b/heron-van/roof", "/api/builds", "/phone", "/b/heron-van/build.yaml"} {
		if w := s.do("GET", path, nil, host...); w.Code != 401 {
			t.Errorf("%s without the code: %d", path, w.Code)
		}
	}
	s.page(s.do("GET", "/join?code="+code.Now(), nil, host...), 200)
	first := code.Now()
	w := s.do("POST", "/join", strings.NewReader("code="+strings.ToLower(first[:4])+"+"+first[4:]), host...)
	cookie := w.Header().Get("Set-Cookie")
	if w.Code != 303 || !strings.Contains(cookie, "HttpOnly") || !strings.Contains(cookie, "SameSite=Strict") {
		t.Fatalf("the right code: %d, %q", w.Code, cookie)
	}
	mark, _, _ := strings.Cut(cookie, ";")
	if w := s.do("GET", "/b/heron-van/basis", nil, append(host, "Cookie", mark)...); w.Code != 200 {
		t.Errorf("with the mark: %d", w.Code)
	}
	if w := s.do("GET", "/phone", nil, append(host, "Cookie", mark)...); w.Code != 404 {
		t.Errorf("the code's page from another machine: %d", w.Code)
	}
	if w := s.do("GET", "/", nil, append(host, "Cookie", "noonmark=guess")...); w.Code != 401 {
		t.Errorf("a guessed mark: %d", w.Code)
	}
	if code.Now() == first {
		t.Error("the code was not used up")
	}
	for i := range tries {
		if w := s.do("POST", "/join", strings.NewReader("code=AAAAAAAA"), host...); w.Code != 401 {
			t.Errorf("wrong code %d: %d", i, w.Code)
		}
	}
	if w := s.do("POST", "/join", strings.NewReader("code=AAAAAAAA"), host...); w.Code != 429 || code.Now() != "" {
		t.Errorf("after %d wrong codes: %d, code %q", tries, w.Code, code.Now())
	}
	code.Renew()
	if w := s.do("GET", "/b/heron-van/basis", nil, append(host, "Cookie", mark)...); w.Code != 200 {
		t.Errorf("a device that is in stays in: %d", w.Code)
	}
	s.remote = "127.0.0.1:4000"
	page := s.get("/phone", 200)
	if !strings.Contains(words(page), code.Now()) || count(page, "svg", nil) != 1 {
		t.Error("the page shows no code or no square")
	}
}

// A file that fails is told in its own words, and a fault of ours in none of the machine's.
func TestStoreFaults(t *testing.T) {
	for _, c := range []struct {
		err  error
		want int
		says string
	}{
		{store.ErrFull, 507, "disk is full"}, {store.ErrLocked, 503, "nother program"}, {store.ErrReadOnly, 503, "may only be read"}, {store.ErrDamaged, 500, "damaged"},
		{errors.New("open /secret/path: no"), 500, "internal fault"},
	} {
		s := openSite(t, nil)
		s.server.config.Shelf = failing{s.store, c.err}
		page := s.page(s.do("GET", "/", nil), c.want)
		if text := words(page); !strings.Contains(text, c.says) || strings.Contains(text, "secret") {
			t.Errorf("%v: %s", c.err, text)
		}
	}
}

type failing struct {
	*store.Store
	err error
}

func (f failing) Builds(context.Context) ([]store.Build, error) { return nil, f.err }

// A handler that panics is an internal fault, told without its words.
func TestPanic(t *testing.T) {
	s := openSite(t, nil)
	w := s.server.adapt(route{serve: func(*http.Request) (*reply, error) { panic("secret") }})
	s.server.handler = w
	if got := s.do("GET", "/", nil); got.Code != 500 || strings.Contains(got.Body.String(), "secret") {
		t.Errorf("%d %s", got.Code, clipped(got.Body.String()))
	}
}
