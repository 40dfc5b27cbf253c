package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// textView is the editor.
type textView struct {
	frame
	Text     string
	Lines    int
	Note     string
	Problems []problemView
	Saved    bool
	ReadOnly bool
}

func (s *Server) textPage(r *http.Request) (*reply, error) {
	o, err := s.open(r.Context(), r.PathValue("build"), r.URL.Query().Get("at"))
	if err != nil {
		return nil, err
	}
	v := textView{frame: s.frameOf(o, "text", "Text"), Text: string(o.Text), ReadOnly: !o.Head || s.config.Shelf.ReadOnly()}
	v.Module, v.Problems, v.Lines = "text.js", lined(o.analysis), 1+strings.Count(v.Text, "\n")
	v.Saved = r.URL.Query().Has("saved")
	return s.htmlReply("text.html", v)
}

// lined returns the problems of a text, each with its line.
func lined(x *analysis) []problemView {
	out := problemsOf(x.problems)
	lines := strings.Split(string(x.text), "\n")
	for i := range out {
		if n := out[i].Line; n > 0 && n <= len(lines) {
			out[i].Text = strings.TrimRight(lines[n-1], "\r")
		}
	}
	return out
}

// saveText saves a text as a new revision. A text with problems is kept too: it is the user's, and its
// problems are shown. A stale one meets the merge page.
func (s *Server) saveText(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	base, err := baseOf(r)
	if err != nil {
		return nil, err
	}
	name := r.PathValue("build")
	text := []byte(r.PostFormValue("text"))
	if before, err := s.config.Shelf.Read(r.Context(), name, strconv.Itoa(base)); err == nil && !strings.Contains(string(before.Text), "\r\n") {
		text = []byte(strings.ReplaceAll(string(text), "\r\n", "\n")) // a browser's form changes the ends of lines
	}
	_, err = s.config.Shelf.Save(r.Context(), name, base, store.Draft{Text: text, Note: r.PostFormValue("note")})
	var conflict *store.Conflict
	if errors.As(err, &conflict) {
		return s.mergeReply(r, conflict)
	}
	if err != nil {
		return nil, err
	}
	return see(pathOf(name, "text?saved")), nil
}

// mergeView shows two texts that grew from one.
type mergeView struct {
	frame
	Base, Theirs int
	Merged       string
	Clean        bool // both changed other lines, so that one text holds both
	YoursLines   []store.Line
	TheirsLines  []store.Line
	YoursText    string
}

// mergeReply is the page where the user joins a change with what was saved meanwhile. Nothing is lost: the
// text sent stands on it.
func (s *Server) mergeReply(r *http.Request, c *store.Conflict) (*reply, error) {
	o, err := s.open(r.Context(), c.Build, "")
	if err != nil {
		return nil, err
	}
	v := mergeView{frame: s.frameOf(o, "text", "Merge"), Base: c.Base, Theirs: c.Head, YoursText: string(c.Yours)}
	v.Module = "text.js"
	merged, clean := merge(string(c.BaseText), string(c.Yours), string(c.Theirs))
	v.Merged, v.Clean = merged, clean
	v.YoursLines, v.TheirsLines = store.Diff(c.BaseText, c.Yours).Lines, store.Diff(c.BaseText, c.Theirs).Lines
	out, err := s.htmlReply("merge.html", v)
	if err == nil {
		out.status = http.StatusConflict
	}
	return out, err
}

// merge joins two texts that grew from one: where each changed one run of lines and the runs do not touch,
// both changes; else yours as it is, and false.
func merge(base, yours, theirs string) (string, bool) {
	if yours == theirs || base == theirs {
		return yours, true
	}
	if base == yours {
		return theirs, true
	}
	b, y, t := strings.SplitAfter(base, "\n"), strings.SplitAfter(yours, "\n"), strings.SplitAfter(theirs, "\n")
	yFrom, yTo, yNew := run(b, y)
	tFrom, tTo, tNew := run(b, t)
	switch {
	case yTo < tFrom:
		return strings.Join(slices.Concat(b[:yFrom], yNew, b[yTo:tFrom], tNew, b[tTo:]), ""), true
	case tTo < yFrom:
		return strings.Join(slices.Concat(b[:tFrom], tNew, b[tTo:yFrom], yNew, b[yTo:]), ""), true
	}
	return yours, false
}

