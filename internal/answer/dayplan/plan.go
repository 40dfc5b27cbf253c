package dayplan

import (
	"errors"
	"fmt"
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/bond"
)

// Errors of a plan that cannot be made.
var (
	ErrNothingBonded = errors.New("no module of this build is bonded")
	ErrNoPlace       = errors.New("no place is known for the day")
)

// Job is the day asked for.
type Job struct {
	Day   time.Time // any instant of the local day at Place
	Place build.Place
	Crew  int // people; below 2 counts as 2
}

// Plan is the installation day.
type Plan struct {
	Date      time.Time // local midnight
	Place     string
	Surface   string // that most is bonded to
	Skin      string
	Adhesives []string
	Crew      int // planned with
	CrewLeast int // one for each metre of the longest module, two at least
	Rise, Set time.Time
	Hours     []Hour
	Window    Window
	Materials Materials
	Tasks     []Task
	Fits      bool // all modules are down before the window closes
	Placed    int  // modules that are
	Holds     []Hold
	Trial     []string // before anything is glued
	Drive     []Drive
	Removals  []Removal
	Cautions  []string
	Notes     []string // what the figures rest on
}

// Hour is one hour of the day on the bare skin.
type Hour struct {
	From     time.Time
	Air      quantity.Temperature
	Dew      quantity.Temperature
	Humidity quantity.Ratio
	Skin     quantity.Temperature // bare, in the sun, at mid hour
	Light    quantity.Irradiance
	Wind     quantity.Speed // at the roof
	Reasons  []bond.Reason  // against bonding; the ones that stop first
	Open     bool           // none stops
	Touch    time.Duration  // a bare hand may rest on the skin
	Patch    quantity.Area  // one person can prime and cover; 0 when shut
}

// Window is the longest run of open hours of the day, and the two limits on heat that shape it.
type Window struct {
	Found       bool
	From, Until time.Time
	Start       time.Time // of the bonding: when the skin is in the adhesive's best range, if all still fits then
	Runs        []Run     // every run of open hours, the chosen one too
	WarmFrom    time.Time // the skin is in the adhesive's best range; zero: never
	HotFrom     time.Time // the skin is too hot for the primer; zero: never
	HotUntil    time.Time
	Why         string // when there is none, or what closes it
}

// Run is a run of open hours.
type Run struct{ From, Until time.Time }

// Task is a piece of work.
type Task struct {
	Name       string
	From, To   time.Time
	People     int
	Gate       bool // only inside the window
	Hold       bool // ask before it starts
	Note       string
	BeforeDays int // done this many days before; 0: on the day
}

// Hold is a point at which somebody answers go or no-go.
type Hold struct {
	Before string
	Ask    string
	NoGo   string
}

// Drive is from when the vehicle may be driven.
type Drive struct {
	Stage bond.Stage
	Most  quantity.Speed // 0: by hand only
	Found bool           // within the days looked at
	From  time.Time      // bond as warm as the air in the shade
	InSun time.Time      // bond as warm as a module in clear sun; zero: not found
}

// Removal is how one module comes off again.
type Removal struct {
	Module string
	Time   time.Duration
	Wire   quantity.Length
	Heat   quantity.Temperature // warm the bond to, at most
	Risk   string
	Steps  []string
}

