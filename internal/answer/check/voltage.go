package check

import (
	"fmt"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/wiring"
)

// coldVolts returns a string's open volts with cells at the given temperature, by the labels' coefficients.
func coldVolts(b *build.Build, s *build.String, t quantity.Temperature) float64 {
	volts := 0.0
	for _, m := range s.Modules {
		k := &b.Types[b.Modules[m].Type]
		volts += k.Voc.Volts() * (1 + k.VocCoefficient.PerKelvin()*(t.Celsius()-25))
	}
	return volts
}

// coldVoltage judges the open volts at the extreme low, and warns where the cold edge of its band is over
// the limit.
func coldVoltage(c *build.Charger, s *build.String, cold, edge float64, e Extremes) Finding {
	f := Finding{ID: "cold-voltage", Subject: "string " + s.Name + " on " + c.Name, Value: cold, Limit: c.InputMax.Volts(), Unit: "V",
		Reason: fmt.Sprintf("open volts at %.0f °C, the extreme low of %s, in cold dawn sun; %.1f V at the cold edge of its band, %.0f °C; over the limit the input dies"+inForce, e.Low.Celsius(), e.LowAt, edge, e.Low.Add(-e.LowBand).Celsius()),
		Source: cite.Source{Title: "NEC 690.7(A)(1)", Where: "module coefficient method"}}
	switch {
	case cold > f.Limit:
		f.Verdict = Fail
	case edge > f.Limit:
		f.Verdict = Warn
	}
	return f
}

func hotVoltage(b *build.Build, c *build.Charger, s *build.String, hot, start float64, e Extremes) Finding {
	full := charge.ChargingVoltage(charge.Chemistry(b.Battery.Chemistry), b.Battery.Voltage).Volts()
	need := max(full+c.RunMargin.Volts(), c.InputMin.Volts())
	f := Finding{ID: "hot-voltage", Subject: "string " + s.Name + " on " + c.Name, Value: hot, Limit: need, Unit: "V",
		Reason: fmt.Sprintf("working volts in full sun, no wind, air %.0f °C (%s); the controller needs battery %.1f V and its margin", e.High.Celsius(), e.HighAt, full),
		Source: cite.Source{Title: "controller input rule", Standing: cite.CommonPractice}}
	switch {
	case hot < need:
		f.Verdict = Fail
	case start < full+c.StartMargin.Volts():
		f.Verdict = Warn
		f.Reason += fmt.Sprintf("; to start at 200 W/m² it needs %.1f V open and has %.1f V", full+c.StartMargin.Volts(), start)
	}
	return f
}

// stringVolts is a string's volts at the extremes, by module where a module can be lost.
type stringVolts struct {
	cold, edge float64   // open, at the extreme low and at the cold edge of its band
	dawn       float64   // open, at the extreme low in the weak light of dawn
	hot        []float64 // working, in full sun, no wind, by module
	dim        []float64 // open, in weak light on a hot day
}

func sum(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}

// voltsOf returns a string's volts at the extremes.
func voltsOf(b *build.Build, s *build.String, e Extremes) (stringVolts, error) {
	v := stringVolts{cold: coldVolts(b, s, e.Low), edge: coldVolts(b, s, e.Low.Add(-e.LowBand))}
	for _, m := range s.Modules {
		t := &b.Types[b.Modules[m].Type]
		params, err := forecast.Fit(t)
		if err != nil {
			return v, err
		}
		plate := forecast.PlateOf(t, b.Modules[m].Attachment, b.Modules[m].Gap)
		full := 1000 * quantity.WattPerSquareMetre
		st := params.At(full, plate.Steady(full, e.High, 0))
		v.hot = append(v.hot, st.Best().Voltage.Volts())
		early := params.At(200*quantity.WattPerSquareMetre, e.Low)
		v.dawn += early.Open().Volts()
		dim := params.At(200*quantity.WattPerSquareMetre, e.High.Add(15*quantity.OneKelvin))
		v.dim = append(v.dim, dim.Open().Volts())
	}
	return v, nil
}

