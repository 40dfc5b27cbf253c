// Makeclimate writes the program's built-in world climatology, internal/physics/climate/world.bin,
// from the open data in ../shared/data. Run it from the root of the repository:
//
//	go run ./cmd/makeclimate
//
// The result is the same on every machine; a test compares it with the file in the repository.
package main

import (
	"flag"
	"fmt"
	"os"
)

func main() {
	data := flag.String("data", "../shared/data", "folder of the open data")
	out := flag.String("out", "internal/physics/climate/world.bin", "file to write")
	flag.Parse()
	if flag.NArg() > 0 {
		fmt.Fprintf(os.Stderr, "makeclimate: unexpected argument %q\n", flag.Arg(0))
		os.Exit(2)
	}
	packed, sizes, err := world(*data)
	if err == nil {
		err = os.WriteFile(*out, packed, 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "makeclimate:", err)
		os.Exit(1)
	}
	for _, s := range sizes {
		fmt.Printf("%-40s %7d bytes\n", s.name, s.bytes)
	}
	fmt.Printf("%-40s %7d bytes\n", *out, len(packed))
}
