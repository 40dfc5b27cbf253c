package cli

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/bench"
	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
)

// standFlags say where, when and how the modules stood when they were read, as typed.
type standFlags struct{ at, when, sky, air, wind, posture, heading, tilt, facing string }

// add adds the flags.
func (f *standFlags) add(c *cobra.Command) {
	fs := c.Flags()
	fs.StringVar(&f.at, "at", "", `where they were read, "38.57,-7.91" or "Evora, PT"; empty: the file, the build's home`)
	fs.StringVar(&f.when, "time", "", `when, "2027-06-21 12:10" in the place's own clock, or "now"; empty: the file's date`)
	fs.StringVar(&f.sky, "sky", "", "the sky as seen: "+bench.SkyWords)
	fs.StringVar(&f.air, "air", "", `air temperature in the shade, "24 °C"; empty: usual for the month and hour`)
	fs.StringVar(&f.wind, "wind", "", `wind, "2 m/s"; empty: 2 m/s`)
	fs.StringVar(&f.posture, "posture", "", "posture of the build; empty: any of them")
	fs.StringVar(&f.heading, "heading", "", `azimuth the front looks to, "160°"; empty: any`)
	fs.StringVar(&f.tilt, "tilted", "", `all modules leaning so, "30°" from the level, with --facing`)
	fs.StringVar(&f.facing, "facing", "", `azimuth their face looks to, "180°" for south`)
}

// set takes a line of a readings file.
func (f *standFlags) set(key, value string) {
	*map[string]*string{"at": &f.at, "date": &f.when, "time": &f.when, "sky": &f.sky, "air": &f.air, "wind": &f.wind, "posture": &f.posture, "heading": &f.heading, "tilt": &f.tilt, "facing": &f.facing}[key] = value
}

// over returns these with what they do not say from the others.
func (f standFlags) over(rest standFlags) standFlags {
	or := func(a *string, b string) {
		if *a == "" {
			*a = b
		}
	}
	or(&f.at, rest.at)
	or(&f.when, rest.when)
	or(&f.sky, rest.sky)
	or(&f.air, rest.air)
	or(&f.wind, rest.wind)
	or(&f.posture, rest.posture)
	or(&f.heading, rest.heading)
	or(&f.tilt, rest.tilt)
	or(&f.facing, rest.facing)
	return f
}

// conditions fills in light and cells that the file does not give, by place, minute, sky and mounting. Where it
// gives both, what was typed of place and minute is still looked at: readings of the night say nothing.
func (f *readingFile) conditions(s *Streams, b *openedBuild, flags standFlags) error {
	if len(f.readings) == 1 {
		f.assumed = append(f.assumed, assumption{What: "one reading", Value: "no verdict", Why: "one reading alone may be a slip of eye, range or plug; the next test is named"})
	}
	if f.given["cells"] && f.options.Cells.Celsius() < 0 && (!f.given["light"] || f.options.Light > 400*quantity.WattPerSquareMetre) {
		f.assumed = append(f.assumed, assumption{What: "cells", Value: fmt.Sprintf("%.0f °C in the sun", f.options.Cells.Celsius()), Why: "only in hard frost: look at sign and unit; 40 K in error are a tenth of the volts"})
	}
	st, notes, err := f.stand(s, b, flags.over(f.stood))
	if err != nil {
		return err
	}
	both := f.given["light"] && f.given["cells"]
	if both && (st.Place == nil || st.Time.IsZero()) {
		return nil
	}
	if f.given["light"] {
		st.Light = &f.options.Light
	}
	c, err := bench.ConditionsOf(&b.build, st)
	if errors.Is(err, bench.ErrNight) {
		return misuse("%s at %s: the sun is down, or behind the modules: no reading of that minute says what is wrong. Date, clock, zone or place may be wrong", st.Place.Name, st.Time.In(st.Place.Zone).Format("2 Jan 2006 15:04 MST"))
	}
	if err != nil {
		return asUse(err)
	}
	if both {
		return nil
	}
	if !f.given["light"] {
		if g := c.Light.WattsPerSquareMetre(); g < 50 {
			return misuse("%s at %s: a sky as said gives %.0f W/m² on the modules, too little to tell anything; read again about noon", st.Place.Name, st.Time.In(st.Place.Zone).Format("2 Jan 2006 15:04 MST"), g)
		}
		f.options.Light, f.options.LightUnsure = c.Light, c.LightUnsure
	}
	if !f.given["cells"] {
		f.options.Cells, f.options.CellsUnsure = c.Cells, c.CellsUnsure
	}
	for _, a := range c.Assumed {
		if f.given["cells"] && (a.Path == "cells" || a.Path == "air" || a.Path == "wind") {
			continue
		}
		notes = append(notes, assumption{What: a.Path, Value: a.Value, Why: a.Why, Source: a.Source})
	}
	f.assumed = append(f.assumed, notes...)
	return nil
}

