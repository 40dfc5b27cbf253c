package store

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"noonmark/internal/base/problem"
)

// filled makes a store with some of everything, closes it, and returns its file.
func filled(t *testing.T) string {
	t.Helper()
	s := fresh(t)
	must(s.Add(ctx, "van", draft(example("heron-van"))))(t)
	for n := 1; n < 30; n++ {
		must(s.Save(ctx, "van", n, draft(fmt.Sprintf("%s# %d\n", example("heron-van"), n))))(t)
	}
	must(s.AddPhoto(ctx, "van", Photo{Name: "a.png", Data: pngPicture(300, 200)}))(t)
	must(s.AddRecord(ctx, "van", Record{Kind: "log", Form: "csv", Data: bytes.Repeat([]byte("1,2,3\n"), 3000)}))(t)
	ok(t, s.Close())
	return s.Path()
}

// A file that is none of ours, cut or empty is refused by its kind, and left as it is.
func TestWrongFiles(t *testing.T) {
	good := must(os.ReadFile(filled(t)))(t)
	zeroed := bytes.Clone(good)
	clear(zeroed[100:4096])
	for name, c := range map[string]struct {
		data []byte
		want error
	}{
		"text":       {[]byte(strings.Repeat("noonmark: 1\n", 1000)), ErrNotStore},
		"empty":      {nil, ErrDamaged},
		"truncated":  {good[:len(good)/2], ErrDamaged},
		"first page": {zeroed, ErrDamaged},
	} {
		path := filepath.Join(t.TempDir(), "store.db")
		ok(t, os.WriteFile(path, c.data, 0o600))
		s, err := Open(ctx, path, options())
		if err == nil {
			s.Close()
		}
		is(t, err, c.want, name)
		if err != nil && !strings.Contains(err.Error(), path) {
			t.Errorf("%s: the message %q does not name the file", name, err)
		}
		if left := must(os.ReadFile(path))(t); !bytes.Equal(left, c.data) {
			t.Errorf("%s: the file was changed", name)
		}
	}
	is(t, second(Open(ctx, t.TempDir(), options())), ErrNotStore, "a folder")
	// Another program's database.
	path := filepath.Join(t.TempDir(), "other.db")
	db := must(sql.Open("sqlite", path))(t)
	_, err := db.Exec("CREATE TABLE x (y)")
	ok(t, err)
	ok(t, db.Close())
	is(t, second(Open(ctx, path, options())), ErrNotStore, "another's database")
	// The journal of a store whose file is gone must not be played into a new one.
	path = filepath.Join(t.TempDir(), "store.db")
	ok(t, os.WriteFile(path+"-wal", []byte("x"), 0o600))
	is(t, second(Open(ctx, path, options())), ErrDamaged, "a journal alone")
}

// Bytes changed anywhere in the file: it is refused, or its check tells, or what is read is what was saved.
func TestDamage(t *testing.T) {
	good := must(os.ReadFile(filled(t)))(t)
	path := filepath.Join(t.TempDir(), "store.db")
	told := 0
	for at := 4100; at < len(good); at += 3301 { // free places too, where nothing is lost
		bad := bytes.Clone(good)
		for i := range 16 {
			bad[at+i] ^= 0x5a
		}
		ok(t, os.WriteFile(path, bad, 0o600))
		s, err := Open(ctx, path, options())
		if err != nil {
			is(t, err, ErrDamaged, fmt.Sprintf("byte %d", at))
			told++
			continue
		}
		r, err := s.Check(ctx)
		if err != nil {
			is(t, err, ErrDamaged, fmt.Sprintf("check, byte %d", at))
		}
		if err != nil || len(r.Damage) > 0 {
			told++
		}
		for n := 1; n <= 30; n++ {
			r, err := s.Read(ctx, "van", fmt.Sprint(n))
			want := example("heron-van")
			if n > 1 {
				want += fmt.Sprintf("# %d\n", n-1)
			}
			if err == nil && string(r.Text) != want {
				t.Errorf("byte %d: revision %d read wrong without a word", at, n)
			}
		}
		s.Close()
	}
	if told < 20 {
		t.Errorf("only %d damages told", told)
	}
}

