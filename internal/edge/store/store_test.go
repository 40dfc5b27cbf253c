package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"noonmark/examples"
	"noonmark/internal/base/problem"
)

// children are what the test program does when it is started again by a test.
var children = map[string]func(file string){"writer": childWriter, "counter": childCounter, "small": childSmallDisk, "nobody": childNobody}

func TestMain(m *testing.M) {
	if child := children[os.Getenv("NOONMARK_STORE_CHILD")]; child != nil {
		child(os.Getenv("NOONMARK_STORE_FILE"))
		os.Exit(0)
	}
	os.Exit(m.Run())
}

var ctx = context.Background()

// clock ticks a second each time it is read.
func clock() func() time.Time {
	var mu sync.Mutex
	at := time.Date(2027, 6, 21, 11, 0, 0, 0, time.UTC)
	return func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		at = at.Add(time.Second)
		return at
	}
}

func options() Options { return Options{Clock: clock(), Wait: 5 * time.Second} }

// opened opens a store until the test ends.
func opened(t *testing.T, path string) *Store {
	t.Helper()
	s, err := Open(ctx, path, options())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// fresh makes a store in a folder of the test's own.
func fresh(t *testing.T) *Store {
	t.Helper()
	return opened(t, filepath.Join(t.TempDir(), "store.db"))
}

// reopened closes a store and opens its file again.
func reopened(t *testing.T, s *Store) *Store {
	t.Helper()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return opened(t, s.Path())
}

// must returns v; an error ends the test.
func must[T any](v T, err error) func(t *testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// ok ends the test on an error.
func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// is demands a sentinel.
func is(t *testing.T, err, want error, what string) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("%s: got %v, want %v", what, err, want)
	}
}

// whole demands that a store's check finds nothing.
func whole(t *testing.T, s *Store) Report {
	t.Helper()
	r := must(s.Check(ctx))(t)
	if len(r.Damage) > 0 {
		t.Errorf("damage: %v", r.Damage)
	}
	return r
}

func draft(text string) Draft { return Draft{Text: []byte(text)} }

// What was typed comes back byte for byte after the file was closed and opened: the examples, and texts whose
// bytes an editor would like to mend.
func TestByteForByte(t *testing.T) {
	s := fresh(t)
	texts := map[string][]byte{"crlf": []byte("noonmark: 1\r\nname: x\r\n"), "bom": []byte("\xef\xbb\xbfnoonmark: 1"), "tail": []byte("a: 1  \n\n\n\t\n"),
		"accents": []byte("name: Évora ☀ 日\u2028\u0301"), "large": bytes.Repeat([]byte("# 0123456789abc\n"), LargestText/16)}
	for _, e := range append(examples.All(), examples.Bad()...) {
		texts[e.Name] = e.Text
	}
	for name, text := range texts {
		r := must(s.Add(ctx, name, Draft{Text: text, Note: "first\nline two", Folder: "/home/somebody"}))(t)
		if r.Number != 1 || r.Parent != 0 || !r.Head {
			t.Errorf("%s: first revision %+v", name, r)
		}
	}
	s = reopened(t, s)
	for name, text := range texts {
		r := must(s.Read(ctx, name, ""))(t)
		if !bytes.Equal(r.Text, text) || r.Note != "first\nline two" || r.Folder != "/home/somebody" || r.Size != len(text) {
			t.Errorf("%s: read back otherwise", name)
		}
	}
	r := whole(t, s)
	if r.Builds != len(texts) || r.Revisions != len(texts) || r.Version != len(migrations) {
		t.Errorf("report %+v", r)
	}
	faults := map[string]bool{}
	for _, f := range r.Faults {
		faults[f.Build] = len(f.Problems) > 0
	}
	if !faults["crlf"] || faults["heron-van"] || faults["avocet-pickup"] {
		t.Errorf("faults %v", faults)
	}
}