// voltages returns the findings on a string's volts.
func voltages(b *build.Build, c *build.Charger, s *build.String, v stringVolts, e Extremes) []Finding {
	if e.LowAt == "" {
		f := Finding{ID: "cold-voltage", Subject: "string " + s.Name + " on " + c.Name, Limit: c.InputMax.Volts(), Unit: "V", Source: from("NEC 690.7(A)(1)", "module coefficient method", cite.LookedUp)}
		return []Finding{f.missing("the coldest air", "give the trip's places, or a home")}
	}
	cold := coldVoltage(c, s, v.cold, v.edge, e)
	cold.Reason += fmt.Sprintf("; the weak light of dawn, 200 W/m², would make it %.1f V, a margin not to be spent", v.dawn)
	out := []Finding{cold}
	if f, ok := coldTable(b, c, s, v.cold, e); ok {
		out = append(out, f)
	}
	out = append(out, hotVoltage(b, c, s, sum(v.hot), sum(v.dim), e))
	out = append(out, lost(b, c, s, v)...)
	return append(out, voltageLine(s, v.cold))
}

// coldTable returns the open volts by the table of the NEC, shown beside the coefficient method, which
// goes before it; false for thin film, which the table is not for.
func coldTable(b *build.Build, c *build.Charger, s *build.String, cold float64, e Extremes) (Finding, bool) {
	label := 0.0
	for _, m := range s.Modules {
		t := &b.Types[b.Modules[m].Type]
		switch t.Technology {
		case build.CIGS, build.CIGSFoil, build.CdTe, build.AmorphousSilicon:
			return Finding{}, false
		}
		label += t.Voc.Volts()
	}
	f := Finding{ID: "cold-voltage-table", Subject: "string " + s.Name + " on " + c.Name, Limit: c.InputMax.Volts(), Unit: "V",
		Source: from("NEC 2023 (NFPA 70)", "table 690.7(A)", cite.LookedUp)}
	k, err := wiring.ColdFactor(e.Low)
	if err != nil {
		return f.missing("a row of the table for that cold", err.Error()+"; the coefficient method stands alone"), true
	}
	f.Value = label * k.Float()
	f.Reason = fmt.Sprintf("label open volts times the table's %.2f for %.0f °C; by the modules' own coefficient it is %.1f V, and that goes first where the label has one", k, e.Low.Celsius(), cold) + inForce
	return f.atMost(1).beside(), true
}

// lost returns the findings on a string that has lost a module, or the cells over one bypass diode: the
// most volts a single fault takes. A fault case goes no further than a warning. A string of one module
// has no rest to judge.
func lost(b *build.Build, c *build.Charger, s *build.String, v stringVolts) []Finding {
	full := charge.ChargingVoltage(charge.Chemistry(b.Battery.Chemistry), b.Battery.Voltage).Volts()
	need, start := max(full+c.RunMargin.Volts(), c.InputMin.Volts()), max(full+c.StartMargin.Volts(), c.InputMin.Volts())
	module, group, groupDim, moduleDim := 0.0, 0.0, 0.0, 0.0
	for i, m := range s.Modules {
		n := b.Types[b.Modules[m].Type].Cells.Groups
		module, moduleDim = max(module, v.hot[i]), max(moduleDim, v.dim[i])
		if n > 0 {
			group, groupDim = max(group, v.hot[i]/float64(n)), max(groupDim, v.dim[i]/float64(n))
		}
	}
	var out []Finding
	add := func(id, what string, gone, goneDim float64) {
		f := Finding{ID: id, Subject: "string " + s.Name + " on " + c.Name, Value: sum(v.hot) - gone, Limit: need, Unit: "V", Source: practice("controller input rule"),
			Reason: fmt.Sprintf("hot working volts with %s; the controller needs %.1f V to run, and %.1f V open to start where it then has %.1f V in weak light", what, need, start, sum(v.dim)-goneDim)}
		f = f.atLeast(1)
		if sum(v.dim)-goneDim < start {
			f.Verdict = Warn
		}
		out = append(out, f.beside())
	}
	if len(s.Modules) > 1 {
		add("hot-voltage-module-lost", "one module bridged out", module, moduleDim)
	}
	if group > 0 {
		add("hot-voltage-group-lost", "one bypass diode shorted", group, groupDim)
	}
	return out
}

// voltageLine judges a string against the line at which rules on who may work, and how, change.
func voltageLine(s *build.String, cold float64) Finding {
	f := Finding{ID: "voltage-line", Subject: "string " + s.Name, Value: cold, Limit: 60, Unit: "V",
		Reason: "open volts in the cold against 60 V of direct current, where extra-low voltage ends in many rules: some say 50 V, some 120 V in the dry; above it a touch counts as a shock and who may work changes" + inForce,
		Source: from("IEC 60364-4-41", "414", cite.FromMemory)}
	return f.atMost(1).beside()
}