// What was changed behind the store's back is told by Check and when it is read.
func TestCheckTells(t *testing.T) {
	for statement, want := range map[string]string{
		"UPDATE revision SET text = CAST('a: 9' AS BLOB) WHERE number = 30": "revision 30",
		"UPDATE revision SET text = CAST('a: 9' AS BLOB) WHERE number = 3":  "revision 3:",
		"UPDATE build SET head = 99":                                        "what it stands on",
		"UPDATE build SET name = '<b>'":                                     "<b>",
		"UPDATE build SET folded = 'bus'":                                   "another name",
		"UPDATE picture SET data = x'00'":                                   "picture",
		"UPDATE picture SET width = 7":                                      "it says",
		"DELETE FROM photo":                                                 "no photograph shows it",
		"UPDATE record SET data = x'00'":                                    "record 1",
		"UPDATE record SET kind = 'LOG'":                                    "kind",
		"INSERT INTO tag VALUES (1, 'y', 'x', 1, '', 0)":                    "a tag",
		"DELETE FROM build":                                                 "what it stands on",
	} {
		path := filled(t)
		db := must(sql.Open("sqlite", path))(t)
		_, err := db.Exec(statement)
		ok(t, err)
		ok(t, db.Close())
		s := opened(t, path)
		r, err := s.Check(ctx)
		ok(t, err)
		if !strings.Contains(strings.Join(r.Damage, "\n"), want) {
			t.Errorf("%s: damage %q, want %q", statement, r.Damage, want)
		}
	}
	s := opened(t, filled(t))
	_, err := s.db.Exec("UPDATE revision SET text = x'61'; UPDATE picture SET data = x'61'; UPDATE record SET data = x'61'")
	ok(t, err)
	is(t, second(s.Read(ctx, "van", "")), ErrDamaged, "text")
	is(t, second(s.Photo(ctx, 1)), ErrDamaged, "photograph")
	is(t, second(s.Record(ctx, 1)), ErrDamaged, "record")
	is(t, second(s.Save(ctx, "van", 30, draft("a: 1"))), ErrDamaged, "save upon a damaged head")
}

// A file that another program holds is ErrLocked after the wait; then all is as before.
func TestLocked(t *testing.T) {
	path := filled(t)
	o := options()
	o.Wait = 50 * time.Millisecond
	s, err := Open(ctx, path, o)
	ok(t, err)
	defer s.Close()
	db := must(sql.Open("sqlite", "file:"+path))(t)
	defer db.Close()
	c := must(db.Conn(ctx))(t)
	_, err = c.ExecContext(ctx, "BEGIN IMMEDIATE")
	ok(t, err)
	is(t, second(s.Save(ctx, "van", 30, draft("a: 1"))), ErrLocked, "save")
	if r := must(s.Read(ctx, "van", ""))(t); r.Number != 30 {
		t.Errorf("reading beside a writer: %+v", r)
	}
	_, err = c.ExecContext(ctx, "ROLLBACK")
	ok(t, err)
	must(s.Save(ctx, "van", 30, draft("a: 1")))(t)
	ok(t, s.Close())
	// Held whole, as by a program that does not share.
	_, err = c.ExecContext(ctx, "PRAGMA locking_mode = exclusive; BEGIN IMMEDIATE; UPDATE build SET changed = changed; COMMIT")
	ok(t, err)
	is(t, second(Open(ctx, path, o)), ErrLocked, "open")
}

// A full file: the change is refused whole, the rest stays, and writing goes on when there is room.
func TestFull(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft(body(1))))(t)
	s.db.SetMaxOpenConns(1) // the limit is the connection's
	var pages int
	ok(t, s.db.QueryRow("PRAGMA page_count").Scan(&pages))
	_, err := s.db.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages+20))
	ok(t, err)
	last := 1
	for err == nil && last < 1000 {
		var r Revision
		if r, err = s.Save(ctx, "van", last, draft(body(last+1))); err == nil {
			last = r.Number
		}
	}
	is(t, err, ErrFull, "save")
	is(t, second(s.AddPhoto(ctx, "van", Photo{Name: "a.png", Data: append(pngPicture(9, 9), make([]byte, 1<<20)...)})), ErrFull, "photograph")
	if last < 3 || last > 900 {
		t.Errorf("full after %d", last)
	}
	if r := must(s.Read(ctx, "van", ""))(t); r.Number != last || string(r.Text) != body(last) {
		t.Errorf("head %d, want %d", r.Number, last)
	}
	s = reopened(t, s)
	whole(t, s)
	must(s.Save(ctx, "van", last, draft(body(last+1))))(t)
}

