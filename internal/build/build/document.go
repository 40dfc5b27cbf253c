package build

import (
	"noonmark/internal/base/quantity"
)

// Version is the version of the document this program reads and writes.
const Version = 1

// Document is what the user wrote; what was not written is nil or empty. The tags say how the file
// names a field, what it means, and an example of its text; readers and the schema are made from
// them.
type Document struct {
	Noonmark   *int           `file:"noonmark" doc:"version of the file: 1" eg:"1"`
	Name       *string        `file:"name" doc:"name of the build" eg:"Heron"`
	People     *int           `file:"people" doc:"how many live in it" eg:"2"`
	Units      *string        `file:"units" doc:"how figures print: metric, imperial or as typed" eg:"metric"`
	Currency   *string        `file:"currency" doc:"of prices" eg:"EUR"`
	Home       *PlaceDoc      `file:"home" doc:"where it lives: a town or latitude, longitude" eg:"Evora, PT"`
	Surfaces   []SurfaceDoc   `file:"surfaces" doc:"roofs, lids and fabric panels, by name"`
	Postures   []PostureDoc   `file:"postures" doc:"how it stands, by name; driving and parked are there already"`
	Vehicle    *VehicleDoc    `file:"vehicle" doc:"height limits, roof and rack ratings, what else is up there"`
	Obstacles  []ObstacleDoc  `file:"obstacles" doc:"what stands on a surface and can shade, by name"`
	Types      []TypeDoc      `file:"types" doc:"module types, by name: label and drawing"`
	Modules    []ModuleDoc    `file:"modules" doc:"the modules, by name, each in its place"`
	Strings    []StringDoc    `file:"strings" doc:"modules in series, by name"`
	Chargers   []ChargerDoc   `file:"chargers" doc:"charge controllers and solar inputs, by name"`
	Battery    *BatteryDoc    `file:"battery" doc:"the bank"`
	Alternator *AlternatorDoc `file:"alternator" doc:"charging while driving"`
	Inverter   *InverterDoc   `file:"inverter" doc:"mains voltage from the battery"`
	Loads      []LoadDoc      `file:"loads" doc:"what uses energy, by name"`
	Mounting   *MountingDoc   `file:"mounting" doc:"how the modules are held, and the wind they are held against"`
	Soiling    *SoilingDoc    `file:"soiling" doc:"how dirt grows"`
	Doubts     *DoubtsDoc     `file:"doubts" doc:"how well things are known, for the bands"`
	Trip       *TripDoc       `file:"trip" doc:"stays and drives"`
}

// PlaceDoc is a place as written: a text, or a table with more.
type PlaceDoc struct {
	At       *string          `file:"at" doc:"a town or latitude, longitude" eg:"38.57, -7.91" short:"true"`
	Altitude *quantity.Length `file:"altitude" doc:"above the sea" eg:"300 m"`
	Zone     *string          `file:"zone" doc:"time zone" eg:"Europe/Lisbon"`
}

// SizeDoc is a length by a width: "2.1 m x 1.35 m".
type SizeDoc struct{ Length, Width quantity.Length }

// PointDoc is a point: [x, y], x from the front rearwards, y from the left to the right.
type PointDoc struct{ X, Y quantity.Length }

