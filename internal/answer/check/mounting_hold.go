package check

import (
	"fmt"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/bond"
)

// peelTest is how to find what no table knows.
const peelTest = "bond a 25 mm strip on the very skin, wait 20 min, pull it at 90°: the foam must tear, not lift clean"

// skinFits judges the skin for the adhesive.
func (m *mounted) skinFits() Finding {
	if !m.glued {
		return Finding{}
	}
	s := m.skin
	f := Finding{ID: "skin", Subject: m.subject(), Value: s.EnergyLow.NewtonsPerMetre() * 1e3, Limit: bond.Bondable.NewtonsPerMetre() * 1e3, Unit: "mN/m", Source: s.Source}
	tested := m.mount.PeelTest == "torn foam"
	soft := s.Plasticiser && m.mount.Coating != "acrylic" && m.mount.Coating != "polyurethane"
	f.Reason = fmt.Sprintf("%s, surface energy %.0f to %.0f mN/m clean; %s; solvent: %s", s.Key, s.EnergyLow.NewtonsPerMetre()*1e3, s.EnergyHigh.NewtonsPerMetre()*1e3, s.Prepare, s.Solvent)
	switch {
	case m.mount.PeelTest == "lifted clean":
		f.Verdict, f.Reason = Fail, "the peel test lifted clean; "+f.Reason
	case s.Suits == bond.Refuse && m.mount.Adhesive == "low-energy tape" && m.mount.Primer && tested:
		f.Verdict, f.Reason = Warn, "low in energy; a tape made for it, primer and a torn peel test, but fasteners are the surer way; "+f.Reason
	case s.Suits == bond.Refuse:
		f.Verdict, f.Reason = Fail, "an ordinary adhesive does not wet it: "+f.Reason
	case soft && m.glue.Plasticiser && tested:
		f.Verdict = Pass
	case soft && m.mount.Coating == "pvc" && !m.glue.Plasticiser:
		f.Verdict, f.Reason = Fail, m.glue.Key+" is not made to stand plasticiser; "+f.Reason
	case soft && m.mount.Coating == "":
		f.Verdict, f.Reason = Unknown, "the fabric's coating is missing: read its label or ask its maker whether it is soft PVC (a cotton bud with acetone turns sticky on PVC); "+f.Reason
	case s.Suits == bond.Test && !tested:
		f.Verdict, f.Reason = Unknown, "a peel test is missing: "+peelTest+"; "+f.Reason
	case s.Suits == bond.Fair && !tested && !m.mount.Primer:
		f.Verdict, f.Reason = Warn, "neither primer nor peel test: "+peelTest+"; "+f.Reason
	}
	return f
}

// offCells is how far a cover's edge stays off the cells: its own shadow at a sun 10° high, for a cover of
// a millimetre, rounded down to what a hand can cut. Our own estimate.
const offCells = 5 * quantity.Millimetre

// edgeCover judges the cover of the front edge, and its distance from the cells.
func (m *mounted) edgeCover() Finding {
	if !m.glued {
		return Finding{}
	}
	f := Finding{ID: "edge-cover", Subject: m.subject(), Unit: "mm", Value: m.mount.CoverOn.Millimetres(), Limit: max(0, (m.kind.Cells.Margin - offCells).Millimetres()),
		Source: cite.Source{Title: "front-edge covers, handbook A8", Standing: cite.CommonPractice}}
	if m.mount.Cover == "none" {
		f.Verdict = Warn
		f.Value = 0
		f.Reason = fmt.Sprintf("nothing covers the front edge, where a peel starts: a thin trim or wide tape, at most %.0f mm on the module, chamfered with sealant, open at its ends to drain", f.Limit)
		return f
	}
	f.Reason = fmt.Sprintf("%s lies %.0f mm on the module; the cells begin %.0f mm from its edge, and the cover stays %.0f mm off them for its own shadow. It gathers dirt: wash it", m.mount.Cover, f.Value, m.kind.Cells.Margin.Millimetres(), offCells.Millimetres())
	switch {
	case m.mount.CoverOn > m.kind.Cells.Margin:
		f.Verdict = Fail
		f.Reason += "; it lies on the cells, and a whole string pays for a shaded one"
	case f.Value > f.Limit:
		f.Verdict = Warn
	}
	return f
}

// shaking is what a tested pull-out is divided by: shaking loosens a screw. Our own estimate.
const shaking quantity.Ratio = 2