// Undo and redo walk the revisions; a save after an undo makes a new branch, and the old one stays in the history.
func TestUndoRedo(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft("a: 1")))(t)
	must(s.Save(ctx, "van", 1, draft("a: 2")))(t)
	must(s.Save(ctx, "van", 2, Draft{Text: []byte("a: 3"), Note: "third"}))(t)
	step := func(what string, f func(context.Context, string, int) (Revision, error), base, want int, text string) {
		t.Helper()
		r := must(f(ctx, "van", base))(t)
		if r.Number != want || string(r.Text) != text || !r.Head {
			t.Errorf("%s from %d: got %d %q, want %d %q", what, base, r.Number, r.Text, want, text)
		}
	}
	step("undo", s.Undo, 3, 2, "a: 2")
	s = reopened(t, s)
	step("undo", s.Undo, 2, 1, "a: 1")
	_, err := s.Undo(ctx, "van", 1)
	is(t, err, ErrNothing, "undo at the first")
	step("redo", s.Redo, 1, 2, "a: 2")
	step("redo", s.Redo, 2, 3, "a: 3")
	_, err = s.Redo(ctx, "van", 3)
	is(t, err, ErrNothing, "redo at the last")
	step("undo", s.Undo, 3, 2, "a: 2")
	if r := must(s.Save(ctx, "van", 2, draft("a: 4")))(t); r.Number != 4 || r.Parent != 2 {
		t.Errorf("branch: %+v", r)
	}
	step("undo", s.Undo, 4, 2, "a: 2")
	step("redo", s.Redo, 2, 4, "a: 4")
	var got []string
	for _, r := range must(s.History(ctx, "van"))(t) {
		got = append(got, fmt.Sprintf("%d<%d>%d %v", r.Number, r.Parent, r.Next, r.Head))
	}
	if want := "1<0>2 false, 2<1>4 false, 3<2>0 false, 4<2>0 true"; strings.Join(got, ", ") != want {
		t.Errorf("history %v, want %s", got, want)
	}
	if r := must(s.Read(ctx, "van", "3"))(t); string(r.Text) != "a: 3" || r.Note != "third" || r.Head {
		t.Errorf("the left branch is gone: %+v", r)
	}
	whole(t, s)
}

// A change based on another revision than the current one changes nothing and returns all three texts.
func TestConflict(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft("a: 1")))(t)
	other := opened(t, s.Path())
	must(other.Save(ctx, "van", 1, draft("a: theirs")))(t)
	_, err := s.Save(ctx, "van", 1, draft("a: yours"))
	var c *Conflict
	if !errors.As(err, &c) || c.Base != 1 || c.Head != 2 || string(c.BaseText) != "a: 1" || string(c.Yours) != "a: yours" || string(c.Theirs) != "a: theirs" {
		t.Fatalf("got %#v", err)
	}
	for what, err := range map[string]error{"undo": second(s.Undo(ctx, "van", 1)), "redo": second(s.Redo(ctx, "van", 1)),
		"remove": s.Remove(ctx, "van", 1), "base unknown": second(s.Save(ctx, "van", 99, draft("x: 1"))), "base 0": second(s.Save(ctx, "van", 0, draft("x: 1")))} {
		if !errors.As(err, &c) || string(c.Theirs) != "a: theirs" {
			t.Errorf("%s: got %v, want a conflict", what, err)
		}
	}
	if n := len(must(s.History(ctx, "van"))(t)); n != 2 {
		t.Errorf("%d revisions, want 2", n)
	}
	// A repeated request, whose answer was lost, is no conflict and no new revision.
	if r := must(s.Save(ctx, "van", 1, draft("a: theirs")))(t); r.Number != 2 {
		t.Errorf("repeated: %+v", r)
	}
	if r := must(s.Save(ctx, "van", 2, draft("a: theirs")))(t); r.Number != 2 {
		t.Errorf("unchanged: %+v", r)
	}
}

// second returns an error alone.
func second[T any](_ T, err error) error { return err }