// A store of an older version is brought up to date with what it holds; a newer one is left alone.
func TestMigrations(t *testing.T) {
	for v := 1; v < len(migrations); v++ {
		path := filepath.Join(t.TempDir(), "store.db")
		s, err := open(ctx, path, options(), migrations[:v], modeMake)
		ok(t, err)
		must(s.Add(ctx, "van", draft(example("heron-van"))))(t)
		must(s.Save(ctx, "van", 1, draft("a: 2")))(t)
		must(s.Tag(ctx, "van", "as built", "1", ""))(t)
		ok(t, s.Close())
		var wg sync.WaitGroup
		for range 3 { // opened by several at once
			wg.Go(func() {
				s, err := Open(ctx, path, options())
				if err != nil {
					t.Error(err)
					return
				}
				s.Close()
			})
		}
		wg.Wait()
		s = opened(t, path)
		if r := must(s.Read(ctx, "van", "as built"))(t); string(r.Text) != example("heron-van") {
			t.Errorf("from version %d: the text is lost", v)
		}
		if r := whole(t, s); r.Version != len(migrations) || r.Revisions != 2 {
			t.Errorf("from version %d: %+v", v, r)
		}
		must(s.AddPhoto(ctx, "van", Photo{Name: "a.png", Data: pngPicture(1, 1)}))(t)
		must(s.AddRecord(ctx, "van", Record{Kind: "log", Form: "csv", Data: []byte("a")}))(t)
	}
	// An older one that may only be read cannot be brought up to date, and says so.
	old := filepath.Join(t.TempDir(), "store.db")
	s0, err := open(ctx, old, options(), migrations[:1], modeMake)
	ok(t, err)
	ok(t, s0.Close())
	if _, err := open(ctx, old, options(), migrations, modeRead); !errors.Is(err, ErrReadOnly) || !strings.Contains(err.Error(), "version 1") {
		t.Errorf("an older file for reading only: %v", err)
	}
	// A step that fails leaves the version before it, whole.
	path := filepath.Join(t.TempDir(), "store.db")
	s, err := open(ctx, path, options(), migrations[:1], modeMake)
	ok(t, err)
	must(s.Add(ctx, "van", draft("a: 1")))(t)
	ok(t, s.Close())
	if _, err := open(ctx, path, options(), []string{migrations[0], "CREATE TABLE half (x); CREATE TABLE build (x);"}, modeWrite); err == nil {
		t.Fatal("a bad step passed")
	}
	s = opened(t, path)
	var half int
	ok(t, s.db.QueryRow("SELECT count(*) FROM sqlite_schema WHERE name = 'half'").Scan(&half))
	if half != 0 {
		t.Error("half a step stayed")
	}
	whole(t, s)
	ok(t, s.Close())
	s, err = open(ctx, path, options(), append(migrations[:len(migrations):len(migrations)], "CREATE TABLE more (x)"), modeWrite)
	ok(t, err)
	ok(t, s.Close())
	is(t, second(Open(ctx, path, options())), ErrNewer, "a newer file")
}

// No migration that was ever used may change: a file of its version is out there. A new one is appended, here too.
func TestMigrationsStay(t *testing.T) {
	pinned := []string{"bc83eb64cf694dce", "bc14e9091fb3e7d5", "78deaba9d8f2cbba"}
	if len(pinned) != len(migrations) {
		t.Fatalf("%d migrations, %d pinned", len(migrations), len(pinned))
	}
	for i, m := range migrations {
		if got := fmt.Sprintf("%x", sha256.Sum256([]byte(m)))[:16]; got != pinned[i] {
			t.Errorf("migration %d was changed: %s, want %s", i+1, got, pinned[i])
		}
	}
}

