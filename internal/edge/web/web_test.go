package web

import (
	"bytes"
	"context"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/net/html"

	"noonmark/examples"
	"noonmark/internal/edge/store"
)

// site is a server on a real data file.
type site struct {
	*testing.T
	store  *store.Store
	server *Server
	remote string
}

var ticks atomic.Int64

// open starts a site; f changes its configuration.
func openSite(t *testing.T, f func(c *Config)) *site {
	t.Helper()
	clock := func() time.Time {
		return time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC).Add(time.Duration(ticks.Add(1)) * time.Second)
	}
	st, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "store.db"), store.Options{Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	c := Config{Shelf: st, Clock: clock, Version: "test", Climate: "climate", Log: t.Logf}
	if f != nil {
		f(&c)
	}
	return &site{T: t, store: st, server: New(c), remote: "127.0.0.1:5000"}
}

// with puts an example on the shelf under its name.
func (s *site) with(name string) *site {
	s.Helper()
	for _, e := range append(examples.All(), examples.Bad()...) {
		if e.Name == name {
			if _, err := s.store.Add(context.Background(), name, store.Draft{Text: e.Text}); err != nil {
				s.Fatal(err)
			}
			return s
		}
	}
	s.Fatal("no example ", name)
	return s
}

// do sends a request.
func (s *site) do(method, path string, body io.Reader, headers ...string) *httptest.ResponseRecorder {
	s.Helper()
	r := httptest.NewRequest(method, "http://127.0.0.1:8417"+path, body)
	r.Host, r.RemoteAddr = "127.0.0.1:8417", s.remote
	for i := 0; i+1 < len(headers); i += 2 {
		if headers[i] == "Host" {
			r.Host = headers[i+1]
			continue
		}
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	s.server.ServeHTTP(w, r)
	return w
}

// get fetches a page and parses it; its status must be the one wanted.
func (s *site) get(path string, status int) *html.Node {
	s.Helper()
	return s.page(s.do("GET", path, nil), status)
}

func (s *site) page(w *httptest.ResponseRecorder, status int) *html.Node {
	s.Helper()
	if w.Code != status {
		s.Fatalf("status %d, want %d: %s", w.Code, status, clipped(w.Body.String()))
	}
	n, err := html.Parse(w.Body)
	if err != nil {
		s.Fatal(err)
	}
	return n
}

// post sends a form.
func (s *site) post(path string, pairs ...string) *httptest.ResponseRecorder {
	s.Helper()
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	return s.do("POST", path, strings.NewReader(v.Encode()), "Content-Type", "application/x-www-form-urlencoded", "Origin", "http://127.0.0.1:8417", "Sec-Fetch-Site", "same-origin")
}

// sees asks for a redirect.
func (s *site) sees(w *httptest.ResponseRecorder, to string) {
	s.Helper()
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != to {
		s.Fatalf("status %d to %q, want 303 to %q: %s", w.Code, w.Header().Get("Location"), to, clipped(w.Body.String()))
	}
}

// text is the current text of a build.
func (s *site) text(name string) string {
	s.Helper()
	r, err := s.store.Read(context.Background(), name, "")
	if err != nil {
		s.Fatal(err)
	}
	return string(r.Text)
}

func clipped(t string) string {
	if len(t) > 600 {
		t = t[:600]
	}
	return t
}

// upload sends a file.
func (s *site) upload(path, field, name string, data []byte) *httptest.ResponseRecorder {
	s.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	f, err := m.CreateFormFile(field, name)
	if err == nil {
		_, err = f.Write(data)
	}
	if err == nil {
		err = m.Close()
	}
	if err != nil {
		s.Fatal(err)
	}
	return s.do("POST", path, &b, "Content-Type", m.FormDataContentType())
}

// each walks the elements of a page.
func each(n *html.Node, f func(n *html.Node)) {
	if n.Type == html.ElementNode {
		f(n)
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		each(c, f)
	}
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// words is the text of a page.
func words(n *html.Node) string {
	var b strings.Builder
	var walk func(n *html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.TextNode {
			b.WriteString(n.Data)
			b.WriteByte(' ')
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(n)
	return strings.Join(strings.Fields(b.String()), " ")
}

// count counts the elements of a name that f takes.
func count(n *html.Node, name string, f func(n *html.Node) bool) int {
	k := 0
	each(n, func(x *html.Node) {
		if x.Data == name && (f == nil || f(x)) {
			k++
		}
	})
	return k
}

// Every sheet of every example opens, with its drawing, its title block, and no script or style in the page.
func TestSheetsOpen(t *testing.T) {
	s := openSite(t, nil)
	for _, e := range examples.All() {
		s.with(e.Name)
		for _, key := range sheetKeys() {
			page := s.get("/b/"+e.Name+"/"+key, 200)
			if n := count(page, "h1", nil); n != 1 {
				t.Errorf("%s %s: %d headings of the first rank", e.Name, key, n)
			}
			each(page, func(n *html.Node) {
				if n.Data == "script" && (attr(n, "src") == "" || n.FirstChild != nil) || n.Data == "style" || attr(n, "style") != "" {
					t.Errorf("%s %s: %s of the page's own", e.Name, key, n.Data)
				}
				for _, a := range n.Attr {
					if strings.HasPrefix(a.Key, "on") || strings.HasPrefix(a.Val, "http:") && a.Key != "xmlns" || strings.HasPrefix(a.Val, "https:") {
						t.Errorf("%s %s: %s %s=%q", e.Name, key, n.Data, a.Key, a.Val)
					}
				}
			})
			text := words(page)
			if !strings.Contains(text, "revision") || strings.Contains(text, "<no value>") || strings.Contains(text, "NaN") {
				t.Errorf("%s %s: %s", e.Name, key, clipped(text))
			}
			ids := map[string]bool{}
			each(page, func(n *html.Node) {
				if id := attr(n, "id"); id != "" {
					if ids[id] {
						t.Errorf("%s %s: id %s twice", e.Name, key, id)
					}
					ids[id] = true
				}
			})
			drawings := count(page, "svg", func(n *html.Node) bool { return attr(n, "class") == "" })
			if want := map[string]bool{"needs": true, "roof": true, "shade": true, "wiring": true, "mounting": true, "trip": true}[key]; want && drawings == 0 {
				t.Errorf("%s %s: no drawing", e.Name, key)
			}
		}
	}
}
