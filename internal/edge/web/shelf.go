package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"path"
	"strings"
	"unicode"

	"noonmark/examples"
	"noonmark/internal/base/problem"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// shelfView is the first page.
type shelfView struct {
	frame
	Builds   []buildRow
	Examples []examples.Example
	ReadOnly bool
	Phone    bool
}

type buildRow struct {
	Name      string
	Path      string
	Revisions int
	Changed   string
	Tags      string
}

func (s *Server) shelfPage(r *http.Request) (*reply, error) {
	list, err := s.config.Shelf.Builds(r.Context())
	if err != nil {
		return nil, err
	}
	v := shelfView{frame: frame{Title: "Shelf", Sheet: "Shelf", Module: "shelf.js"}, Examples: examples.All(), ReadOnly: s.config.Shelf.ReadOnly(), Phone: s.config.Code != nil && fromHere(r)}
	for _, b := range list {
		row := buildRow{Name: b.Name, Path: pathOf(b.Name, "needs"), Revisions: b.Revisions, Changed: day(b.Changed)}
		for i, t := range b.Tags {
			if i > 0 {
				row.Tags += ", "
			}
			row.Tags += t.Name
		}
		v.Builds = append(v.Builds, row)
	}
	return s.htmlReply("shelf.html", v)
}

// question is one of the eight.
type question struct {
	Key, Ask, Hint, Given, Example string
	Fault                          string // what is wrong with the answer
	First                          bool   // the first that is wrong
	into                           func(a *buildfile.Answers) *string
}

// questions returns the eight, in their order.
func questions() []question {
	return []question{
		{"vehicle", "How large is the roof or lid?", "front to rear by left to right", "", "2.1 m x 1.35 m", "", false, func(a *buildfile.Answers) *string { return &a.Vehicle }},
		{"modules", "Which modules?", "how many, then the label as printed", "", "2 x foil CIGS 90 W", "", false, func(a *buildfile.Answers) *string { return &a.Modules }},
		{"charger", "Which charge controller?", "highest input volts and output amps, 80 V 16 A, or a class: controller-16a, controller-32a, unit-60", "", "controller-16a", "", false, func(a *buildfile.Answers) *string { return &a.Charger }},
		{"battery", "Which battery?", "100 Ah at 12.8 V, 1280 Wh, or a class: lfp-100, lfp-200, agm-100", "", "lfp-100", "", false, func(a *buildfile.Answers) *string { return &a.Battery }},
		{"people", "How many people?", "", "", "2", "", false, func(a *buildfile.Answers) *string { return &a.People }},
		{"loads", "What do you run?", "fridge-40, fridge-90, lights, phones, laptop, fan, heater, pump, cpap, standby", "", "fridge-40, lights, phones, standby", "", false, func(a *buildfile.Answers) *string { return &a.Loads }},
		{"where", "Where will you stand?", "a town with its country, or latitude, longitude", "", "Evora, PT", "", false, func(a *buildfile.Answers) *string { return &a.Where }},
		{"when", "When, and for how many nights?", "", "", "2027-06-01, 14 nights", "", false, func(a *buildfile.Answers) *string { return &a.When }},
	}
}

// newView is the form of the eight questions.
type newView struct {
	frame
	Called    string
	Questions []question
	Taken     string // what is wrong with the name
	Fault     string
	Problems  []problemView
}

func (s *Server) newPage(*http.Request) (*reply, error) {
	return s.htmlReply("new.html", newView{frame: frame{Title: "A new build", Sheet: "Eight questions"}, Questions: questions()})
}

// newBuild makes a build of eight answers; a rejected form comes back as typed.
func (s *Server) newBuild(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	v := newView{frame: frame{Title: "A new build", Sheet: "Eight questions"}, Questions: questions(), Called: strings.TrimSpace(r.PostFormValue("name"))}
	var a buildfile.Answers
	for i := range v.Questions {
		q := &v.Questions[i]
		if q.Given = strings.TrimSpace(r.PostFormValue(q.Key)); len(q.Given) > 400 {
			return nil, wrong("%s: an answer of at most 400 letters", q.Ask)
		}
		*q.into(&a) = q.Given
	}
	text, err := buildfile.Starter(a)
	name := v.Called
	if name == "" {
		name = "my camper"
	}
	if err == nil {
		if text, err = buildfile.Set(text, buildfile.Change{Path: []string{"name"}, Texts: []string{name}}); err == nil {
			var rev store.Revision
			if rev, err = s.put(r, name, text, "eight questions", v.Called == ""); err == nil {
				return see(pathOf(rev.Build, "needs")), nil
			}
		}
	}
	if statusOf(err) == http.StatusInternalServerError && !refusal(err) {
		return nil, err
	}
	var bad *problem.Error
	switch n := blame(v.Questions); {
	case n > 0:
		v.Fault = "one answer cannot be read"
		if n > 1 {
			v.Fault = fmt.Sprintf("%d answers cannot be read", n)
		}
	case errors.Is(err, store.ErrExists):
		v.Taken = fmt.Sprintf("%q is on the shelf already: give another name", name)
	case errors.As(err, &bad):
		v.Problems = problemsOf(bad.Problems)
	default:
		v.Fault = err.Error()
	}
	out, err := s.htmlReply("new.html", v)
	if err == nil {
		out.status = http.StatusUnprocessableEntity
	}
	return out, err
}

