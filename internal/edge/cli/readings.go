package cli

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"strings"

	"noonmark/internal/answer/bench"
	"noonmark/internal/answer/diagnose"
	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
)

// note is a line of a readings file that is no reading: a condition, or what the claim asks for.
type note struct {
	key, value string
	line       int
}

// readingFile is a file of readings: lines of "kind place = value", or of a table with commas.
type readingFile struct {
	readings []diagnose.Reading
	texts    []string // the values as typed
	options  diagnose.Options
	stood    standFlags // what the file says of where and when; flags go before it
	lines    map[string]int
	path     string
	given    map[string]bool
	notes    []note
	assumed  []assumption
}

// readingsHelp says what a readings file may hold.
func readingsHelp() string {
	var b strings.Builder
	b.WriteString(`A line is KIND [PLACE] = VALUE with its unit, or KIND,PLACE,VALUE in a table; # begins a remark.
PLACE is a module, string or charger of the build; a joint is its string and a number, 0 at the plus end.
OL is a meter over its range; what is seen is yes or no. A value may end in ± and its standard uncertainty.
Conditions, each once: light = 850 W/m², light_unsure = 3 %, cells = 52 °C, cells_unsure = 3 K, battery =
13.2 V (else battery_v, else the battery's nominal volts). Where light or cells
are not given they are computed from at = PLACE (else the build's home), date = 2027-06-21 12:10, sky =
` + bench.SkyWords + `, air = 24 °C, wind = 2 m/s, posture = NAME and
heading = 160°, or tilt = 30° and facing = 180°, with the band that what was not said leaves.

`)
	for _, k := range diagnose.Kinds() {
		unit := k.Unit()
		if unit == "" {
			unit = "yes/no"
		}
		fmt.Fprintf(&b, "  %-20s %-7s %s\n", k, unit, k.How())
	}
	return b.String()
}

// conditions are the keys of a readings file that are no readings.
var conditions = map[string]bool{"light": true, "light_unsure": true, "cells": true, "cells_unsure": true, "battery": true}

// stands are the keys that say where, when and how the modules stood.
var stands = map[string]bool{"at": true, "date": true, "time": true, "sky": true, "air": true, "wind": true, "posture": true, "heading": true, "tilt": true, "facing": true}

// readReadings reads a readings file. Keys in also are kept as notes, in their order. Every problem is in
// the error.
func readReadings(path string, also map[string]string) (*readingFile, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, misuse("%v", err)
	}
	if len(text) > 1<<20 {
		return nil, misuse("%s: a readings file is at most 1 MB", path)
	}
	return parseReadings(path, string(text), also)
}