// stand reads what was typed; every problem is in the error.
func (f *readingFile) stand(s *Streams, b *openedBuild, t standFlags) (bench.Stand, []assumption, error) {
	var st bench.Stand
	var notes []assumption
	var ps problem.List
	bad := func(key, found, want string) {
		p := problem.Problem{Path: key, Found: found, Want: want}
		if line := f.lines[key]; line > 0 {
			p.File, p.Line = f.path, line
		}
		ps.Add(p)
	}
	switch {
	case t.at != "":
		p, more, err := findPlace(t.at)
		if err != nil {
			return st, nil, err
		}
		st.Place, notes = &p, more
	case b.build.Home != nil:
		st.Place = b.build.Home
		notes = append(notes, assumption{What: "place", Value: b.build.Home.Name, Why: "the build's home; say at = PLACE where you read"})
	}
	if st.Place == nil && len(b.build.Trip.Legs) > 0 && t.when != "" {
		st.Place = &b.build.Trip.Legs[0].Place
		notes = append(notes, assumption{What: "place", Value: st.Place.Name, Why: "the trip's first; say at = PLACE where you read"})
	}
	st.Time = f.minute(s, st.Place, t.when, bad)
	if t.sky != "" {
		if _, ok := bench.SkyAsSeen(t.sky); ok {
			st.Sky = t.sky
		} else {
			notes = append(notes, assumption{What: "sky", Value: "as not noted", Why: "the words \"" + t.sky + "\" are none of " + bench.SkyWords})
		}
	}
	if t.air != "" {
		if v, err := quantity.ParseTemperature(t.air); err != nil || v.Celsius() < -60 || v.Celsius() > 60 {
			bad("air", t.air, "wanted a temperature between -60 °C and 60 °C")
		} else {
			st.Air = &v
		}
	}
	if t.wind != "" {
		if v, err := quantity.ParseSpeed(t.wind); err != nil || v < 0 || v > 60*quantity.MetrePerSecond {
			bad("wind", t.wind, "wanted 0 to 60 m/s")
		} else {
			st.Wind = &v
		}
	}
	angle := func(key, text string, high float64) *quantity.Angle {
		if text == "" {
			return nil
		}
		a, err := angleFlag(key, text, 0, high)
		if err != nil {
			bad(key, text, fmt.Sprintf("wanted an angle between 0° and %.0f°", high))
			return nil
		}
		return &a
	}
	tilt, facing := angle("tilt", t.tilt, 90), angle("facing", t.facing, 360)
	st.Heading = angle("heading", t.heading, 360)
	switch {
	case tilt != nil && *tilt == 0:
		st.Facing = &shape.Facing{}
	case tilt != nil && facing != nil:
		st.Facing = &shape.Facing{Tilt: *tilt, Azimuth: *facing}
	case tilt != nil:
		bad("tilt", t.tilt, "wanted with it where the face looks: facing = 180° for south")
	case facing != nil:
		bad("facing", t.facing, "wanted with it the tilt: tilt = 30°")
	}
	if t.posture != "" {
		var names []string
		for k := range b.build.Postures {
			if strings.EqualFold(b.build.Postures[k].Name, t.posture) {
				st.Posture = &k
			}
			names = append(names, b.build.Postures[k].Name)
		}
		if st.Posture == nil {
			bad("posture", t.posture, "wanted one of the build's: "+strings.Join(names, ", "))
		}
	}
	return st, notes, ps.Err()
}

// minute reads when; zero where no hour was said.
func (f *readingFile) minute(s *Streams, p *build.Place, text string, bad func(key, found, want string)) time.Time {
	key := "time"
	if f.lines["date"] > 0 {
		key = "date"
	}
	switch {
	case text == "":
		return time.Time{}
	case strings.EqualFold(text, "now"):
		return s.Clock()
	}
	zone := time.UTC
	if p != nil && p.Zone != nil {
		zone = p.Zone
	}
	if _, err := time.ParseInLocation("2006-01-02", strings.TrimSpace(text), zone); err == nil {
		return time.Time{} // a day without its hour tells nothing of the sun
	}
	t, err := readTime(text, zone, s.Clock)
	if err != nil {
		bad(key, text, "wanted 2027-06-21 12:10 in the place's own clock, or 2027-06-21T12:10Z")
	}
	return t
}
