package cli

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"noonmark/internal/edge/store"
)

// childServes makes the test's own binary serve a data file, as another program that can be killed.
const childServes = "NOONMARK_TEST_SERVES"

func TestMain(m *testing.M) {
	if file := os.Getenv(childServes); file != "" {
		os.Exit(Run(context.Background(), []string{"serve", "--data", file, "--listen", "127.0.0.1:0"}, Streams{In: strings.NewReader(""), Out: os.Stdout, Err: os.Stderr, Clock: fromNoon()}))
	}
	os.Exit(m.Run())
}

// child starts the program on a data file, by way of a shell line when one is given, and returns its address.
func child(t *testing.T, file, shell string) (address string, kill func()) {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(exe)
	if shell != "" {
		c = exec.Command("sh", "-c", shell+" exec "+exe)
	}
	c.Env = append(os.Environ(), childServes+"="+file)
	out, err := c.StdoutPipe()
	if err == nil {
		err = c.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	kill = func() { c.Process.Kill(); c.Wait() }
	t.Cleanup(kill)
	find := regexp.MustCompile(`http://127\.0\.0\.1:\d+/`)
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if address = find.FindString(lines.Text()); address != "" {
			go io.Copy(io.Discard, out)
			return address, kill
		}
	}
	t.Fatal("it does not serve")
	return "", nil
}

// answer is what a revision's JSON says.
type answer struct {
	Revision int
	Text     string
	Error    string
}

func posted(address, path string, v any) (int, answer, error) {
	body, _ := json.Marshal(v)
	c := http.Client{Timeout: 20 * time.Second}
	r, err := c.Post(address+path, "application/json", bytes.NewReader(body))
	if err != nil {
		return 0, answer{}, err
	}
	defer r.Body.Close()
	var out answer
	err = json.NewDecoder(r.Body).Decode(&out)
	return r.StatusCode, out, err
}

// numbered is a text told by its number, long enough to fill several pages of the file.
func numbered(n int) string {
	return fmt.Sprintf("name: n%d\n", n) + strings.Repeat(fmt.Sprintf("# revision %d\n", n), n*7%500)
}

// Killed at random instants inside 200 writes through HTTP, the program loses nothing that it acknowledged, and
// its file opens and is sound.
func TestKillServe(t *testing.T) {
	if testing.Short() {
		t.Skip("kills a program many times")
	}
	const writes = 200
	file := filepath.Join(t.TempDir(), "store.db")
	random := rand.New(rand.NewPCG(1, 2))
	known := map[int]string{}
	last, kills := 0, 0
	for last < writes {
		address, kill := child(t, file, "")
		if last == 0 {
			if code, out, err := posted(address, "api/builds", map[string]any{"name": "van", "text": numbered(1)}); err == nil && code == 200 {
				last = out.Revision
				known[last] = numbered(last)
			}
		} else {
			head := struct{ Revision int }{}
			r, err := http.Get(address + "api/builds/van")
			if err != nil {
				t.Fatal(err)
			}
			if err := json.NewDecoder(r.Body).Decode(&head); err != nil {
				t.Fatal(err)
			}
			r.Body.Close()
			if head.Revision < last {
				t.Fatalf("revision %d was acknowledged, %d is there", last, head.Revision)
			}
			last = head.Revision
			known[last] = numbered(last)
		}
		var dead *time.Timer
		for last < writes {
			began := time.Now()
			code, out, err := posted(address, "api/builds/van", map[string]any{"base": last, "text": numbered(last + 1)})
			if err != nil {
				break // killed
			}
			if code != 200 || out.Revision != last+1 {
				t.Fatalf("write %d: %d %+v", last+1, code, out)
			}
			last = out.Revision
			known[last] = numbered(last)
			if dead == nil { // some writes on, whatever this machine's pace, and inside one of them
				dead = time.AfterFunc(time.Duration((1+14*random.Float64())*float64(time.Since(began))), kill)
			}
		}
		if dead != nil && !dead.Stop() {
			kills++
		}
		kill()
	}
	st, err := store.Open(context.Background(), file, store.Options{Clock: clockOf()})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	for n, text := range known {
		if r, err := st.Read(context.Background(), "van", fmt.Sprint(n)); err != nil || string(r.Text) != text {
			t.Errorf("revision %d was acknowledged: %v", n, err)
		}
	}
	if kills < 5 {
		t.Errorf("killed %d times only", kills)
	}
	t.Logf("%d writes, killed %d times", last, kills)
}