// parseReadings reads the text of a readings file.
func parseReadings(path, text string, also map[string]string) (*readingFile, error) {
	kinds := map[string]diagnose.Kind{}
	for _, k := range diagnose.Kinds() {
		kinds[k.String()] = k
	}
	out := &readingFile{path: path, lines: map[string]int{}, given: map[string]bool{}}
	var ps problem.List
	for n, line := range strings.Split(strings.TrimPrefix(text, "\ufeff"), "\n") {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		bad := func(found, want string) { ps.Add(problem.Problem{File: path, Line: n + 1, Found: found, Want: want}) }
		word, place, value, ok := splitReading(line)
		if n == 0 && strings.EqualFold(word, "kind") {
			continue // the head of a table
		}
		if !ok {
			bad(line, "wanted KIND PLACE = VALUE, such as voc A = 24.9 V")
			continue
		}
		word = strings.ToLower(word)
		switch k, isReading := kinds[word]; {
		case isReading:
			if r, want := readValue(k, place, value); want != "" {
				bad(value, want)
			} else {
				out.readings = append(out.readings, r)
				out.texts = append(out.texts, value)
			}
		case conditions[word] && out.given[word], stands[word] && out.lines[word] > 0:
			bad(line, "wanted "+word+" once; it stands twice")
		case word == "date" && out.lines["time"] > 0, word == "time" && out.lines["date"] > 0:
			bad(line, "wanted one of date and time, with day and hour: date = 2027-06-21 12:10")
		case conditions[word]:
			out.given[word] = true
			if err := out.condition(word, value); err != nil {
				bad(value, err.Error())
			}
		case stands[word]:
			out.lines[word] = n + 1
			out.stood.set(word, strings.TrimSpace(place+" "+value))
			if also[word] != "" {
				out.notes = append(out.notes, note{word, strings.TrimSpace(place + " " + value), n + 1})
			}
		case also[word] != "":
			out.notes = append(out.notes, note{word, strings.TrimSpace(place + " " + value), n + 1})
		case strings.HasSuffix(word, "_w") || strings.Contains(word, "watt") || strings.Contains(word, "power"):
			bad(word, "wanted volts and amperes, each by itself, as array_v and array_i: watts hide which of the two is low, and open volts times short-circuit amps is no power")
		default:
			bad(word, "wanted a kind of reading: voc, isc, string_voc …; diagnose --help lists them")
		}
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	return out, nil
}

// splitReading splits a line in its kind, place and value.
func splitReading(line string) (word, place, value string, ok bool) {
	if key, v, found := strings.Cut(line, "="); found {
		word, place, _ = strings.Cut(strings.TrimSpace(key), " ")
		return word, strings.TrimSpace(place), strings.TrimSpace(v), word != "" && strings.TrimSpace(v) != ""
	}
	r := csv.NewReader(strings.NewReader(line))
	r.TrimLeadingSpace = true
	r.LazyQuotes = true
	if strings.Count(line, ";") >= 2 {
		r.Comma = ';'
	}
	f, err := r.Read()
	if err != nil || len(f) < 3 || len(f) > 4 {
		if err == nil && len(f) == 1 {
			return f[0], "", "", false
		}
		return "", "", "", false
	}
	if len(f) == 4 { // kind, place, joint, value
		f[1] = strings.TrimSpace(f[1] + " " + f[2])
		f[2] = f[3]
	}
	return strings.TrimSpace(f[0]), strings.TrimSpace(f[1]), strings.TrimSpace(f[2]), strings.TrimSpace(f[2]) != ""
}

// readValue reads a reading's value; want says what was wanted where it could not be read.
func readValue(k diagnose.Kind, place, value string) (r diagnose.Reading, want string) {
	r = diagnose.Reading{Kind: k, At: place}
	if k == diagnose.JointDrop {
		at := strings.LastIndex(place, " ")
		n, err := strconv.Atoi(strings.TrimSpace(place[at+1:]))
		if err != nil {
			return r, "wanted the string and the joint's number, such as joint_v lid 1"
		}
		r.At, r.Joint = strings.TrimSpace(place[:max(0, at)]), n
	}
	switch strings.ToUpper(value) {
	case "OL", "O.L", "0L", "OVER", "OVERLOAD":
		if k.Unit() == "" {
			return r, "wanted yes or no"
		}
		r.Over = true
		return r, ""
	}
	if k.Unit() == "" {
		switch strings.ToLower(value) {
		case "yes":
			r.Value = 1
		case "no":
		default:
			return r, "wanted yes or no"
		}
		return r, ""
	}
	main, unsure, has := strings.Cut(value, "±")
	var err error
	if r.Value, err = inUnit(k.Unit(), strings.TrimSpace(main), false); err != nil {
		return r, err.Error()
	}
	if has {
		if r.Unsure, err = inUnit(k.Unit(), strings.TrimSpace(unsure), true); err != nil {
			return r, err.Error()
		}
		if r.Unsure <= 0 {
			return r, "wanted an uncertainty above zero"
		}
	}
	return r, ""
}

// inUnit reads a text of a unit's quantity in that unit.
func inUnit(unit, text string, difference bool) (float64, error) {
	switch unit {
	case "V":
		v, err := quantity.ParseVoltage(text)
		return v.Volts(), err
	case "A":
		v, err := quantity.ParseCurrent(text)
		return v.Amperes(), err
	case "Ω":
		v, err := quantity.ParseResistance(text)
		return v.Ohms(), err
	case "°C":
		if !difference {
			v, err := quantity.ParseTemperature(text)
			return v.Celsius(), err
		}
	}
	v, err := quantity.ParseTempDiff(text)
	return v.Kelvins(), err
}

// condition reads a condition of the readings.
func (f *readingFile) condition(word, value string) (err error) {
	o := &f.options
	switch word {
	case "light":
		o.Light, err = quantity.ParseIrradiance(value)
		switch g := o.Light.WattsPerSquareMetre(); {
		case err != nil:
		case g < 50:
			err = fmt.Errorf("%.4g W/m² tells nothing: the sensor was covered, off, or in other units; wanted 50 to 1500 W/m²", g)
		case g > 1500:
			err = fmt.Errorf("%.4g W/m² is more than the sun gives on the ground (about 1100, for seconds 1400 at a cloud's edge): unit or range; wanted 50 to 1500 W/m²", g)
		}
	case "light_unsure":
		o.LightUnsure, err = quantity.ParseRatio(value)
		if err == nil && !(o.LightUnsure > 0 && o.LightUnsure <= 0.5) {
			err = fmt.Errorf("wanted above 0 and up to 50 %%")
		}
	case "cells":
		o.Cells, err = quantity.ParseTemperature(value)
	case "cells_unsure":
		o.CellsUnsure, err = quantity.ParseTempDiff(value)
		if err == nil && !(o.CellsUnsure > 0 && o.CellsUnsure <= 30*quantity.OneKelvin) {
			err = fmt.Errorf("wanted above 0 and up to 30 K")
		}
	case "battery":
		o.Battery, err = quantity.ParseVoltage(value)
	}
	return err
}
