package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"noonmark/internal/testkit"
)

// The table in the repository is what the generator makes of the data.
func TestWorldIsCommitted(t *testing.T) {
	data := filepath.Dir(testkit.Shared(t, "README.md"))
	made, _, err := world(data)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := os.ReadFile("../../internal/physics/climate/world.bin")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(made, kept) {
		t.Errorf("world.bin is not what go run ./cmd/makeclimate writes: %d bytes, want %d", len(kept), len(made))
	}
}
