package main

import (
	"compress/gzip"
	"encoding/binary"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"

	"noonmark/internal/physics/climate"
)

// size is how many bytes a grid takes packed.
type size struct {
	name  string
	bytes int
}

// world returns the packed climatology, in the order and with the codes that package climate
// states: clearness, lowest and highest temperature, wind, elevation.
func world(data string) ([]byte, []size, error) {
	var grids []climate.Grid
	var sizes []size
	add := func(name string, g climate.Grid) {
		grids = append(grids, g)
		sizes = append(sizes, size{name, len(climate.Pack([]climate.Grid{g}))})
	}
	for _, name := range []string{"kt_2deg", "tmin_sealevel_2deg", "tmax_sealevel_2deg"} {
		b, err := gunzip(filepath.Join(data, "climatology-compact", name+".u8.gz"))
		if err != nil {
			return nil, nil, err
		}
		if len(b) != 12*90*180 {
			return nil, nil, fmt.Errorf("%s: %d values, want %d", name, len(b), 12*90*180)
		}
		add(name, climate.Grid{Layers: 12, Rows: 90, Columns: 180, Values: b})
	}
	wind, err := windGrid(filepath.Join(data, "climatology-nasa-power", "nasa_power_grid_4deg.csv.gz"))
	if err != nil {
		return nil, nil, err
	}
	add("wind at 50 m, 4deg", wind)
	elevation, err := elevationGrid(filepath.Join(data, "elevation-1deg", "elevation_1deg_i16le.bin.gz"))
	if err != nil {
		return nil, nil, err
	}
	add("elevation, 1deg", elevation)
	return climate.Pack(grids), sizes, nil
}

// gunzip returns the unpacked content of the file.
func gunzip(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return io.ReadAll(z)
}

// windGrid returns the monthly wind at 50 m, 30 rows from 58° south every 4°, 90 columns from 180°
// west, in tenths of a metre a second. A missing value is interpolated along its parallel.
func windGrid(path string) (climate.Grid, error) {
	const rows, columns = 30, 90
	g := climate.Grid{Layers: 12, Rows: rows, Columns: columns, Values: make([]byte, 12*rows*columns)}
	f, err := os.Open(path)
	if err != nil {
		return g, err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return g, fmt.Errorf("%s: %w", path, err)
	}
	all, err := csv.NewReader(z).ReadAll()
	if err != nil {
		return g, fmt.Errorf("%s: %w", path, err)
	}
	column := map[string]int{}
	for i, name := range all[0] {
		column[name] = i
	}
	speed := make([]float64, len(g.Values))
	for i := range speed {
		speed[i] = math.NaN()
	}
	for _, record := range all[1:] {
		lat, err1 := strconv.ParseFloat(record[column["lat"]], 64)
		lon, err2 := strconv.ParseFloat(record[column["lon"]], 64)
		if err1 != nil || err2 != nil {
			return g, fmt.Errorf("%s: no position in %q", path, record[:2])
		}
		r, c := int(lat+58)/4, int(lon+180)/4%columns // 180° east is 180° west
		for m := range 12 {
			text := record[column["W_"+strconv.Itoa(m+1)]]
			if text == "" {
				continue
			}
			w, err := strconv.ParseFloat(text, 64)
			if err != nil || w < 0 || w > 25.5 {
				return g, fmt.Errorf("%s: wind %q at %g, %g", path, text, lat, lon)
			}
			speed[(m*rows+r)*columns+c] = w
		}
	}
	for row := 0; row < len(speed); row += columns {
		if err := fill(speed[row : row+columns]); err != nil {
			return g, fmt.Errorf("%s: row %d: %w", path, row/columns, err)
		}
	}
	for i, w := range speed {
		g.Values[i] = byte(math.Round(10 * w))
	}
	return g, nil
}

// fill replaces each NaN of a closed ring by a line between its nearest neighbours that are not.
func fill(ring []float64) error {
	n := len(ring)
	given := append([]float64(nil), ring...)
	at := func(i int) float64 { return given[(i%n+n)%n] }
	for i := range ring {
		if !math.IsNaN(given[i]) {
			continue
		}
		a, b := 1, 1
		for ; a < n && math.IsNaN(at(i-a)); a++ {
		}
		for ; b < n && math.IsNaN(at(i+b)); b++ {
		}
		if a == n {
			return fmt.Errorf("no value on the whole parallel")
		}
		ring[i] = (float64(b)*at(i-a) + float64(a)*at(i+b)) / float64(a+b)
	}
	return nil
}

// elevationGrid returns the mean height of each square degree in steps of 25 m; the sea, and the
// little land below it, is 0.
func elevationGrid(path string) (climate.Grid, error) {
	const rows, columns = 180, 360
	g := climate.Grid{Layers: 1, Rows: rows, Columns: columns, Values: make([]byte, rows*columns)}
	b, err := gunzip(path)
	if err != nil {
		return g, err
	}
	if len(b) != 2*rows*columns {
		return g, fmt.Errorf("%s: %d bytes, want %d", path, len(b), 2*rows*columns)
	}
	for i := range g.Values {
		h := float64(int16(binary.LittleEndian.Uint16(b[2*i:])))
		g.Values[i] = byte(math.Round(min(max(h, 0), 25*255) / 25))
	}
	return g, nil
}
