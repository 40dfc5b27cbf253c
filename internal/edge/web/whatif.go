package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/whatif"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
	"noonmark/internal/sheet/sheet"
)

// changesView is a sheet now and changed.
type changesView struct {
	Words string
	Table *tableView // nil: nothing differs
	More  *tableView // what does not fit at sight
	Tried []triedView
}

// head names the columns.
func (v *changesView) head(now, then string) {
	for _, t := range []*tableView{v.Table, v.More} {
		if t != nil && len(t.Head) == 3 {
			t.Head = []string{t.Head[0], now, then}
		}
	}
}

// triedView is a value that is tried and not saved.
type triedView struct{ Path, Was, Value string }

// whatIf shows a sheet as it would be with values that are typed and not saved, and what differs.
func (s *Server) whatIf(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	key := r.PostFormValue("back")
	if !known(key) || key == "book" {
		return nil, errNoPage
	}
	base, err := baseOf(r)
	if err != nil {
		return nil, err
	}
	now, err := s.open(r.Context(), r.PathValue("build"), fmt.Sprint(base))
	if err != nil {
		return nil, err
	}
	changes, err := changesOf(r)
	if err != nil {
		return nil, err
	}
	if now.build == nil {
		return nil, problemError(now.analysis)
	}
	text, err := buildfile.Set(now.Text, changes...)
	if err != nil {
		return nil, err
	}
	then := opened{now.Revision, s.analyses.of(text, now.Folder)}
	if then.build == nil {
		return nil, problemError(then.analysis)
	}
	v := sheetView{frame: s.frameOf(now, key, titleOf(key)), Key: key, ReadOnly: !now.Head || s.config.Shelf.ReadOnly()}
	v.Module = "sheet.js"
	wait := r.URL.Query().Has("full") && !slices.Contains(ownWait, key)
	j, err := s.job(r.Context(), then.analysis, key, wait)
	if err != nil {
		return nil, err
	}
	if err := s.fill(&v, then, j, r.URL.Query(), r.Context()); err != nil {
		return nil, err
	}
	v.Groups = groupsOf(now.Text, sections[key])
	for i := range v.Groups {
		for k := range v.Groups[i].Fields {
			tried(&v.Groups[i].Fields[k], changes)
		}
	}
	if v.Changes, err = s.differ(r, now, then, key, wait); err != nil {
		return nil, err
	}
	v.Changes.Words = "Tried, not saved."
	v.Changes.head("now", "tried")
	for _, c := range changes {
		for i, t := range c.Texts {
			was := ""
			for _, f := range buildfile.Fields(now.Text, c.Path[0]) {
				for _, x := range f.Fields {
					if slices.Equal(x.Path, c.Path) && i < len(x.Texts) {
						was = x.Texts[i]
					}
				}
			}
			v.Changes.Tried = append(v.Changes.Tried, triedView{joinPath(c.Path...), was, t})
		}
	}
	return s.htmlReply("sheet.html", v)
}

// tried puts a tried value into its field.
func tried(f *fieldView, changes []buildfile.Change) {
	for _, c := range changes {
		if slices.Equal(c.Path, f.Path) {
			f.Tried = c.Texts
		}
	}
}

// shownChanges is how many differences stand at sight; the others are folded.
const shownChanges = 10

// differ returns what differs between a sheet of two texts, each computed as far as the other.
func (s *Server) differ(r *http.Request, now, then opened, key string, wait bool) (*changesView, error) {
	var list [2]sheet.Sheet
	for i, o := range []opened{now, then} {
		j, err := s.job(r.Context(), o.analysis, key, wait)
		if err != nil {
			return nil, err
		}
		if list[i], err = s.sheetIn(r.Context(), &j, o, key, r.URL.Query()); err != nil {
			return nil, err
		}
	}
	out := &changesView{}
	if t, ok := sheet.Changes(list[0], list[1]); ok {
		t.Title = "What differs"
		first := t
		first.Rows = t.Rows[:min(shownChanges, len(t.Rows))]
		v := tableOf(first)
		out.Table = &v
		if len(t.Rows) > shownChanges {
			t.Title, t.Rows = fmt.Sprintf("And %d more", len(t.Rows)-shownChanges), t.Rows[shownChanges:]
			v := tableOf(t)
			out.More = &v
		}
	}
	return out, nil
}

// since puts into a page what differs from another revision.
func (s *Server) since(v *sheetView, o opened, j sheet.Job, was string, r *http.Request) error {
	old, err := s.open(r.Context(), o.Build, was)
	if err != nil {
		return err
	}
	if old.build == nil {
		return problemError(old.analysis)
	}
	if v.Changes, err = s.differ(r, old, o, v.Key, r.URL.Query().Has("full") && !slices.Contains(ownWait, v.Key)); err != nil {
		return err
	}
	v.Changes.head(fmt.Sprintf("revision %d", old.Number), fmt.Sprintf("revision %d", o.Number))
	v.Changes.Words = fmt.Sprintf("Against revision %d of %s.", old.Number, day(old.At))
	return nil
}

// differRow is a figure or a rule that differs between two revisions.
type differRow struct{ What, Was, Is string }

// sides compares two revisions by what they give: figures, rules, what is assumed; nothing where one of them
// has problems.
func (s *Server) sides(r *http.Request, a, b store.Revision) (rows []differRow, note string, err error) {
	var side [2]whatif.Side
	for i, rev := range []store.Revision{a, b} {
		x := s.analyses.of(rev.Text, rev.Folder)
		if x.build == nil {
			return nil, fmt.Sprintf("Revision %d has problems: its figures wait.", rev.Number), nil
		}
		j, err := s.job(r.Context(), x, "", false)
		if err != nil {
			var use *misuse
			if errors.As(err, &use) {
				return nil, fmt.Sprintf("Revision %d: %s.", rev.Number, use.text), nil
			}
			return nil, "", err
		}
		side[i] = whatif.Side{Build: x.build, Forecast: j.Forecast, Findings: j.Findings}
	}
	c := whatif.Compare(side[0], side[1])
	for _, f := range c.Figures {
		text := func(v *float64) string {
			if v == nil {
				return "–"
			}
			return strings.TrimSpace(fmt.Sprintf("%.*f %s", f.Digits, *v, f.Unit))
		}
		rows = append(rows, differRow{f.About + ": " + f.Name, text(f.Now), text(f.Changed)})
	}
	for _, x := range c.Verdicts {
		row := differRow{strings.ReplaceAll(x.ID, "-", " ") + ", " + x.Subject, "–", "–"}
		if x.Now != nil {
			row.Was = ruleWords[x.Now.Verdict]
		}
		if x.Changed != nil {
			row.Is = ruleWords[x.Changed.Verdict]
		}
		rows = append(rows, row)
	}
	return rows, strings.Join(c.Notes, " "), nil
}

// ruleWords are a verdict in a word of the sheets.
var ruleWords = map[check.Verdict]string{check.Pass: "holds", check.Warn: "close", check.Fail: "fails", check.Unknown: "unknown"}
