package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"noonmark/internal/base/problem"
	"noonmark/internal/edge/buildfile"
)

// commandSpec is a command of the program as the API takes it.
type commandSpec struct {
	Name  string
	Line  string
	Build bool     // it takes a build
	Args  []string // its other arguments, by name; all must be given
	Flags []string // the flags it takes, as texts, numbers or truth
	Key   string   // a field its answer always has
}

// place flags are those of a place and an instant.
var placeFlags = []string{"at", "time", "altitude"}

// commands are those of the command line that print one JSON document.
var commands = []commandSpec{
	{"plan", "the whole job on one page", true, nil, []string{"seed"}, "needs"},
	{"trip", "the days of the trip and the ledger", true, nil, []string{"years", "seed"}, "days"},
	{"shade", "what each thing on the roof costs", true, nil, []string{"day", "seed", "no-mends"}, "obstacles"},
	{"curve", "the curve of a module or a string", true, []string{"module"}, []string{"light", "cell-temperature", "shade", "shade-keeps", "lowest-voltage", "nearest-peak"}, "voc_V"},
	{"sun", "where the sun is", false, nil, append([]string{"pressure", "temperature"}, placeFlags...), "zenith_deg"},
	{"sky", "light on a plane", false, nil, append([]string{"cloud", "haze", "ghi", "tilt", "facing", "ground"}, placeFlags...), "plane_Wm2"},
	{"cable", "a cable run", false, nil, []string{"current", "length", "size", "voltage", "lies-at", "insulation", "bundle"}, "drop_V"},
	{"version", "version of the program", false, nil, []string{"sources"}, "version"},
}

// commandJSON asks for a command's answer.
type commandJSON struct {
	Build string            `json:"build,omitempty"` // the text of a build file
	Store string            `json:"store,omitempty"` // or the name of a build on the shelf
	Args  map[string]string `json:"args,omitempty"`
	Flags map[string]any    `json:"flags,omitempty"`
}

// longest is how long a command may compute.
const longest = 2 * time.Minute

// apiCommand answers with a command's JSON.
func (s *Server) apiCommand(c commandSpec) func(r *http.Request) (*reply, error) {
	return func(r *http.Request) (*reply, error) {
		var in commandJSON
		if err := decode(r, &in); err != nil {
			return nil, err
		}
		args := []string{c.Name, "--json"}
		for name, v := range in.Flags {
			if !slices.Contains(c.Flags, name) {
				return nil, wrong("%s has no flag %q; it has %s", c.Name, name, strings.Join(c.Flags, ", "))
			}
			switch v := v.(type) {
			case string:
				args = append(args, "--"+name+"="+v)
			case float64:
				args = append(args, fmt.Sprintf("--%s=%v", name, v))
			case bool:
				args = append(args, fmt.Sprintf("--%s=%v", name, v))
			default:
				return nil, wrong("flag %s: a text, a number or true", name)
			}
		}
		slices.Sort(args[2:])
		args = append(args, "--") // what follows is no flag, whatever it begins with
		if c.Build {
			path, done, err := s.buildFor(r.Context(), in)
			if err != nil {
				return nil, err
			}
			defer done()
			args = append(args, path)
		} else if in.Build != "" || in.Store != "" {
			return nil, wrong("%s takes no build", c.Name)
		}
		for name := range in.Args {
			if !slices.Contains(c.Args, name) {
				return nil, wrong("%s has no argument %q", c.Name, name)
			}
		}
		for _, name := range c.Args {
			if in.Args[name] == "" {
				return nil, wrong("%s wants the argument %s", c.Name, name)
			}
			args = append(args, in.Args[name])
		}
		return s.command(r.Context(), args)
	}
}

// command runs a command line, one at a time.
func (s *Server) command(ctx context.Context, args []string) (*reply, error) {
	ctx, stop := context.WithTimeout(ctx, longest)
	defer stop()
	select {
	case s.analyses.slots <- struct{}{}:
		defer func() { <-s.analyses.slots }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	out, errs, code := s.config.Command(ctx, args)
	switch code {
	case 0, 1: // done; done, and a check failed
		if !json.Valid(out) {
			return nil, fmt.Errorf("%s printed no JSON: %s", args[0], errs)
		}
		return &reply{kind: "application/json", body: out}, nil
	case 2:
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, wrong("%s", strings.TrimSpace(string(errs)))
	}
	return nil, fmt.Errorf("%s: %s", args[0], errs)
}

// buildFor returns what a command may open: the build's text in a file of its own, or its name on the shelf.
func (s *Server) buildFor(ctx context.Context, in commandJSON) (path string, done func(), err error) {
	if (in.Build == "") == (in.Store == "") {
		return "", nil, wrong("give build, the text of a build file, or store, the name of one on the shelf")
	}
	text, folder := []byte(in.Build), ""
	if in.Store != "" {
		rev, err := s.config.Shelf.Read(ctx, in.Store, "")
		if err != nil {
			return "", nil, err
		}
		text, folder = rev.Text, rev.Folder
	}
	x := s.analyses.of(text, folder)
	if x.build == nil {
		return "", nil, &problem.Error{Problems: x.problems}
	}
	named := weatherFiles(text)
	if len(named) > 0 && (folder == "" || slices.ContainsFunc(named, func(n string) bool { return !filepath.IsLocal(n) })) {
		return "", nil, wrong("weather files are read only beside a build file that the command line put into the store")
	}
	if len(named) > 0 {
		return "store:" + in.Store, func() {}, nil
	}
	dir, err := os.MkdirTemp("", "noonmark-")
	if err != nil {
		return "", nil, err
	}
	path = filepath.Join(dir, "build.yaml")
	if err := os.WriteFile(path, text, 0o600); err != nil {
		os.RemoveAll(dir)
		return "", nil, err
	}
	return path, func() { os.RemoveAll(dir) }, nil
}

// weatherFiles returns the weather files a text names.
func weatherFiles(text []byte) []string {
	doc, _, _ := buildfile.Decode("", text)
	var out []string
	if doc.Trip != nil {
		for _, l := range doc.Trip.Legs {
			if l.Stay != nil && l.Stay.Weather != nil {
				out = append(out, *l.Stay.Weather)
			}
		}
	}
	return out
}
