package store

import (
	"bufio"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// writes is how many the child does in all.
const writes = 200

// body is the text of a revision: long enough to fill several pages, and told by its number.
func body(n int) string {
	return fmt.Sprintf("n: %d\n", n) + strings.Repeat(fmt.Sprintf("# revision %d\n", n), n*7%700)
}

// childWriter goes on where the file stands, and prints each write once it was acknowledged.
func childWriter(file string) {
	s, err := Open(ctx, file, options())
	if err != nil {
		fmt.Println("error", err)
		return
	}
	r, err := s.Read(ctx, "van", "")
	if errors.Is(err, ErrNotFound) {
		r, err = s.Add(ctx, "van", draft(body(1)))
		fmt.Println("revision", 1)
	}
	for n := r.Number + 1; err == nil && n <= writes; n++ {
		if r, err = s.Save(ctx, "van", n-1, draft(body(n))); err != nil {
			break
		}
		fmt.Println("revision", r.Number)
		if n%9 == 0 {
			var p Photo
			if p, err = s.AddPhoto(ctx, "van", Photo{Name: "a.png", Data: pngPicture(n, 40)}); err == nil {
				fmt.Println("photo", p.ID)
			}
		}
	}
	if err != nil {
		fmt.Println("error", err)
	}
}

// childCounter saves 40 revisions against another program that does the same, taking the head as its base anew
// after each conflict.
func childCounter(file string) {
	s, err := Open(ctx, file, options())
	if err != nil {
		fmt.Println("error", err)
		return
	}
	base := 1
	for n := 0; n < 40; {
		r, err := s.Save(ctx, "van", base, draft(fmt.Sprintf("n: %d.%d", os.Getpid(), n)))
		var c *Conflict
		switch {
		case errors.As(err, &c):
			base = c.Head
		case err != nil:
			fmt.Println("error", err)
			return
		default:
			fmt.Printf("revision %d %d.%d\n", r.Number, os.Getpid(), n)
			base, n = r.Number, n+1
		}
	}
}

// child starts the test program again as one of the children.
func child(t *testing.T, what, file string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	c := exec.Command(must(os.Executable())(t))
	c.Env = append(os.Environ(), "NOONMARK_STORE_CHILD="+what, "NOONMARK_STORE_FILE="+file)
	c.Stderr = os.Stderr
	out := must(c.StdoutPipe())(t)
	ok(t, c.Start())
	return c, bufio.NewScanner(out)
}

// A program killed at random instants inside 200 writes loses nothing it acknowledged, and leaves a file that
// opens and is whole. (The power going is another matter: that rests on SQLite's full synchronisation.)
func TestKill(t *testing.T) {
	file := filepath.Join(t.TempDir(), "store.db")
	random := rand.New(rand.NewPCG(20270621, 1))
	last, kills, photos := 0, 0, map[string]bool{}
	for run := 0; last < writes; run++ {
		if run > 10*writes { // under load a child may save nothing before it is killed
			t.Fatalf("no end: at %d after %d kills", last, kills)
		}
		c, out := child(t, "writer", file)
		kill := func() { c.Process.Kill() }
		timer := time.NewTimer(time.Hour)
		if run%4 == 0 { // some while it opens the file
			timer = time.AfterFunc(time.Duration(random.IntN(100))*time.Millisecond, kill)
		}
		for first := true; out.Scan(); first = false {
			if first && run%4 != 0 {
				timer = time.AfterFunc(time.Duration(random.IntN(60_000))*time.Microsecond, kill)
			}
			what, rest, _ := strings.Cut(out.Text(), " ")
			switch what {
			case "revision":
				n := 0
				fmt.Sscan(rest, &n)
				last = max(last, n)
			case "photo":
				photos[rest] = true
			default:
				t.Errorf("the child says: %s", out.Text())
			}
		}
		timer.Stop()
		if err := c.Wait(); err != nil {
			kills++
		}
		if last == 0 {
			continue
		}
		s, err := Open(ctx, file, options())
		if err != nil {
			t.Fatalf("after kill %d: %v", kills, err)
		}
		r, err := s.Read(ctx, "van", "")
		if err != nil || r.Number < last || string(r.Text) != body(r.Number) {
			t.Fatalf("after kill %d: revision %d, %v; acknowledged were %d", kills, r.Number, err, last)
		}
		whole(t, s)
		ok(t, s.Close())
	}
	s := opened(t, file)
	for n := 1; n <= writes; n++ {
		if r := must(s.Read(ctx, "van", fmt.Sprint(n)))(t); string(r.Text) != body(n) {
			t.Errorf("revision %d is not what was saved", n)
		}
	}
	for id := range photos {
		n := int64(0)
		fmt.Sscan(id, &n)
		must(s.Photo(ctx, n))(t)
	}
	if kills < 5 {
		t.Errorf("only %d kills", kills)
	}
	t.Logf("%d kills, %d photographs", kills, len(photos))
}

// Two programs write to one build: each acknowledged revision is there with its text, and none was written over.
func TestTwoPrograms(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft("n: 0")))(t)
	a, outA := child(t, "counter", s.Path())
	b, outB := child(t, "counter", s.Path())
	acknowledged := map[string]string{}
	for _, out := range []*bufio.Scanner{outA, outB} {
		for out.Scan() {
			f := strings.Fields(out.Text())
			if len(f) != 3 || f[0] != "revision" {
				t.Fatalf("a child says: %s", out.Text())
			}
			if acknowledged[f[1]] != "" {
				t.Errorf("revision %s twice", f[1])
			}
			acknowledged[f[1]] = "n: " + f[2]
		}
	}
	ok(t, a.Wait())
	ok(t, b.Wait())
	if len(acknowledged) != 80 {
		t.Errorf("%d acknowledged, want 80", len(acknowledged))
	}
	for ref, text := range acknowledged {
		if r := must(s.Read(ctx, "van", ref))(t); string(r.Text) != text {
			t.Errorf("revision %s: %q, want %q", ref, r.Text, text)
		}
	}
	whole(t, s)
}
