package build

import (
	"slices"
	"strings"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/bond"
)

// MountingDoc is the mounting as written.
type MountingDoc struct {
	TopSpeed     *quantity.Speed       `file:"top_speed" doc:"planned on the road" eg:"110 km/h"`
	Headwind     *quantity.Speed       `file:"headwind" doc:"against it, at roof height" eg:"30 km/h"`
	Gust         *quantity.Speed       `file:"gust" doc:"over the headwind: weather, or a lorry met" eg:"10 km/h"`
	Sleepers     *quantity.Mass        `file:"sleepers" doc:"people and bedding carried by the lid or tent at a stand" eg:"170 kg"`
	BondedAt     *quantity.Temperature `file:"bonded_at" doc:"skin and module on the day" eg:"25 °C"`
	FrontEdge    *string               `file:"front_edge" doc:"of the roof: sharp or rounded (radius a fifth of the roof's height above the bonnet)" eg:"sharp"`
	Insulation   *quantity.Length      `file:"insulation" doc:"thickness behind the skin; 0 mm: none" eg:"20 mm"`
	CableSupport *quantity.Length      `file:"cable_support" doc:"distance between clips on the roof" eg:"250 mm"`
	CableEntry   *CableEntryDoc        `file:"cable_entry" doc:"how cables come through the skin"`
	Restraint    *RestraintDoc         `file:"restraint" doc:"what holds the battery or power unit in a hard stop"`
	Each         *MountDoc             `file:"each_module" doc:"how every module is held"`
	Modules      []MountDoc            `file:"modules" doc:"modules held otherwise, by name"`
}

// CableEntryDoc is a cable entry as written.
type CableEntryDoc struct {
	By       *string `file:"by" doc:"gland, bare hole or no hole" eg:"gland" short:"true"`
	Faces    *string `file:"faces" doc:"where it opens: front, rear, left or right" eg:"rear"`
	DripLoop *bool   `file:"drip_loop" doc:"the cable hangs lower than the hole before it" eg:"true"`
	Tested   *bool   `file:"leak_tested" doc:"with a hose, dry inside" eg:"true"`
}

// RestraintDoc is what holds the battery or power unit, as written.
type RestraintDoc struct {
	Straps  *int            `file:"straps" doc:"straps or bolts over or through it" eg:"2"`
	Rating  *quantity.Force `file:"rating" doc:"printed on one: lashing capacity or breaking strength" eg:"250 daN"`
	Blocked *bool           `file:"blocked" doc:"it stands in a tray or against a wall, forwards and sideways" eg:"true"`
	Mass    *quantity.Mass  `file:"mass" doc:"of battery or power unit" eg:"12 kg"`
}