// A file that grows to its limit, as on a full disk: the page says so, what was acknowledged is there, and
// reading goes on.
func TestFullServe(t *testing.T) {
	file := filepath.Join(t.TempDir(), "store.db")
	address, kill := child(t, file, "trap '' XFSZ; ulimit -f 600;") // 512-byte blocks, 300 kB
	code, out, err := posted(address, "api/builds", map[string]any{"name": "van", "text": "name: one"})
	if err != nil || code != 200 {
		t.Fatal(code, err)
	}
	last, refused := out.Revision, 0
	for n := range 60 {
		text := fmt.Sprintf("name: n%d\n", n)
		for i := range 900 { // nothing that compresses away
			text += fmt.Sprintf("# %d %d\n", n*7919+i*104729, i)
		}
		code, out, err := posted(address, "api/builds/van", map[string]any{"base": last, "text": text})
		if err != nil {
			t.Fatal(err)
		}
		if code == 200 {
			last = out.Revision
			continue
		}
		if refused++; code != http.StatusInsufficientStorage && code != http.StatusServiceUnavailable || !strings.Contains(out.Error, "full") && !strings.Contains(out.Error, "nothing of this change was kept") {
			t.Fatalf("write %d: %d %q", n, code, out.Error)
		}
		if refused == 3 {
			break
		}
	}
	if refused == 0 {
		t.Fatal("the limit was never reached")
	}
	r, err := http.Get(address + "api/builds/van")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	var head answer
	if err := json.NewDecoder(r.Body).Decode(&head); err != nil || head.Revision != last {
		t.Errorf("revision %d after the disk was full, %d was acknowledged, %v", head.Revision, last, err)
	}
	kill()
	st, err := store.Open(context.Background(), file, store.Options{Clock: clockOf()})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	if r, err := st.Read(context.Background(), "van", ""); err != nil || r.Number != last {
		t.Errorf("revision %d, %v, want %d", r.Number, err, last)
	}
}

// A file that is damaged or may only be read: a clear word at the start or a clear page, and the file is as it
// was. One that is locked is the store's own test, and its page TestStoreFaults of web.
func TestFaultyFiles(t *testing.T) {
	file := filepath.Join(t.TempDir(), "store.db")
	address, kill := child(t, file, "")
	if code, _, err := posted(address, "api/builds", map[string]any{"name": "van", "text": "name: one"}); err != nil || code != 200 {
		t.Fatal(code, err)
	}
	kill()

	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	damaged := filepath.Join(t.TempDir(), "damaged.db")
	if err := os.WriteFile(damaged, append([]byte("SQLite format 3\x00"), bytes.Repeat([]byte{0xff}, 9000)...), 0o600); err != nil {
		t.Fatal(err)
	}
	before, _ := os.ReadFile(damaged)
	_, errs, code := do(t, "", "serve", "--data", damaged, "--listen", "127.0.0.1:0")
	if code == ExitDone || !strings.Contains(errs, "damaged") && !strings.Contains(errs, "no data file") && !strings.Contains(errs, "not a") {
		t.Errorf("a damaged file: exit %d, %q", code, errs)
	}
	if after, _ := os.ReadFile(damaged); !bytes.Equal(before, after) {
		t.Error("the damaged file was changed")
	}
	if os.Geteuid() == 0 {
		return // root may write what is read-only; the store's own tests drop its rights
	}
	if err := os.WriteFile(file, whole, 0o400); err != nil {
		t.Fatal(err)
	}
	os.Chmod(file, 0o400)
	address, _ = child(t, file, "")
	if code, out, err := posted(address, "api/builds/van", map[string]any{"base": 1, "text": "name: two"}); err != nil || code != http.StatusServiceUnavailable || !strings.Contains(out.Error, "read") {
		t.Errorf("a read-only file: %d %q %v", code, out.Error, err)
	}
}

// The first page of a cold start comes within half a second on a quiet machine; the test allows five times
// that, for other work may run beside it, and prints the time.
func TestColdStart(t *testing.T) {
	file := filepath.Join(t.TempDir(), "store.db")
	began := time.Now()
	address, _ := child(t, file, "")
	r, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	page, err := io.ReadAll(r.Body)
	r.Body.Close()
	took := time.Since(began)
	if err != nil || r.StatusCode != 200 || !bytes.Contains(page, []byte("The shelf is empty")) {
		t.Errorf("%d %v", r.StatusCode, err)
	}
	t.Logf("from the start of the program to its first page: %v", took.Round(time.Millisecond))
	if took > 2500*time.Millisecond {
		t.Errorf("the first page after %v, want 0.5 s", took)
	}
}