// SurfaceDoc is a surface as written.
type SurfaceDoc struct {
	Name         string           `file:"-"`
	Size         *SizeDoc         `file:"size" doc:"front to rear by left to right" eg:"2.1 m x 1.35 m"`
	Outline      []PointDoc       `file:"outline" doc:"corners instead of a size: [x, y] from the front left, x rearwards, y to the right"`
	Height       *quantity.Length `file:"height" doc:"above the ground, closed" eg:"2.05 m"`
	Skin         *string          `file:"skin" doc:"what it is made of" eg:"painted aluminium"`
	Colour       *string          `file:"colour" doc:"white, light grey, silver, mid, dark or black" eg:"white"`
	Insulated    *bool            `file:"insulated" doc:"insulation behind the skin" eg:"true"`
	Hinge        *string          `file:"hinge" doc:"edge it turns about: front, rear, left or right" eg:"front"`
	Sagitta      *quantity.Length `file:"camber" doc:"rise of the middle over the edges, left to right" eg:"12 mm"`
	LoadMoving   *quantity.Mass   `file:"load_moving" doc:"allowed on the move" eg:"45 kg"`
	LoadStanding *quantity.Mass   `file:"load_standing" doc:"allowed at a stand" eg:"300 kg"`
	Mass         *quantity.Mass   `file:"mass" doc:"of a lid with what is fixed to it, modules apart" eg:"32 kg"`
	MassAt       *quantity.Length `file:"mass_from_hinge" doc:"of a lid's own centre of mass; empty: half its depth" eg:"1.05 m"`
	Struts       *StrutsDoc       `file:"struts" doc:"gas struts of a lid"`
	Ribs         *quantity.Length `file:"ribs" doc:"clear span between ribs under a module; 0 mm: a flat skin" eg:"0 mm"`
	Walked       *bool            `file:"walked" doc:"somebody walks on it" eg:"false"`
}

// PostureDoc is a posture as written.
type PostureDoc struct {
	Name  string    `file:"-"`
	Moves *bool     `file:"moves" doc:"true for driving" eg:"false"`
	Tilts []TiltDoc `file:"tilts" doc:"surfaces turned up, by name"`
}

// TiltDoc is a surface's tilt as written.
type TiltDoc struct {
	Name  string          `file:"-"`
	Angle *quantity.Angle `file:"angle" doc:"from the level" eg:"12°" short:"true"`
	About *string         `file:"about" doc:"edge it turns about; empty: its hinge" eg:"front"`
	Walls *bool           `file:"walls" doc:"closed round underneath, as a pop-up is; false: an open flap" eg:"true"`
}

// ObstacleDoc is an obstacle as written.
type ObstacleDoc struct {
	Name    string           `file:"-"`
	On      *string          `file:"on" doc:"surface" eg:"lid"`
	At      *PointDoc        `file:"at" doc:"its front left corner" eg:"[1.55 m, 0.9 m]"`
	Size    *SizeDoc         `file:"size" doc:"front to rear by left to right" eg:"0.4 m x 0.4 m"`
	Outline []PointDoc       `file:"outline" doc:"corners instead of place and size"`
	Height  *quantity.Length `file:"height" doc:"over the surface" eg:"140 mm"`
	Base    *quantity.Length `file:"base" doc:"of its underside over the surface" eg:"0 mm"`
	In      []string         `file:"in" doc:"postures in which it stands so; empty: all"`
}

