package cli

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/problem"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
	"noonmark/internal/edge/weather"
)

// openedBuild is a build with the weather files its trip names.
type openedBuild struct {
	build    build.Build
	weather  map[string]forecast.Hourly
	notes    []assumption // on the weather files
	folder   string       // what the files it names are relative to
	revision int          // in the store; 0: a file
}

// readStored reads a build of the store, by NAME or NAME@REVISION.
func readStored(ctx context.Context, s *Streams, path string) (*openedBuild, error) {
	name, ref, err := splitRef(strings.TrimPrefix(path, inStore))
	if err != nil {
		return nil, err
	}
	out := &openedBuild{}
	err = useStore(ctx, s, false, func(st *store.Store) error {
		r, err := st.Read(ctx, name, ref)
		if err != nil {
			return err
		}
		out.revision, out.folder = r.Number, r.Folder
		if out.folder == "" {
			out.folder = filepath.Dir(st.Path())
		}
		out.build, err = buildfile.Build(path, r.Text)
		return err
	})
	return out, err
}

// readFile reads a build file.
func readFile(path string) (*openedBuild, error) {
	b, err := buildfile.Open(path)
	var bad *problem.Error
	switch {
	case errors.As(err, &bad):
		return nil, err
	case errors.Is(err, fs.ErrNotExist):
		return nil, misuse("%s: no such file; noonmark example lists builds to start from", path)
	case err != nil:
		return nil, misuse("%v", err)
	}
	return &openedBuild{build: b, folder: filepath.Dir(path)}, nil
}

// openBuild reads a build file, or a build of the store by store:NAME or store:NAME@REVISION, and the weather
// files it names. Every problem of the text is in the error.
func openBuild(ctx context.Context, s *Streams, path string) (out *openedBuild, err error) {
	if strings.HasPrefix(path, inStore) {
		out, err = readStored(ctx, s, path)
	} else {
		out, err = readFile(path)
	}
	if err != nil {
		return nil, err
	}
	out.weather = map[string]forecast.Hourly{}
	for _, l := range out.build.Trip.Legs {
		name := l.WeatherFile
		if name == "" || out.weather[name] != nil {
			continue
		}
		at := name
		if !filepath.IsAbs(at) {
			at = filepath.Join(out.folder, at)
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

// assumedOf returns what was assumed of the sections named: of the answer that rests on no others.
func (b *openedBuild) assumedOf(sections ...string) []assumption {
	return slices.DeleteFunc(b.assumed(), func(a assumption) bool {
		section, _, _ := strings.Cut(a.What, ".")
		return !slices.Contains(sections, section)
	})
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
