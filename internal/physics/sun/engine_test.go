package sun

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"noonmark/internal/base/cite"
	"noonmark/internal/testkit"
)

// script asks the library for the airless topocentric place of each line "seconds lat lon height".
const script = `
const A = require(process.argv[1] + '/astronomy-engine');
const lines = require('fs').readFileSync(0, 'utf8').trim().split('\n');
console.log(lines.map(l => {
  const [s, lat, lon, h] = l.split(' ').map(Number);
  const t = A.MakeTime(new Date(s * 1000));
  const o = new A.Observer(lat, lon, h);
  const e = A.Equator(A.Body.Sun, t, o, true, true);
  const p = A.Horizon(t, o, e.ra, e.dec);
  return p.altitude + ' ' + p.azimuth;
}).join('\n'));
`

// Source: Astronomy Engine 2.1 (npm, MIT), a general astronomy library, at 10,000 random instants and places, 1950 to 2100.
func TestAstronomyLibrary(t *testing.T) {
	modules := os.Getenv("NOONMARK_ASTRONOMY")
	if modules == "" || testing.Short() {
		t.Skip("not run: NOONMARK_ASTRONOMY does not name a node_modules folder with astronomy-engine")
	}
	const seed, n = 1950, 10000
	r := rand.New(rand.NewPCG(seed, 2100))
	type question struct {
		at   time.Time
		site Site
	}
	begin, end := time.Date(1950, 1, 1, 0, 0, 0, 0, time.UTC).Unix(), time.Date(2101, 1, 1, 0, 0, 0, 0, time.UTC).Unix()
	var in strings.Builder
	asked := make([]question, n)
	for i := range asked {
		s := begin + r.Int64N(end-begin)
		lat, lon, height := r.Float64()*180-90, r.Float64()*360-180, r.Float64()*4500
		asked[i] = question{time.Unix(s, 0), site(lat, lon, height)}
		fmt.Fprintln(&in, s, lat, lon, height)
	}
	cmd := exec.Command("node", "-e", script, modules)
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var all worst
	for i, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		var e, a float64
		if _, err := fmt.Sscan(line, &e, &a); err != nil {
			t.Fatal(err)
		}
		all.add(from(At(asked[i].at, asked[i].site), e, a))
	}
	if all.n != n {
		t.Fatalf("%d answers, want %d", all.n, n)
	}
	t.Logf("seed %d, %d instants 1950 to 2100: worst %.5f° (%.1f″), rms %.5f° (%.1f″)", seed, n, all.max, all.max*3600, all.rms(), all.rms()*3600)
	testkit.Published(t, all.max, testkit.Check{What: "worst separation of 10,000 instants, degrees", Source: cite.Source{Title: "Astronomy Engine 2.1 (npm, MIT)", Where: "Equator and Horizon, no refraction"}, Want: 0, Tol: 0.01, Why: "the project's bound"})
}
