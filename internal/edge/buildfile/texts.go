package buildfile

import (
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// textReader reads a scalar's text into a value.
type textReader struct {
	want string
	list bool // a sequence of scalars is read as one text, joined by commas
	into func(text string, v reflect.Value) error
}

// by makes a reader of a parser.
func by[T any](want string, parse func(string) (T, error)) textReader {
	return textReader{want: want, into: func(text string, v reflect.Value) error {
		x, err := parse(text)
		if err == nil {
			v.Set(reflect.ValueOf(x))
		}
		return err
	}}
}

// listed is by for a value that may also be a sequence.
func listed[T any](want string, parse func(string) (T, error)) textReader {
	r := by(want, parse)
	r.list = true
	return r
}

// readers are the texts of a document, by type.
var readers = map[reflect.Type]textReader{
	reflect.TypeFor[quantity.Length]():      by("a length with its unit", quantity.ParseLength),
	reflect.TypeFor[quantity.Area]():        by("a conductor size: mm² or AWG", quantity.ParseArea),
	reflect.TypeFor[quantity.Mass]():        by("a mass with its unit", quantity.ParseMass),
	reflect.TypeFor[quantity.Volume]():      by("a volume with its unit", quantity.ParseVolume),
	reflect.TypeFor[quantity.Pressure]():    by("a pressure with its unit", quantity.ParsePressure),
	reflect.TypeFor[quantity.Force]():       by("a force with its unit", quantity.ParseForce),
	reflect.TypeFor[quantity.LineForce]():   by("a force along a line with its unit", quantity.ParseLineForce),
	reflect.TypeFor[quantity.Angle]():       by("an angle with its unit", quantity.ParseAngle),
	reflect.TypeFor[quantity.Ratio]():       by("a ratio", quantity.ParseRatio),
	reflect.TypeFor[quantity.Voltage]():     by("a voltage with its unit", quantity.ParseVoltage),
	reflect.TypeFor[quantity.Current]():     by("a current with its unit", quantity.ParseCurrent),
	reflect.TypeFor[quantity.Power]():       by("a power with its unit", quantity.ParsePower),
	reflect.TypeFor[quantity.Energy]():      by("an energy with its unit", quantity.ParseEnergy),
	reflect.TypeFor[quantity.Force]():       by("a force with its unit", quantity.ParseForce),
	reflect.TypeFor[quantity.Speed]():       by("a speed with its unit", quantity.ParseSpeed),
	reflect.TypeFor[quantity.Temperature](): by("a temperature with its scale", quantity.ParseTemperature),
	reflect.TypeFor[quantity.TempDiff]():    by("a difference of temperatures", quantity.ParseTempDiff),
	reflect.TypeFor[quantity.Coefficient](): by("a temperature coefficient", quantity.ParseCoefficient),
	reflect.TypeFor[string]():               by("a text", func(s string) (string, error) { return plainText(s) }),
	reflect.TypeFor[int]():                  by("a whole number", wholeNumber),
	reflect.TypeFor[float64]():              by("a number", plainNumber),
	reflect.TypeFor[bool]():                 by("true or false", trueOrFalse),
	reflect.TypeFor[build.SizeDoc]():        by("two lengths", sizeText),
	reflect.TypeFor[build.PointDoc]():       listed("a point [x, y]", pointText),
	reflect.TypeFor[build.SkyPointDoc]():    listed("a point [azimuth, elevation]", skyPointText),
	reflect.TypeFor[build.HoursDoc]():       listed("hours of the day", hoursText),
	reflect.TypeFor[build.TimeDoc]():        by("a date", timeText),
}

// wanted is a fault with a likely value.
type wanted struct{ want, likely string }

func (w wanted) Error() string { return w.want }

// explain splits an error into what is wanted and what is likely meant.
func explain(err error) (want, likely string) {
	var pe *quantity.ParseError
	if errors.As(err, &pe) {
		return pe.Want, pe.Likely
	}
	var w wanted
	if errors.As(err, &w) {
		return w.want, w.likely
	}
	return err.Error(), ""
}

func plainText(s string) (string, error) {
	if len(s) > 200 {
		return "", wanted{"a text of at most 200 letters", ""}
	}
	if strings.ContainsFunc(s, func(r rune) bool { return r < ' ' }) {
		return "", wanted{"a text on one line", ""}
	}
	return s, nil
}

func wholeNumber(s string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(s))
	if err != nil || n < -1e6 || n > 1e6 {
		return 0, wanted{"a whole number", ""}
	}
	return n, nil
}

func plainNumber(s string) (float64, error) {
	x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || !(x > -1e12 && x < 1e12) {
		likely := strings.Replace(s, ",", ".", 1)
		if _, err := strconv.ParseFloat(likely, 64); err != nil || likely == s {
			likely = ""
		}
		return 0, wanted{"a number with a decimal point", likely}
	}
	return x, nil
}

