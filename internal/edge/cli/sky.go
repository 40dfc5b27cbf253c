package cli

import (
	"fmt"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/bench"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

type skyAnswer struct {
	Place      string       `json:"place"`
	Time       time.Time    `json:"time"`
	Global     float64      `json:"ghi_Wm2"`
	Beam       float64      `json:"dni_Wm2"`
	Diffuse    float64      `json:"dhi_Wm2"`
	Plane      float64      `json:"plane_Wm2"`
	PlaneBeam  float64      `json:"plane_beam_Wm2"`
	PlaneSky   float64      `json:"plane_sky_Wm2"`
	PlaneEarth float64      `json:"plane_ground_Wm2"`
	Incidence  float64      `json:"incidence_deg"`
	Tilt       float64      `json:"tilt_deg"`
	Facing     float64      `json:"facing_deg"`
	AirMass    float64      `json:"air_mass"`
	Zenith     float64      `json:"zenith_deg"`
	Beyond     float64      `json:"extraterrestrial_Wm2"`
	Assumed    []assumption `json:"assumed"`
}

func skyCommand(s *Streams) *cobra.Command {
	var at whereFlags
	var cloud, haze, global, tilt, facing, albedo string
	var asJSON bool
	c := &cobra.Command{
		Use:   "sky --at PLACE [--time T] [--cloud SHARE | --ghi W/m²] [--tilt DEG --facing DEG]",
		Short: "the light on the level and on a plane",
		Long: `Light from a clear sky (Bird & Hulstrom 1981), thinned by cloud, or from a meter's reading on
the level, split into beam and diffuse light and put on a plane (Perez et al. 1990).

  noonmark sky --at "Evora, PT" --time "2027-06-21 12:00"
  noonmark sky --at 38.57,-7.91 --time "2027-12-21 12:00" --tilt 30° --facing 180°
  noonmark sky --at "Evora, PT" --time "2027-06-21 09:00" --ghi "420 W/m²"`,
		Args: exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			spot, err := at.read(s)
			if err != nil {
				return err
			}
			q := skyQuestion{cloud: cloud, haze: haze, global: global, tilt: tilt, facing: facing, albedo: albedo}
			a, err := q.answer(spot)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(s.Out, a)
			}
			return a.print(s)
		},
	}
	at.add(c)
	c.Flags().StringVar(&cloud, "cloud", "", `share of the sky covered, "0.4" or "40 %"`)
	c.Flags().StringVar(&haze, "haze", "", `clear air: clean, usual, hazy, smoky; empty: usual`)
	c.Flags().StringVar(&global, "ghi", "", `global light on the level from a meter, "650 W/m²"`)
	c.Flags().StringVar(&tilt, "tilt", "", `of the plane from the horizontal, "30°"; empty: level`)
	c.Flags().StringVar(&facing, "facing", "", `azimuth its upper face looks to, "180°"`)
	c.Flags().StringVar(&albedo, "ground", "", `share of light the ground throws back; empty: 0.2`)
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

type skyQuestion struct{ cloud, haze, global, tilt, facing, albedo string }

// hazes are the words for clear air.
var hazes = map[string]sky.Haze{"": sky.Ordinary, "usual": sky.Ordinary, "clean": sky.Clean, "hazy": sky.Hazy, "smoky": sky.Smoky}

// overhead is the sky a question describes.
type overhead struct {
	haze    sky.Haze
	cloud   quantity.Ratio
	global  *quantity.Irradiance
	facing  shape.Facing
	albedo  quantity.Ratio
	assumed []assumption
}

func (q skyQuestion) read() (overhead, error) {
	o := overhead{albedo: 20 * quantity.Percent}
	var ok bool
	var err error
	if o.haze, ok = hazes[q.haze]; !ok {
		return o, misuse("--haze %q: wanted clean, usual, hazy or smoky", q.haze)
	}
	if q.cloud != "" && q.global != "" {
		return o, misuse("--cloud and --ghi say the same thing twice; give one")
	}
	if q.cloud != "" {
		if o.cloud, err = shareFlag("--cloud", q.cloud); err != nil {
			return o, err
		}
	}
	if q.global != "" {
		g, err := quantity.ParseIrradiance(q.global)
		if err != nil {
			return o, misuse("--ghi: %v", err)
		}
		if g < 0 || g > 1600*quantity.WattPerSquareMetre {
			return o, misuse("--ghi %s: wanted 0 to 1600 W/m²", q.global)
		}
		o.global = &g
	}
	if q.tilt != "" {
		if o.facing.Tilt, err = angleFlag("--tilt", q.tilt, 0, 90); err != nil {
			return o, err
		}
	}
	if q.facing != "" {
		if o.facing.Azimuth, err = angleFlag("--facing", q.facing, 0, 360); err != nil {
			return o, err
		}
	} else if o.facing.Tilt > 0 {
		return o, misuse("--tilt without --facing: say where the upper face looks, --facing 180° for south")
	}
	if q.albedo != "" {
		if o.albedo, err = shareFlag("--ground", q.albedo); err != nil {
			return o, err
		}
	} else {
		o.assumed = append(o.assumed, assumption{What: "ground", Value: "throws back 0.20 of the light", Why: "grass and gravel", Source: "common practice, no source"})
	}
	if q.haze == "" && q.global == "" {
		o.assumed = append(o.assumed, assumption{What: "clear air", Value: "usual: aerosol depth 0.10 at 500 nm", Why: "dust and damp move the beam by 10 %, the total by 2 %"})
	}
	return o, nil
}

