package noonmark

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// checked are the rooms of a checks page, each with the distinct places in sources that its rows name,
// what is common practice or our own estimate left out. A worked example counts once, whatever the
// number of its intermediate values; so does a table.
func checked(text string) map[string]map[string]bool {
	rooms := map[string]map[string]bool{}
	room := ""
	for line := range strings.Lines(text) {
		if name, ok := strings.CutPrefix(line, "## "); ok {
			room = strings.TrimSpace(name)
			rooms[room] = map[string]bool{}
		}
		f := strings.Split(strings.TrimSpace(line), " | ")
		if len(f) != 7 || room == "" || f[1] == "" {
			continue
		}
		if standing := strings.TrimSuffix(f[6], " |"); standing == "looked up" || standing == "from memory" {
			rooms[room][f[1]] = true
		}
	}
	return rooms
}

// docs/checks.md names at least 40 distinct places in sources, and at least three in every physics room
// that has code.
func TestChecksDocument(t *testing.T) {
	text, err := os.ReadFile("docs/checks.md")
	if err != nil {
		t.Fatal(err)
	}
	places := checked(string(text))
	total := 0
	for _, s := range places {
		total += len(s)
	}
	if total < 40 {
		t.Errorf("docs/checks.md has %d distinct places in sources, want at least 40", total)
	}
	rooms, err := filepath.Glob("internal/physics/*")
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rooms {
		if code, err := filepath.Glob(r + "/*.go"); err != nil || len(code) == 0 {
			continue
		}
		name := "physics/" + filepath.Base(r)
		if n := len(places[name]); n < 3 {
			t.Errorf("%s has %d distinct places in sources, want at least 3", name, n)
		}
	}
}

// The rule can fail: rows without a source, repeated, or of our own do not count.
func TestChecksDocumentCanFail(t *testing.T) {
	places := checked("## physics/sun\n\n| what | source | expected | got | difference | tolerance | standing |\n|---|---|---:|---:|---:|---:|---|\n" +
		"| a | s, p. 1 | 1 | 1 | 0 | 0 | looked up |\n| b | s, p. 1 | 1 | 1 | 0 | 0 | from memory |\n| c |  | 1 | 1 | 0 | 0 | looked up |\n| d | e | 1 | 1 | 0 | 0 | our own estimate |\n")
	if n := len(places["physics/sun"]); n != 1 {
		t.Errorf("counted %d, want 1: %v", n, places)
	}
}
