package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"noonmark/internal/answer/battery"
	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/needs"
	"noonmark/internal/answer/shading"
	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
	"noonmark/internal/edge/weather"
	"noonmark/internal/sheet/sheet"
)

// analysis is what is computed of one text, each part once and when first asked for.
type analysis struct {
	text     []byte
	folder   string
	build    *build.Build // nil: the text has problems
	problems []problem.Problem

	weather     map[string]forecast.Hourly
	notes       []sheet.Assumption
	findOnce    sync.Once
	findings    []check.Finding
	findErr     error
	trips       sync.Mutex
	quick, full *forecast.Answer
	shade       *shading.Answer
	bank        *battery.Answer
	lights      map[string][][]quantity.Ratio // of cells, by span
}

// Weather years of a trip at first sight, and of the one that takes its place when it is ready.
const (
	quickYears = 1
	fullYears  = 20
)

// analyses keeps the latest.
type analyses struct {
	mu    sync.Mutex
	byKey map[[32]byte]*analysis
	order [][32]byte
	slots chan struct{} // of long computations
}

// kept is how many analyses stay in memory.
const kept = 24

func (a *analyses) init() {
	a.byKey = map[[32]byte]*analysis{}
	a.slots = make(chan struct{}, 1)
}

// of returns the analysis of a text: the one kept, or a new one.
func (a *analyses) of(text []byte, folder string) *analysis {
	key := sha256.Sum256(slices.Concat([]byte(folder), []byte{0}, text))
	a.mu.Lock()
	if x, ok := a.byKey[key]; ok {
		a.mu.Unlock()
		return x
	}
	a.mu.Unlock()
	x := newAnalysis(text, folder)
	a.mu.Lock()
	defer a.mu.Unlock()
	if other, ok := a.byKey[key]; ok {
		return other
	}
	if len(a.order) >= kept {
		delete(a.byKey, a.order[0])
		a.order = a.order[1:]
	}
	a.byKey[key], a.order = x, append(a.order, key)
	return x
}

// newAnalysis reads a text.
func newAnalysis(text []byte, folder string) *analysis {
	x := &analysis{text: text, folder: folder, weather: map[string]forecast.Hourly{}}
	b, err := buildfile.Build("", text)
	var bad *problem.Error
	switch {
	case errors.As(err, &bad):
		x.problems = bad.Problems
		return x
	case err != nil:
		x.problems = []problem.Problem{{Want: err.Error()}}
		return x
	}
	x.build = &b
	for _, a := range b.Assumed {
		x.notes = append(x.notes, sheet.Assumption{What: a.Path, Value: a.Value, Why: a.Why, Source: a.Source})
	}
	x.readWeather()
	return x
}

// readWeather reads the weather files a build names, beside the file it was imported from: a build that came
// by the browser names no file of this machine. What cannot be read gives way to the built-in climate, and
// says so.
func (x *analysis) readWeather() {
	legs := x.build.Trip.Legs
	for i := range legs {
		name := legs[i].WeatherFile
		if name == "" || x.weather[name] != nil {
			continue
		}
		why := "weather files are read beside a build file that the command line put into the store"
		if x.folder != "" && filepath.IsLocal(name) {
			s, err := weather.Read(filepath.Join(x.folder, name))
			if err == nil {
				x.weather[name] = s
				for _, n := range s.Notes {
					x.notes = append(x.notes, sheet.Assumption{What: "weather file " + name, Value: n, Why: "the file has gaps or oddities"})
				}
				continue
			}
			why = "the file cannot be read"
		}
		x.notes = append(x.notes, sheet.Assumption{What: "weather file " + name, Value: "built-in climate", Why: why})
		for k := range legs {
			if legs[k].WeatherFile == name {
				legs[k].WeatherFile = ""
			}
		}
	}
}

// found returns the findings of the rules that need no trip.
func (x *analysis) found() ([]check.Finding, error) {
	x.findOnce.Do(func() {
		x.findings, x.findErr = check.Build(x.build)
		if x.findErr == nil {
			x.findings = append(x.findings, check.Mounting(x.build)...)
		}
	})
	if x.findErr != nil {
		return nil, wrong("%v", x.findErr)
	}
	return x.findings, nil
}

// trip returns the computed trip: the best there is, at once; with wait, the one of many years.
func (s *Server) trip(ctx context.Context, x *analysis, wait bool) (*forecast.Answer, error) {
	x.trips.Lock()
	defer x.trips.Unlock()
	if x.full != nil {
		return x.full, nil
	}
	if wait {
		select {
		case s.analyses.slots <- struct{}{}:
			defer func() { <-s.analyses.slots }()
		case <-ctx.Done():
			return nil, ctx.Err()
		}
		a, err := forecast.Run(ctx, x.build, forecast.Options{Years: fullYears, Seed: 1, Files: x.weather})
		if err != nil {
			return nil, tripError(err)
		}
		x.full = a
		return a, nil
	}
	if x.quick == nil {
		a, err := forecast.Run(ctx, x.build, forecast.Options{Years: quickYears, Seed: 1, Files: x.weather})
		if err != nil {
			return nil, tripError(err)
		}
		x.quick = a
	}
	return x.quick, nil
}

