package web

import (
	"math"
	"net/http"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/shade"
	"noonmark/internal/sheet/sheet"
)

// solidJSON is the vehicle in three dimensions as it stands in a stay: x to the rear, y to the right, z up,
// metres.
type solidJSON struct {
	Posture  string        `json:"posture"`
	Heading  float64       `json:"heading_deg"`
	Surfaces []surfaceJSON `json:"surfaces"`
	Modules  []facesJSON   `json:"modules"`
	Things   []thingJSON   `json:"things"`
}

// point3 is a place.
type point3 = [3]float64

// surfaceJSON is a surface: level as when driving, and as it stands.
type surfaceJSON struct {
	Name   string     `json:"name"`
	Level  []point3   `json:"level"`
	Stands []point3   `json:"stands"`
	Walls  bool       `json:"walls"`
	Raised bool       `json:"raised"`
	Plan   *frameJSON `json:"plan,omitempty"` // of its drawing; absent: it has none
}

// frameJSON turns places of the plan drawing, in its millimetres, into the plane of the surface.
type frameJSON struct {
	Figure int     `json:"figure"`
	X      float64 `json:"x_mm"` // of the plan's origin
	Y      float64 `json:"y_mm"`
	Zoom   float64 `json:"zoom_mm"` // for a metre
	Origin point3  `json:"origin"`
	Along  point3  `json:"along"`
	Across point3  `json:"across"`
}

// facesJSON is a module.
type facesJSON struct {
	Name    string   `json:"name"`
	Surface string   `json:"surface"`
	Outline []point3 `json:"outline"`
}

// thingJSON is an obstacle: the outline of its foot and of its top.
type thingJSON struct {
	Name string   `json:"name"`
	Foot []point3 `json:"foot"`
	Top  []point3 `json:"top"`
}

func pointOf(v shade.Vector) point3 {
	round := func(x float64) float64 { return math.Round(x*1000) / 1000 }
	return point3{round(v.X), round(v.Y), round(v.Z)}
}

// on returns plan points on a plane, raised along its normal.
func on(p shade.Plane, list []build.Point, up quantity.Length) []point3 {
	out := make([]point3, 0, len(list))
	for _, c := range list {
		v := p.At(shape.Point{X: c.X.Metres(), Y: c.Y.Metres()})
		h := up.Metres()
		out = append(out, pointOf(shade.Vector{X: v.X + h*p.Normal.X, Y: v.Y + h*p.Normal.Y, Z: v.Z + h*p.Normal.Z}))
	}
	return out
}

// apiSolid is the vehicle as it stands in a stay, with changes.
func (s *Server) apiSolid(r *http.Request) (*reply, error) {
	o, in, _, err := s.readBuild(r)
	if err != nil {
		return nil, err
	}
	out, err := solidOf(o.build, in.Leg)
	if err != nil {
		return nil, err
	}
	return jsonReply(out)
}

func solidOf(b *build.Build, leg int) (*solidJSON, error) {
	if leg < 0 || leg >= len(b.Trip.Legs) || b.Trip.Legs[leg].Drive {
		return nil, wrong("no stay of that number")
	}
	l := &b.Trip.Legs[leg]
	out := &solidJSON{Posture: b.Postures[l.Posture].Name, Surfaces: []surfaceJSON{}, Modules: []facesJSON{}, Things: []thingJSON{}}
	if !l.HeadingFree {
		out.Heading = math.Round(l.Heading.Degrees())
	}
	frames := sheet.PlanFrames(b)
	for i := range b.Surfaces {
		f := &b.Surfaces[i]
		p := forecast.PlaneOf(b, i, l.Posture)
		x := surfaceJSON{Name: f.Name, Level: on(shade.Level(f.Height), f.Outline, 0), Stands: on(p, f.Outline, 0), Raised: p.Normal.Z < 0.9999}
		for _, t := range b.Postures[l.Posture].Tilts {
			x.Walls = x.Walls || t.Surface == i && t.Walls
		}
		for k, fr := range frames {
			if fr.Surface == i {
				at := fr.Point(build.Point{})
				x.Plan = &frameJSON{Figure: 2 * k, X: mm(at.X), Y: mm(at.Y), Zoom: 1000 / float64(fr.Scale), Origin: pointOf(p.Origin), Along: pointOf(p.Along), Across: pointOf(p.Across)}
			}
		}
		out.Surfaces = append(out.Surfaces, x)
	}
	for m := range b.Modules {
		x := &b.Modules[m]
		low, high := b.Footprint(x)
		corners := []build.Point{low, {X: high.X, Y: low.Y}, high, {X: low.X, Y: high.Y}}
		out.Modules = append(out.Modules, facesJSON{x.Name, b.Surfaces[x.Surface].Name, on(forecast.PlaneOf(b, x.Surface, l.Posture), corners, 0.01*quantity.Metre)})
	}
	for i := range b.Obstacles {
		x := &b.Obstacles[i]
		if !forecast.Stands(x, l.Posture) {
			continue
		}
		p := forecast.PlaneOf(b, x.Surface, l.Posture)
		out.Things = append(out.Things, thingJSON{x.Name, on(p, x.Outline, x.Base), on(p, x.Outline, x.Height)})
	}
	return out, nil
}
