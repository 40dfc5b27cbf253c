package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
)

// buffer is an output that a server writes while a test reads.
type buffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *buffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *buffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

// fromNoon is a clock that goes on from a midsummer noon: what a test says must not hang on the hour it is run.
func fromNoon() func() time.Time {
	began := time.Now()
	return func() time.Time { return clockOf()().Add(time.Since(began)) }
}

// serving starts the command on a free port and returns its address and how to stop it.
func serving(t *testing.T, args ...string) (address string, stop func() int) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	out := &buffer{}
	done := make(chan int, 1)
	go func() {
		done <- Run(ctx, append([]string{"serve"}, args...), Streams{In: strings.NewReader(""), Out: out, Err: out, Clock: fromNoon()})
	}()
	t.Cleanup(cancel)
	find := regexp.MustCompile(`http://127\.0\.0\.1:\d+/`)
	for range 200 {
		if address = find.FindString(out.String()); address != "" {
			return address, func() int { cancel(); return <-done }
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatal("no address: ", out.String())
	return "", nil
}

// serve answers on the loopback, the commands by JSON are the command line's own, and it stops when told.
func TestServe(t *testing.T) {
	data := filepath.Join(t.TempDir(), "new folder", "store.db")
	address, stop := serving(t, "--data", data, "--listen", "127.0.0.1:0")
	van, err := os.ReadFile("../../../examples/heron-van.yaml")
	if err != nil {
		t.Fatal(err)
	}
	readings, err := os.ReadFile("../../../examples/readings/side-by-side.csv")
	if err != nil {
		t.Fatal(err)
	}
	post := func(path string, v any) (int, map[string]any) {
		body, _ := json.Marshal(v)
		r, err := http.Post(address+path, "application/json", bytes.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		var out map[string]any
		if err := json.NewDecoder(r.Body).Decode(&out); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		return r.StatusCode, out
	}
	type fields = map[string]any
	for _, c := range []struct {
		path string
		in   fields
		want string
	}{
		{"api/builds", fields{"name": "van", "text": string(van)}, "revision"},
		{"api/commands/trip", fields{"store": "van", "flags": fields{"years": 1}}, "days"},
		{"api/commands/shade", fields{"build": string(van), "flags": fields{"no-mends": true}}, "obstacles"},
		{"api/commands/record", fields{"store": "van"}, "entries"},
		{"api/commands/arrange", fields{"store": "van", "flags": fields{"judged": 5}}, "candidates"},
		{"api/commands/choose", fields{"store": "van", "flags": fields{"judged": 5, "among": "foil-90,glass-100"}}, "types"},
		{"api/commands/bench", fields{"readings": string(readings), "flags": fields{"module": "110 W mono Voc 22.1 V Isc 6.4 A", "at": "38,-7"}}, "readings"},
		{"api/commands/now", fields{"args": fields{"label": "foil CIGS 90 W"}, "flags": fields{"at": "38,-7", "time": "2027-06-21T12:00Z"}}, "voc_V"},
		{"api/commands/curve", fields{"store": "van", "args": fields{"module": "A"}}, "voc_V"},
		{"api/commands/sun", fields{"flags": fields{"at": "38,-7", "time": "2027-06-21T12:00Z"}}, "zenith_deg"},
		{"api/commands/sky", fields{"flags": fields{"at": "38,-7", "time": "2027-06-21T12:00Z"}}, "plane_Wm2"},
		{"api/commands/cable", fields{"flags": fields{"current": "15 A", "length": "6 m", "size": "6 mm²", "voltage": "12.8 V"}}, "drop_V"},
		{"api/commands/version", fields{}, "version"},
	} {
		if code, out := post(c.path, c.in); code != 200 || out[c.want] == nil {
			t.Errorf("%s: %d, %v", c.path, code, out["error"])
		}
	}
	if code, out := post("api/commands/cable", fields{"flags": fields{"current": "15"}}); code != 400 || out["error"] == nil {
		t.Errorf("wrong use: %d %v", code, out)
	}
	if code := stop(); code != ExitDone {
		t.Errorf("exit %d", code)
	}
}

// serve refuses to listen beyond this machine without --phone, and says which place is taken.
func TestServeRefuses(t *testing.T) {
	data := filepath.Join(t.TempDir(), "store.db")
	for _, args := range [][]string{{"--listen", "0.0.0.0:0"}, {"--listen", "192.168.1.1:80"}, {"--listen", "here"}, {"--listen", "127.0.0.1:99999"}, {"extra"}} {
		if out, errs, code := do(t, "", append([]string{"serve", "--data", data}, args...)...); code != ExitUse || out != "" || errs == "" {
			t.Errorf("%v: exit %d, %q", args, code, errs)
		}
	}
}

// With --phone it prints where, the code, and its square; this machine needs no code.
func TestServePhone(t *testing.T) {
	address, stop := serving(t, "--data", filepath.Join(t.TempDir(), "store.db"), "--listen", "0.0.0.0:0", "--phone")
	r, err := http.Get(address + "phone")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	if r.StatusCode != 200 {
		t.Errorf("the page for phones: %d", r.StatusCode)
	}
	if code := stop(); code != ExitDone {
		t.Errorf("exit %d", code)
	}
}
