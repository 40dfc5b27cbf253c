package check

import (
	"fmt"
	"math"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/wiring"
)

// stringFuses returns the findings on the fuses of strings: where they are required, their size and volts;
// and on the one fuse of the array where there is one. Coldest is the open volts at the cold edge.
func stringFuses(b *build.Build, c *build.Charger, coldest float64) []Finding {
	var out []Finding
	n := len(c.Strings)
	total := 0.0
	for _, si := range c.Strings {
		_, _, isc := pointOf(b, &b.Strings[si])
		total += isc
	}
	for _, si := range c.Strings {
		s := &b.Strings[si]
		out = append(out, stringFuse(b, s, n, total))
		if s.Cable.Fuse != nil {
			out = append(out, fuseVolts("string-fuse-volts", "string "+s.Name, s.Cable.FuseVolts, coldest, "the open volts at the cold edge"))
		}
	}
	if r := &c.InputCable; r.Fuse != nil {
		low, high, source := ratedLimit(r)
		f := Finding{ID: "array-fuse", Subject: "cable " + r.Name, Value: r.Fuse.Amperes(), Limit: high, Unit: "A", Source: source,
			Reason: fmt.Sprintf("not over what the conductor may carry, and at least 1.56 times the short-circuit current, %.1f A, or cloud edges blow it", 1.25*1.25*total) + inForce}
		switch {
		case f.Value > high:
			f.Verdict = Fail
		case f.Value > low:
			f = f.missing("the insulation's class (insulation)", printOf)
		case f.Value < 1.25*1.25*total:
			f.Verdict = Warn
		}
		out = append(out, f, fuseVolts("array-fuse-volts", f.Subject, r.FuseVolts, coldest, "the open volts at the cold edge"))
	}
	return out
}

// stringFuse judges the fuse of one string of n in parallel.
func stringFuse(b *build.Build, s *build.String, n int, total float64) Finding {
	_, _, isc := pointOf(b, s)
	f := Finding{ID: "string-fuse", Subject: "string " + s.Name, Value: total - isc, Unit: "A", Source: from("IEC 62548:2016", "6.5.3", cite.LookedUp)}
	most := quantity.Current(math.Inf(1))
	for _, m := range s.Modules {
		if x := b.Types[b.Modules[m].Type].MaxFuse; x == nil {
			most = 0
		} else {
			most = min(most, *x)
		}
	}
	if n < 2 {
		f.Reason, f.Limit = "one string: no other drives current back into it, so it needs no fuse of its own"+inForce, isc
		return f
	}
	if most <= 0 {
		return f.missing("the largest series fuse of a module type (max_fuse)", "read it on the label at the back of the module")
	}
	a := wiring.Array{Strings: n, ShortCircuit: quantity.Current(isc), MaxFuse: most}
	others := wiring.Array{Strings: n, ShortCircuit: quantity.Current((total - isc) / float64(n-1)), MaxFuse: most}
	f.Limit = most.Amperes()
	low, high := a.FuseWindow()
	needed, dutch := "needs none", "none"
	if others.NeedsFuse() {
		needed = "needs a fuse"
	}
	if others.NeedsFuseDutch() {
		dutch = "one"
	}
	f.Reason = fmt.Sprintf("what the other strings drive back against what a module stands: by IEC 62548 and NEC 690.9(A) each string %s, by NEN 1010:2020 %s; a fuse lies between %.1f and %.1f A and is at most %.0f A", needed, dutch, low.Amperes(), high.Amperes(), f.Limit) + inForce
	fuse := s.Cable.Fuse
	switch {
	case fuse == nil && f.Value > f.Limit:
		f.Verdict = Fail
		if size, ok := a.StringFuse(); ok {
			f.Reason += fmt.Sprintf("; fit %.4g A", size.Amperes())
		} else {
			f.Reason += "; no size in trade fits: fewer strings, or blocking"
		}
	case fuse == nil:
	case *fuse > most || *fuse >= high:
		f.Value, f.Verdict = fuse.Amperes(), Fail
	case *fuse <= low:
		f.Value, f.Verdict = fuse.Amperes(), Warn
		f.Reason += "; the one fitted is so small that a bright noon blows it"
	}
	return f
}

// fuseVolts judges a fuse's rating for direct current.
func fuseVolts(id, subject string, rated *quantity.Voltage, volts float64, of string) Finding {
	f := Finding{ID: id, Subject: subject, Limit: volts, Unit: "V", Source: from("IEC 60269-6 and NEC 690.9(D)", "", cite.FromMemory),
		Reason: "the fuse's rating for direct current against " + of + ": an arc of direct current does not go out by itself, and a rating for alternating current says nothing" + inForce}
	if rated == nil {
		return f.missing("the fuse's rating for direct current (fuse_volts)", "read it on its body: V DC or V⎓")
	}
	f.Value = rated.Volts()
	return f.atLeast(1)
}