// MountDoc is how a module is held, as written.
type MountDoc struct {
	Name        string                `file:"-"`
	Adhesive    *string               `file:"adhesive" doc:"acrylic foam tape, factory film, low-energy tape, plasticiser-resistant tape, polyurethane bead, MS polymer bead, butyl tape, silicone or none" eg:"acrylic foam tape"`
	Thickness   *quantity.Length      `file:"tape_thickness" doc:"of tape or bead" eg:"1.1 mm"`
	Share       *quantity.Ratio       `file:"bonded_share" doc:"of the module's area" eg:"40 %"`
	Peel        *quantity.LineForce   `file:"peel" doc:"of the tape's sheet: 90°, fresh, on steel" eg:"20 N/cm"`
	Service     *quantity.Temperature `file:"service_temperature" doc:"of the tape's sheet, for years" eg:"80 °C"`
	PeelTest    *string               `file:"peel_test" doc:"a strip on this very skin: torn foam, lifted clean or not done" eg:"torn foam"`
	Primer      *bool                 `file:"primer" doc:"adhesion promoter under it" eg:"true"`
	Coverage    *quantity.Area        `file:"primer_coverage" doc:"of one litre, one coat, smooth" eg:"15 m²"`
	Coats       *int                  `file:"primer_coats" doc:"number" eg:"1"`
	Container   *quantity.Volume      `file:"primer_container" doc:"one holds" eg:"100 ml"`
	Thirst      *float64              `file:"primer_thirst" doc:"of the skin: smooth 1, porous fabric 2 to 3" eg:"2.5"`
	Cover       *string               `file:"front_cover" doc:"over the front edge: none, tape, trim or fabric" eg:"tape"`
	CoverOn     *quantity.Length      `file:"cover_on_module" doc:"how far the cover lies on the module" eg:"10 mm"`
	Fasteners   *int                  `file:"fasteners" doc:"number" eg:"4"`
	PullOut     *quantity.Force       `file:"pull_out" doc:"of one fastener in this skin, tested" eg:"800 N"`
	Engagement  *quantity.Length      `file:"thread_engagement" doc:"of its thread" eg:"6 mm"`
	Locked      *bool                 `file:"threads_locked" doc:"nut or compound that cannot shake loose" eg:"true"`
	Backed      *bool                 `file:"backing_plate" doc:"plate or rivet nut behind the skin" eg:"true"`
	Coating     *string               `file:"fabric_coating" doc:"of a fabric lid: pvc, polyurethane, acrylic or none" eg:"pvc"`
	HolesSealed *bool                 `file:"needle_holes_sealed" doc:"of a sewn pocket or cover" eg:"true"`
	FabricYears *float64              `file:"fabric_years" doc:"years in the sun so far" eg:"3"`
}

var (
	coverWords    = []word[string]{{"none", "none"}, {"tape", "tape"}, {"trim", "trim"}, {"fabric", "fabric"}}
	coatingWords  = []word[string]{{"pvc", "pvc"}, {"polyurethane", "polyurethane"}, {"acrylic", "acrylic"}, {"none", "none"}}
	peelTestWords = []word[string]{{"torn foam", "torn foam"}, {"lifted clean", "lifted clean"}, {"not done", ""}}
	frontWordsOf  = []word[bool]{{"sharp", false}, {"rounded", true}}
	entryWords    = []word[string]{{"gland", "gland"}, {"bare hole", "hole"}, {"no hole", "none"}}
)

// fastestDrive returns the highest mean speed that a drive of the trip gives, 0 when none does.
func (r *resolver) fastestDrive() quantity.Speed {
	most := quantity.Speed(0)
	if r.doc.Trip == nil {
		return most
	}
	for _, l := range r.doc.Trip.Legs {
		if l.Drive != nil && l.Drive.Speed != nil {
			most = max(most, *l.Drive.Speed)
		}
	}
	return most
}

