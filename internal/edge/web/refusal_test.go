package web

import (
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// A rejected form of eight answers says at each wrong answer what is wrong, all at once, and nothing at the
// others; a name that is taken asks for another.
func TestNewFaultsAtTheirAnswers(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	page := s.page(s.post("/new", "vehicle", "banana", "people", "-3", "battery", "agm-100", "loads", "toaster, lights", "where", "Nowhere at all, XX", "when", "yesterday"), 422)
	at := map[string]string{}
	each(page, func(n *html.Node) {
		if id, ok := strings.CutPrefix(attr(n, "id"), "why-"); ok {
			at[id] = words(n)
		}
	})
	for key, want := range map[string]string{"vehicle": "2.1 m x 1.35 m", "people": "-3", "loads": "toaster", "where": "Nowhere at all", "when": "2027"} {
		if !strings.Contains(at[key], want) {
			t.Errorf("%s: %q does not say %q", key, at[key], want)
		}
		delete(at, key)
	}
	if len(at) > 0 {
		t.Errorf("good answers are blamed: %q", at)
	}
	if n := count(page, "input", func(n *html.Node) bool { return attr(n, "aria-invalid") == "true" }); n != 5 {
		t.Errorf("%d inputs are marked, want 5", n)
	}
	if text := words(s.page(s.post("/new", "name", "heron-van"), 422)); !strings.Contains(text, "give another name") {
		t.Errorf("a name that is taken: %s", text)
	}
}

// A page of a refusal speaks plainly and leads back: to the form it came from, else to the build, never to
// another site.
func TestRefusalLeadsBack(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	links := func(n *html.Node) string {
		var out []string
		each(n, func(n *html.Node) {
			if n.Data == "a" && words(n) == "Go back" {
				out = append(out, attr(n, "href"))
			}
		})
		return strings.Join(out, " ")
	}
	const site = "http://127.0.0.1:8417"
	for _, c := range []struct {
		path, from, want string
		status           int
	}{{"/b/heron-van/dayplan?day=2027-13-40", site + "/b/heron-van/dayplan", "/b/heron-van/needs", 400}, {"/b/heron-van/zzz", "", "/b/heron-van/needs", 404},
		{"/b/heron-van/compare?from=7&to=1", site + "/b/heron-van/revisions", "/b/heron-van/revisions", 404}, {"/b/nothing/roof", "", "", 404},
		{"/b/heron-van/zzz", "http://elsewhere.example/x", "/b/heron-van/needs", 404}, {"/b/heron-van/zzz", site + "//elsewhere.example/x", "/b/heron-van/needs", 404}, {"/nowhere", site + "/", "", 404}} {
		page := s.page(s.do("GET", c.path, nil, "Referer", c.from), c.status)
		if got := links(page); got != c.want {
			t.Errorf("%s from %q leads back to %q, want %q", c.path, c.from, got, c.want)
		}
		if text := words(page); strings.Contains(text, "Bad Request") || strings.Contains(text, "Not Found") || strings.Contains(text, "store") || !strings.Contains(text, "To the shelf") {
			t.Errorf("%s: %s", c.path, text)
		}
	}
}
