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
)

// commandSpec is a command of the program as the API takes it.
type commandSpec struct {
	Name  string
	Line  string
	Build bool     // it takes a build
	Table bool     // it takes readings as a table's text, and then perhaps a build
	Args  []string // its other arguments, by name; all must be given
	Flags []string // the flags it takes, as texts, numbers or truth
	Key   string   // a field its answer always has
}

// place flags are those of a place and an instant.
var placeFlags = []string{"at", "time", "altitude"}

// commands are those of the command line that print one JSON document.
var commands = []commandSpec{
	{"plan", "the whole job on one page", true, false, nil, []string{"seed"}, "needs"},
	{"trip", "the days of the trip and the ledger", true, false, nil, []string{"years", "seed"}, "days"},
	{"shade", "what each thing on the roof costs", true, false, nil, []string{"day", "seed", "no-mends"}, "obstacles"},
	{"arrange", "better layouts and wirings", true, false, nil, []string{"among", "most", "judged", "seed"}, "candidates"},
	{"choose", "module types side by side", true, false, nil, []string{"among", "prices", "most", "judged", "nights", "fuel-price", "interest", "seed"}, "types"},
	{"record", "what is normal for the finished installation", true, false, nil, append([]string{"incoming"}, placeFlags...), "entries"},
	{"bench", "readings normalised, judged and compared", false, true, nil, []string{"date", "order", "reference", "module", "meter", "lying", "bonded", "tilted", "facing", "sky", "air", "wind", "at", "time", "altitude"}, "readings"},
	{"now", "what a module should read at this minute", false, false, []string{"label"}, append([]string{"lying", "bonded", "tilted", "facing", "sky", "ghi", "air", "wind"}, placeFlags...), "voc_V"},
	{"curve", "the curve of a module or a string", true, false, []string{"module"}, []string{"light", "cell-temperature", "shade", "shade-keeps", "lowest-voltage", "nearest-peak"}, "voc_V"},
	{"sun", "where the sun is", false, false, nil, append([]string{"pressure", "temperature"}, placeFlags...), "zenith_deg"},
	{"sky", "light on a plane", false, false, nil, append([]string{"cloud", "haze", "ghi", "tilt", "facing", "ground"}, placeFlags...), "plane_Wm2"},
	{"cable", "a cable run", false, false, nil, []string{"current", "length", "size", "voltage", "lies-at", "insulation", "bundle"}, "drop_V"},
	{"version", "version of the program", false, false, nil, []string{"sources"}, "version"},
}

// commandJSON asks for a command's answer.
type commandJSON struct {
	Build string            `json:"build,omitempty"`    // the text of a build file
	Store string            `json:"store,omitempty"`    // or the name of a build on the shelf
	Table string            `json:"readings,omitempty"` // the text of a table of readings
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
	if c.Table != (in.Table != "") {
		return nil, nil, wrong("%s: readings, the text of a table, where the command takes one and only there", c.Name)
	}
	given := in.Build != "" || in.Store != ""
	if in.Build != "" && in.Store != "" || c.Build && !given {
		return nil, nil, wrong("give build, the text of a build file, or store, the name of one on the shelf")
	}
	if given && !c.Build && !c.Table {
		return nil, nil, wrong("%s takes no build", c.Name)
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
	if c.Table {
		keep("readings.csv", in.Table)
	}
	if given {
		var text []byte
		var named bool
		if text, named, err = s.buildFor(ctx, in); named {
			paths = append(paths, "store:"+in.Store)
		} else if err == nil {
			keep("build.yaml", string(text))
		}
	}
	if err != nil {
		done()
		return nil, nil, err
	}
	return paths, done, nil
}

// buildFor returns the text of the build asked for, and whether it is to be opened by its name: it names
// weather files, which are read only beside a file that the command line put into the store.
func (s *Server) buildFor(ctx context.Context, in commandJSON) (text []byte, named bool, err error) {
	folder := ""
	text = []byte(in.Build)
	if in.Store != "" {
		rev, err := s.config.Shelf.Read(ctx, in.Store, "")
		if err != nil {
			return nil, false, err
		}
		text, folder = rev.Text, rev.Folder
	}
	x := s.analyses.of(text, folder)
	if x.build == nil {
		return nil, false, problemError(x)
	}
	files := weatherFiles(text)
	if len(files) > 0 && (folder == "" || slices.ContainsFunc(files, func(n string) bool { return !filepath.IsLocal(n) })) {
		return nil, false, wrong("weather files are read only beside a build file that the command line put into the store")
	}
	return text, len(files) > 0, nil
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