// mounting reads how the modules are held. What stands for every module is listed once as assumed.
func (r *resolver) mounting() {
	const at = "mounting"
	m := &r.build.Mounting
	d := r.doc.Mounting
	m.Written = d != nil
	if d == nil {
		d = &MountingDoc{}
	}
	fastest, why := 110*quantity.KilometrePerHour, "motorway"
	if v := r.fastestDrive(); v > fastest && v <= 250*quantity.KilometrePerHour {
		fastest, why = v, "a drive of the trip is as fast on the mean"
	}
	m.TopSpeed = or(r, d.TopSpeed, at+".top_speed", fastest, why, customary)
	m.Headwind = or(r, d.Headwind, at+".headwind", 30*quantity.KilometrePerHour, "a fresh breeze", estimate)
	m.Gust = or(r, d.Gust, at+".gust", 10*quantity.KilometrePerHour, "over the headwind, or a lorry met", estimate)
	r.between(at+".top_speed", m.TopSpeed.KilometresPerHour(), 10, 250, "10 to 250 km/h")
	r.between(at+".headwind", m.Headwind.KilometresPerHour(), 0, 150, "0 to 150 km/h")
	r.between(at+".gust", m.Gust.KilometresPerHour(), 0, 100, "0 to 100 km/h")
	m.Sleepers = quantity.Mass(85 * float64(r.build.People))
	if d.Sleepers != nil {
		m.Sleepers = *d.Sleepers
	} else {
		r.assume(at+".sleepers", m.Sleepers.String(), "85 kg each with bedding", customary)
	}
	r.between(at+".sleepers", m.Sleepers.Kilograms(), 0, 1000, "0 to 1000 kg")
	m.BondedAt = or(r, d.BondedAt, at+".bonded_at", quantity.Celsius(25), "a warm day", estimate)
	r.between(at+".bonded_at", m.BondedAt.Celsius(), -10, 60, "-10 °C to 60 °C")
	if d.FrontEdge == nil {
		r.assume(at+".front_edge", "sharp", "the worse of the two", estimate)
	}
	m.RoundedFront = choice(r, d.FrontEdge, at+".front_edge", frontWordsOf, false)
	m.Insulation, m.CableSupport = d.Insulation, d.CableSupport
	if m.Insulation != nil {
		r.between(at+".insulation", m.Insulation.Millimetres(), 0, 300, "0 to 300 mm")
	}
	if m.CableSupport != nil {
		r.between(at+".cable_support", m.CableSupport.Millimetres(), 20, 5000, "20 mm to 5 m")
	}
	r.cableEntry(d.CableEntry)
	r.restraint(d.Restraint)

	each := MountDoc{}
	if d.Each != nil {
		each = *d.Each
	}
	others := map[string]*MountDoc{}
	for i := range d.Modules {
		if o := &d.Modules[i]; r.index(o.Name, at+".modules."+o.Name, "module", r.moduleNames()) >= 0 {
			others[o.Name] = o
		}
	}
	r.checkMount(&each, at+".each_module")
	for i := range d.Modules {
		r.checkMount(&d.Modules[i], at+".modules."+d.Modules[i].Name)
	}
	said := map[string]bool{}
	for i := range r.build.Modules {
		own := each
		if o := others[r.build.Modules[i].Name]; o != nil {
			own = over(each, *o)
		}
		m.Mounts = append(m.Mounts, r.mount(&own, &r.build.Modules[i], said))
	}
}

// between records a problem when v is outside low to high.
func (r *resolver) between(path string, v, low, high float64, want string) {
	if !(v >= low && v <= high) {
		r.wrong(path, "%s", want)
	}
}

func (r *resolver) moduleNames() []string {
	var out []string
	for _, m := range r.build.Modules {
		out = append(out, m.Name)
	}
	return out
}

// cableEntry reads how cables come in.
func (r *resolver) cableEntry(d *CableEntryDoc) {
	if d == nil {
		return
	}
	const at = "mounting.cable_entry"
	by := choice(r, d.By, at+".by", entryWords, "")
	if d.By == nil {
		r.wrong(at+".by", "gland, bare hole or no hole")
	}
	e := CableEntry{Known: true, Through: by != "none", Gland: by == "gland", DripLoop: quiet(d.DripLoop, false), Tested: quiet(d.Tested, false)}
	if d.Faces == nil && e.Through {
		r.assume(at+".faces", "front", "the worst", estimate)
	}
	e.Faces = choice(r, d.Faces, at+".faces", edgeWords, Front)
	r.build.Mounting.CableEntry = e
}

// restraint reads what holds the battery.
func (r *resolver) restraint(d *RestraintDoc) {
	if d == nil {
		return
	}
	const at = "mounting.restraint"
	out := Restraint{Known: true, Blocked: quiet(d.Blocked, false), Mass: d.Mass}
	if d.Straps == nil || *d.Straps < 1 || *d.Straps > 20 {
		r.wrong(at+".straps", "1 to 20")
	} else {
		out.Straps = *d.Straps
	}
	if d.Rating == nil {
		r.wrong(at+".rating", "the force printed on one strap or bolt, such as 250 daN")
	} else {
		out.Rating = *d.Rating
		r.between(at+".rating", out.Rating.Newtons(), 10, 1e6, "10 N to 1000 kN")
	}
	if d.Mass != nil {
		r.between(at+".mass", d.Mass.Kilograms(), 0.2, 1000, "0.2 to 1000 kg")
	}
	r.build.Mounting.Restraint = out
}