// TypeDoc is a module type as written.
type TypeDoc struct {
	Name            string                `file:"-"`
	Like            *string               `file:"like" doc:"class of the catalogue to start from" eg:"foil-90"`
	Technology      *string               `file:"technology" doc:"mono PERC, mono TOPCon, heterojunction, rear contact, poly, flexible mono, CIGS, foil CIGS, CdTe or amorphous" eg:"foil CIGS"`
	Pmax            *quantity.Power       `file:"pmax" doc:"label power" eg:"90 W"`
	Voc             *quantity.Voltage     `file:"voc" doc:"label open-circuit voltage" eg:"28.3 V"`
	Isc             *quantity.Current     `file:"isc" doc:"label short-circuit current" eg:"4.62 A"`
	Vmp             *quantity.Voltage     `file:"vmp" doc:"label working voltage" eg:"21.9 V"`
	Imp             *quantity.Current     `file:"imp" doc:"label working current" eg:"4.11 A"`
	PmaxCoefficient *quantity.Coefficient `file:"pmax_coefficient" doc:"of power" eg:"-0.36 %/K"`
	VocCoefficient  *quantity.Coefficient `file:"voc_coefficient" doc:"of open-circuit voltage" eg:"-0.30 %/K"`
	IscCoefficient  *quantity.Coefficient `file:"isc_coefficient" doc:"of short-circuit current" eg:"0.01 %/K"`
	Tolerance       *quantity.Ratio       `file:"tolerance" doc:"of power, both ways" eg:"3 %"`
	LowLight        *quantity.Ratio       `file:"low_light" doc:"efficiency at 200 W/m² over that at 1000 W/m²" eg:"93 %"`
	Size            *SizeDoc              `file:"size" doc:"longer side by shorter side" eg:"1.6 m x 0.38 m"`
	Mass            *quantity.Mass        `file:"mass" doc:"of one" eg:"1.6 kg"`
	Rows            *int                  `file:"rows" doc:"cells across the width" eg:"4"`
	Columns         *int                  `file:"columns" doc:"cells along the length" eg:"9"`
	Margin          *quantity.Length      `file:"margin" doc:"edge to cells" eg:"15 mm"`
	Order           *string               `file:"series_order" doc:"along the length or across: how the cells follow one another, to and fro" eg:"along the length"`
	Bypass          *int                  `file:"bypass_groups" doc:"bypass diodes; 0: none" eg:"2"`
	PerCell         *bool                 `file:"diode_per_cell" doc:"a diode over each cell" eg:"true"`
	Front           *string               `file:"front" doc:"float glass, textured glass, fluoropolymer or PET" eg:"fluoropolymer"`
	BendRadius      *quantity.Length      `file:"bend_radius" doc:"smallest allowed" eg:"0.4 m"`
	Connector       *string               `file:"connector" doc:"as printed" eg:"latching 4 mm"`
	Price           *float64              `file:"price" doc:"of one, in the build's currency" eg:"240"`
	Warranty        *int                  `file:"warranty_years" doc:"on paper" eg:"5"`
	MaxFuse         *quantity.Current     `file:"max_fuse" doc:"series fuse on the label" eg:"15 A"`
	Thickness       *quantity.Length      `file:"thickness" doc:"of the thickest part, junction box counted" eg:"14 mm"`
	MaxSpan         *quantity.Length      `file:"max_span" doc:"widest gap its maker lets it bridge" eg:"40 mm"`
}

// ModuleDoc is a module as written.
type ModuleDoc struct {
	Name     string           `file:"-"`
	Type     *string          `file:"type" doc:"module type" eg:"foil-90"`
	On       *string          `file:"on" doc:"surface" eg:"lid"`
	At       *PointDoc        `file:"at" doc:"its front left corner" eg:"[0.2 m, 0.15 m]"`
	Turn     *quantity.Angle  `file:"turn" doc:"0°: length front to rear; quarter turns" eg:"90°"`
	Attached *string          `file:"attached" doc:"bonded, foam tape, stand-off, rack, fabric pocket or loose" eg:"bonded"`
	Gap      *quantity.Length `file:"gap" doc:"behind it, for stand-off" eg:"30 mm"`
	Serial   *string          `file:"serial" doc:"as printed" eg:"K-0417"`
	Bought   *string          `file:"bought" doc:"when" eg:"2026-11"`
}

