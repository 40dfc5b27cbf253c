package cli

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// shelf makes a store with the van at revision 3, its second change undone, and the first tagged; run runs a store
// command on it.
func shelf(t *testing.T) (data string, run func(args ...string) (string, string, int)) {
	t.Helper()
	data = filepath.Join(t.TempDir(), "store.db")
	run = func(args ...string) (string, string, int) {
		return do(t, "", append([]string{"store", "--data", data}, args...)...)
	}
	van := file(t, "heron-van")
	text, err := os.ReadFile(van)
	if err != nil {
		t.Fatal(err)
	}
	steps := [][]string{{"add", van, "--name", "van"}, {"tag", "van", "as built", "--note", "in June"}}
	for i := 1; i <= 2; i++ {
		next := filepath.Join(t.TempDir(), "next.yaml")
		if err := os.WriteFile(next, []byte(strings.Replace(string(text), "people: 2", fmt.Sprintf("people: %d", 2+i), 1)), 0o644); err != nil {
			t.Fatal(err)
		}
		steps = append(steps, []string{"add", next, "--name", "van", "--onto", fmt.Sprint(i), "--note", fmt.Sprintf("%d people", 2+i)})
	}
	for _, args := range append(steps, []string{"undo", "van"}) {
		if out, errs, code := run(args...); code != ExitDone {
			t.Fatalf("store %v: exit %d: %s %s", args, code, out, errs)
		}
	}
	return data, run
}

// clockOf stands still.
func clockOf() func() time.Time {
	return func() time.Time { return time.Date(2027, 6, 21, 11, 0, 0, 0, time.UTC) }
}

// Every store command prints its answer in words and as one document with its fields.
func TestStore(t *testing.T) {
	data, run := shelf(t)
	backup := filepath.Join(t.TempDir(), "backup.db")
	for _, c := range []struct {
		args  []string
		words string
		want  string // fields
	}{
		{[]string{"list"}, "revision 2 of 3", "store builds"},
		{[]string{"history", "van"}, "> 2", "build revisions"},
		{[]string{"redo", "van"}, "at revision 3", "build revision parent current at note bytes tags"},
		{[]string{"compare", "van", "as built"}, "people: 2 → ", "build from to values lines"},
		{[]string{"tag", "van", "trial", "1"}, `Revision 1 of van is "trial".`, "build tag revision removed"},
		{[]string{"tag", "van", "trial", "--remove"}, "no tag", "build tag revision removed"},
		{[]string{"backup", backup}, "written and checked", "store file bytes"},
		{[]string{"check"}, "Whole.", "store version builds revisions photographs records damage faults"},
		{[]string{"export", "van@as built"}, "people: 2", "build revision text"},
		{[]string{"add", file(t, "karoo-caravan")}, "karoo-caravan is at revision 1", "build revision parent current at note bytes tags"},
	} {
		out, errs, code := run(c.args...)
		if code != ExitDone || errs != "" || !strings.Contains(out, c.words) {
			t.Errorf("store %v: exit %d, want %q in %q; %s", c.args, code, c.words, out, errs)
		}
		switch c.args[0] { // undone, to be done again
		case "redo":
			run("undo", "van")
		case "backup":
			c.args[1] += "2"
		case "add":
			c.args = append(c.args, "--name", "another")
		case "tag":
			run("tag", "van", "trial", "1")
		}
		fields(t, c.want, append([]string{"store", "--data", data}, c.args...)...)
	}
	// A backup is a store; so are all the builds in it.
	if out, _, code := do(t, "", "store", "list", "--data", backup); code != ExitDone || !strings.Contains(out, "van") {
		t.Errorf("list of the backup: exit %d, %s", code, out)
	}
	if out, errs, code := do(t, "", "store", "--help"); code != ExitDone || !strings.Contains(out, "store:NAME") {
		t.Errorf("help: exit %d, %s %s", code, out, errs)
	}
	for _, name := range []string{"list", "add", "export", "history", "undo", "redo", "tag", "compare", "backup", "check"} {
		if out, _, code := do(t, "", "store", name, "--help"); code != ExitDone || !strings.Contains(out, "noonmark store "+name) {
			t.Errorf("store %s --help: exit %d", name, code)
		}
	}
}

