package check

import (
	"strings"
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/wiring"
)

// parallel is n strings of one module side by side, of which each stands a fuse of so many amperes.
func parallel(n int, most quantity.Current) *build.Build {
	b := van()
	b.Types[0].Isc, b.Types[0].MaxFuse = 12.28*quantity.Ampere, &most
	b.Modules, b.Strings, b.Chargers[0].Strings = nil, nil, nil
	for i := range n {
		b.Modules = append(b.Modules, build.Module{Name: string(rune('a' + i))})
		b.Strings = append(b.Strings, build.String{Name: string(rune('a' + i)), Modules: []int{i}})
		b.Chargers[0].Strings = append(b.Chargers[0].Strings, i)
	}
	return b
}

// Two strings of 12.28 A on modules for 20 A need no fuse, four need 20 A each: the worked example. Of
// three, one country's rule asks for a fuse and another's does not: the reason shows both.
func TestParallelStrings(t *testing.T) {
	judge := func(n int) Finding {
		b := parallel(n, 20*quantity.Ampere)
		return stringFuse(b, &b.Strings[0], n, float64(n)*12.28)
	}
	if f := judge(2); f.Verdict != Pass {
		t.Errorf("two strings: %v", f.Verdict)
	}
	if f := judge(4); f.Verdict != Fail || !strings.Contains(f.Reason, "fit 20 A") {
		t.Errorf("four strings: %v, %s", f.Verdict, f.Reason)
	}
	if f := judge(3); f.Verdict != Fail || !strings.Contains(f.Reason, "each string needs a fuse, by NEN 1010:2020 none") {
		t.Errorf("three strings: %v, %s", f.Verdict, f.Reason)
	}
}

// A size is named in both systems.
func TestSizeText(t *testing.T) {
	for _, c := range []struct {
		a    quantity.Area
		want string
	}{{4 * quantity.SquareMillimetre, "4 mm², between AWG 12 and AWG 10"}, {wiring.AWG(10), "AWG 10, 5.26 mm²"}, {0.2 * quantity.SquareMillimetre, "0.2 mm², under AWG 20"}, {200 * quantity.SquareMillimetre, "200 mm², over AWG 4/0"}} {
		if got := sizeText(c.a); got != c.want {
			t.Errorf("%v: %q, want %q", c.a, got, c.want)
		}
	}
}

// A cable whose class was not read is judged where the class does not decide, and unknown where it does.
func TestUnreadClass(t *testing.T) {
	b := van()
	l := linesOf(b, &b.Chargers[0])[0]
	for _, c := range []struct {
		amps float64
		want Verdict
	}{{10, Pass}, {40, Unknown}, {100, Fail}} {
		l.design = c.amps
		l.run.Temperature = quantity.Celsius(45)
		if f := l.ampacity()[0]; f.Verdict != c.want {
			t.Errorf("6 mm², %v A: %v, want %v", c.amps, f.Verdict, c.want)
		}
	}
}

// A bundle, a hotter place and a poorer class each take from what a cable may carry; air as hot as the
// class leaves nothing.
func TestLimits(t *testing.T) {
	class := quantity.Celsius(90)
	r := build.Run{Area: 6 * quantity.SquareMillimetre, Temperature: quantity.Celsius(50), Lay: build.Lay{Insulation: &class}}
	base, _, _ := ratedLimit(&r)
	with := func(change func(*build.Run)) float64 {
		c := r
		change(&c)
		low, _, _ := ratedLimit(&c)
		return low
	}
	poor := quantity.Celsius(60)
	for what, got := range map[string]float64{
		"bundled": with(func(r *build.Run) { r.Bundled = 4 }), "hotter": with(func(r *build.Run) { r.Temperature = quantity.Celsius(70) }), "poorer": with(func(r *build.Run) { r.Insulation = &poor })} {
		if !(got > 0 && got < base) {
			t.Errorf("%s: %v A, base %v A", what, got, base)
		}
	}
	if got := with(func(r *build.Run) { r.Temperature = quantity.Celsius(90) }); got != 0 {
		t.Errorf("air as hot as the class: %v A", got)
	}
}

// A cable with no class, in air as warm as the poorest allows, does not yield a number out of nothing;
// a fuse far over every class fails without the print.
func TestFuseUnread(t *testing.T) {
	b := van()
	c := &b.Chargers[0]
	c.BatteryCable = build.Run{Name: "battery", Length: 1 * quantity.Metre, Area: 6 * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
	for amps, want := range map[quantity.Current]Verdict{25 * quantity.Ampere: Pass, 60 * quantity.Ampere: Unknown, 200 * quantity.Ampere: Fail, 10 * quantity.Ampere: Fail} {
		c.BatteryCable.Fuse = &amps
		if f := fuseSize(c); f.Verdict != want {
			t.Errorf("fuse %v: %v, want %v (%s)", amps, f.Verdict, want, f.Reason)
		}
	}
}

// What a lead battery's fuse must break follows its cranking amperes; a lithium bank whose own figure is
// not known is unknown below 20 kA and never fails.
func TestBreaking(t *testing.T) {
	b := van()
	cranking, breaks := 600*quantity.Ampere, 1000*quantity.Ampere
	r := &build.Run{Name: "battery", Lay: build.Lay{FuseBreaks: &breaks}}
	if f := fuseBreaks(b, r); f.Verdict != Unknown {
		t.Errorf("lithium, 1 kA: %v", f.Verdict)
	}
	b.Battery.Chemistry = build.AGM
	if f := fuseBreaks(b, r); f.Verdict != Unknown || !strings.Contains(f.Reason, "cold_cranking") {
		t.Errorf("lead, cranking unknown: %v, %s", f.Verdict, f.Reason)
	}
	b.Battery.Cranking = &cranking
	if f := fuseBreaks(b, r); f.Verdict != Fail || f.Limit != 1500 {
		t.Errorf("lead of 600 A cranking: %v, limit %v A", f.Verdict, f.Limit)
	}
}

// A diode in each string blocks, whatever the charger does; in one of two it does not.
func TestBlocking(t *testing.T) {
	b := parallel(2, 20*quantity.Ampere)
	no := false
	b.Chargers[0].Blocks = &no
	b.Strings[0].Blocking = true
	if f := blocking(b, &b.Chargers[0]); f.Verdict != Fail {
		t.Errorf("a diode in one of two strings: %v", f.Verdict)
	}
	b.Strings[1].Blocking = true
	if f := blocking(b, &b.Chargers[0]); f.Verdict != Pass {
		t.Errorf("a diode in each: %v", f.Verdict)
	}
}

// Cells at frost: a heater warns, a battery that refuses passes, one of which it is not known is unknown,
// one that does not refuse fails.
func TestChargeCold(t *testing.T) {
	b := van()
	b.Battery.Energy, b.Battery.Chemistry = 1280*quantity.WattHour, build.LFP
	yes, no := true, false
	judge := func(cut *bool, heater quantity.Power) Verdict {
		b.Battery.ColdCutoff, b.Battery.HeaterPower = cut, heater
		return chargeCold(b, "battery", quantity.Celsius(-5), "outside").Verdict
	}
	if got := [4]Verdict{judge(&yes, 0), judge(nil, 0), judge(&no, 0), judge(&no, 30*quantity.Watt)}; got != [4]Verdict{Pass, Unknown, Fail, Warn} {
		t.Errorf("refuses, not known, does not, heater: %v", got)
	}
}
