// Package weather reads hourly weather files: EPW, as building simulation uses it, and TMY3 as CSV.
// Both are public formats of typical years. A file is used as it is: gaps marked by a missing-value
// code are filled from the hour before, or with darkness, and counted; what cannot be read is a
// problem with its line.
package weather
