package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

const place = "../../internal/build/place"

// The files in the repository are what the packages give. NOONMARK_NPM names the node_modules folder.
func TestFiles(t *testing.T) {
	from := os.Getenv("NOONMARK_NPM")
	if from == "" {
		t.Skip("not run: NOONMARK_NPM names no folder of the npm packages")
	}
	out := t.TempDir()
	for _, name := range []string{"countries.tsv", "regions.tsv"} {
		b, err := os.ReadFile(filepath.Join(place, name))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(out, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := run(from, "/usr/share/zoneinfo/zone.tab", out); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"places.bin", "zones.txt"} { // countryzones.txt follows the machine's tzdata
		got, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(filepath.Join(place, name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s: made anew it differs from the repository's", name)
		}
	}
}

// Two messages: coordinates are differences from the one before.
func TestCities(t *testing.T) {
	message := func(fields ...byte) []byte { return append([]byte{byte(len(fields))}, fields...) }
	b := message(0x12, 2, 'A', 'b', 0x1a, 2, 'P', 'T', 0x48, 0x90, 0x4e, 0x50, 10, 0x58, 5)
	b = append(b, message(0x12, 1, 'C', 0x50, 2, 0x58, 2)...)
	got, err := cities(b)
	if err != nil || len(got) != 2 {
		t.Fatalf("%v, %v", got, err)
	}
	if a := got[0]; a.name != "Ab" || a.country != "PT" || a.population != 10000 || a.lon != 5e-5 || a.lat != -3e-5 {
		t.Errorf("first: %+v", a)
	}
	if c := got[1]; c.name != "C" || c.lon != 6e-5 || c.lat != -2e-5 {
		t.Errorf("second: %+v", c)
	}
	for n := range b {
		if n != 16 { // the end of the first message
			if _, err := cities(b[:n]); n > 0 && err == nil {
				t.Errorf("cut at %d: no error", n)
			}
		}
	}
}

// Large towns and seats stay; small ones only where nothing is near.
func TestChoose(t *testing.T) {
	all := []city{
		{name: "large", population: 20000, lat: 10, lon: 179.95}, {name: "near, over the date line", population: 9000, lat: 10, lon: -179.95},
		{name: "seat", population: 900, feature: "PPLA", lat: 10, lon: 179.9}, {name: "alone", population: 600, lat: 20}, {name: "tiny", population: 400, lat: 30},
		{name: "quarter", population: 90000, feature: "PPLX", lat: 40},
	}
	var names []string
	for _, c := range choose(all) {
		names = append(names, c.name)
	}
	if len(names) != 3 || names[0] != "large" || names[1] != "seat" || names[2] != "alone" {
		t.Errorf("kept %q", names)
	}
}

func TestZones(t *testing.T) {
	got, err := zones([]byte(`function(Y,W){var X="AB#C",T=["Etc/A","Etc/B"];if`))
	if err != nil || string(got) != "Etc/A,Etc/B\nAB#C\n" {
		t.Errorf("%q, %v", got, err)
	}
	if _, err := zones([]byte("nothing")); err == nil {
		t.Error("no error")
	}
}