// shareFlag reads a ratio of 0 to 1.
func shareFlag(name, text string) (quantity.Ratio, error) {
	r, err := quantity.ParseRatio(text)
	if err != nil {
		return 0, misuse("%s: %v", name, err)
	}
	if r < 0 || r > 1 {
		return 0, misuse("%s %s: wanted 0 to 1, or 0 to 100 %%", name, text)
	}
	return r, nil
}

// angleFlag reads an angle between two bounds in degrees; a bare number is degrees.
func angleFlag(name, text string, low, high float64) (quantity.Angle, error) {
	a, err := quantity.ParseAngle(text)
	if err != nil {
		if a, err = quantity.ParseAngle(text + "°"); err != nil {
			return 0, misuse("%s %q: wanted an angle such as 30°", name, text)
		}
	}
	if d := a.Degrees(); d < low || d > high {
		return 0, misuse("%s %s: wanted %.0f° to %.0f°", name, text, low, high)
	}
	return a, nil
}

func (q skyQuestion) answer(sp spot) (skyAnswer, error) {
	o, err := q.read()
	if err != nil {
		return skyAnswer{}, err
	}
	site := sun.Site{Latitude: sp.place.Latitude, Longitude: sp.place.Longitude, Elevation: sp.place.Elevation}
	pos := sun.At(sp.when, site)
	seen := pos.Apparent(sun.PressureAt(sp.place.Elevation), quantity.Celsius(10))
	beyond := sun.ExtraterrestrialNormal(pos)
	light := overheadLight(o, seen, beyond, sp.place.Elevation)
	on := sky.Transpose(light, seen, o.facing, beyond, o.albedo)
	a := skyAnswer{
		Place: sp.place.Name, Time: sp.when.In(sp.place.Zone),
		Global: light.Global.WattsPerSquareMetre(), Beam: light.Beam.WattsPerSquareMetre(), Diffuse: light.Diffuse.WattsPerSquareMetre(),
		PlaneBeam:  on.Beam.WattsPerSquareMetre(),
		PlaneSky:   on.Circumsolar.WattsPerSquareMetre() + on.Isotropic.WattsPerSquareMetre() + on.Horizon.WattsPerSquareMetre(),
		PlaneEarth: on.Ground.WattsPerSquareMetre(),
		Incidence:  seen.Incidence(o.facing).Degrees(), Tilt: o.facing.Tilt.Degrees(), Facing: o.facing.Azimuth.Degrees(),
		AirMass: sky.AirMass(seen.Zenith), Zenith: seen.Zenith.Degrees(), Beyond: beyond.WattsPerSquareMetre(),
		Assumed: append(sp.assumed, o.assumed...),
	}
	a.Plane = a.PlaneBeam + a.PlaneSky + a.PlaneEarth
	return a, nil
}

// overheadLight returns the light of the sky described.
func overheadLight(o overhead, seen sun.Position, beyond quantity.Irradiance, height quantity.Length) sky.Light {
	if o.global != nil {
		return sky.Split(*o.global, beyond, seen.Zenith)
	}
	return bench.Clouded(sky.ClearSky(seen.Zenith, beyond, sky.DefaultAtmosphere(height, o.haze)), o.cloud, beyond, seen)
}

func (a skyAnswer) print(s *Streams) error {
	fmt.Fprintf(s.Out, "%s, %s, sun %.1f° up\n", a.Place, a.Time.Format("2 Jan 2006 15:04 MST"), 90-a.Zenith)
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "global, level (GHI)\t%.0f W/m²\t\n", a.Global)
	fmt.Fprintf(w, "beam, normal (DNI)\t%.0f W/m²\t\n", a.Beam)
	fmt.Fprintf(w, "diffuse, level (DHI)\t%.0f W/m²\t\n", a.Diffuse)
	fmt.Fprintf(w, "air mass\t%.2f     \t\n", a.AirMass)
	if a.Tilt > 0 {
		fmt.Fprintf(w, "on the plane, %.0f° to %s\t%.0f W/m²\t\n", a.Tilt, compass(a.Facing), a.Plane)
		fmt.Fprintf(w, "of it beam\t%.0f W/m²\t\n", a.PlaneBeam)
		fmt.Fprintf(w, "sky\t%.0f W/m²\t\n", a.PlaneSky)
		fmt.Fprintf(w, "ground\t%.0f W/m²\t\n", a.PlaneEarth)
		fmt.Fprintf(w, "incidence\t%.1f °   \t\n", a.Incidence)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	printAssumed(s.Out, a.Assumed)
	return nil
}