// RunDoc is a cable run as written.
type RunDoc struct {
	Length      *quantity.Length      `file:"length" doc:"one way" eg:"3 m"`
	Size        *quantity.Area        `file:"size" doc:"of one conductor" eg:"4 mm²"`
	Temperature *quantity.Temperature `file:"lies_at" doc:"where it lies, in summer sun" eg:"60 °C"`
	Fuse        *quantity.Current     `file:"fuse" doc:"in it" eg:"15 A"`
	Where       *string               `file:"where" doc:"roof, lid, engine or inside" eg:"lid"`
	Insulation  *quantity.Temperature `file:"insulation" doc:"class printed on it; 120 °C: solar cable" eg:"90 °C"`
	Bundled     *int                  `file:"bundled" doc:"other current-carrying conductors tied to the pair" eg:"0"`
	Flexible    *bool                 `file:"flexible" doc:"fine strands, class 5 or 6" eg:"true"`
	Connector   *string               `file:"connector" doc:"plugs on it, as printed" eg:"latching 4 mm"`
	Disconnect  *bool                 `file:"disconnect" doc:"a switch or breaker for direct current in it" eg:"true"`
	FuseVolts   *quantity.Voltage     `file:"fuse_volts" doc:"rating for direct current" eg:"58 V"`
	FuseBreaks  *quantity.Current     `file:"fuse_breaks" doc:"fault current the fuse breaks" eg:"20 kA"`
	FuseAt      *quantity.Length      `file:"fuse_from_battery" doc:"along the cable from the post" eg:"150 mm"`
	Sheathed    *bool                 `file:"sheathed" doc:"in a conduit or sheath from the post to the fuse" eg:"false"`
	Loop        *quantity.Length      `file:"loop_radius" doc:"bend of the loop at a lid's hinge, lid closed" eg:"60 mm"`
	Diameter    *quantity.Length      `file:"diameter" doc:"outside, of one cable" eg:"6 mm"`
	Flexes      *int                  `file:"flexes" doc:"bends its maker rates it for" eg:"10000"`
}

// StringDoc is a string as written.
type StringDoc struct {
	Name     string   `file:"-"`
	Modules  []string `file:"modules" doc:"in series order from plus to minus" eg:"[left, right]"`
	Cable    *RunDoc  `file:"cable" doc:"of the string alone"`
	Blocking *bool    `file:"blocking" doc:"a diode that lets no current back into the string" eg:"false"`
}

// ChargerDoc is a charger as written.
type ChargerDoc struct {
	Name         string            `file:"-"`
	Like         *string           `file:"like" doc:"class of the catalogue to start from" eg:"controller-16a"`
	Integrated   *bool             `file:"integrated" doc:"solar input of an integrated power unit" eg:"false"`
	Strings      []string          `file:"strings" doc:"in parallel" eg:"[lid]"`
	InputMax     *quantity.Voltage `file:"input_max" doc:"highest input voltage" eg:"80 V"`
	StartMargin  *quantity.Voltage `file:"start_margin" doc:"above the battery, to start" eg:"5 V"`
	RunMargin    *quantity.Voltage `file:"run_margin" doc:"above the battery, to go on" eg:"1 V"`
	InputMin     *quantity.Voltage `file:"input_min" doc:"lowest working input voltage" eg:"11 V"`
	InputCurrent *quantity.Current `file:"input_current" doc:"usable; clips above" eg:"15 A"`
	ShortMax     *quantity.Current `file:"short_circuit_max" doc:"allowed Isc of the array" eg:"20 A"`
	InputPower   *quantity.Power   `file:"input_power" doc:"usable; clips above" eg:"220 W"`
	OutputMax    *quantity.Current `file:"output_current" doc:"into the battery" eg:"15 A"`
	Efficiency   *quantity.Ratio   `file:"efficiency" doc:"at half load" eg:"96 %"`
	FixedLoss    *quantity.Power   `file:"fixed_loss" doc:"while working" eg:"1 W"`
	SelfUse      *quantity.Power   `file:"self_use" doc:"from the battery, night and day" eg:"0.2 W"`
	TrackingLoss *quantity.Ratio   `file:"tracking_loss" doc:"in steady light" eg:"1 %"`
	Tracking     *string           `file:"tracking" doc:"global, nearest or none" eg:"global"`
	Input        *RunDoc           `file:"input_cable" doc:"strings joined to charger"`
	Output       *RunDoc           `file:"battery_cable" doc:"charger to battery"`
	Reversed     *bool             `file:"reverse_protected" doc:"stands an array connected the wrong way round" eg:"true"`
	Blocks       *bool             `file:"blocks_at_night" doc:"lets no current back into the array" eg:"true"`
}

