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

	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// commandSpec is a command of the program as the API takes it.
type commandSpec struct {
	Name  string
	Line  string
	Files []string // what it opens, in its order: build, other, readings; one in brackets may be missing
	Args  []string // its other arguments, by name; all must be given
	Flags []string // the flags it takes, as texts, numbers or truth
	Key   string   // a field its answer always has
}

// placeFlags are those of a place and an instant; standFlags those of how modules stand.
var (
	placeFlags = []string{"at", "time", "altitude"}
	standFlags = []string{"lying", "bonded", "tilted", "facing", "sky", "air", "wind"}
)

// commands are those of the command line that print one JSON document; a test of cli holds the list complete.
var commands = []commandSpec{
	{"plan", "the whole job on one page", []string{"build"}, nil, []string{"seed"}, "needs"},
	{"check", "rules of wiring, roof and mounting", []string{"build"}, nil, nil, "checks"},
	{"trip", "the days of the trip and the ledger", []string{"build"}, nil, []string{"years", "seed", "bands"}, "days"},
	{"shade", "what each thing on the roof costs", []string{"build"}, nil, []string{"day", "seed", "no-mends"}, "obstacles"},
	{"arrange", "better layouts and wirings", []string{"build"}, nil, []string{"among", "most", "judged", "seed", "alike"}, "candidates"},
	{"choose", "module types side by side", []string{"build"}, nil, []string{"among", "prices", "most", "judged", "nights", "fuel-price", "interest", "seed"}, "types"},
	{"compare", "two builds side by side, differences only", []string{"build", "other"}, nil, []string{"years", "seed"}, "figures"},
	{"battery", "the battery's size, ageing and cold mornings", []string{"build"}, nil, []string{"years", "nights", "weather-years", "seed"}, "sizes"},
	{"record", "what is normal for the finished installation", []string{"build"}, nil, slices.Concat([]string{"incoming", "module", "meter"}, standFlags, placeFlags), "entries"},
	{"bench", "readings normalised, judged and compared", []string{"readings", "[build]"}, nil, slices.Concat([]string{"date", "order", "reference", "module", "meter"}, standFlags, placeFlags), "readings"},
	{"diagnose", "causes weighed from readings, and the next test", []string{"build", "readings"}, nil, []string{"at", "time", "sky", "air", "wind", "posture", "heading", "tilted", "facing"}, "causes"},
	{"log-import", "what a log holds, day by day", []string{"readings"}, nil, []string{"at", "order"}, "days"},
	{"log-compare", "a log against what the build should have given", []string{"build", "readings"}, nil, []string{"at", "order", "posture", "heading", "years"}, "days"},
	{"dayplan", "the installation day, hour by hour", []string{"build"}, nil, []string{"date", "at", "crew"}, "hours"},
	{"now", "what a module should read at this minute", nil, []string{"label"}, slices.Concat([]string{"ghi"}, standFlags, placeFlags), "voc_V"},
	{"noon", "what modules give at noon through the seasons", nil, nil, []string{"wind"}, "rows"},
	{"curve", "the curve of a module or a string", []string{"build"}, []string{"module"}, []string{"light", "cell-temperature", "shade", "shade-keeps", "lowest-voltage", "nearest-peak"}, "voc_V"},
	{"sun", "where the sun is", nil, nil, append([]string{"pressure", "temperature"}, placeFlags...), "zenith_deg"},
	{"sky", "light on a plane", nil, nil, append([]string{"cloud", "haze", "ghi", "tilt", "facing", "ground"}, placeFlags...), "plane_Wm2"},
	{"cable", "a cable run", nil, nil, []string{"current", "length", "size", "voltage", "lies-at", "insulation", "bundle"}, "drop_V"},
	{"version", "version of the program", nil, nil, []string{"sources"}, "version"},
}

// CommandNames are the commands served as JSON.
func CommandNames() []string {
	var out []string
	for _, c := range commands {
		out = append(out, c.Name)
	}
	return out
}