// What was added is exported byte for byte, on the stream and into a file, which is not written over.
func TestStoreRoundTrip(t *testing.T) {
	data := filepath.Join(t.TempDir(), "new folder", "store.db")
	odd := filepath.Join(t.TempDir(), "odd.yaml")
	text := "\xef\xbb\xbfnoonmark: 1\r\n# no end of line"
	if err := os.WriteFile(odd, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, errs, code := do(t, "", "store", "add", odd, "--data", data); code != ExitUse || !strings.Contains(errs, "problem") {
		t.Errorf("a file with problems: exit %d, %s", code, errs)
	}
	if _, errs, code := do(t, "", "store", "add", odd, "--data", data, "--unfinished"); code != ExitDone {
		t.Fatalf("exit %d, %s", code, errs)
	}
	if out, _, _ := do(t, "", "store", "export", "odd", "--data", data); out != text {
		t.Errorf("got %q, want %q", out, text)
	}
	to := filepath.Join(t.TempDir(), "out.yaml")
	if out, errs, code := do(t, "", "store", "export", "store:odd", "-o", to, "--data", data); code != ExitDone || out != "" {
		t.Errorf("exit %d: %s %s", code, out, errs)
	}
	if got, err := os.ReadFile(to); err != nil || string(got) != text {
		t.Errorf("got %q %v, want %q", got, err, text)
	}
	if _, errs, code := do(t, "", "store", "export", "odd", "-o", to, "--data", data); code != ExitUse || !strings.Contains(errs, "there already") {
		t.Errorf("written over: exit %d, %s", code, errs)
	}
	out, _, _ := do(t, "", "store", "check", "--data", data)
	if !strings.Contains(out, "unfinished, no damage: odd") {
		t.Errorf("check says %s", out)
	}
}

// store:NAME stands for a build file, store:NAME@REVISION for a number or a tag; weather files it names are sought
// where it came from.
func TestStoreAsBuild(t *testing.T) {
	data, _ := shelf(t)
	van := file(t, "heron-van")
	want, _, _ := do(t, "", "curve", van, "lid", "--json")
	for _, ref := range []string{"store:van@1", "store:van@as built", "store:van"} {
		out, errs, code := do(t, "", "curve", ref, "lid", "--json", "--data", data)
		if same := out == want; code != ExitDone || same != (ref != "store:van") { // the current one has more sleepers
			t.Errorf("%s: exit %d, the same as the file: %v; %s", ref, code, same, errs)
		}
	}
	// The title block carries the revision.
	b, err := openBuild(t.Context(), &Streams{data: data, Clock: clockOf()}, "store:van")
	if err != nil || b.revision != 2 {
		t.Fatalf("%+v, %v", b, err)
	}
	if st, err := stampOf(&Streams{Clock: clockOf()}, b, "store:van", 0); err != nil || st.Revision != "2" {
		t.Errorf("stamp %+v, %v", st, err)
	}
	// A weather file that is not there is sought beside the file that was added.
	dir := t.TempDir()
	text, err := os.ReadFile(van)
	if err != nil {
		t.Fatal(err)
	}
	with := strings.Replace(string(text), "- stay: {", "- stay: {weather: data/year.csv, ", 1)
	if with == string(text) {
		with = strings.Replace(string(text), "  - stay:\n", "  - stay:\n      weather: data/year.csv\n", 1)
	}
	if with == string(text) {
		t.Fatal("the example's trip has another form")
	}
	if err := os.WriteFile(filepath.Join(dir, "dry.yaml"), []byte(with), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, errs, code := do(t, "", "store", "add", filepath.Join(dir, "dry.yaml"), "--data", data); code != ExitDone {
		t.Fatalf("exit %d, %s", code, errs)
	}
	if _, errs, code := do(t, "", "curve", "store:dry", "lid", "--data", data); code != ExitUse || !strings.Contains(errs, filepath.Join(dir, "data", "year.csv")) {
		t.Errorf("exit %d, %s", code, errs)
	}
}

// The usual data file lies in the user's folder for settings.
func TestStoreDefault(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"XDG_CONFIG_HOME", "HOME", "AppData"} {
		t.Setenv(name, dir)
	}
	if _, errs, code := do(t, "", "store", "list"); code != ExitUse || !strings.Contains(errs, "no store there yet") {
		t.Errorf("before: exit %d, %s", code, errs)
	}
	if _, errs, code := do(t, "", "store", "add", file(t, "heron-van")); code != ExitDone {
		t.Fatalf("exit %d, %s", code, errs)
	}
	out, _, _ := do(t, "", "store", "list", "--json")
	var v struct{ Store string }
	if err := json.Unmarshal([]byte(out), &v); err != nil || !strings.HasPrefix(v.Store, dir) || !strings.HasSuffix(v.Store, filepath.Join("noonmark", "store.db")) {
		t.Errorf("store %q, %v", v.Store, err)
	}
}

// Wrong use, and files that are no whole store: exit 2 with the reason, nothing on the stream, nothing changed.
func TestStoreMisuse(t *testing.T) {
	data, _ := shelf(t)
	before, err := os.ReadFile(data)
	if err != nil {
		t.Fatal(err)
	}
	van, dir := file(t, "heron-van"), t.TempDir()
	other, empty, large := filepath.Join(dir, "other.db"), filepath.Join(dir, "empty.db"), filepath.Join(dir, "large.yaml")
	for path, text := range map[string]string{other: strings.Repeat("not a database\n", 300), empty: "", large: strings.Repeat("# 234567\n", 200000)} {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"store", "lsit"}, "no command store lsit"}, {[]string{"store", "add"}, "one build file"}, {[]string{"store", "add", "nofile"}, "nofile"},
		{[]string{"store", "add", dir}, "build file"}, {[]string{"store", "add", large}, "1024 kB"}, {[]string{"store", "add", van, "--name", "van"}, "--onto"},
		{[]string{"store", "add", van, "--name", "a/b"}, "letters"}, {[]string{"store", "add", van, "--name", "van", "--onto", "1"}, "the current one is 2"},
		{[]string{"store", "add", van, "--name", "nobody", "--onto", "1"}, "nobody"}, {[]string{"store", "export", "nobody"}, "nobody"},
		{[]string{"store", "export", "van@9"}, "revision 9"}, {[]string{"store", "export", "van@"}, "store:NAME@REVISION"}, {[]string{"store", "history", "nobody"}, "nobody"},
		{[]string{"store", "undo", "nobody"}, "nobody"}, {[]string{"store", "tag", "van", "7"}, "bare number"}, {[]string{"store", "tag", "van"}, "wants"},
		{[]string{"store", "tag", "van", "x", "1", "--remove"}, "--remove"}, {[]string{"store", "tag", "van", "x", "--remove"}, "not in the store"},
		{[]string{"store", "compare", "van", "1", "x"}, `tag "x"`}, {[]string{"store", "compare", "van"}, "wants"}, {[]string{"store", "backup", van}, "already"},
		{[]string{"store", "backup", filepath.Join(dir, "no", "x.db")}, "no such"}, {[]string{"plan", "store:nobody"}, "nobody"}, {[]string{"plan", "store:"}, "store:NAME"},
		{[]string{"store", "list", "--data", filepath.Join(dir, "none.db")}, "no store there yet"}, {[]string{"plan", "store:van", "--data", filepath.Join(dir, "none.db")}, "no store there yet"},
		{[]string{"store", "list", "--data", other}, "no store of noonmark"}, {[]string{"store", "list", "--data", empty}, "damaged"},
		{[]string{"store", "list", "--data", dir}, "not a file"}, {[]string{"store", "add", van, "--data", other}, "no store of noonmark"},
	} {
		args := c.args
		if !slices.Contains(args, "--data") {
			args = append(args, "--data", data)
		}
		out, errs, code := do(t, "", args...)
		if code != ExitUse || out != "" || !strings.Contains(errs, c.want) {
			t.Errorf("%v: exit %d, want 2 with %q; printed %q, said %q", c.args, code, c.want, out, errs)
		}
	}
	do(t, "", "store", "undo", "van", "--data", data)
	if _, errs, code := do(t, "", "store", "undo", "van", "--data", data); code != ExitUse || !strings.Contains(errs, "undo from revision 1") {
		t.Errorf("undo at the first: exit %d, %s", code, errs)
	}
	// A store that is damaged inside says so on its stream, and in its exit code.
	cut := filepath.Join(dir, "cut.db")
	bad := append([]byte(nil), before...)
	for i := strings.LastIndex(string(bad), "people: 4"); i < len(bad) && bad[i] != '\n'; i++ {
		bad[i] = 'x'
	}
	if err := os.WriteFile(cut, bad, 0o644); err != nil {
		t.Fatal(err)
	}
	if out, _, code := do(t, "", "store", "check", "--data", cut); code != ExitUse || !strings.Contains(out, "revision 3: its text is not what was saved") {
		t.Errorf("check of a damaged store: exit %d, %s", code, out)
	}
	if err := os.WriteFile(cut, before[:len(before)/2], 0o644); err != nil {
		t.Fatal(err)
	}
	if _, errs, code := do(t, "", "store", "check", "--data", cut); code != ExitUse || !strings.Contains(errs, "damaged") {
		t.Errorf("check of half a store: exit %d, %s", code, errs)
	}
}
