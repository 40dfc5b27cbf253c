package check

import (
	"fmt"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
)

// pointOf returns a string's label volts, working amps and short-circuit amps: the most of its modules.
func pointOf(b *build.Build, s *build.String) (volts, imp, isc float64) {
	for _, m := range s.Modules {
		t := &b.Types[b.Modules[m].Type]
		volts += t.Vmp.Volts()
		imp, isc = max(imp, t.Imp.Amperes()), max(isc, t.Isc.Amperes())
	}
	return volts, imp, isc
}

// currents returns the findings on what the strings of a charger put into it.
func currents(b *build.Build, c *build.Charger) []Finding {
	imp, isc := 0.0, 0.0
	for _, si := range c.Strings {
		_, i, short := pointOf(b, &b.Strings[si])
		imp, isc = imp+i, isc+short
	}
	subject := "charger " + c.Name
	short := Finding{ID: "input-current", Subject: subject, Value: 1.25 * isc, Limit: c.ShortCircuitMax.Amperes(), Unit: "A",
		Reason: "1.25 times the strings' short-circuit current, for bright cloud edges, against what the input stands" + inForce,
		Source: from("NEC 690.8(A)", "", cite.LookedUp)}
	clip := practice("controller input is a plateau: the excess is clipped, not harmful, while the short-circuit limit is kept")
	amps := Finding{ID: "input-clip-current", Subject: subject, Value: imp, Limit: c.InputCurrent.Amperes(), Unit: "A",
		Reason: "label working current against what the input uses; what is over is lost, not harmful", Source: clip}
	watts := Finding{ID: "input-clip-power", Subject: subject, Value: arrayWatts(b, c), Limit: c.InputPower.Watts(), Unit: "W",
		Reason: "label watts against what the input uses; what is over is lost, not harmful", Source: clip}
	return []Finding{short.atMost(1), usable(amps), usable(watts)}
}

// usable judges what an input clips: a limit of zero is none.
func usable(f Finding) Finding {
	if f.Limit <= 0 {
		return f.missing("the input's limit", "read it on its label")
	}
	return f.atMost(1).beside()
}

// chargeAmps returns what all chargers together put into the battery, A.
func chargeAmps(b *build.Build) float64 {
	amps := 0.0
	for i := range b.Chargers {
		amps += min(b.Chargers[i].OutputCurrent.Amperes(), arrayWatts(b, &b.Chargers[i])/b.Battery.Voltage.Volts())
	}
	return amps
}

// battery returns the findings on charge current and the battery's temperature.
func battery(b *build.Build, e Extremes) []Finding {
	subject := "battery " + b.Battery.Name
	f := Finding{ID: "charge-current", Subject: subject, Value: chargeAmps(b), Limit: b.Battery.MaxChargeCurrent.Amperes(), Unit: "A",
		Reason: "all chargers together against the battery's charge limit", Source: practice("battery label")}
	out := []Finding{f.atMost(1)}
	if e.LowAt == "" || b.Battery.Energy <= 0 {
		return out
	}
	cold, where := e.Low, "as cold as the air, "+e.LowAt
	hot := e.High
	if b.Battery.Inside {
		cold, where = b.Battery.InsideTemperature, "in the living space"
		if hot.Before(cold) {
			hot = cold
		}
	}
	return append(out, chargeCold(b, subject, cold, where), chargeHot(b, subject, hot, e.HighAt))
}

// rateAmps returns the current a battery of the chemistry takes at a cell temperature, half charged.
func rateAmps(b *build.Build, t quantity.Temperature) float64 {
	hours := b.Battery.Energy.WattHours() / b.Battery.Voltage.Volts()
	return charge.ChargeRate(charge.Chemistry(b.Battery.Chemistry), t, 50*quantity.Percent).Float() * hours
}

var cellTables = from("charge rates by cell temperature", "a telecom pack's manual and a table of practice", cite.LookedUp)

func chargeCold(b *build.Build, subject string, cold quantity.Temperature, where string) Finding {
	f := Finding{ID: "charge-cold", Subject: subject, Value: chargeAmps(b), Limit: rateAmps(b, cold), Unit: "A", Source: cellTables,
		Reason: fmt.Sprintf("the chargers' current against what cells of %.0f °C take, %s; a frosty dawn catches cells cold when the sun is already up", cold.Celsius(), where)}
	switch {
	case f.Value <= f.Limit:
	case f.Limit > 0:
		f.Verdict = Warn
	case b.Battery.HeaterPower > 0:
		f.Reason += fmt.Sprintf("; its heater of %.0f W must warm it first", b.Battery.HeaterPower.Watts())
		f.Verdict = Warn
	case b.Battery.ColdCutoff == nil:
		return f.missing(fmt.Sprintf("whether the battery refuses charge below 0 °C (cold_cutoff), at cells of %.0f °C", cold.Celsius()), "read its manual; charged frozen, it is spoilt for good")
	case !*b.Battery.ColdCutoff:
		f.Verdict = Fail
		f.Reason += "; nothing refuses the charge, which plates lithium and spoils the cells"
	default:
		f.Reason += "; its electronics refuse the charge until it is warm, and the morning's sun is lost"
	}
	return f
}

// mild is a cell temperature at which every table gives the full rate.
var mild = quantity.Celsius(25)

func chargeHot(b *build.Build, subject string, hot quantity.Temperature, at string) Finding {
	if hot.Before(mild) {
		hot = mild // a cold trip is chargeCold's matter
	}
	f := Finding{ID: "charge-hot", Subject: subject, Value: chargeAmps(b), Limit: rateAmps(b, hot), Unit: "A", Source: cellTables,
		Reason: fmt.Sprintf("the chargers' current against what cells of %.0f °C take, as warm as the air of a hot afternoon, %s, and 25 °C at least", hot.Celsius(), at)}
	return f.atMost(1).beside()
}