// BatteryDoc is the battery as written.
type BatteryDoc struct {
	Like         *string               `file:"like" doc:"class of the catalogue to start from" eg:"lfp-100"`
	Name         *string               `file:"name" doc:"as you call it" eg:"house"`
	Chemistry    *string               `file:"chemistry" doc:"LFP, NMC or AGM" eg:"LFP"`
	Energy       *quantity.Energy      `file:"energy" doc:"as sold" eg:"100 Ah at 12.8 V"`
	Voltage      *quantity.Voltage     `file:"voltage" doc:"nominal" eg:"12.8 V"`
	Health       *quantity.Ratio       `file:"health" doc:"of its energy still there" eg:"100 %"`
	Lowest       *quantity.Ratio       `file:"lowest_charge" doc:"you stop here" eg:"10 %"`
	Highest      *quantity.Ratio       `file:"highest_charge" doc:"charged to" eg:"100 %"`
	Start        *quantity.Ratio       `file:"start_charge" doc:"at the trip's first minute" eg:"90 %"`
	MaxCharge    *quantity.Current     `file:"max_charge_current" doc:"allowed" eg:"50 A"`
	MaxDischarge *quantity.Current     `file:"max_discharge_current" doc:"allowed" eg:"100 A"`
	Inside       *bool                 `file:"inside" doc:"stands in the living space" eg:"true"`
	InsideLow    *quantity.Temperature `file:"inside_lowest" doc:"lowest there" eg:"5 °C"`
	Heater       *quantity.Power       `file:"heater" doc:"battery heater" eg:"30 W"`
	ShortCircuit *quantity.Current     `file:"short_circuit" doc:"what it drives into a short, by its maker" eg:"5 kA"`
	Cranking     *quantity.Current     `file:"cold_cranking" doc:"of a lead battery, all in parallel" eg:"600 A"`
	ColdCutoff   *bool                 `file:"cold_cutoff" doc:"its electronics refuse charge below 0 °C" eg:"true"`
	Mass         *quantity.Mass        `file:"mass" doc:"of the whole bank" eg:"12 kg"`
	Price        *float64              `file:"price" doc:"of the whole bank, in the build's currency" eg:"450"`
}

// AlternatorDoc is alternator charging as written.
type AlternatorDoc struct {
	Current    *quantity.Current `file:"current" doc:"into the battery" eg:"20 A"`
	Efficiency *quantity.Ratio   `file:"efficiency" doc:"of the charger" eg:"90 %"`
}

// InverterDoc is an inverter as written.
type InverterDoc struct {
	Like       *string         `file:"like" doc:"class of the catalogue to start from" eg:"inverter-300"`
	Idle       *quantity.Power `file:"idle" doc:"drawn with nothing plugged in" eg:"10 W"`
	Efficiency *quantity.Ratio `file:"efficiency" doc:"at its best" eg:"90 %"`
	Rated      *quantity.Power `file:"rated" doc:"output" eg:"500 W"`
	On         *HoursDoc       `file:"on" doc:"local hours it is switched on, always, or with its loads" eg:"18-22"`
}

// HoursDoc is local hours of the day.
type HoursDoc struct {
	Hours  [24]float64 // share of each hour
	Always bool
}

// LoadDoc is a load as written.
type LoadDoc struct {
	Name    string             `file:"-"`
	Like    *string            `file:"like" doc:"class of the catalogue to start from" eg:"fridge-40"`
	Kind    *string            `file:"kind" doc:"fridge for one that follows the air" eg:"fridge"`
	Power   *quantity.Power    `file:"power" doc:"while it runs" eg:"8 W"`
	Hours   *HoursDoc          `file:"hours" doc:"local hours it runs: 20-23, 7-8, always" eg:"20-23"`
	Day     *quantity.Energy   `file:"day" doc:"energy a day, spread over its hours" eg:"150 Wh"`
	At25    *quantity.Energy   `file:"day_at_25C" doc:"a fridge's energy a day at 25 °C" eg:"420 Wh"`
	Rise    *quantity.TempDiff `file:"warmer_than_air" doc:"air round a fridge over the air outside" eg:"3 K"`
	On      *string            `file:"on" doc:"battery or inverter" eg:"battery"`
	Months  []int              `file:"months" doc:"1 to 12; empty: all"`
	When    *string            `file:"when" doc:"parked, driving or always" eg:"parked"`
	Medical *bool              `file:"medical" doc:"a reserve is kept for it" eg:"false"`
}