// blame writes beside each answer what is wrong with it, and counts those: each is held against the good ones
// before it.
func blame(list []question) (n int) {
	var good buildfile.Answers
	for i := range list {
		q := &list[i]
		with := good
		*q.into(&with) = q.Given
		_, err := buildfile.Starter(with)
		if err == nil {
			good = with
			continue
		}
		n++
		q.First = n == 1
		var bad *problem.Error
		if !errors.As(err, &bad) {
			q.Fault = sentence(err.Error())
			continue
		}
		var said, plain []string
		for _, p := range bad.Problems {
			if p.Found == "" {
				plain = append(plain, sentence("wanted: "+p.Want))
				continue
			}
			said = append(said, fmt.Sprintf("“%s” is not it; wanted: %s", p.Found, p.Want))
		}
		if len(said) == 0 { // else they follow from what was found
			said = plain
		}
		q.Fault = strings.Join(said, ". ")
	}
	return n
}

// refusal reports whether an error is the form's: the starter returns plain ones.
func refusal(err error) bool {
	for _, kind := range []error{store.ErrReadOnly, store.ErrLocked, store.ErrDamaged, store.ErrFull, store.ErrDisk, errInternal} {
		if errors.Is(err, kind) {
			return false
		}
	}
	return true
}

// put adds a build under a name, or with again under the first free one after it.
func (s *Server) put(r *http.Request, name string, text []byte, note string, again bool) (store.Revision, error) {
	for n := 1; ; n++ {
		called := name
		if n > 1 {
			called = fmt.Sprintf("%s %d", name, n)
		}
		rev, err := s.config.Shelf.Add(r.Context(), called, store.Draft{Text: text, Note: note})
		if errors.Is(err, store.ErrExists) && again && n < 100 {
			continue
		}
		return rev, err
	}
}

// openExample puts an example on the shelf.
func (s *Server) openExample(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	for _, e := range examples.All() {
		if e.Name == r.PostFormValue("name") {
			rev, err := s.put(r, e.Name, e.Text, "example", true)
			if err != nil {
				return nil, err
			}
			return see(pathOf(rev.Build, "roof")), nil
		}
	}
	return nil, wrong("no example of that name")
}

// openFile puts a build file on the shelf, whatever its text says: its problems are shown in the editor.
func (s *Server) openFile(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	if r.MultipartForm == nil {
		return nil, wrong("send the file as a form's file")
	}
	defer r.MultipartForm.RemoveAll()
	file, head, err := r.FormFile("file")
	if err != nil {
		return nil, wrong("no file was sent")
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, store.LargestText+1))
	if err != nil {
		return nil, err
	}
	if len(text) > store.LargestText {
		return nil, &tooLarge{limit: store.LargestText}
	}
	rev, err := s.put(r, nameOfFile(head.Filename), text, "file "+nameOfFile(head.Filename), true)
	if err != nil {
		return nil, err
	}
	if len(s.analyses.of(rev.Text, rev.Folder).problems) > 0 {
		return see(pathOf(rev.Build, "text")), nil
	}
	return see(pathOf(rev.Build, "needs")), nil
}

// nameOfFile makes a name for the shelf of a file's name: no path, no ending, no sign a name may not have.
func nameOfFile(name string) string {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	name = strings.TrimSuffix(strings.TrimSuffix(name, path.Ext(name)), ".")
	name = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune(" -_+()", r) {
			return r
		}
		return '-'
	}, name)
	name = strings.Trim(name, " -_")
	if runes := []rune(name); len(runes) > 60 {
		name = strings.TrimSpace(string(runes[:60]))
	}
	if name == "" {
		return "build"
	}
	return name
}
