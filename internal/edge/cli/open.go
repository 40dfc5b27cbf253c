package cli

import (
	"errors"
	"io/fs"
	"path/filepath"
	"sync"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/problem"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/weather"
)

// openedBuild is a build with the weather files its trip names.
type openedBuild struct {
	build   build.Build
	weather map[string]forecast.Hourly
	notes   []assumption // on the weather files
}

// openBuild reads a build file and the weather files it names, relative to it. Every problem of the
// file is in the error.
func openBuild(path string) (*openedBuild, error) {
	b, err := buildfile.Open(path)
	if err != nil {
		var bad *problem.Error
		if errors.As(err, &bad) {
			return nil, err
		}
		if errors.Is(err, fs.ErrNotExist) {
			return nil, misuse("%s: no such file; noonmark example lists builds to start from", path)
		}
		return nil, misuse("%v", err)
	}
	out := &openedBuild{build: b, weather: map[string]forecast.Hourly{}}
	for _, l := range b.Trip.Legs {
		name := l.WeatherFile
		if name == "" || out.weather[name] != nil {
			continue
		}
		at := name
		if !filepath.IsAbs(at) {
			at = filepath.Join(filepath.Dir(path), at)
		}
		s, err := weather.Read(at)
		if err != nil {
			return nil, misuse("weather file %s: %v", at, err)
		}
		out.weather[name] = s
		for _, n := range s.Notes {
			out.notes = append(out.notes, assumption{What: "weather file " + name, Value: n, Why: "the file has gaps or oddities"})
		}
	}
	return out, nil
}

// assumed returns the build's assumptions as printed.
func (b *openedBuild) assumed() []assumption {
	out := make([]assumption, 0, len(b.build.Assumed))
	for _, a := range b.build.Assumed {
		out = append(out, assumption{What: a.Path, Value: a.Value, Why: a.Why, Source: a.Source})
	}
	return append(out, b.notes...)
}

// throttled makes f fit to be called by several workers at once.
func throttled(f func(done, total int)) func(done, total int) {
	var mu sync.Mutex
	return func(done, total int) {
		mu.Lock()
		defer mu.Unlock()
		f(done, total)
	}
}
