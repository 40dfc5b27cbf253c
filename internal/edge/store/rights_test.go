//go:build unix

package store

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// childSmallDisk writes under a limit of the system on the size of files until it is refused, prints what was
// acknowledged, and the kind of refusal.
func childSmallDisk(file string) {
	signal.Ignore(syscall.SIGXFSZ)
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 400 << 10, Max: 400 << 10}); err != nil {
		fmt.Println("error", err)
		return
	}
	s, err := Open(ctx, file, options())
	if err != nil {
		fmt.Println("error", err)
		return
	}
	last := 1
	for err == nil && last < 5000 {
		var r Revision
		if r, err = s.Save(ctx, "van", last, draft(body(last+1))); err == nil {
			last = r.Number
			fmt.Println("revision", last)
		}
	}
	if !errors.Is(err, ErrFull) && !errors.Is(err, ErrDisk) {
		fmt.Println("error", err)
		return
	}
	if r, err := s.Read(ctx, "van", ""); err != nil || r.Number != last {
		fmt.Println("error: reading after the refusal:", r.Number, err)
	}
	fmt.Println("refused")
	os.Exit(0)
}

// childNobody gives up root's rights and uses a store that it may only read.
func childNobody(file string) {
	if err := syscall.Setuid(65534); err != nil {
		fmt.Println("error", err)
		return
	}
	s, err := Open(ctx, file, options())
	if err != nil {
		fmt.Println("open", err)
		if errors.Is(err, ErrReadOnly) {
			fmt.Println("refused as read-only")
		}
		return
	}
	defer s.Close()
	r, err := s.Read(ctx, "van", "")
	fmt.Println("read", r.Number, err, s.ReadOnly())
	if _, err := s.Save(ctx, "van", r.Number, draft("a: 2")); !errors.Is(err, ErrReadOnly) {
		fmt.Println("save", err)
	}
	if dir, err := os.MkdirTemp("", "noonmark-backup"); err != nil {
		fmt.Println(err)
	} else {
		defer os.RemoveAll(dir)
		if _, err := s.Backup(ctx, filepath.Join(dir, "copy.db")); err != nil {
			fmt.Println("backup", err)
		}
	}
	if rep, err := s.Check(ctx); err != nil || len(rep.Damage) > 0 {
		fmt.Println("check", rep.Damage, err)
	}
}

// said collects what a child prints.
func said(out *bufio.Scanner) (all []string) {
	for out.Scan() {
		all = append(all, out.Text())
	}
	return all
}

// The system refuses to write more: everything acknowledged stays, and the store goes on when there is room.
func TestSmallDisk(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft(body(1))))(t)
	ok(t, s.Close())
	c, out := child(t, "small", s.Path())
	all := said(out)
	ok(t, c.Wait())
	if len(all) < 5 || all[len(all)-1] != "refused" {
		t.Fatalf("the child says: %v", all)
	}
	last := 0
	fmt.Sscanf(all[len(all)-2], "revision %d", &last)
	s = opened(t, s.Path())
	whole(t, s)
	r := must(s.Read(ctx, "van", ""))(t)
	if r.Number != last || string(r.Text) != body(last) {
		t.Errorf("head %d, acknowledged %d", r.Number, last)
	}
	must(s.Save(ctx, "van", last, draft(body(last+1))))(t)
}

// A file, or a folder, that may only be read: what is in it can be read, writing is ErrReadOnly.
func TestReadOnly(t *testing.T) {
	use := func(file string) []string {
		if os.Getuid() != 0 { // this user's own rights count
			s, err := Open(ctx, file, options())
			if err != nil {
				return []string{"open " + err.Error()}
			}
			defer s.Close()
			r, err := s.Read(ctx, "van", "")
			is(t, second(s.Save(ctx, "van", r.Number, draft("a: 2"))), ErrReadOnly, "save")
			return []string{fmt.Sprintln("read", r.Number, err, s.ReadOnly())}
		}
		c, out := child(t, "nobody", file)
		all := said(out)
		ok(t, c.Wait())
		return all
	}
	for _, folder := range []os.FileMode{0o777, 0o555} {
		for _, running := range []bool{false, true} {
			path := filled(t)
			for dir := filepath.Dir(path); dir != os.TempDir() && len(dir) > 1; dir = filepath.Dir(dir) {
				ok(t, os.Chmod(dir, 0o755))
			}
			if running { // a journal that is not empty, as another user's program leaves it
				s := opened(t, path)
				must(s.Save(ctx, "van", 30, draft("a: 31")))(t)
				for _, end := range []string{"-wal", "-shm"} {
					ok(t, os.Chmod(path+end, 0o444))
				}
			}
			ok(t, os.Chmod(path, 0o444))
			ok(t, os.Chmod(filepath.Dir(path), folder))
			want := map[bool]string{false: "read 30 <nil> true", true: "read 31 <nil> true"}[running]
			if all := use(path); len(all) != 1 || strings.TrimSpace(all[0]) != want {
				t.Errorf("folder %v, in use %v: %q, want %q", folder, running, all, want)
			}
			ok(t, os.Chmod(filepath.Dir(path), 0o755))
		}
	}
	if os.Getuid() == 0 {
		dir := t.TempDir()
		ok(t, os.Chmod(dir, 0o755))
		ok(t, os.Chmod(filepath.Dir(dir), 0o755))
		if all := use(filepath.Join(dir, "store.db")); len(all) != 2 || all[1] != "refused as read-only" {
			t.Errorf("a new store in a folder that may only be read: %q", all)
		}
	}
}
