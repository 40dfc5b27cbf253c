package build

import "noonmark/internal/base/quantity"

// Doubts say how well things are known, as far as the user says so; nil: not given, and package bands takes its
// own and lists it.
type Doubts struct {
	LabelBias, LabelSpread     *quantity.Ratio    // of the modules' power over their label
	Heat                       *quantity.TempDiff // of a module's temperature in full sun
	Fade, FadeMost             *quantity.Ratio    // of power a year, the middle, and at most in nine of ten
	Years                      *float64           // that the modules have been in use when the trip begins
	Soiling, Surroundings      *float64           // factor on what they take, not passed in nine of ten cases
	LoadsBias, LoadsSpread     *quantity.Ratio
	BatteryBias, BatterySpread *quantity.Ratio // of its energy
}

// DoubtsDoc is doubts as written.
type DoubtsDoc struct {
	Label        *SpreadDoc         `file:"label" doc:"power of the modules over their label"`
	Heat         *quantity.TempDiff `file:"heat" doc:"of a module's temperature in full sun, one standard deviation" eg:"5 K"`
	Ageing       *FadeDoc           `file:"ageing" doc:"power lost by age when the trip begins"`
	Soiling      *float64           `file:"soiling" doc:"the dirt is up to so many times what the file says, in nine of ten cases" eg:"2"`
	Surroundings *float64           `file:"surroundings" doc:"trees and houses keep off up to so many times what the file says, in nine of ten cases" eg:"1.5"`
	Loads        *SpreadDoc         `file:"loads" doc:"use over what the file says"`
	Battery      *SpreadDoc         `file:"battery" doc:"energy of the battery over what the file says"`
}

// SpreadDoc is a doubt that is normal.
type SpreadDoc struct {
	Bias   *quantity.Ratio `file:"bias" doc:"mean of the difference" eg:"-1 %"`
	Spread *quantity.Ratio `file:"spread" doc:"one standard deviation" eg:"3 %" short:"true"`
}

// FadeDoc is ageing as written.
type FadeDoc struct {
	PerYear *quantity.Ratio `file:"per_year" doc:"of the power, the middle of what is thought" eg:"1 %"`
	Most    *quantity.Ratio `file:"most" doc:"a year, not passed in nine of ten cases" eg:"2 %"`
	Years   *float64        `file:"years" doc:"in use when the trip begins" eg:"3"`
}

// Limits of doubts: beyond them a figure is a slip of the pen.
const (
	widestSpread = 60 * quantity.Percent
	widestBias   = 80 * quantity.Percent
	widestFactor = 5.0
)

// doubts reads how well things are known. Nothing is filled in here.
func (r *resolver) doubts() {
	d := r.doc.Doubts
	if d == nil {
		return
	}
	out := &r.build.Doubts
	out.LabelBias, out.LabelSpread = r.spread("doubts.label", d.Label)
	out.LoadsBias, out.LoadsSpread = r.spread("doubts.loads", d.Loads)
	out.BatteryBias, out.BatterySpread = r.spread("doubts.battery", d.Battery)
	if out.Heat = d.Heat; d.Heat != nil && !(*d.Heat >= 0 && *d.Heat <= 30*quantity.OneKelvin) {
		r.wrong("doubts.heat", "0 to 30 K")
	}
	for _, f := range []struct {
		path    string
		written *float64
		into    **float64
	}{{"doubts.soiling", d.Soiling, &out.Soiling}, {"doubts.surroundings", d.Surroundings, &out.Surroundings}} {
		if *f.into = f.written; f.written != nil && !(*f.written >= 1 && *f.written <= widestFactor) {
			r.wrong(f.path, "a factor of 1 to %g", widestFactor)
		}
	}
	r.fade(d.Ageing)
}

// spread reads a bias and a spread.
func (r *resolver) spread(path string, d *SpreadDoc) (bias, spread *quantity.Ratio) {
	if d == nil {
		return nil, nil
	}
	if d.Bias != nil && !(*d.Bias >= -widestBias && *d.Bias <= widestBias) {
		r.wrong(path+".bias", "-80 to 80 %%")
	}
	if d.Spread != nil && !(*d.Spread >= 0 && *d.Spread <= widestSpread) {
		r.wrong(path+".spread", "0 to 60 %%")
	}
	return d.Bias, d.Spread
}

// fade reads ageing.
func (r *resolver) fade(d *FadeDoc) {
	if d == nil {
		return
	}
	out := &r.build.Doubts
	out.Fade, out.FadeMost, out.Years = d.PerYear, d.Most, d.Years
	if d.PerYear != nil && !(*d.PerYear >= 0 && *d.PerYear <= 20*quantity.Percent) {
		r.wrong("doubts.ageing.per_year", "0 to 20 %%")
	}
	if d.Most != nil && !(*d.Most >= 0 && *d.Most <= 40*quantity.Percent) {
		r.wrong("doubts.ageing.most", "0 to 40 %%")
	}
	if d.PerYear != nil && d.Most != nil && *d.Most < *d.PerYear {
		r.wrong("doubts.ageing.most", "not under per_year")
	}
	if d.Years != nil && !(*d.Years >= 0 && *d.Years <= 40) {
		r.wrong("doubts.ageing.years", "0 to 40")
	}
}