// costs returns what shade costs: what is kept, or with wait computed; nil when it is not there yet, or there
// is no stay to compute it at.
func (s *Server) costs(ctx context.Context, x *analysis, wait bool) (*shading.Answer, error) {
	x.trips.Lock()
	defer x.trips.Unlock()
	if x.shade != nil || !wait || len(shading.Casters(x.build)) == 0 {
		return x.shade, nil
	}
	select {
	case s.analyses.slots <- struct{}{}:
		defer func() { <-s.analyses.slots }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	plain := *x.build
	plain.Trip.Legs = slices.Clone(plain.Trip.Legs)
	for i := range plain.Trip.Legs { // shade is compared in the built-in climate
		plain.Trip.Legs[i].WeatherFile = ""
	}
	a, err := shading.Costs(ctx, &plain, shading.Options{YearOnly: true, Mends: true, Seed: 1})
	if err != nil && !errors.Is(err, shading.ErrNoTrip) {
		return nil, tripError(err)
	}
	x.shade = a
	return a, nil
}

// bankYears are the weather years of each size of the battery.
const bankYears = 20

// bankOf returns the battery's sizes, ageing and cold mornings: what is kept, or with wait computed; nil when
// it is not there yet.
func (s *Server) bankOf(ctx context.Context, x *analysis, wait bool) (*battery.Answer, error) {
	x.trips.Lock()
	defer x.trips.Unlock()
	if x.bank != nil || !wait {
		return x.bank, nil
	}
	select {
	case s.analyses.slots <- struct{}{}:
		defer func() { <-s.analyses.slots }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	a, err := battery.Run(ctx, x.build, battery.Options{Years: bankYears, Seed: 1, Files: x.weather})
	if err != nil {
		return nil, tripError(err)
	}
	x.bank = a
	return a, nil
}

// light returns the light of cells over a span, computed once.
func (s *Server) light(ctx context.Context, x *analysis, span shading.Span, leg int, day time.Time) ([][]quantity.Ratio, error) {
	key := fmt.Sprint(span)
	if span == shading.OneDay {
		key = fmt.Sprint(span, leg, day.Format("2006-01-02"))
	}
	x.trips.Lock()
	defer x.trips.Unlock()
	if list, ok := x.lights[key]; ok {
		return list, nil
	}
	if span != shading.OneDay {
		select {
		case s.analyses.slots <- struct{}{}:
			defer func() { <-s.analyses.slots }()
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	list, err := shading.LightOf(ctx, x.build, span, leg, day, 1)
	if err != nil {
		return nil, err
	}
	if x.lights == nil || len(x.lights) > 20 {
		x.lights = map[string][][]quantity.Ratio{}
	}
	x.lights[key] = list
	return list, nil
}

// tripError makes wrong use of what the build caused.
func tripError(err error) error {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return wrong("%v", err)
}

// tripSheets are the sheets that show computed days; the others come without.
var tripSheets = []string{"needs", "trip", "shade"}

// job returns what the sheets are made from, with the trip where the sheet shows it.
func (s *Server) job(ctx context.Context, x *analysis, key string, wait bool) (sheet.Job, error) {
	findings, err := x.found()
	if err != nil {
		return sheet.Job{}, err
	}
	j := sheet.Job{Build: x.build, Findings: slices.Clone(findings), Assumed: x.notes, Climate: s.config.Climate}
	if key != "" && !slices.Contains(tripSheets, key) {
		return j, nil
	}
	if j.Forecast, err = s.trip(ctx, x, wait); err != nil {
		return sheet.Job{}, err
	}
	j.Needs = needs.Of(x.build, j.Forecast)
	j.Findings = append(j.Findings, check.Trip(j.Forecast))
	return j, nil
}

// opened is a revision with its analysis.
type opened struct {
	store.Revision
	*analysis
}

// open reads a build's revision, by number or tag; "" is the current one.
func (s *Server) open(ctx context.Context, name, ref string) (opened, error) {
	rev, err := s.config.Shelf.Read(ctx, name, ref)
	if err != nil {
		return opened{}, err
	}
	return opened{rev, s.analyses.of(rev.Text, rev.Folder)}, nil
}

// sheetOf makes one sheet.
func sheetOf(j sheet.Job, key string) (sheet.Sheet, error) {
	switch key {
	case "needs":
		return sheet.Needs(j), nil
	case "roof":
		return sheet.Roof(j), nil
	case "shade":
		return sheet.Shade(j), nil
	case "choice":
		return sheet.Choice(j), nil
	case "wiring":
		return sheet.Wiring(j), nil
	case "mounting":
		return sheet.Mounting(j), nil
	case "dayplan":
		return sheet.DayPlan(j), nil
	case "trip":
		return sheet.Trip(j), nil
	case "battery":
		return sheet.Battery(j), nil
	case "rules":
		return sheet.Rules(j), nil
	case "parts":
		return sheet.Parts(j), nil
	case "basis":
		return sheet.Basis(j), nil
	}
	return sheet.Sheet{}, fmt.Errorf("%w: no sheet %q; there are %s", errNoPage, key, strings.Join(sheetKeys(), ", "))
}