// over returns each with what own says in its place.
func over(each, own MountDoc) MountDoc {
	pick := each
	pick.Name = own.Name
	set(&pick.Adhesive, own.Adhesive)
	set(&pick.Thickness, own.Thickness)
	set(&pick.Share, own.Share)
	set(&pick.Peel, own.Peel)
	set(&pick.Service, own.Service)
	set(&pick.PeelTest, own.PeelTest)
	set(&pick.Primer, own.Primer)
	set(&pick.Coverage, own.Coverage)
	set(&pick.Coats, own.Coats)
	set(&pick.Container, own.Container)
	set(&pick.Thirst, own.Thirst)
	set(&pick.Cover, own.Cover)
	set(&pick.CoverOn, own.CoverOn)
	set(&pick.Fasteners, own.Fasteners)
	set(&pick.PullOut, own.PullOut)
	set(&pick.Engagement, own.Engagement)
	set(&pick.Locked, own.Locked)
	set(&pick.Backed, own.Backed)
	set(&pick.Coating, own.Coating)
	set(&pick.HolesSealed, own.HolesSealed)
	set(&pick.FabricYears, own.FabricYears)
	return pick
}

func set[T any](to **T, from *T) {
	if from != nil {
		*to = from
	}
}

// checkMount records what cannot be, where it was written.
func (r *resolver) checkMount(d *MountDoc, at string) {
	if d.Adhesive != nil && *d.Adhesive != "none" {
		if _, ok := bond.FindAdhesive(plainAdhesive(*d.Adhesive)); !ok {
			r.problems.Add(problem.Problem{Path: at + ".adhesive", Found: *d.Adhesive, Want: "one of " + strings.Join(adhesiveKeys(), ", "), Likely: Nearest(*d.Adhesive, adhesiveKeys())})
		}
	}
	if d.Thickness != nil {
		r.between(at+".tape_thickness", d.Thickness.Millimetres(), 0.05, 20, "0.05 mm to 20 mm")
	}
	if d.Share != nil {
		r.between(at+".bonded_share", d.Share.Float(), 0.001, 1, "above 0 and up to 100 %")
	}
	if d.Peel != nil {
		r.between(at+".peel", d.Peel.NewtonsPerCentimetre(), 0.05, 200, "0.05 to 200 N/cm, as the tape's sheet has it: 90°, fresh, on steel")
	}
	if d.Service != nil {
		r.between(at+".service_temperature", d.Service.Celsius(), 30, 300, "30 °C to 300 °C")
	}
	if d.Coverage != nil {
		r.between(at+".primer_coverage", d.Coverage.SquareMetres(), 0.5, 100, "0.5 to 100 m², of one litre")
	}
	if d.Coats != nil {
		r.between(at+".primer_coats", float64(*d.Coats), 1, 5, "1 to 5")
	}
	if d.Container != nil {
		r.between(at+".primer_container", d.Container.Millilitres(), 1, 20000, "1 ml to 20 l")
	}
	if d.Thirst != nil {
		r.between(at+".primer_thirst", *d.Thirst, 1, 10, "1 (smooth) to 10")
	}
	if d.CoverOn != nil {
		r.between(at+".cover_on_module", d.CoverOn.Millimetres(), 0, 300, "0 to 300 mm")
	}
	if d.Fasteners != nil {
		r.between(at+".fasteners", float64(*d.Fasteners), 0, 200, "0 to 200")
	}
	if d.PullOut != nil {
		r.between(at+".pull_out", d.PullOut.Newtons(), 1, 1e5, "1 N to 100 kN")
	}
	if d.Engagement != nil {
		r.between(at+".thread_engagement", d.Engagement.Millimetres(), 0, 100, "0 to 100 mm")
	}
	if d.FabricYears != nil {
		r.between(at+".fabric_years", *d.FabricYears, 0, 60, "0 to 60")
	}
	choice(r, d.PeelTest, at+".peel_test", peelTestWords, "")
	choice(r, d.Cover, at+".front_cover", coverWords, "none")
	choice(r, d.Coating, at+".fabric_coating", coatingWords, "")
}