// batteryFuse returns the findings on the fuse between a charger and the battery.
func batteryFuse(b *build.Build, c *build.Charger) []Finding {
	if enclosed(c) {
		return nil
	}
	r := &c.BatteryCable
	subject := "cable " + r.Name
	source := from("ABYC E-11", "overcurrent protection at the source", cite.LookedUp)
	f := Finding{ID: "battery-fuse", Subject: subject, Unit: "fuses", Limit: 1, Source: source,
		Reason: "the battery can drive thousands of amperes into this cable: it needs a fuse at the battery's end" + inForce}
	if r.Fuse == nil {
		return []Finding{f.atLeast(1)}
	}
	f.Value = 1
	full := charge.ChargingVoltage(charge.Chemistry(b.Battery.Chemistry), b.Battery.Voltage).Volts()
	return []Finding{f, fuseSize(c), fuseDistance(r), fuseBreaks(b, r), fuseVolts("battery-fuse-volts", subject, r.FuseVolts, full, "the battery's charging volts")}
}

// fuseSize judges a battery fuse between its load and its conductor.
func fuseSize(c *build.Charger) Finding {
	r := &c.BatteryCable
	low, high, source := ratedLimit(r)
	load, fuse := c.OutputCurrent.Amperes(), r.Fuse.Amperes()
	f := Finding{ID: "fuse-size", Subject: "cable " + r.Name, Value: fuse, Limit: low, Unit: "A", Source: source}
	if r.Insulation == nil && fuse > 1.5*high {
		f.Limit = high
	} else if r.Insulation == nil && fuse > low {
		return f.missing("the insulation's class (insulation)", printOf)
	}
	f.Reason = fmt.Sprintf("the fuse protects the conductor, %s, which may carry %.1f A there, and carries the load, %.1f A, with a quarter to spare for hours of it (NEC 210.20(A)); boats allow a fuse up to 150 %% of the conductor (ABYC E-11, EN ISO 13590)", sizeText(r.Area), f.Limit, load) + inForce
	switch {
	case fuse > 1.5*f.Limit*(1+1e-9):
		f.Verdict = Fail
	case fuse < load:
		f.Verdict = Fail
		f.Reason += "; this one blows in a good noon"
	case fuse > f.Limit, fuse < 1.25*load*(1-1e-9):
		f.Verdict = Warn
	}
	if size, ok := wiring.SuggestFuse(c.OutputCurrent, quantity.Current(f.Limit)); ok && f.Verdict != Pass {
		f.Reason += fmt.Sprintf("; %.4g A fits both", size.Amperes())
	} else if f.Verdict != Pass {
		f.Reason += "; no fuse fits both: the conductor is too thin for the load"
	}
	return f
}

// fuseDistance judges how far along the cable the fuse sits from the battery's post.
func fuseDistance(r *build.Run) Finding {
	reach := wiring.FuseReach()
	limit, source := reach.Bare, from("ABYC E-11", "7 in", cite.LookedUp)
	if r.Sheathed {
		limit, source = reach.Sheathed, from("ABYC E-11", "40 in, sheathed", cite.FromMemory)
	}
	f := Finding{ID: "fuse-distance", Subject: "cable " + r.Name, Limit: limit.Millimetres(), Unit: "mm", Source: source,
		Reason: fmt.Sprintf("along the cable from the post to the fuse: what lies between is not protected. ABYC says 178 mm, ISO 10133:2000 and AS/NZS 3001.2 200 mm, in a sheath %.0f mm", reach.Sheathed.Millimetres()) + inForce}
	if r.FuseAt == nil {
		return f.missing("the fuse's distance from the battery (fuse_from_battery)", "measure along the cable from the post")
	}
	f.Value = r.FuseAt.Millimetres()
	f = f.atMost(1)
	if f.Verdict == Fail && *r.FuseAt <= reach.ISO {
		f.Verdict = Warn // two rules disagree: within the one, outside the other
	}
	return f
}

// fuseBreaks judges the fault current a battery fuse breaks.
func fuseBreaks(b *build.Build, r *build.Run) Finding {
	f := Finding{ID: "fuse-breaks", Subject: "cable " + r.Name, Unit: "A", Source: from("ABYC E-11", "interrupting capacity", cite.LookedUp)}
	bank := &b.Battery
	drives := ""
	switch {
	case bank.ShortCircuit != nil:
		f.Limit, drives = bank.ShortCircuit.Amperes(), "by its maker"
	case bank.Chemistry != build.AGM:
		f.Limit, drives = wiring.LithiumBreaking.Amperes(), "taken as 20 kA, the rule's figure for lithium banks whose own is not known"
	case bank.Cranking != nil:
		f.Limit, drives = wiring.InterruptRating(*bank.Cranking).Main.Amperes(), "table V.A, by its cold-cranking amperes"
	default:
		return f.missing("the battery's fault current (short_circuit or cold_cranking)", "ask its maker, or read the cold-cranking amperes on it")
	}
	f.Reason = fmt.Sprintf("what the fuse breaks against what the battery drives into a short, %s: a fuse that cannot break it burns on as an arc", drives) + inForce
	if r.FuseBreaks == nil {
		return f.missing("the fault current the fuse breaks (fuse_breaks)", "read its sheet: from memory blade fuses about 1 kA, class T 20 kA, at the battery's volts")
	}
	f.Value = r.FuseBreaks.Amperes()
	f = f.atLeast(1)
	if f.Verdict == Fail && bank.ShortCircuit == nil && bank.Chemistry != build.AGM {
		return f.missing("the battery's own fault current (short_circuit)", fmt.Sprintf("ask its maker; the fuse breaks %.0f A, and without a figure 20 kA is taken", f.Value))
	}
	return f
}
