package build

import (
	"time"

	"noonmark/internal/base/quantity"
)

// Build is a complete document: every value set, every reference an index, every default listed
// in Assumed. Only Resolve makes one.
type Build struct {
	Name       string
	People     int
	Units      UnitSystem
	Currency   string
	Home       *Place // nil: not given
	Surfaces   []Surface
	Postures   []Posture
	Vehicle    Vehicle
	Obstacles  []Obstacle
	Types      []ModuleType
	Modules    []Module
	Strings    []String
	Chargers   []Charger
	Battery    Battery
	Alternator *Alternator // nil: none
	Inverter   *Inverter   // nil: none
	Loads      []Load
	Mounting   Mounting
	Doubts     Doubts
	Trip       Trip
	Assumed    []Assumed
}

// Assumed is a value the user did not give.
type Assumed struct {
	Path   string // "types.foil.voc_coefficient"
	Value  string // with its unit
	Why    string // the rule it came from
	Source string // the source's name and standing
}

// UnitSystem is how figures are printed.
type UnitSystem int

const (
	Metric UnitSystem = iota
	Imperial
	AsTyped
)

// Place is a point on Earth with its zone.
type Place struct {
	Name      string
	Latitude  quantity.Angle
	Longitude quantity.Angle
	Elevation quantity.Length
	Zone      *time.Location
}

// Edge is an edge of a surface in plan.
type Edge int

const (
	Front Edge = iota
	Rear
	Left
	Right
)

// Point is a point of a plan in the vehicle frame of package shape: x rearwards, y to the right.
type Point struct{ X, Y quantity.Length }

// Surface is a roof, lid or fabric panel that modules lie on.
type Surface struct {
	Name         string
	Outline      []Point         // closed, counted once; in the vehicle frame
	Height       quantity.Length // above the ground, level and closed
	Skin         string          // key of the catalog's skins
	Absorptance  quantity.Ratio  // of sunlight, by colour
	Insulated    bool            // behind the skin
	Hinge        Edge            // the edge a lid turns about
	HasHinge     bool
	Camber       *Camber        // nil: flat
	LoadMoving   *quantity.Mass // allowed; nil: unknown
	LoadStanding *quantity.Mass
	Lid
}

// Camber is the curve of a surface: an arc of the given sagitta across the given axis.
type Camber struct {
	Sagitta quantity.Length // rise of the middle over the edges
	Across  bool            // true: curved left to right; false: front to rear
}

// Posture is how the vehicle stands: which surfaces are tilted.
type Posture struct {
	Name  string
	Moves bool // true for driving
	Tilts []Tilt
}

// Tilt turns a surface up about one of its edges, so that the opposite edge rises.
type Tilt struct {
	Surface int
	About   Edge
	Angle   quantity.Angle
	Walls   bool // closed round by fabric or board, as a pop-up is
}

// Obstacle is a thing on a surface that can shade: an outline pulled up to a height.
type Obstacle struct {
	Name     string
	Surface  int
	Outline  []Point
	Base     quantity.Length // height of its underside over the surface; 0: stands on it
	Height   quantity.Length // of its top over the surface
	Postures []int           // in which it stands so; empty: all
}

// Technology is a kind of cell.
type Technology int

const (
	MonoPERC Technology = iota
	MonoTOPCon
	Heterojunction
	RearContact
	Poly
	FlexibleMono
	CIGS
	CIGSFoil
	CdTe
	AmorphousSilicon
)

// ModuleType is what a label and a drawing say, completed by technology.
type ModuleType struct {
	Name            string
	Technology      Technology
	Pmax            quantity.Power // at 1000 W/m², AM1.5, 25 °C cell
	Voc             quantity.Voltage
	Isc             quantity.Current
	Vmp             quantity.Voltage
	Imp             quantity.Current
	PmaxCoefficient quantity.PerKelvin // relative, negative
	VocCoefficient  quantity.PerKelvin
	IscCoefficient  quantity.PerKelvin
	ToleranceLow    quantity.Ratio // e.g. -0.03
	ToleranceHigh   quantity.Ratio
	LowLight        quantity.Ratio  // efficiency at 200 W/m² over that at 1000 W/m²
	Length          quantity.Length // the longer side, along x at turn 0
	Width           quantity.Length
	Mass            quantity.Mass
	Cells           CellGrid
	Front           FrontMaterial
	MinBendRadius   quantity.Length // 0: rigid
	Connector       string
	Price           *float64 // in the build's currency; nil: not given
	WarrantyYears   int
	MaxFuse         *quantity.Current
	Thickness       *quantity.Length // junction box counted; nil: not given
	MaxSpan         *quantity.Length // that it may bridge; nil: not given
}

