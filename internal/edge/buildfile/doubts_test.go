package buildfile

import (
	"errors"
	"math"
	"strings"
	"testing"

	"noonmark/internal/base/problem"
)

// Doubts are read as written, a bare ratio as a spread; what is not written stays open; the battery takes its mass and
// price.
func TestDoubts(t *testing.T) {
	text := swap(t, example(t, "heron-van"), "\ntrip:", `
doubts:
  label: {bias: -2 %, spread: 4 %}
  heat: 5 K
  ageing: {per_year: 1 %, most: 2 %, years: 3}
  soiling: 2.5
  loads: 15 %

trip:`)
	text = swap(t, text, "like: lfp-100,", "like: lfp-100, mass: 11.5 kg, price: 420,")
	b, err := Build("doubts.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	d := b.Doubts
	if d.Surroundings != nil || d.BatterySpread != nil || d.LoadsBias != nil {
		t.Errorf("not written, and set: %+v", d)
	}
	for what, v := range map[string][2]float64{"label bias": {d.LabelBias.Float(), -0.02}, "label spread": {d.LabelSpread.Float(), 0.04}, "heat": {d.Heat.Kelvins(), 5},
		"fade": {d.Fade.Float(), 0.01}, "most": {d.FadeMost.Float(), 0.02}, "years": {*d.Years, 3}, "soiling": {*d.Soiling, 2.5}, "loads": {d.LoadsSpread.Float(), 0.15},
		"mass": {b.Battery.Mass.Kilograms(), 11.5}, "price": {*b.Battery.Price, 420}} {
		if math.Abs(v[0]-v[1]) > 1e-12 {
			t.Errorf("%s: %g, want %g", what, v[0], v[1])
		}
	}
}

// Doubts beyond reason are problems, all at once, each at its place.
func TestDoubtsWrong(t *testing.T) {
	text := swap(t, example(t, "heron-van"), "\ntrip:", `
doubts:
  label: {bias: -90 %, spread: 70 %}
  heat: 40 K
  ageing: {per_year: 3 %, most: 2 %, years: 90}
  soiling: 0.5
  surroundings: 9
  loads: -1 %
  battery: {bias: 1 %, spred: 2 %}

trip:`)
	_, err := Build("doubts.yaml", []byte(text))
	var bad *problem.Error
	if !errors.As(err, &bad) {
		t.Fatal(err)
	}
	var paths []string
	for _, p := range bad.Problems {
		paths = append(paths, p.Path)
		if p.Line == 0 {
			t.Errorf("%s: no line", p.Path)
		}
	}
	all := strings.Join(paths, " ")
	for _, want := range strings.Fields("doubts.label.bias doubts.label.spread doubts.heat doubts.ageing.most doubts.ageing.years doubts.soiling doubts.surroundings doubts.loads doubts.battery.spred") {
		if !strings.Contains(all, want) {
			t.Errorf("no problem at %s: %s", want, all)
		}
	}
}
