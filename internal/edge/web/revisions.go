package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"

	"noonmark/internal/edge/store"
)

// revisionsView is the list of a build's revisions.
type revisionsView struct {
	frame
	Rows []revisionRow
}

type revisionRow struct {
	Number, Parent int
	At, Note       string
	Tags           []string
	Head           bool
}

func (s *Server) revisionsPage(r *http.Request) (*reply, error) {
	o, err := s.open(r.Context(), r.PathValue("build"), "")
	if err != nil {
		return nil, err
	}
	list, err := s.config.Shelf.History(r.Context(), o.Build)
	if err != nil {
		return nil, err
	}
	v := revisionsView{frame: s.frameOf(o, "revisions", "Revisions")}
	for i := len(list) - 1; i >= 0; i-- {
		x := list[i]
		v.Rows = append(v.Rows, revisionRow{Number: x.Number, Parent: x.Parent, At: day(x.At), Note: x.Note, Tags: x.Tags, Head: x.Head})
	}
	return s.htmlReply("revisions.html", v)
}

// compareView is two revisions side by side.
type compareView struct {
	frame
	From, To     int
	FromAt, ToAt string
	Values       []valueRow
	Lines        []store.Line
	Gives        []differRow
	GivesNote    string
}

type valueRow struct{ Path, Was, Is string }

func (s *Server) comparePage(r *http.Request) (*reply, error) {
	o, err := s.open(r.Context(), r.PathValue("build"), "")
	if err != nil {
		return nil, err
	}
	a, b, c, err := s.config.Shelf.Compare(r.Context(), o.Build, r.URL.Query().Get("from"), r.URL.Query().Get("to"))
	if err != nil {
		return nil, err
	}
	v := compareView{frame: s.frameOf(o, "revisions", "Compare"), From: a.Number, To: b.Number, FromAt: day(a.At), ToAt: day(b.At), Lines: c.Lines}
	for _, x := range c.Values {
		v.Values = append(v.Values, valueRow{x.Path, orDash(x.Was), orDash(x.Is)})
	}
	if v.Gives, v.GivesNote, err = s.sides(r, a, b); err != nil {
		return nil, err
	}
	return s.htmlReply("compare.html", v)
}

func orDash(s *string) string {
	if s == nil {
		return "–"
	}
	return *s
}

func (s *Server) undo(r *http.Request) (*reply, error) { return s.step(r, s.config.Shelf.Undo) }
func (s *Server) redo(r *http.Request) (*reply, error) { return s.step(r, s.config.Shelf.Redo) }

// step goes a revision back or forward.
func (s *Server) step(r *http.Request, move stepper) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	base, err := baseOf(r)
	if err != nil {
		return nil, err
	}
	name := r.PathValue("build")
	back := r.PostFormValue("back")
	if back != "text" && back != "revisions" && !known(back) {
		back = "needs"
	}
	if _, err = move(r.Context(), name, base); err != nil && !errors.Is(err, store.ErrNothing) {
		return nil, err
	}
	return see(pathOf(name, back)), nil
}

// tag names a revision.
func (s *Server) tag(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	name := r.PathValue("build")
	if _, err := s.config.Shelf.Tag(r.Context(), name, r.PostFormValue("tag"), r.PostFormValue("revision"), ""); err != nil {
		return nil, err
	}
	return see(pathOf(name, "revisions")), nil
}

// remove takes a build off the shelf, once its name was typed.
func (s *Server) remove(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	base, err := baseOf(r)
	if err != nil {
		return nil, err
	}
	name := r.PathValue("build")
	if r.PostFormValue("name") != name {
		return nil, wrong("type the name of the build, %s, to take it off the shelf", name)
	}
	if err := s.config.Shelf.Remove(r.Context(), name, base); err != nil {
		return nil, err
	}
	return see("/"), nil
}

// atOf returns the revision a page is asked for, "" for the current one.
func atOf(r *http.Request) string {
	at := r.URL.Query().Get("at")
	if n, err := strconv.Atoi(at); err == nil && n < 1 {
		return ""
	}
	return at
}

// stepper is undo or redo.
type stepper = func(ctx context.Context, name string, base int) (store.Revision, error)

// known reports whether a word is a sheet.
func known(key string) bool { return slices.Contains(sheetKeys(), key) }