// takes reports whether a command opens a file of a kind, and whether it must.
func (c commandSpec) takes(kind string) (takes, must bool) {
	must = slices.Contains(c.Files, kind)
	return must || slices.Contains(c.Files, "["+kind+"]"), must
}

// commandJSON asks for a command's answer.
type commandJSON struct {
	Build string            `json:"build,omitempty"`    // the text of a build file
	Store string            `json:"store,omitempty"`    // or the name of a build on the shelf
	Other string            `json:"other,omitempty"`    // the text of the build to compare with
	Table string            `json:"readings,omitempty"` // the text of readings
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
		args := append(strings.Split(c.Name, "-"), "--json") // log-compare is log compare
		head := len(args)
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
		slices.Sort(args[head:])
		args = append(args, "--") // what follows is no flag, whatever it begins with
		files, done, err := s.filesFor(r.Context(), c, in)
		if err != nil {
			return nil, err
		}
		defer done()
		args = append(args, files...)
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

// filesFor returns what a command may open, each in a file of its own, and how to take them away again; a
// build that names weather files is opened by its name on the shelf.
func (s *Server) filesFor(ctx context.Context, c commandSpec, in commandJSON) (paths []string, done func(), err error) {
	if in.Build != "" && in.Store != "" {
		return nil, nil, wrong("give build, the text of a build file, or store, the name of one on the shelf")
	}
	for kind, given := range map[string]bool{"build": in.Build+in.Store != "", "other": in.Other != "", "readings": in.Table != ""} {
		switch takes, must := c.takes(kind); {
		case must && !given && kind == "build":
			return nil, nil, wrong("give build, the text of a build file, or store, the name of one on the shelf")
		case must && !given:
			return nil, nil, wrong("%s wants %s", c.Name, kind)
		case given && !takes:
			return nil, nil, wrong("%s takes no %s", c.Name, kind)
		}
	}
	dir, err := os.MkdirTemp("", "noonmark-")
	if err != nil {
		return nil, nil, err
	}
	done = func() { os.RemoveAll(dir) }
	keep := func(name, text string) {
		path := filepath.Join(dir, name)
		if err == nil {
			err = os.WriteFile(path, []byte(text), 0o600)
		}
		paths = append(paths, path)
	}
	for _, kind := range c.Files {
		switch kind {
		case "readings":
			keep("readings.csv", in.Table)
		case "other":
			if text, _, e := s.buildFor(ctx, commandJSON{Build: in.Other}); e != nil {
				err = e
			} else {
				keep("other.yaml", string(text))
			}
		default:
			if in.Build+in.Store == "" {
				continue
			}
			text, ref, e := s.buildFor(ctx, in)
			switch {
			case e != nil:
				err = e
			case ref != "":
				paths = append(paths, ref)
			default:
				keep("build.yaml", string(text))
			}
		}
	}
	if err != nil {
		done()
		return nil, nil, err
	}
	return paths, done, nil
}

// buildFor returns the text of the build asked for, and its refOf.
func (s *Server) buildFor(ctx context.Context, in commandJSON) (text []byte, ref string, err error) {
	rev := store.Revision{Text: []byte(in.Build)}
	if in.Store != "" {
		if rev, err = s.config.Shelf.Read(ctx, in.Store, ""); err != nil {
			return nil, "", err
		}
	}
	x := s.analyses.of(rev.Text, rev.Folder)
	if x.build == nil {
		return nil, "", problemError(x)
	}
	ref, err = refOf(rev)
	return rev.Text, ref, err
}

// refOf returns the name by which a command opens a revision, empty where its text is enough: a build that names
// weather files, which are read only beside a file that the command line put into the store.
func refOf(rev store.Revision) (string, error) {
	files := weatherFiles(rev.Text)
	if len(files) == 0 {
		return "", nil
	}
	if rev.Folder == "" || slices.ContainsFunc(files, func(n string) bool { return !filepath.IsLocal(n) }) {
		return "", wrong("weather files are read only beside a build file that the command line put into the store")
	}
	return fmt.Sprintf("store:%s@%d", rev.Build, rev.Number), nil
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