// CellGrid is how cells lie and how they are wired.
type CellGrid struct {
	Rows, Columns int             // rows across the width, columns along the length
	Margin        quantity.Length // from the module's edge to the cell field
	Groups        int             // bypass groups in series order; 0: no bypass diode
	DiodePerCell  bool            // a diode over each cell
	AlongLength   bool            // series order runs along the length first
}

// Count returns the number of cells in series.
func (g CellGrid) Count() int { return g.Rows * g.Columns }

// FrontMaterial is what light meets first.
type FrontMaterial int

const (
	FloatGlass FrontMaterial = iota
	TexturedGlass
	Fluoropolymer // ETFE
	PET
)

// Attachment is how a module is held.
type Attachment int

const (
	Bonded   Attachment = iota // film or full adhesive, no air behind
	FoamTape                   // strips of foam tape: 1-2 mm of still air
	StandOff                   // a gap the air can pass
	Rack                       // open behind
	FabricPocket
	LooseFlat // lying on the ground or the roof, not held
)

// Module is one made thing in its place.
type Module struct {
	Name       string
	Type       int
	Surface    int
	X, Y       quantity.Length // of its front left corner, in the vehicle frame
	Turn       quantity.Angle  // 0: length along x; quarter turns
	Attachment Attachment
	Gap        quantity.Length // behind it, for StandOff
	Serial     string
	Bought     string
}

// Mounting is how the modules are held, and the wind they are held against.
type Mounting struct {
	Written      bool           // false: nothing stands in the file, all is assumed
	TopSpeed     quantity.Speed // planned on the road
	Headwind     quantity.Speed
	Gust         quantity.Speed       // over the headwind
	Sleepers     quantity.Mass        // under or on the lid
	BondedAt     quantity.Temperature // skin and module on the day
	RoundedFront bool                 // the roof's front edge, a fifth of its height in radius
	Insulation   *quantity.Length     // thickness behind the skin; nil: not known
	CableSupport *quantity.Length     // distance between clips on the roof; nil: not known
	CableEntry   CableEntry
	Restraint    Restraint
	Mounts       []Mount // by module
}

// CableEntry is how cables come through the skin.
type CableEntry struct {
	Known    bool
	Through  bool // false: no hole; the cable goes in by a door, seal or hinge
	Gland    bool
	Faces    Edge
	DripLoop bool
	Tested   bool // with a hose, dry inside
}

// Restraint is what holds the battery or power unit in a hard stop.
type Restraint struct {
	Known   bool
	Straps  int            // or bolts
	Rating  quantity.Force // of one, as printed
	Blocked bool           // by a tray or wall, forwards and sideways
	Mass    *quantity.Mass // held; nil: not known
}

// Mount is how one module is held.
type Mount struct {
	Adhesive    string                // key of package bond's adhesives; empty: none
	Thickness   quantity.Length       // of tape or bead
	Share       quantity.Ratio        // bonded, of the module's area
	Peel        *quantity.LineForce   // of the sheet, 90° fresh on steel; nil: the class's
	Service     *quantity.Temperature // of the sheet, for years; nil: the class's
	PeelTest    string                // "torn foam", "lifted clean"; empty: not done
	Primer      bool
	Coverage    quantity.Area // of a litre of primer, smooth, one coat
	Coats       int
	Container   quantity.Volume // primer is sold in
	Thirst      float64         // of the skin for primer; 0: the skin's own
	Cover       string          // over the front edge: "none", "tape", "trim" or "fabric"
	CoverOn     quantity.Length // how far it lies on the module
	Fasteners   int
	PullOut     *quantity.Force  // of one, tested; nil: not known
	Engagement  *quantity.Length // of the thread; nil: not known
	Locked      bool             // threads
	Backed      bool             // plate or rivet nut behind
	Coating     string           // of a fabric: "pvc", "polyurethane", "acrylic", "none"; empty: not known
	HolesSealed *bool            // needle holes; nil: not known
	FabricYears *float64         // in the sun so far; nil: not known
}

// Run is a pair of conductors.
type Run struct {
	Name        string
	Length      quantity.Length      // one way
	Area        quantity.Area        // of one conductor
	Conductor   string               // "copper"
	Temperature quantity.Temperature // of the conductor where it lies
	Joints      int
	Fuse        *quantity.Current
	Lay
}

// String is modules in series, in order from plus to minus.
type String struct {
	Name    string
	Modules []int
	Cable   Run
	// Blocking is a diode that lets no current back into the string.
	Blocking bool
}

// Tracking is what a controller does with a curve of several peaks.
type Tracking int

const (
	GlobalPeak Tracking = iota
	NearestPeak
	NoTracking // a switch: the array sits at battery voltage
)

