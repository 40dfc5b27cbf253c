package cli

import (
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/edge/web"
)

// Every command that prints JSON is served as JSON; every other one has its page or its reason.
func TestCommandsServed(t *testing.T) {
	other := map[string]string{ // command: where the browser has it
		"claim": "/b/{build}/claim.zip", "book": "/b/{build}/book.pdf", "draw": "/b/{build}/drawings/{sheet}", "parts": "/b/{build}/parts.xlsx", "template": "/b/{build}/template.pdf",
		"new": "/new", "example": "/example", "schema": "/api/schema.json", "store": "/api/builds", "serve": "itself",
	}
	s := Streams{In: strings.NewReader(""), Out: io.Discard, Err: io.Discard, Clock: fromNoon()}
	served := web.CommandNames()
	var here []string
	var all []*cobra.Command
	for _, make := range commands() {
		c := make(&s)
		if c.Name() != "store" && c.HasSubCommands() {
			for _, sub := range c.Commands() {
				sub.Use = c.Name() + "-" + sub.Use
				all = append(all, sub)
			}
			continue
		}
		all = append(all, c)
	}
	for _, c := range all {
		here = append(here, c.Name())
		switch {
		case c.Flags().Lookup("json") != nil && !slices.Contains(served, c.Name()):
			t.Errorf("%s prints JSON and is not served", c.Name())
		case c.Flags().Lookup("json") == nil && other[c.Name()] == "":
			t.Errorf("%s has no page", c.Name())
		}
	}
	for _, name := range served {
		if !slices.Contains(here, name) {
			t.Errorf("%s is served and is no command", name)
		}
	}
}

// dropped sends a file of readings as a page does, and returns the page that follows.
func dropped(t *testing.T, address, sheet, file string) (page string, code int) {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	m.WriteField("base", "0")
	text, err := os.ReadFile(filepath.Join("..", "..", "..", "examples", "readings", file))
	if err != nil {
		t.Fatal(err)
	}
	f, err := m.CreateFormFile("file", file)
	if err == nil {
		_, err = f.Write(text)
	}
	if err != nil {
		t.Fatal(err)
	}
	m.Close()
	r, err := http.Post(address+"b/heron-van/measured/"+sheet, m.FormDataContentType(), &b)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(body), r.StatusCode
}

func fetched(t *testing.T, at string) (string, int) {
	t.Helper()
	r, err := http.Get(at)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(body), r.StatusCode
}

// Readings that are dropped or typed are kept and become their sheet: bench, record, fault, claim. A claim
// takes no file of this machine.
func TestMeasuredSheets(t *testing.T) {
	address, stop := serving(t, "--data", filepath.Join(t.TempDir(), "store.db"), "--listen", "127.0.0.1:0")
	form := func(path string, pairs ...string) (string, int) {
		v := url.Values{}
		for i := 0; i+1 < len(pairs); i += 2 {
			v.Add(pairs[i], pairs[i+1])
		}
		r, err := http.PostForm(address+path, v)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		body, _ := io.ReadAll(r.Body)
		return string(body), r.StatusCode
	}
	form("example", "name", "heron-van")
	if page, code := dropped(t, address, "bench", "two-in-turns.csv"); code != 200 || !strings.Contains(page, "B gives 96.0 %") {
		t.Errorf("bench: %d", code)
	}
	if page, code := dropped(t, address, "fault", "heron-burnt-tab.txt"); code != 200 || !strings.Contains(page, "burnt busbar or bad tab joint inside, module B") {
		t.Errorf("fault: %d", code)
	}
	if page, code := dropped(t, address, "claim", "heron-burnt-tab.txt"); code != 200 || !strings.Contains(page, "The packet, ZIP") {
		t.Errorf("claim: %d", code)
	}
	if page, code := fetched(t, address+"b/heron-van/claim.zip?module=B"); code != 200 || !strings.HasPrefix(page, "PK") {
		t.Errorf("the packet: %d", code)
	}
	if page, code := fetched(t, address+"b/heron-van/record?time=2027-06-21+12:10"); code != 200 || !strings.Contains(page, "short-circuit amps") {
		t.Errorf("record: %d", code)
	}
	if page, code := fetched(t, address+"b/heron-van/record?place=Evora,+PT&time=2027-06-21+12:10&at=1"); code != 200 || !strings.Contains(page, "Figures hold for Évora") || !strings.Contains(page, `name="place" value="Evora, PT"`) {
		t.Errorf("record at a place of the first revision: %d", code)
	}
	if page, _ := fetched(t, address+"b/heron-van/record?time=2027-06-21+01:00"); !strings.Contains(page, "give time of the day") {
		t.Error("record at night does not name the field")
	}
	if page, code := fetched(t, address+"b/heron-van/template.pdf"); code != 200 || !strings.HasPrefix(page, "%PDF") {
		t.Errorf("template: %d", code)
	}
	if page, code := form("b/heron-van/readings", "back", "fault", "kind", "voc", "at", "A", "value", "13.1 V"); code != 200 || !strings.Contains(page, "13.1 V") {
		t.Errorf("one more reading: %d", code)
	}
	if page, code := form("b/heron-van/readings", "kind", "photo", "at", "x", "value", "1"); code != 400 {
		t.Errorf("a kind that is none: %d %s", code, page)
	}
	if page, code := form("b/heron-van/measured/fault", "base", "1", "text", "voc A = 1 V"); code != 409 || !strings.Contains(page, "Kept meanwhile") || !strings.Contains(page, "voc A = 1 V") {
		t.Errorf("readings from a stale window: %d", code)
	}
	now, _ := fetched(t, address+"b/heron-van/claim")
	_, base, _ := strings.Cut(now, `name="base" value="`)
	base, _, _ = strings.Cut(base, `"`)
	for _, line := range []string{"photo /etc/passwd, now, x = photo-1.jpg", `" photo","","/etc/passwd, now, x"`, "photo = ../store.db, now, x", "photo = /etc/passwd, now, x", "photo=/etc/passwd, now, x", "PHOTO = /etc/passwd, now, x", " photo x = /etc/passwd, now, y", "photo,,\"/etc/passwd, now, x\"", `"photo","","/etc/passwd, now, x"`, "photo;;/etc/passwd, now, x", "\ufeffphoto = /etc/passwd, now, x"} {
		page, code := form("b/heron-van/measured/claim", "base", base, "text", line+"\nvoc A = 26 V\n")
		_, base, _ = strings.Cut(page, `name="base" value="`)
		base, _, _ = strings.Cut(base, `"`)
		if code != 200 || !strings.Contains(page, "wanted a photograph kept with this build") || strings.Contains(page, "root:") {
			t.Errorf("%q: %d", line, code)
		}
		if zip, code := fetched(t, address+"b/heron-van/claim.zip?module=A"); code == 200 && strings.Contains(zip, "passwd") {
			t.Errorf("%q: the packet has the file", line)
		}
	}
	began := time.Now()
	if page, code := fetched(t, address+"api/builds/heron-van/verdict"); code != 200 || !strings.Contains(page, "lead") {
		t.Errorf("verdict: %d %s", code, page)
	}
	if took := time.Since(began); took > 4*time.Second { // a second on a quiet machine
		t.Errorf("from readings to verdict: %v", took)
	}
	t.Logf("from readings to verdict: %v", time.Since(began).Round(time.Millisecond))
	if code := stop(); code != ExitDone {
		t.Errorf("exit %d", code)
	}
}
