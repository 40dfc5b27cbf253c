package web

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
)

// commandFile runs a command that makes a file, and returns it.
func (s *Server) commandFile(r *http.Request, spec measuredSpec, text, made, kind string, args func(build, readings, out string) []string) (*reply, error) {
	o, err := s.open(r.Context(), r.PathValue("build"), atOf(r))
	if err != nil {
		return nil, err
	}
	if o.build == nil {
		return nil, problemError(o.analysis)
	}
	if s.config.Command == nil {
		return nil, errNoPage
	}
	var data []byte
	err = s.inFolder(r.Context(), spec, o, text, func(dir, build, readings string) error {
		out := filepath.Join(dir, made)
		_, errs, code := s.config.Command(r.Context(), args(build, readings, out))
		switch {
		case code == 2:
			return wrong("%s", plainly(errs, dir, spec))
		case code > 2:
			return fmt.Errorf("%s", errs)
		}
		data, err = os.ReadFile(out)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &reply{kind: kind, body: data, name: o.Build + " " + made}, nil
}

// claimFile is the packet for a maker.
func (s *Server) claimFile(r *http.Request) (*reply, error) {
	spec, _ := measuredOf("claim")
	text, _, _, err := s.readingsOf(r.Context(), r.PathValue("build"), "claim")
	if err != nil {
		return nil, err
	}
	return s.commandFile(r, spec, text, "claim.zip", "application/zip", func(build, readings, out string) []string {
		return []string{"claim", "--readings=" + readings, "-o", out, "--", build, r.URL.Query().Get("module")}
	})
}

// templateFile is the drilling and placing template, 1:1.
func (s *Server) templateFile(r *http.Request) (*reply, error) {
	return s.commandFile(r, measuredSpec{Key: "template"}, "", "template.pdf", "application/pdf", func(build, _, out string) []string {
		args := []string{"template", "-o", out}
		if f := r.URL.Query().Get("surface"); f != "" {
			args = append(args, "--surface="+f)
		}
		return append(args, "--", build)
	})
}