// run returns the lines of base, from and up to, that changed, and what stands for them.
func run(base, now []string) (from, to int, lines []string) {
	for from < len(base) && from < len(now) && base[from] == now[from] {
		from++
	}
	tail := 0
	for tail < len(base)-from && tail < len(now)-from && base[len(base)-1-tail] == now[len(now)-1-tail] {
		tail++
	}
	return from, len(base) - tail, now[from : len(now)-tail]
}

// changesOf reads the changed values of a form: "path", "was" and "value" follow one another, and values of
// one path in a row are a list.
func changesOf(r *http.Request) ([]buildfile.Change, error) {
	paths, was, values := r.PostForm["path"], r.PostForm["was"], r.PostForm["value"]
	if len(paths) != len(values) || len(was) != len(values) || len(values) > 400 {
		return nil, wrong("the form's paths and values do not belong together")
	}
	var out []buildfile.Change
	for i := 0; i < len(paths); {
		end := i + 1
		for end < len(paths) && paths[end] == paths[i] {
			end++
		}
		var texts []string
		for _, v := range values[i:end] {
			texts = append(texts, strings.TrimSpace(v))
		}
		if paths[i] == "" && len(texts) == 1 { // a load of the catalogue to add
			out = append(out, buildfile.Change{Path: []string{"loads", texts[0], "like"}, Texts: texts})
		} else if !slices.Equal(texts, was[i:end]) && !slices.Contains(texts, "") {
			path, err := splitPath(paths[i])
			if err != nil {
				return nil, err
			}
			out = append(out, buildfile.Change{Path: path, Texts: texts})
		}
		i = end
	}
	return out, nil
}

// joinPath writes a path as one text.
func joinPath(path ...string) string {
	out := make([]string, len(path))
	for i, p := range path {
		out[i] = url.PathEscape(p)
	}
	return strings.Join(out, "/")
}

func splitPath(text string) ([]string, error) {
	out := strings.Split(text, "/")
	for i := range out {
		var err error
		if out[i], err = url.PathUnescape(out[i]); err != nil || out[i] == "" {
			return nil, wrong("%q is no path", text)
		}
	}
	return out, nil
}

// setValues writes values that were typed on a sheet, and saves the text as a new revision.
func (s *Server) setValues(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	base, err := baseOf(r)
	if err != nil {
		return nil, err
	}
	changes, err := changesOf(r)
	if err != nil {
		return nil, err
	}
	name, back := r.PathValue("build"), r.PostFormValue("back")
	if !slices.Contains(sheetKeys(), back) {
		back = "text"
	}
	if len(changes) == 0 {
		return see(pathOf(name, back)), nil
	}
	if _, err = s.change(r, name, base, changes); err != nil {
		var conflict *store.Conflict
		if errors.As(err, &conflict) {
			return s.mergeReply(r, conflict)
		}
		return nil, err
	}
	return see(pathOf(name, back)), nil
}

// change writes values into the revision base and saves the result, if it has no problem that was not there.
func (s *Server) change(r *http.Request, name string, base int, changes []buildfile.Change) (opened, error) {
	return s.changeNoted(r, name, base, changes, noteOf(changes))
}

// changeNoted is change with a note of its own.
func (s *Server) changeNoted(r *http.Request, name string, base int, changes []buildfile.Change, note string) (opened, error) {
	rev, err := s.config.Shelf.Read(r.Context(), name, strconv.Itoa(base))
	if err != nil {
		return opened{}, err
	}
	text, err := buildfile.Set(rev.Text, changes...)
	if err != nil {
		return opened{}, err
	}
	x := s.analyses.of(text, rev.Folder)
	if before := s.analyses.of(rev.Text, rev.Folder); len(x.problems) > len(before.problems) {
		return opened{}, problemError(x)
	}
	saved, err := s.config.Shelf.Save(r.Context(), name, base, store.Draft{Text: text, Note: note})
	if err != nil {
		return opened{}, err
	}
	return opened{saved, x}, nil
}

// noteOf says what changed.
func noteOf(changes []buildfile.Change) string {
	var out []string
	for _, c := range changes {
		out = append(out, strings.Join(c.Path, ".")+" "+strings.Join(c.Texts, ", "))
	}
	return clip(strings.Join(out, "; "), 300)
}

// clip shortens a text to so many bytes.
func clip(text string, most int) string {
	if len(text) > most {
		return strings.ToValidUTF8(text[:most], "") + "…"
	}
	return text
}