func trueOrFalse(s string) (bool, error) {
	switch strings.ToLower(s) {
	case "true", "yes":
		return true, nil
	case "false", "no":
		return false, nil
	}
	return false, wanted{"true or false", ""}
}

// sizeText reads "2.1 m x 1.35 m"; a unit after the second serves for the first.
func sizeText(s string) (build.SizeDoc, error) {
	var out build.SizeDoc
	s = strings.ReplaceAll(s, "×", " x ")
	a, b, ok := strings.Cut(s, " x ")
	if !ok {
		return out, wanted{"two lengths, such as 2.1 m x 1.35 m", ""}
	}
	w, err := quantity.ParseLength(b)
	if err != nil {
		return out, err
	}
	l, err := quantity.ParseLength(a)
	if err != nil {
		if _, bare := strconv.ParseFloat(strings.TrimSpace(a), 64); bare != nil {
			return out, err
		}
		f := strings.Fields(b)
		if l, err = quantity.ParseLength(strings.TrimSpace(a) + " " + f[len(f)-1]); err != nil {
			return out, err
		}
	}
	return build.SizeDoc{Length: l, Width: w}, nil
}

func pointText(s string) (build.PointDoc, error) {
	a, b, ok := strings.Cut(s, ",")
	if !ok {
		return build.PointDoc{}, wanted{"a point [x, y], such as [0.2 m, 150 mm]", ""}
	}
	x, err := quantity.ParseLength(a)
	if err != nil {
		return build.PointDoc{}, err
	}
	y, err := quantity.ParseLength(b)
	return build.PointDoc{X: x, Y: y}, err
}

func skyPointText(s string) (build.SkyPointDoc, error) {
	a, b, ok := strings.Cut(s, ",")
	if !ok {
		return build.SkyPointDoc{}, wanted{"a point [azimuth, elevation], such as [180°, 12°]", ""}
	}
	x, err := quantity.ParseAngle(a)
	if err != nil {
		return build.SkyPointDoc{}, err
	}
	y, err := quantity.ParseAngle(b)
	return build.SkyPointDoc{Azimuth: x, Elevation: y}, err
}

// hoursText reads "20-23", "7-8, 18-22", "7:30-8", "always".
func hoursText(s string) (build.HoursDoc, error) {
	var out build.HoursDoc
	if t := strings.ToLower(strings.TrimSpace(s)); t == "always" || t == "0-24" {
		for i := range out.Hours {
			out.Hours[i] = 1
		}
		out.Always = true
		return out, nil
	}
	bad := wanted{"hours of the day, such as 20-23, 7:30-8, or always", ""}
	for part := range strings.SplitSeq(strings.ReplaceAll(s, "–", "-"), ",") {
		a, b, ok := strings.Cut(strings.TrimSpace(part), "-")
		from, ok1 := clock(a)
		to, ok2 := clock(b)
		if !ok || !ok1 || !ok2 || from == to {
			return out, bad
		}
		if to < from {
			to += 24
		}
		for h := range 48 {
			share := min(to, float64(h+1)) - max(from, float64(h))
			if share > 0 {
				out.Hours[h%24] = min(1, out.Hours[h%24]+share)
			}
		}
	}
	return out, nil
}

// clock reads "7", "7:30", "24" as hours.
func clock(s string) (float64, bool) {
	h, m, found := strings.Cut(strings.TrimSpace(s), ":")
	hours, err := strconv.Atoi(h)
	if err != nil || hours < 0 || hours > 24 {
		return 0, false
	}
	minutes := 0
	if found {
		if minutes, err = strconv.Atoi(m); err != nil || minutes < 0 || minutes > 59 || hours == 24 && minutes > 0 {
			return 0, false
		}
	}
	return float64(hours) + float64(minutes)/60, true
}

func timeText(s string) (build.TimeDoc, error) {
	for _, layout := range []string{"2006-01-02", "2006-01-02 15:04", "2006-01-02T15:04"} {
		t, err := time.Parse(layout, strings.TrimSpace(s))
		if err != nil {
			continue
		}
		if t.Year() < 1950 || t.Year() > 2100 {
			return build.TimeDoc{}, wanted{fmt.Sprintf("a year from 1950 to 2100, not %d", t.Year()), ""}
		}
		return build.TimeDoc{Year: t.Year(), Month: int(t.Month()), Day: t.Day(), Hour: t.Hour(), Minute: t.Minute(), Dated: layout == "2006-01-02"}, nil
	}
	return build.TimeDoc{}, wanted{"a date, such as 2027-03-20 or 2027-03-20 12:00", ""}
}