// Every connection keeps foreign keys, writes ahead, and acknowledges only what is on the disk.
func TestPragmas(t *testing.T) {
	s := fresh(t)
	for range 8 { // all there may be, held at once
		c := must(s.db.Conn(ctx))(t)
		defer c.Close()
		for pragma, want := range map[string]string{"foreign_keys": "1", "journal_mode": "wal", "synchronous": "2", "fullfsync": "1", "busy_timeout": "5000"} {
			var got string
			ok(t, c.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&got))
			if got != want {
				t.Errorf("%s is %s, want %s", pragma, got, want)
			}
		}
	}
}

// A backup made while others write is a whole store of one moment, and writes over nothing.
func TestBackup(t *testing.T) {
	s := opened(t, filled(t))
	stop, done := make(chan bool), make(chan int)
	go func() {
		n := 30
		for {
			select {
			case <-stop:
				done <- n
				return
			default:
			}
			r, err := s.Save(ctx, "van", n, draft(body(n+1)))
			if err != nil {
				t.Error(err)
				done <- n
				return
			}
			n = r.Number
		}
	}()
	dir := t.TempDir()
	for i := range 5 {
		to := filepath.Join(dir, fmt.Sprintf("back up %d.db", i))
		size := must(s.Backup(ctx, to))(t)
		if info := must(os.Stat(to))(t); info.Size() != size || info.Mode().Perm()&0o077 != 0 {
			t.Errorf("size %d, want %d; mode %v", info.Size(), size, info.Mode())
		}
		copied := opened(t, to)
		r := whole(t, copied)
		head := must(copied.Read(ctx, "van", ""))(t)
		if r.Revisions != head.Number || r.Photos != 1 || r.Records != 1 || head.Number > 30 && string(head.Text) != body(head.Number) {
			t.Errorf("backup %d: %+v, head %d", i, r, head.Number)
		}
		ok(t, copied.Close())
		is(t, second(s.Backup(ctx, to)), ErrExists, "over a backup")
	}
	is(t, second(s.Backup(ctx, s.Path())), ErrExists, "over itself")
	if _, err := s.Backup(ctx, filepath.Join(dir, "no folder", "x.db")); err == nil {
		t.Error("into no folder")
	}
	close(stop)
	last := <-done
	if r := must(s.Read(ctx, "van", ""))(t); r.Number != last {
		t.Errorf("head %d, want %d", r.Number, last)
	}
	left, err := filepath.Glob(filepath.Join(dir, "*.new-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}

// Any name of a file will do, and the file is the user's own.
func TestOddName(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a folder", "50% of #1?mode=memory&x.db")
	s := opened(t, path)
	must(s.Add(ctx, "van", draft("a: 1")))(t)
	ok(t, s.Close())
	info := must(os.Stat(path))(t)
	if info.Size() == 0 || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("%d bytes, mode %v", info.Size(), info.Mode())
	}
	entries := must(os.ReadDir(filepath.Dir(path)))(t)
	if len(entries) != 1 {
		t.Errorf("left behind: %v", entries)
	}
	t.Setenv("XDG_CONFIG_HOME", "/somewhere")
	t.Setenv("HOME", "/somewhere")
	if file, err := DefaultFile(); err != nil || !strings.HasSuffix(file, filepath.Join("noonmark", "store.db")) {
		t.Errorf("default %s %v", file, err)
	}
}

// Several programs make one new store at once: all get the same one.
func TestMadeAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store.db")
	var wg sync.WaitGroup
	for i := range 6 {
		wg.Go(func() {
			s, err := Open(ctx, path, options())
			if err == nil {
				_, err = s.Add(ctx, fmt.Sprint("van ", i), draft("a: 1"))
				s.Close()
			}
			if err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if b := must(opened(t, path).Builds(ctx))(t); len(b) != 6 {
		t.Errorf("%d builds, want 6", len(b))
	}
}

// An error that is not the file's comes back as it is.
func TestSorted(t *testing.T) {
	plain := errors.New("x")
	if sorted("f", plain) != plain || sorted("f", nil) != nil || named("f", nil) != nil {
		t.Error("changed")
	}
	if err := named("f", plain); err.Error() != "f: x" || !errors.Is(err, plain) {
		t.Errorf("got %v", err)
	}
	is(t, sorted("f", &os.PathError{Err: os.ErrPermission}), ErrReadOnly, "permission")
	var ps problem.List
	ps.Addf("x", "y")
	if err := sorted("f", ps.Err()); err.Error() != "x: y" {
		t.Errorf("got %v", err)
	}
}