// Make plans the day of job for b. It returns ErrNothingBonded or ErrNoPlace, unwrapped, when there is
// nothing to plan or no place to plan it at; it panics for a build that build.Resolve did not make.
func Make(b *build.Build, job Job) (*Plan, error) {
	mounted(b)
	if job.Place.Zone == nil {
		return nil, ErrNoPlace
	}
	w := workOf(b)
	if len(w.pieces) == 0 {
		return nil, ErrNothingBonded
	}
	p := &Plan{Place: job.Place.Name, Surface: w.surface.Name, Skin: w.skin.Key, Adhesives: w.adhesives, CrewLeast: w.crew()}
	p.Crew = max(2, job.Crew)
	y, m, d := job.Day.In(job.Place.Zone).Date()
	p.Date = time.Date(y, m, d, 0, 0, 0, 0, job.Place.Zone)
	s := skyOf(job.Place, p.Date)
	p.Rise, p.Set = s.day.Rise, s.day.Set
	p.Hours = s.hours(w)
	p.Window = windowOf(p.Hours, w)
	p.Materials = w.materials(p.Crew)
	p.schedule(w)
	p.Holds = holds(w)
	p.Trial = trial()
	p.drive(s, w)
	for i := range w.pieces {
		p.Removals = append(p.Removals, w.removal(&w.pieces[i]))
	}
	p.Cautions = cautions(w)
	p.Notes = notes()
	if !p.Fits {
		p.Notes = append([]string{fmt.Sprintf("%d of %d modules are down before the window closes: mask and scuff the day before, bond the rest on another day, never past the gate", p.Placed, len(w.pieces))}, p.Notes...)
	}
	if p.Crew < p.CrewLeast {
		p.Cautions = append([]string{"too few hands: one person for each metre of the longest module, two at the least"}, p.Cautions...)
	}
	return p, nil
}

// piece is a module to bond.
type piece struct {
	name     string
	kind     *build.ModuleType
	mount    *build.Mount
	glue     bond.Adhesive
	attached build.Attachment
	gap      quantity.Length
	skin     bond.Skin
	front    quantity.Length // of its front edge
}

// work is all there is to bond.
type work struct {
	build     *build.Build
	pieces    []piece
	surface   *build.Surface
	skin      bond.Skin
	adhesives []string
}

// workOf returns the bonded modules of b, and the surface that bears most of them.
func workOf(b *build.Build) *work {
	w := &work{build: b}
	area := make([]float64, len(b.Surfaces))
	seen := map[string]bool{}
	for i := range b.Modules {
		m, mount := &b.Modules[i], &b.Mounting.Mounts[i]
		glue, ok := bond.FindAdhesive(mount.Adhesive)
		if !ok {
			continue
		}
		t := &b.Types[m.Type]
		skin, ok := bond.FindSkin(b.Surfaces[m.Surface].Skin)
		if !ok {
			panic("dayplan: no skin " + b.Surfaces[m.Surface].Skin)
		}
		area[m.Surface] += t.Length.Metres() * t.Width.Metres()
		front := t.Width
		if math.Abs(math.Sin(m.Turn.Radians())) > 0.5 { // a quarter turn
			front = t.Length
		}
		w.pieces = append(w.pieces, piece{m.Name, t, mount, glue, m.Attachment, m.Gap, skin, front})
		if !seen[glue.Key] {
			seen[glue.Key] = true
			w.adhesives = append(w.adhesives, glue.Key)
		}
	}
	most := 0
	for i := range area {
		if area[i] > area[most] {
			most = i
		}
	}
	w.surface = &b.Surfaces[most]
	w.skin, _ = bond.FindSkin(w.surface.Skin)
	return w
}

// crew returns one person for each metre of the longest module begun, two at least.
// Source: handbook H3, common practice.
func (w *work) crew() int {
	n := 2
	for i := range w.pieces {
		n = max(n, int(math.Ceil(w.pieces[i].kind.Length.Metres())))
	}
	return n
}

// strictest returns an adhesive with the narrowest limits of those in hand: the gate is theirs.
func (w *work) strictest() bond.Adhesive {
	a := w.pieces[0].glue
	for i := range w.pieces {
		g := w.pieces[i].glue
		if a.ApplyFrom.Before(g.ApplyFrom) {
			a.ApplyFrom = g.ApplyFrom
		}
		if a.ApplyBest.Before(g.ApplyBest) {
			a.ApplyBest = g.ApplyBest
		}
		if g.ApplyBestTo.Before(a.ApplyBestTo) {
			a.ApplyBestTo = g.ApplyBestTo
		}
		a.FullBuild = max(a.FullBuild, g.FullBuild)
	}
	return a
}

// sheet returns the largest module's area.
func (w *work) sheet() quantity.Area {
	most := 0.0
	for i := range w.pieces {
		most = max(most, w.pieces[i].kind.Length.Metres()*w.pieces[i].kind.Width.Metres())
	}
	return quantity.Area(most)
}
