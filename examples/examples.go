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
	}
}
