// Package examples holds builds and readings of our own, embedded so that the program can print them. Vehicles,
// parts and labels are invented; places are real.
package examples

import "embed"

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

//go:embed readings/*.csv
var readings embed.FS

// Reading is a table of readings.
type Reading struct {
	Name string
	Line string // what it shows
	Text []byte
}

// Readings returns the tables of readings and the log, each of the van's two modules.
func Readings() []Reading {
	out := []Reading{
		{"two-in-turns", "readings: two modules in turns, places changed half way", nil},
		{"lid-notes", "readings: a notebook with every slip in it, decimal comma and an old code page", nil},
		{"side-by-side", "readings: a day of two modules, logged every ten minutes", nil},
		{"heron-june-log", "log: thirty days of the van's charger, with a gap, a full battery and a fault", nil},
	}
	for i := range out {
		text, err := readings.ReadFile("readings/" + out[i].Name + ".csv")
		if err != nil {
			panic("examples: " + err.Error())
		}
		out[i].Text = text
	}
	return out
}

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
		{"avocet-pickup", "four flexible modules on a pickup's lifting roof: every question of the wiring, roof and mounting rules answered", avocet},
	}
}

// Bad returns builds with faults put in on purpose, to see what the rules say.
func Bad() []Example {
	return []Example{
		{"bad-bittern", "too many volts in the cold, a thin cable, a fuse too large, a polyethylene lid, 130 km/h", bittern},
	}
}
