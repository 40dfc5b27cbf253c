package noonmark

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// docs/checks.md names at least 40 distinct sources by room, and at least three in every physics room
// that has code.
func TestChecksDocument(t *testing.T) {
	text, err := os.ReadFile("docs/checks.md")
	if err != nil {
		t.Fatal(err)
	}
	sources := map[string]map[string]bool{}
	room := ""
	for line := range strings.Lines(string(text)) {
		if name, ok := strings.CutPrefix(line, "## "); ok {
			room = strings.TrimSpace(name)
			sources[room] = map[string]bool{}
		}
		f := strings.Split(line, "|")
		if len(f) == 8 && room != "" && !strings.Contains(f[1], "---") && strings.TrimSpace(f[1]) != "what" {
			sources[room][strings.TrimSpace(f[2])] = true
		}
	}
	total := 0
	for _, s := range sources {
		total += len(s)
	}
	if total < 40 {
		t.Errorf("docs/checks.md has %d distinct sources by room, want at least 40", total)
	}
	rooms, err := filepath.Glob("internal/physics/*/doc.go")
	if err != nil {
		t.Fatal(err)
	}
	if len(rooms) < 8 {
		t.Fatalf("found %d physics rooms", len(rooms))
	}
	for _, r := range rooms {
		name := "physics/" + filepath.Base(filepath.Dir(r))
		if n := len(sources[name]); n < 3 {
			t.Errorf("%s has %d distinct sources, want at least 3", name, n)
		}
	}
}
