package web

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"noonmark/internal/answer/check"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/sheet/sheet"
)

// trial is a change that may mend a rule, held against all rules before it is offered.
type trial struct {
	view    mendView
	changes []buildfile.Change
}

// mended are the kinds of trial by what a rule's name holds.
var mended = []struct {
	words []string
	make  func(b *build.Build, text []byte, f check.Finding) []trial
}{
	{[]string{"ampacity", "cable-drop", "cable-loss"}, thickerCables},
	{[]string{"fuse-size", "array-fuse", "battery-fuse", "string-fuse"}, otherFuses},
	{[]string{"cold-voltage", "voltage-line"}, sideBySide},
	{[]string{"exit-clear", "keep-out", "fits", "gap", "edge-clear"}, smallMoves},
	{[]string{"edge-cover"}, coveredEdges},
	{[]string{"unzip", "uplift"}, slower},
}

// sizes of conductors that are sold, mm², and fuses, A. Common practice.
var (
	soldSizes = []float64{1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70}
	soldFuses = []float64{5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125}
)

// cablesOf returns the cables of a build by the name its rules use, with where the text has them.
func cablesOf(b *build.Build) map[string][]string {
	out := map[string][]string{}
	for i := range b.Chargers {
		c := &b.Chargers[i]
		out[c.InputCable.Name] = []string{"chargers", c.Name, "input_cable"}
		out[c.BatteryCable.Name] = []string{"chargers", c.Name, "battery_cable"}
	}
	for i := range b.Strings {
		out[b.Strings[i].Cable.Name] = []string{"strings", b.Strings[i].Name, "cable"}
	}
	return out
}

func runOf(b *build.Build, name string) *build.Run {
	for i := range b.Chargers {
		for _, r := range []*build.Run{&b.Chargers[i].InputCable, &b.Chargers[i].BatteryCable} {
			if r.Name == name {
				return r
			}
		}
	}
	for i := range b.Strings {
		if b.Strings[i].Cable.Name == name {
			return &b.Strings[i].Cable
		}
	}
	return nil
}

// setTrial is a trial of one value.
func setTrial(what, value string, path ...string) trial {
	return trial{mendView{Kind: "set", What: what, Sets: []triedView{{Path: joinPath(path...), Value: value}}}, []buildfile.Change{{Path: path, Texts: []string{value}}}}
}

func thickerCables(b *build.Build, _ []byte, f check.Finding) (out []trial) {
	name := strings.TrimPrefix(f.Subject, "cable ")
	at, run := cablesOf(b)[name], runOf(b, name)
	if at == nil || run == nil {
		return nil
	}
	for _, s := range soldSizes {
		if s > run.Area.SquareMillimetres()+0.01 && len(out) < 3 {
			out = append(out, setTrial(fmt.Sprintf("%s: %g mm² conductors", name, s), fmt.Sprintf("%g mm²", s), append(slices.Clone(at), "size")...))
		}
	}
	return out
}

func otherFuses(b *build.Build, _ []byte, f check.Finding) (out []trial) {
	name := strings.TrimPrefix(f.Subject, "cable ")
	for cable, at := range cablesOf(b) {
		if cable != name && !strings.HasSuffix(f.Subject, at[1]) {
			continue
		}
		run := runOf(b, cable)
		if run == nil {
			continue
		}
		now := 0.0
		if run.Fuse != nil {
			now = run.Fuse.Amperes()
		}
		for _, a := range soldFuses {
			if math.Abs(a-f.Limit) < 25 && a != now {
				out = append(out, setTrial(fmt.Sprintf("%s: a fuse of %g A", cable, a), fmt.Sprintf("%g A", a), append(slices.Clone(at), "fuse")...))
			}
		}
	}
	return out
}

func sideBySide(b *build.Build, text []byte, f check.Finding) (out []trial) {
	for i := range b.Strings {
		name := b.Strings[i].Name
		if !strings.Contains(f.Subject, name) || len(b.Strings[i].Modules) < 2 {
			continue
		}
		if changes, err := parallelChanges(text, name); err == nil {
			out = append(out, trial{mendView{Kind: "parallel", Of: name, What: "wire the modules of " + name + " in parallel", Note: "check cable and fuses anew"}, changes})
		}
	}
	return out
}