// SoilingDoc is dirt as written.
type SoilingDoc struct {
	Start  *quantity.Ratio `file:"start" doc:"loss on the first day" eg:"2 %"`
	PerDay *quantity.Ratio `file:"per_day" doc:"growth" eg:"0.1 %"`
	Floor  *quantity.Ratio `file:"floor" doc:"after rain or a wash" eg:"2 %"`
	Cap    *quantity.Ratio `file:"most" doc:"at most" eg:"25 %"`
}

// TripDoc is the trip as written.
type TripDoc struct {
	Start  *TimeDoc        `file:"start" doc:"local date, or date and time, of the first leg" eg:"2027-03-20 12:00"`
	Ground *quantity.Ratio `file:"ground" doc:"share of light the ground throws back" eg:"20 %"`
	Legs   []LegDoc        `file:"legs" doc:"stays and drives in order"`
}

// TimeDoc is a local date, with a time of day when one was given.
type TimeDoc struct {
	Year, Month, Day, Hour, Minute int
	Dated                          bool // no time of day given
}

// LegDoc is a leg as written: one of the two.
type LegDoc struct {
	Stay  *StayDoc  `file:"stay" doc:"nights in one place"`
	Drive *DriveDoc `file:"drive" doc:"to the next place"`
}

// StayDoc is a stay as written.
type StayDoc struct {
	At           *string               `file:"at" doc:"a town, or latitude, longitude; empty: where the last leg ended" eg:"Evora, PT"`
	Altitude     *quantity.Length      `file:"altitude" doc:"above the sea" eg:"300 m"`
	Zone         *string               `file:"zone" doc:"time zone" eg:"Europe/Lisbon"`
	Nights       *int                  `file:"nights" doc:"until the hour of departure" eg:"5"`
	Leave        *string               `file:"leave" doc:"local time of departure" eg:"10:00"`
	Posture      *string               `file:"posture" doc:"how it stands" eg:"camped"`
	Heading      *quantity.Angle       `file:"heading" doc:"where the front looks; empty: as it happens" eg:"180°"`
	Surroundings *string               `file:"surroundings" doc:"open, motorway, suburb, town, street, trees in leaf or bare trees" eg:"open"`
	Horizon      []SkyPointDoc         `file:"horizon" doc:"skyline: [azimuth, elevation] points"`
	Cleaned      *bool                 `file:"cleaned" doc:"modules washed on arrival" eg:"true"`
	Weather      *string               `file:"weather" doc:"EPW or TMY3 file; empty: built-in climate" eg:"site.epw"`
	ExtremeLow   *quantity.Temperature `file:"extreme_low" doc:"your own lowest, for the voltage rule" eg:"-12 °C"`
}

// SkyPointDoc is a point of a skyline.
type SkyPointDoc struct{ Azimuth, Elevation quantity.Angle }

// DriveDoc is a drive as written.
type DriveDoc struct {
	To           *string          `file:"to" doc:"a town, or latitude, longitude" eg:"Salamanca, ES"`
	Altitude     *quantity.Length `file:"altitude" doc:"of the end" eg:"800 m"`
	Zone         *string          `file:"zone" doc:"time zone of the end" eg:"Europe/Madrid"`
	Via          []string         `file:"via" doc:"places between"`
	Hours        *float64         `file:"hours" doc:"on the road" eg:"6"`
	Speed        *quantity.Speed  `file:"speed" doc:"mean, instead of hours; roads are taken 1.25 times the straight line" eg:"75 km/h"`
	Surroundings *string          `file:"surroundings" doc:"motorway, suburb, town …" eg:"motorway"`
}
