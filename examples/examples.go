// Package examples holds builds of our own, embedded so that the program can print them. Vehicles,
// parts and labels are invented; places are real.
package examples

import _ "embed"

//go:embed heron-van.yaml
var heron []byte

//go:embed karoo-caravan.yaml
var karoo []byte

//go:embed ptarmigan-trailer.yaml
var ptarmigan []byte

//go:embed avocet-pickup.yaml
var avocet []byte

//go:embed bad-bittern.yaml
var bittern []byte

// Example is a build file.
type Example struct {
	Name string
	Line string // what it shows
	Text []byte
}

// All returns the examples.
func All() []Example {
	return []Example{
		{"heron-van", "two foil modules bonded to a lifting lid, spring through three countries", heron},
		{"karoo-caravan", "glass modules on stand-offs, an integrated unit, southern autumn", karoo},
		{"ptarmigan-trailer", "flexible crystalline modules at 58 to 60° N in winter: it will not do", ptarmigan},
		{"avocet-pickup", "four flexible modules on a pickup's lifting roof: every question of the wiring and roof rules answered", avocet},
	}
}

// Bad returns builds with faults put in on purpose, to see what the rules say.
func Bad() []Example {
	return []Example{
		{"bad-bittern", "too many volts in the cold, a thin cable, a fuse too large, a polyethylene lid, 130 km/h", bittern},
	}
}