// smallMoves moves all modules together, or one, by up to 80 mm, the shortest way first.
func smallMoves(b *build.Build, text []byte, _ check.Finding) (out []trial) {
	for _, by := range []float64{0.01, 0.02, 0.04, 0.08} {
		for _, d := range [][2]float64{{0, -by}, {0, by}, {-by, 0}, {by, 0}} {
			t := trial{view: mendView{Kind: "set", What: fmt.Sprintf("move all modules %.0f mm to the %s", by*1000, side(d))}}
			for m := range b.Modules {
				x := &b.Modules[m]
				changes, err := placeChanges(text, x.Name, x.X.Metres()+d[0], x.Y.Metres()+d[1], x.Turn.Degrees())
				if err != nil {
					continue
				}
				for _, c := range changes {
					t.changes = append(t.changes, c)
					for _, v := range c.Texts {
						t.view.Sets = append(t.view.Sets, triedView{Path: joinPath(c.Path...), Value: v})
					}
				}
			}
			if len(b.Modules) > 1 {
				out = append(out, t)
			}
		}
		for m := range b.Modules {
			x := &b.Modules[m]
			for _, d := range [][2]float64{{0, -by}, {0, by}, {-by, 0}, {by, 0}} {
				px, py, turn := x.X.Metres()+d[0], x.Y.Metres()+d[1], x.Turn.Degrees()
				changes, err := placeChanges(text, x.Name, px, py, turn)
				if err != nil {
					continue
				}
				out = append(out, trial{mendView{Kind: "place", Of: x.Name, X: fmt.Sprintf("%.4f", px), Y: fmt.Sprintf("%.4f", py), Turn: fmt.Sprintf("%.0f", turn),
					What: fmt.Sprintf("move %s %.0f mm to the %s", x.Name, by*1000, side(d))}, changes})
			}
		}
	}
	return out
}

// side names a direction of the plan.
func side(d [2]float64) string {
	switch {
	case d[0] < 0:
		return "front"
	case d[0] > 0:
		return "rear"
	case d[1] < 0:
		return "left"
	}
	return "right"
}

func coveredEdges(*build.Build, []byte, check.Finding) []trial {
	path := func(key string) []string { return []string{"mounting", "each_module", key} }
	t := setTrial("a trim over every front edge, 8 mm on the module", "trim", path("front_cover")...)
	t.view.Sets = append(t.view.Sets, triedView{Path: joinPath(path("cover_on_module")...), Value: "8 mm"})
	t.changes = append(t.changes, buildfile.Change{Path: path("cover_on_module"), Texts: []string{"8 mm"}})
	return []trial{t}
}

func slower(*build.Build, []byte, check.Finding) (out []trial) {
	for _, v := range []int{100, 90, 80, 70} {
		out = append(out, setTrial(fmt.Sprintf("drive no faster than %d km/h", v), fmt.Sprintf("%d km/h", v), "mounting", "top_speed"))
	}
	return out
}

// mostTrials and mostRuleMends bound what is tried and what is shown.
const mostTrials, mostRuleMends = 60, 6

// ruleMends returns changes that were tried and after which a rule of a sheet that fails or is close holds,
// and none that held before fails.
func (s *Server) ruleMends(ctx context.Context, o opened, key string) ([]mendView, error) {
	before, err := o.found()
	if err != nil {
		return nil, err
	}
	bad := func(list []check.Finding) map[string]check.Verdict {
		out := map[string]check.Verdict{}
		for _, f := range list {
			if f.Verdict == check.Fail || f.Verdict == check.Warn {
				out[f.ID+" "+f.Subject] = f.Verdict
			}
		}
		return out
	}
	was := bad(before)
	var out []mendView
	tried := map[string]bool{}
	served := map[string]bool{}
	for _, f := range before {
		if f.Verdict != check.Fail && f.Verdict != check.Warn || sheet.SheetOf(f.ID) != key || served[f.ID+" "+f.Subject] {
			continue
		}
		for _, m := range mended {
			if !slices.ContainsFunc(m.words, func(w string) bool { return strings.Contains(f.ID, w) }) {
				continue
			}
			for _, t := range m.make(o.build, o.Text, f) {
				if tried[t.view.What] {
					continue
				}
				if tried[t.view.What] = true; len(tried) > mostTrials || len(out) == mostRuleMends {
					return out, nil
				}
				if err := ctx.Err(); err != nil {
					return nil, err
				}
				text, err := buildfile.Set(o.Text, t.changes...)
				if err != nil {
					continue
				}
				x := newAnalysis(text, o.folder)
				if x.build == nil {
					continue
				}
				after, err := x.found()
				if err != nil {
					continue
				}
				now, gone, worse := bad(after), []string{}, false
				for k, v := range now {
					old, there := was[k]
					worse = worse || v == check.Fail && (!there || old != check.Fail)
				}
				for k := range was {
					if _, still := now[k]; !still {
						gone = append(gone, k)
					}
				}
				if _, still := now[f.ID+" "+f.Subject]; still || worse || len(now) >= len(was) {
					continue
				}
				slices.Sort(gone)
				for i, k := range gone {
					served[k] = true
					gone[i] = strings.ReplaceAll(strings.Replace(k, " ", ", ", 1), "-", " ")
				}
				t.view.Gain, t.view.Effort = fmt.Sprintf("mends %d", len(gone)), strings.Join(gone[:min(4, len(gone))], "; ")
				if n := len(gone) - 4; n > 0 {
					t.view.Effort += fmt.Sprintf("; and %d more", n)
				}
				out = append(out, t.view)
				break
			}
		}
	}
	return out, nil
}