func plainAdhesive(s string) string {
	for _, k := range adhesiveKeys() {
		if plainWord(k) == plainWord(s) {
			return k
		}
	}
	return s
}

func adhesiveKeys() []string {
	var out []string
	for _, a := range bond.Adhesives() {
		out = append(out, a.Key)
	}
	return append(out, "none")
}

// usualHold is the adhesive and bonded share of a module that says nothing, by how it is attached.
func usualHold(a Attachment) (key string, share quantity.Ratio) {
	switch a {
	case Bonded:
		return "factory film", 90 * quantity.Percent
	case FoamTape:
		return "acrylic foam tape", 30 * quantity.Percent
	}
	return "none", 0
}

// mount completes how one module is held. What is assumed is said once for each value.
func (r *resolver) mount(d *MountDoc, m *Module, said map[string]bool) Mount {
	const at = "mounting.each_module"
	once := func(path, value, why, source string) {
		if key := path + value; !said[key] {
			said[key] = true
			r.assume(path, value, why, source)
		}
	}
	key, share := usualHold(m.Attachment)
	if d.Adhesive == nil {
		once(at+".adhesive", key, "the usual for how it is attached", customary)
	} else {
		if key = plainAdhesive(*d.Adhesive); share == 0 && key != "none" {
			share = 10 * quantity.Percent
		}
	}
	a, known := bond.FindAdhesive(key)
	out := Mount{Peel: d.Peel, Service: d.Service, Primer: quiet(d.Primer, false), PullOut: d.PullOut, Engagement: d.Engagement, Fasteners: quiet(d.Fasteners, 0),
		Locked: quiet(d.Locked, false), Backed: quiet(d.Backed, false), HolesSealed: d.HolesSealed, FabricYears: d.FabricYears, Thirst: quiet(d.Thirst, 0)}
	out.PeelTest, _ = find(peelTestWords, quiet(d.PeelTest, "not done"))
	out.Cover, _ = find(coverWords, quiet(d.Cover, "none"))
	out.Coating, _ = find(coatingWords, quiet(d.Coating, ""))
	out.CoverOn = quiet(d.CoverOn, 0)
	if known {
		out.Adhesive, out.Thickness, out.Share = key, a.Thickness, share
		if d.Thickness != nil {
			out.Thickness = *d.Thickness
		} else {
			once(at+".tape_thickness", a.Thickness.String(), "common for "+key, a.Source.String())
		}
		if d.Share != nil {
			out.Share = *d.Share
		} else {
			once(at+".bonded_share", share.String(), "the usual for how it is attached", estimate)
		}
	}
	out.Coverage, out.Coats, out.Container = bond.PrimerCoverage, 1, 100*quantity.Millilitre
	if out.Primer {
		r.primer(d, &out, once)
	}
	if out.Cover != "none" && d.CoverOn == nil {
		out.CoverOn = 10 * quantity.Millimetre
		once(at+".cover_on_module", out.CoverOn.String(), "a strip over the edge", customary)
	}
	return out
}

// primer completes what is known of the primer.
func (r *resolver) primer(d *MountDoc, out *Mount, once func(path, value, why, source string)) {
	const at = "mounting.each_module"
	if d.Coverage != nil {
		out.Coverage = *d.Coverage
	} else {
		once(at+".primer_coverage", out.Coverage.String(), "of one litre, smooth", memory)
	}
	if d.Coats != nil {
		out.Coats = *d.Coats
	} else {
		once(at+".primer_coats", "1", "thick primer is worse than none", customary)
	}
	if d.Container != nil {
		out.Container = *d.Container
	} else {
		once(at+".primer_container", out.Container.String(), "a small can", estimate)
	}
}

// Held reports whether a module is held by an adhesive.
func (m Mount) Held() bool {
	return !slices.Contains([]string{"", "none", "butyl tape", "silicone"}, m.Adhesive)
}
