// Package build is the document: a vehicle, its roof, modules, wiring, battery, loads and trip.
//
// A Document holds what the user wrote, unset values as nil; Resolve checks it, fills what is
// missing in one place, lists each filled value, and returns a Build in which every value is set.
package build
