package sheet

import "slices"

// Caution is a hazard in our own words, and the sheets on which the hand meets it.
type Caution struct {
	Title string
	Text  string
	Keys  []string
}

// Cautions returns every caution, by hazard. They cover the handbook's section F one by one.
func Cautions() []Caution { return slices.Clone(cautions) }

var cautions = []Caution{
	{"Live in light", "A module cannot be switched off. Lay something opaque over it before you touch a plug, and check with the meter.", []string{"wiring"}},
	{"Plugs under load", "Never part a plug while current flows: the arc eats the contact and your hand is there. Open the disconnect first.", []string{"wiring"}},
	{"Arcs of direct current", "From some 12 to 20 V and 1 A an arc holds across a gap, and a string of 40 to 60 V burns steadily. Tight joints, no loose strands.", []string{"wiring"}},
	{"Plugs that do not belong together", "Two makers' halves that click are not a pair. Most burnt plugs are such pairs or bad crimps: one maker, the right tool, a pull test.", []string{"wiring", "parts"}},
	{"A battery's short circuit", "Thousands of amps flow through a dropped spanner. Rings off, one post covered, insulated tool, minus off first and on last.", []string{"wiring"}},
	{"Where the fuse sits", "On the plus side within a hand's breadth of the battery: 178 mm on boats, 200 mm in Australian vehicles, more only where the cable is sheathed or enclosed. It protects the cable: never larger than the cable's limit.", []string{"wiring", "parts"}},
	{"Fuses for lithium", "The fuse must break the battery's whole short circuit; a blade fuse may not. Take a class made for it.", []string{"wiring", "parts"}},
	{"Fuses in strings", "From three strings in parallel each needs its own, over 1.25 to 1.56 times the short-circuit current and not over the module's own limit.", []string{"wiring"}},
	{"Lithium cells", "No charge below freezing in the cell, none when damp, swollen or dropped. A smoke alarm over it, the way out never past it. Iron phosphate burns less readily than other kinds: less is not never.", []string{"wiring", "trip"}},
	{"Gas and monoxide", "Heaters that burn vent outside; a monoxide alarm where you sleep; no grill indoors; gas lockers drain at the floor; no spark near them.", []string{"needs"}},
	{"Work at height", "Ladder one out for four up, three points of hold, a platform rather than the roof, a second person below. A tent's roof is not for standing.", []string{"roof"}},
	{"Edges that cut, sheets that spring", "Foil and trays have sharp edges and a rolled module snaps back. Gloves, two people, tape over the edge.", []string{"mounting"}},
	{"Air and the way out", "Vents of heater, fridge and gas stay open under the modules; a hatch that is a way out opens fully with everything fitted.", []string{"roof"}},
	{"What flies off kills", "Modules have left roofs on the road, and people behind them died. Look at every edge and fastener before every long drive; when in doubt, take it off.", []string{"mounting", "roof"}},
	{"Height and open hatches", "The roof is higher now: measure, write it where the driver sees it. Walk round once before you drive.", []string{"roof"}},
	{"Lightning", "With thunder about, off the roof and away from the cables; open the disconnects while it is far.", []string{"shade"}},
	{"Shadow that stays", "A shaded cell may burn what its neighbours give. Leave no hard shadow, strap or leaf on a module for days; look for brown spots.", []string{"shade"}},
	{"Solvent, heat and sheet", "Vapour collects in a closed lid and a plastic sheet makes sparks when pulled. Doors open, nothing that burns, earthed hands.", []string{"mounting"}},
	{"Water that stays", "A seam that traps water ages the module, the skin and the joint. Drains free, gaps open at the low side, no puddle under a plug.", []string{"mounting"}},
	{"Hot skin", "A dark roof passes 60 °C. Bare metal burns at 65 to 70 °C in a second, anything at 51 °C in a minute; kneeling counts as long. Morning work, gloves, a pad.", []string{"mounting", "shade"}},
	{"Sixty volts", "Above 60 V of direct current other rules hold and in many places other people may do the work. A cold morning counts, not the label.", []string{"wiring"}},
	{"Mains", "Wiring behind an inverter or a shore plug is not covered here. Follow the local code; where it asks for a licensed electrician, ask one.", []string{"needs"}},
	{"Which code", "Vehicles, boats and houses have different ones, and they differ by country: EN 1648, IEC 60364-7-721, ISO 13297, ABYC E-11, NEC 551 and 552, NFPA 1192, AS/NZS 3001.2. Check the edition in force where you are.", []string{"basis"}},
	{"Things that stick out", "Laws on external projections, lamps and mass reach what you add to a roof. Ask before the inspection does.", []string{"mounting"}},
	{"Who may do it", "In some countries an owner may work on low voltage and not on mains, in others on neither. This book is no licence.", []string{"basis"}},
	{"Medical devices", "A forecast is no promise. Whoever must breathe or be cooled by this battery needs a second source and a plan.", []string{"needs", "trip"}},
}

// cautionsOf returns the texts that stand on a sheet.
func cautionsOf(key string) []string {
	var out []string
	for _, c := range cautions {
		if slices.Contains(c.Keys, key) {
			out = append(out, c.Title+". "+c.Text)
		}
	}
	return out
}