// Tags name revisions, move, and are references; so are numbers.
func TestTags(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft("a: 1")))(t)
	must(s.Save(ctx, "van", 1, draft("a: 2")))(t)
	must(s.Tag(ctx, "van", "as built", "1", "on the road"))(t)
	must(s.Tag(ctx, "VAN", "trial", "", ""))(t)
	s = reopened(t, s)
	if r := must(s.Read(ctx, "van", "As Built"))(t); r.Number != 1 || strings.Join(r.Tags, ",") != "as built" {
		t.Errorf("got %+v", r)
	}
	must(s.Tag(ctx, "van", "As built", "trial", ""))(t)
	if r := must(s.Read(ctx, "van", "as built"))(t); r.Number != 2 || strings.Join(r.Tags, ",") != "As built,trial" {
		t.Errorf("moved: %+v", r)
	}
	b := must(s.Builds(ctx))(t)
	if len(b) != 1 || len(b[0].Tags) != 2 || b[0].Head != 2 || b[0].Revisions != 2 || !b[0].Changed.After(b[0].Created) {
		t.Errorf("shelf %+v", b)
	}
	ok(t, s.Untag(ctx, "van", "trial"))
	is(t, s.Untag(ctx, "van", "trial"), ErrNotFound, "a tag twice")
	for _, ref := range []string{"3", "0", "99999999999999999999", "nobody", "-1"} {
		is(t, second(s.Read(ctx, "van", ref)), ErrNotFound, "ref "+ref)
		is(t, second(s.Tag(ctx, "van", "x", ref, "")), ErrNotFound, "tag at "+ref)
	}
	var bad *problem.Error
	if _, err := s.Tag(ctx, "van", "12", "", ""); !errors.As(err, &bad) {
		t.Errorf("a number as a tag: %v", err)
	}
	whole(t, s)
}

// Names are one in any case of letters; a build is renamed and removed with all that hangs on it.
func TestShelf(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "Anna's van", draft("a: 1")))(t)
	must(s.Add(ctx, "Évora", draft("a: 1")))(t)
	is(t, second(s.Add(ctx, "anna's VAN", draft("a: 1"))), ErrExists, "the same name")
	is(t, s.Rename(ctx, "Évora", "ANNA'S van"), ErrExists, "rename onto another")
	ok(t, s.Rename(ctx, "évora", "ÉVORA"))
	ok(t, s.Rename(ctx, "Anna's van", "trailer"))
	is(t, s.Rename(ctx, "Anna's van", "x"), ErrNotFound, "the old name")
	must(s.AddPhoto(ctx, "trailer", Photo{Name: "a.png", Data: pngPicture(2, 2)}))(t)
	must(s.AddRecord(ctx, "trailer", Record{Kind: "reading", Form: "json", Data: []byte("{}")}))(t)
	must(s.Tag(ctx, "trailer", "as built", "", ""))(t)
	must(s.Save(ctx, "trailer", 1, draft("a: 2")))(t)
	ok(t, s.Remove(ctx, "trailer", 2))
	s = reopened(t, s)
	for _, table := range []string{"photo", "picture", "record", "tag"} {
		var n int
		ok(t, s.db.QueryRow("SELECT count(*) FROM "+table).Scan(&n))
		if n != 0 {
			t.Errorf("%d rows left in %s", n, table)
		}
	}
	if b := must(s.Builds(ctx))(t); len(b) != 1 || b[0].Name != "ÉVORA" {
		t.Errorf("shelf %+v", b)
	}
	whole(t, s)
	for what, err := range map[string]error{"read": second(s.Read(ctx, "trailer", "")), "history": second(s.History(ctx, "trailer")), "save": second(s.Save(ctx, "trailer", 1, draft("a: 1"))),
		"undo": second(s.Undo(ctx, "trailer", 1)), "tag": second(s.Tag(ctx, "trailer", "x", "", "")), "untag": s.Untag(ctx, "trailer", "x"), "remove": s.Remove(ctx, "trailer", 1),
		"photos": second(s.Photos(ctx, "trailer")), "records": second(s.Records(ctx, "trailer", ""))} {
		is(t, err, ErrNotFound, what)
	}
}