// fasteners judges screws where bonding does not hold the module alone.
func (m *mounted) fasteners() Finding {
	f := Finding{ID: "fasteners", Subject: m.subject(), Value: float64(m.mount.Fasteners), Unit: "pieces",
		Source: cite.Source{Title: "fasteners, handbook A8", Where: "reports of lost screws and of a fatal detachment", Standing: cite.CommonPractice}}
	alone := m.glued && m.glue.Structural && m.skin.Suits != bond.Refuse
	rigid := m.kind.Front == build.FloatGlass || m.kind.Front == build.TexturedGlass
	pull, how := m.pull()
	switch {
	case m.module.Attachment == build.LooseFlat, m.module.Attachment == build.FabricPocket:
		return Finding{}
	case alone && m.mount.Fasteners == 0 && !rigid:
		return Finding{} // a thin laminate is not screwed through its cells
	case alone && m.mount.Fasteners == 0:
		f.Verdict, f.Limit, f.Reason = Warn, 4, "a rigid module on a roof is glued and screwed: brackets held by glue alone have come off in a hand after a fatal detachment; "+how
		return f
	case m.mount.Fasteners == 0:
		f.Verdict, f.Limit, f.Reason = Unknown, 4, "fasteners are missing: give their number, the tested pull-out of one in this very skin, thread engagement, lock and backing plate; "+how
		return f
	case m.mount.PullOut == nil:
		f.Verdict, f.Limit = Unknown, 4
		f.Reason = "the pull-out of one fastener is missing: screw one into a spare piece of the skin and pull it with a luggage scale to its loosening; a bare screw in thin skin or 3 mm ply holds little; " + how
		return f
	}
	f.Limit = float64(bond.Fasteners(pull, *m.mount.PullOut, shaking))
	f.Reason = fmt.Sprintf("%s; each holds %.0f N tested, half of it counted for shaking; at least one at each corner", how, m.mount.PullOut.Newtons())
	switch {
	case f.Value < f.Limit:
		f.Verdict = Fail
	case m.mount.Engagement != nil && *m.mount.Engagement <= bond.ThinThread && !m.mount.Locked:
		f.Verdict = Fail
		f.Reason += fmt.Sprintf("; %.0f mm of thread without a lock shook out of a leading edge, more than half of the screws", m.mount.Engagement.Millimetres())
	case m.mount.Engagement == nil && !m.mount.Locked:
		f.Verdict = Unknown
		f.Reason += "; thread engagement and lock are missing: measure what stands in the thread, over 3 mm, and lock it"
	case !m.mount.Backed || !m.mount.Locked:
		f.Verdict = Warn
		f.Reason += "; a lock that cannot shake loose, and a backing plate or rivet nut, are practice"
	}
	return f
}

// fabricLife is years in the sun after which a coated fabric is judged by hand, by its coating.
// From memory and our own estimate: weave, colour and latitude count as much.
var fabricLife = map[string]float64{"pvc": 8, "acrylic": 8, "polyurethane": 4, "none": 4}

// fabric returns the findings on a fabric lid.
func (m *mounted) fabric() []Finding {
	if m.skin.Key != "coated fabric" && m.module.Attachment != build.FabricPocket {
		return nil
	}
	hand := cite.Source{Title: "fabric lids", Standing: cite.CommonPractice}
	coat := Finding{ID: "fabric-coating", Subject: m.subject(), Value: m.skin.ThirstMost.Float(), Limit: m.skin.Thirst.Float(), Unit: "times smooth", Source: hand,
		Reason: fmt.Sprintf("coated with %s; a porous face drinks %.0f to %.0f times the primer of a smooth one", m.mount.Coating, m.skin.Thirst.Float(), m.skin.ThirstMost.Float())}
	switch m.mount.Coating {
	case "":
		coat.Verdict = Unknown
		coat.Reason = "the coating is missing: a drop of water that soaks in within a minute means a porous face, one that beads a coat; blow through it against a wet lip; rub it: a coat that dusts or cracks is at its end"
	case "none":
		coat.Verdict = Fail
		coat.Reason = "uncoated fabric is porous: an adhesive holds to loose fibres only; sew or weld a pocket or a sewn-on coated panel"
	}
	holes := Finding{ID: "fabric-needle-holes", Subject: m.subject(), Unit: "open seams", Source: hand, Reason: "needle holes of pocket and cover are sealed: dress them inside and outside, hose them, look again after the first rain"}
	switch {
	case m.mount.HolesSealed == nil:
		holes.Verdict, holes.Reason = Unknown, "whether the needle holes are sealed is missing: hose the seam for ten minutes and look inside; seal from both sides with what sticks to this coat"
	case !*m.mount.HolesSealed:
		holes.Verdict, holes.Reason = Fail, "unsealed needle holes leak in wind-driven rain: dress the seam inside and outside, then hose it"
	}
	sun := Finding{ID: "fabric-uv", Subject: m.subject(), Unit: "years", Limit: fabricLife[m.mount.Coating], Source: cite.Source{Title: "life of fabrics in the sun", Standing: cite.Judgement}}
	switch {
	case m.mount.FabricYears == nil || m.mount.Coating == "":
		sun.Verdict, sun.Reason = Unknown, "the fabric's coating or its years in the sun are missing: ask the seller; pull a thread from a hidden hem and one from the top: the one that breaks first is the older in light"
	default:
		sun.Value = *m.mount.FabricYears
		sun.Reason = "years in the sun against what such a coat stands, latitude and colour aside; the module shades what it covers, the rest goes on ageing: the seam beside it fails first"
		switch {
		case sun.Value > 2*sun.Limit:
			sun.Verdict = Fail
		case sun.Value > sun.Limit:
			sun.Verdict = Warn
		}
	}
	return []Finding{coat, holes, sun}
}