// Charger is a charge controller or a solar input of an integrated unit.
type Charger struct {
	Name            string
	Integrated      bool
	Strings         []int            // in parallel
	InputMax        quantity.Voltage // destroyed or shut above
	StartMargin     quantity.Voltage // above battery voltage, to start
	RunMargin       quantity.Voltage // above battery voltage, to go on
	InputMin        quantity.Voltage // lowest working voltage, whatever the battery; 0: none
	InputCurrent    quantity.Current // usable, clips above
	ShortCircuitMax quantity.Current // allowed Isc of the array
	InputPower      quantity.Power   // usable, clips above
	OutputCurrent   quantity.Current // into the battery
	Efficiency      quantity.Ratio   // at half load
	FixedLoss       quantity.Power   // while working
	SelfUse         quantity.Power   // from the battery, always
	TrackingLoss    quantity.Ratio   // of power, parked, steady light
	Tracking        Tracking
	InputCable      Run   // strings joined to charger
	BatteryCable    Run   // charger to battery
	Reversed        *bool // stands an array connected the wrong way round; nil: not given
	Blocks          *bool // lets no current back at night; nil: not given
}

// Chemistry is a kind of battery.
type Chemistry int

const (
	LFP Chemistry = iota
	NMC
	AGM
)

// Battery is one bank.
type Battery struct {
	Name                  string
	Chemistry             Chemistry
	Energy                quantity.Energy  // nominal, as sold
	Voltage               quantity.Voltage // nominal
	Health                quantity.Ratio   // of the nominal energy still there
	LowestCharge          quantity.Ratio   // the user stops here
	HighestCharge         quantity.Ratio
	StartCharge           quantity.Ratio // at the trip's first minute
	ChargeEfficiency      quantity.Ratio
	DischargeEfficiency   quantity.Ratio
	SelfDischargePerMonth quantity.Ratio
	MaxChargeCurrent      quantity.Current
	MaxDischargeCurrent   quantity.Current
	Inside                bool                 // in the living space, warmed
	InsideTemperature     quantity.Temperature // lowest there, when Inside
	TimeConstant          time.Duration        // of its heat, to the air around it
	HeaterPower           quantity.Power       // 0: none
	ShortCircuit          *quantity.Current    // into a short; nil: not given
	Cranking              *quantity.Current    // cold-cranking amperes, all in parallel; nil: not given
	ColdCutoff            *bool                // refuses charge below 0 °C; nil: not given
	Mass                  *quantity.Mass       // of the bank; nil: not given
	Price                 *float64             // of the bank, in the build's currency; nil: not given
}

// Alternator charges while driving.
type Alternator struct {
	Current    quantity.Current // into the battery
	Efficiency quantity.Ratio
}

// Inverter makes mains voltage.
type Inverter struct {
	Idle       quantity.Power
	Efficiency quantity.Ratio
	Rated      quantity.Power
	AlwaysOn   bool
	On         [24]bool // by local hour, when not AlwaysOn
}

// LoadKind is how a load's use is described.
type LoadKind int

const (
	Hourly LoadKind = iota // Watts by local hour
	Fridge                 // follows the air
)

// Load is one user of energy, seen at its plug.
type Load struct {
	Name    string
	Kind    LoadKind
	Mains   bool               // behind the inverter
	Watts   [24]quantity.Power // mean in each local hour of a day it is used
	Months  [12]bool
	Parked  bool // used when parked
	Driving bool // used when driving
	Medical bool // a reserve is kept for it
	Fridge  FridgeLoad
}

// FridgeLoad scales the handbook's fit of a compressor fridge with the air temperature.
type FridgeLoad struct {
	DayAt25C quantity.Energy   // per day at 25 °C around it
	Rise     quantity.TempDiff // of the air around it over outdoors
	Running  quantity.Power
}

// Surroundings is what stands around the vehicle.
type Surroundings int

const (
	Open Surroundings = iota
	Motorway
	Suburb
	Town
	Street
	TreesInLeaf
	TreesBare
)

// HorizonPoint is a point of a site's skyline.
type HorizonPoint struct{ Azimuth, Elevation quantity.Angle }

// Leg is a stay or a drive.
type Leg struct {
	Drive        bool
	From         time.Time // instant it begins
	Until        time.Time // instant it ends
	Place        Place     // of a stay; the start of a drive
	To           Place     // of a drive
	Route        []Place   // way points of a drive, start and end included
	Posture      int
	Heading      quantity.Angle
	HeadingFree  bool
	Surroundings Surroundings
	Horizon      []HorizonPoint        // overrides Surroundings when not empty
	Cleaned      bool                  // washed when it begins
	WeatherFile  string                // EPW, TMY3 or log; empty: the built-in climate
	ExtremeLow   *quantity.Temperature // the user's own
}

// Soiling is how dirt grows.
type Soiling struct {
	Start  quantity.Ratio // loss at the trip's first day
	PerDay quantity.Ratio
	Floor  quantity.Ratio
	Cap    quantity.Ratio
}

// Trip is the days asked about.
type Trip struct {
	Legs    []Leg
	Soiling Soiling
	Albedo  quantity.Ratio
}