// Bad input is refused with every problem, before anything is written.
func TestBadInput(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft("a: 1")))(t)
	long := strings.Repeat("x", 3000)
	for want, err := range map[string]error{
		"a name$":             second(s.Add(ctx, "", draft("a: 1"))),
		"at most 100 letters": second(s.Add(ctx, long, draft("a: 1"))),
		"<script>":            second(s.Add(ctx, "<script>alert(1)</script>", draft("a: 1"))),
		"../../etc":           second(s.Add(ctx, "../../etc/passwd", draft("a: 1"))),
		"C:":                  second(s.Add(ctx, `C:\van`, draft("a: 1"))),
		"van@2":               second(s.Add(ctx, "van@2", draft("a: 1"))),
		"nav\\u202e":          s.Rename(ctx, "van", "\u202enav\u202e"),
		"begins with":         s.Rename(ctx, "van", ".hidden"),
		"without a space":     s.Rename(ctx, "van", "van "),
		"in UTF-8":            s.Rename(ctx, "van", "\xff"),
		"empty":               second(s.Save(ctx, "van", 1, draft(" \n"))),
		"1024 kB":             second(s.Save(ctx, "van", 1, draft(strings.Repeat("# 234567\n", 120000)))),
		"file in UTF-8":       second(s.Save(ctx, "van", 1, draft("a: \x00"))),
		"at most 2000":        second(s.Save(ctx, "van", 1, Draft{Text: []byte("a: 2"), Note: long})),
		"control":             second(s.Save(ctx, "van", 1, Draft{Text: []byte("a: 2"), Note: "\x1b[31m"})),
		"a letter in it":      second(s.Tag(ctx, "van", "7", "", "")),
	} {
		var bad *problem.Error
		if !errors.As(err, &bad) || !strings.Contains(bad.Error()+"$", want) {
			t.Errorf("%s: got %v", want, err)
		}
	}
	_, err := s.Add(ctx, "a/b", Draft{Text: []byte{0}, Note: long, Folder: long})
	var bad *problem.Error
	if !errors.As(err, &bad) || len(bad.Problems) != 4 {
		t.Errorf("four problems at once: %v", err)
	}
	if n := len(must(s.History(ctx, "van"))(t)); n != 1 {
		t.Errorf("%d revisions, want 1", n)
	}
	defer func() {
		if recover() == nil {
			t.Error("no panic without a clock")
		}
	}()
	Open(ctx, s.Path(), Options{})
}

// Many goroutines on two open stores save with the newest base each time: nothing acknowledged is lost, and a
// reader in between always sees a whole state.
func TestTwoWindows(t *testing.T) {
	a := fresh(t)
	b := opened(t, a.Path())
	must(a.Add(ctx, "van", draft("n: 0")))(t)
	const each = 20
	var mu sync.Mutex
	acknowledged := map[int]string{}
	conflicts := 0
	var wg sync.WaitGroup
	for w := range 4 {
		s := []*Store{a, b}[w%2]
		wg.Go(func() {
			base := 1
			for i := 0; i < each; {
				text := fmt.Sprintf("n: %d.%d", w, i)
				r, err := s.Save(ctx, "van", base, draft(text))
				var c *Conflict
				switch {
				case errors.As(err, &c):
					base = c.Head
					mu.Lock()
					conflicts++
					mu.Unlock()
				case err != nil:
					t.Error(err)
					return
				default:
					mu.Lock()
					if was, twice := acknowledged[r.Number]; twice {
						t.Errorf("revision %d acknowledged for %q and %q", r.Number, was, text)
					}
					acknowledged[r.Number] = text
					mu.Unlock()
					base, i = r.Number, i+1
				}
				if r, err := s.Read(ctx, "van", ""); err != nil || !strings.HasPrefix(string(r.Text), "n: ") {
					t.Errorf("read between: %v %v", r, err)
				}
			}
		})
	}
	wg.Wait()
	a = reopened(t, a)
	if len(acknowledged) != 4*each || conflicts == 0 {
		t.Errorf("%d acknowledged, %d conflicts", len(acknowledged), conflicts)
	}
	for n, text := range acknowledged {
		if r := must(a.Read(ctx, "van", fmt.Sprint(n)))(t); string(r.Text) != text || r.Parent != n-1 {
			t.Errorf("revision %d: %q after %d, want %q after %d", n, r.Text, r.Parent, text, n-1)
		}
	}
}

// A request that was given up changes nothing.
func TestGivenUp(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft("a: 1")))(t)
	gone, cancel := context.WithCancel(ctx)
	cancel()
	is(t, second(s.Save(gone, "van", 1, draft("a: 2"))), context.Canceled, "save")
	is(t, second(s.Read(gone, "van", "")), context.Canceled, "read")
	if r := must(s.Read(ctx, "van", ""))(t); r.Number != 1 {
		t.Errorf("got %+v", r)
	}
}
