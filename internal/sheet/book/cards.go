package book

import (
	"fmt"
	"math"

	"noonmark/internal/answer/check"
	"noonmark/internal/sheet/sheet"
)

// Cards returns the sheet of the cards: before every drive, every quarter, the first 500 km. Rates and limits
// are common practice unless a source stands with them.
func Cards(looseEdge string) sheet.Sheet {
	return sheet.Sheet{Key: "cards", Title: "Cards to carry", Columns: 3,
		Lead: "Cut along the columns. A card is read at the vehicle, with the hand on the thing.",
		Lists: []sheet.List{
			{Title: "Before every drive", Tick: true, Why: "Two minutes, once round.", Lines: []string{
				"Front edges: press along each one. Nothing lifts; " + looseEdge,
				"Corners and rear edges: no blister, no flutter mark, no gap that was not there.",
				"Fasteners and feet: none missing, none turns by hand.",
				"Cables: in their clips, plugs closed and off the surface, the drip loop hangs.",
				"Lid, tent, hatch, fan: down and latched. Pull each latch once.",
				"Roof clear: nothing loose, nothing left on the modules.",
				"Height, with everything folded, is the figure beside the wheel.",
				"Vents of heater, fridge and gas are open.",
				"Controller: no alarm; volts of the battery as usual.",
				"If an edge is loose: tape it, drive slowly to a place to mend it, or take the module off."}},
			{Title: "Every quarter", Tick: true, Why: "A clear noon, battery under 80 %. Write it down: only a trend proves anything.", Lines: []string{
				"Wash with water and a soft cloth; same as last time, all modules alike.",
				"Modules in the sun for half an hour; then note time, air, module's back, sky.",
				"Open volts of each module, one meter, within a minute. Twins agree within 5 %.",
				"Short-circuit or clamp amps of each string, twins again. Within 5 % in steady sun.",
				"Plugs: look, feel for warmth under load; more than 50 mV across one at 5 A is a bad joint.",
				"Fuses, terminals: no brown, no white, no movement.",
				"Edges and corners: a photo of each, the same view as last time.",
				"Hinge loop: no crack, no flat place, both ends held.",
				"Gland and seams: dry inside after rain; drains free.",
				"Struts: the lid stays up on a cold morning.",
				"Once a year: compare with the first record and put this one beside it."}},
			{Title: "The first 500 km", Tick: true, Why: "Bonds still build, threads still settle.", Lines: []string{
				"No drive before the bond's hours have passed at its temperature; a cold night makes them longer.",
				"First 20 km: keep under 80 km/h, then stop and press along every edge.",
				"At 100 km: again, and every fastener by hand; mark the nuts with paint.",
				"After the first rain: look inside at the entry, outside for water that stands.",
				"After the first hot day: blisters, edges, smell of solvent under a lid.",
				"After the first gravel road: clips, plugs, rubbed cable.",
				"At 500 km: tighten to the figure of the fastener's sheet, check the paint marks, photograph all edges.",
				"Any edge that moved: stop here, find out why, then go on."}},
		}}
}

// Papers returns the sheet of what to ask, of whom, and what to keep. It is general and no legal advice.
func Papers() sheet.Sheet {
	return sheet.Sheet{Key: "papers", Title: "Papers to ask about", Columns: 4,
		Lead: "Questions to put in writing before the first hole or the first strip of tape, and what to keep. Rules differ by country; this is no legal advice.",
		Lists: []sheet.List{
			{Title: "Insurer", Tick: true, Lines: []string{
				"Is the change to be declared? By what document, before which date?",
				"Are modules, battery and wiring covered: theft, hail, fire, water from a new hole?",
				"Does the cover end if the work was not done by a trade? Does a test record help?",
				"Is the vehicle's value raised, and the premium?"}},
			{Title: "Third parties", Tick: true, Lines: []string{
				"Is harm by a part that leaves the vehicle on the road covered, and to what sum?",
				"What does the insurer want to see afterwards: inspection notes, photos, dates?",
				"Does the cover hold abroad, in each country of the trip?"}},
			{Title: "Vehicle and tent warranty", Tick: true, Lines: []string{
				"Does bonding or drilling end the warranty on leaks, paint, structure or fabric?",
				"What load may the roof, the rack and the lid carry, moving and standing, in writing?",
				"Is a higher lid load allowed for the struts and the hinge?"}},
			{Title: "Warranty of modules, controller and battery", Tick: true, Lines: []string{
				"Does bonding, a vehicle, a curve or a partial shade end it?",
				"Which proof is asked: serial numbers, invoice, photos before removal, readings, by whom?",
				"Who pays for taking off, sending, and putting back?"}},
			{Title: "Modification and external projection", Tick: true, Lines: []string{
				"Does the change need an inspection or an entry in the vehicle's papers?",
				"How far may a part stand out, and how sharp may an edge be? Which rule, which edition?",
				"New height, mass and axle loads: weighed and within the plates?",
				"Are lamps, aerials and emergency exits as they were?"}},
			{Title: "Electrical rules", Tick: true, Lines: []string{
				"Which code holds for this vehicle where it is registered?",
				"May an owner do low-voltage work? Who must do the mains side?",
				"Is a gas or electrical certificate to be renewed after the change?"}},
			{Title: "Places", Tick: true, Lines: []string{
				"Ferries, tunnels and sites: is a lithium battery to be declared or isolated?",
				"Rented or financed vehicle: is the owner's consent in writing?"}},
			{Title: "To keep for the next owner", Tick: true, Lines: []string{
				"This book with its build file, and every later one.",
				"Labels and serial numbers photographed; invoices; warranty terms of the day.",
				"Adhesive, primer and their batch; date, weather and skin temperature of the bonding.",
				"The first test record, every quarter's card, every fault and its mend.",
				"How to take it off again: heat, wire, blade, and what the skin needs after."}},
		}}
}

// looseEdge is the card's limit of a loose front edge: the least that the unzip rule allows for a module, and
// 20 mm at the most. Source: handbook B3, the most that is let pass before a long leg.
func looseEdge(list []check.Finding) string {
	least := 20.0 // mm
	for _, f := range list {
		if f.ID == "unzip" && f.Unit == "cm" && f.Value > 0 {
			least = min(least, 10*f.Value)
		}
	}
	return fmt.Sprintf("more than %.0f mm loose: do not drive.", math.Floor(least))
}
