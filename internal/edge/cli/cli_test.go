package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"noonmark/examples"
)

// do runs a command line in process.
func do(t *testing.T, in string, args ...string) (out, errs string, code int) {
	t.Helper()
	var o, e bytes.Buffer
	code = Run(context.Background(), args, Streams{In: strings.NewReader(in), Out: &o, Err: &e,
		Clock: func() time.Time { return time.Date(2027, 6, 21, 11, 0, 0, 0, time.UTC) }})
	return o.String(), e.String(), code
}

// file writes an example to a file.
func file(t *testing.T, name string) string {
	t.Helper()
	for _, e := range append(examples.All(), examples.Bad()...) {
		if e.Name == name {
			path := filepath.Join(t.TempDir(), name+".yaml")
			if err := os.WriteFile(path, e.Text, 0o644); err != nil {
				t.Fatal(err)
			}
			return path
		}
	}
	t.Fatalf("no example %s", name)
	return ""
}

// fields runs a command with --json and demands the contract's fields, and nothing on the side.
func fields(t *testing.T, want string, args ...string) map[string]any {
	t.Helper()
	out, errs, code := do(t, "", append(args, "--json")...)
	if code != ExitDone && code != ExitShort {
		t.Fatalf("%v: exit %d, %s", args, code, errs)
	}
	var v map[string]any
	d := json.NewDecoder(strings.NewReader(out))
	if err := d.Decode(&v); err != nil {
		t.Fatalf("%v: %v", args, err)
	}
	if d.More() {
		t.Errorf("%v: more than one document", args)
	}
	for f := range strings.FieldsSeq(want) {
		if _, ok := v[f]; !ok {
			t.Errorf("%v: field %s is missing", args, f)
		}
	}
	return v
}

// The contract's fields are there in every command.
func TestContract(t *testing.T) {
	van := file(t, "heron-van")
	fields(t, "zenith_deg zenith_true_deg azimuth_deg elevation_deg rise transit set", "sun", "--at", "38.57,-7.91", "--time", "2027-06-21T12:00Z")
	fields(t, "ghi_Wm2 dni_Wm2 dhi_Wm2 plane_Wm2 air_mass", "sky", "--at", "Evora, PT", "--time", "2027-06-21 12:00")
	fields(t, "voc_V isc_A pmax_W module_degC voc_V_low voc_V_high isc_A_low isc_A_high pmax_W_low pmax_W_high module_degC_low module_degC_high",
		"now", "foil CIGS 90 W", "--at", "38.57,-7.91", "--bonded")
	fields(t, "voc_V isc_A vmp_V imp_A pmax_W points peaks", "curve", van, "lid")
	fields(t, "drop_V drop_fraction ampacity_A fuse_A next_size", "cable", "--current", "15 A", "--length", "6 m", "--size", "6 mm²", "--voltage", "12.8 V")
	trip := fields(t, "days ledger ledger_residual_Wh nights_short_P50 totals", "trip", van, "--years", "3")
	day := trip["days"].([]any)[0].(map[string]any)
	for f := range strings.FieldsSeq("date place harvest_Wh demand_Wh unmet_Wh unused_Wh lowest_charge harvest_P90_Wh harvest_P50_Wh harvest_P10_Wh") {
		if _, ok := day[f]; !ok {
			t.Errorf("trip day: field %s is missing", f)
		}
	}
	in, out := 0.0, 0.0
	for _, l := range trip["ledger"].([]any) {
		e := l.(map[string]any)
		switch e["kind"] {
		case "in":
			in += e["energy_Wh"].(float64)
		case "out":
			out += e["energy_Wh"].(float64)
		default:
			t.Errorf("ledger kind %v", e["kind"])
		}
	}
	if math.Abs(in-out-trip["ledger_residual_Wh"].(float64)) > 1e-9*in || math.Abs(in-out) > 1e-9*in {
		t.Errorf("ins %v, outs %v, residual %v", in, out, trip["ledger_residual_Wh"])
	}
	fields(t, "version sources", "version")
	dark := fields(t, "obstacles modules mends together offered assumed", "shade", van, "--day", "2027-06-21")
	for f := range strings.FieldsSeq("name hours energy_Wh trip_Wh year_Wh modules_year_Wh") {
		if _, ok := dark["obstacles"].([]any)[0].(map[string]any)[f]; !ok {
			t.Errorf("shade: field %s is missing", f)
		}
	}
	fields(t, "now candidates why upper_bound_Wh gap_to_bound assumed", "arrange", van, "--most", "2", "--judged", "20")
	types := fields(t, "types ahead_by_hour advice assumed", "choose", van, "--most", "1", "--judged", "10", "--prices", "foil-95 310")
	for f := range strings.FieldsSeq("type energy_per_day_Wh cost_per_delivered_kWh verdict") {
		if _, ok := types["types"].([]any)[0].(map[string]any)[f]; !ok {
			t.Errorf("choose: field %s is missing", f)
		}
	}
	shaded := fields(t, "pmax_W unshaded_pmax_W operating peaks shade", "curve", van, "A", "--shade", "disc 20 cm at 0.5 m, 0.2 m", "--shade", "cell 42 = 60 %", "--lowest-voltage", "14 V")
	if p, whole := shaded["pmax_W"].(float64), shaded["unshaded_pmax_W"].(float64); !(p < 0.95*whole && p > 0.3*whole) {
		t.Errorf("a 20 cm disc and a cell: %v W of %v W", p, whole)
	}
}

// The plan of the northern trailer says that it will not do, with exit code 1; the van's passes.
func TestPlan(t *testing.T) {
	v := fields(t, "needs checks trip parts cautions assumed", "plan", file(t, "ptarmigan-trailer"))
	if n := v["trip"].(map[string]any)["nights_short_P50"].(float64); n < 5 {
		t.Errorf("the winter trailer is short on %v nights, want most", n)
	}
	out, _, code := do(t, "", "plan", file(t, "ptarmigan-trailer"))
	if code != ExitShort || !strings.Contains(out, "Runs short") {
		t.Errorf("exit %d, want 1 and the words", code)
	}
	if out, errs, code := do(t, "", "plan", file(t, "heron-van")); code != ExitDone {
		t.Errorf("van: exit %d: %s %s", code, out, errs)
	} else if strings.Contains(strings.ToLower(out), " safe") {
		t.Error("a plan never says that word")
	}
}

// Wrong use and bad input: exit 2, the reason on the error stream, nothing on the other.
func TestMisuse(t *testing.T) {
	bad := filepath.Join(t.TempDir(), "bad.yaml")
	if err := os.WriteFile(bad, []byte("noonmark: 1\nsurfases: {}\nbattery: {energy: 100 Ah}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"plna"}, "plan"}, {[]string{"plan"}, "one build file"}, {[]string{"plan", "nofile"}, "no such file"},
		{[]string{"plan", bad}, "surfaces"}, {[]string{"plan", bad}, "5 problems"}, {[]string{"trip", file(t, "heron-van"), "--years", "0"}, "--years"},
		{[]string{"sun"}, "--at"}, {[]string{"sun", "--at", "91,0"}, ""}, {[]string{"sun", "--at", "10,10", "--time", "soon"}, "--time"},
		{[]string{"sun", "--at", "10,10", "--time", "1850-01-01T00:00Z"}, "1850"}, {[]string{"sky", "--at", "10,10", "--cloud", "40"}, "--cloud"},
		{[]string{"sky", "--at", "10,10", "--tilt", "30°"}, "--facing"}, {[]string{"now", "nothing at all", "--at", "10,10"}, "label"},
		{[]string{"now", "90 W", "--at", "10,10", "--time", "2027-01-01T23:00Z"}, "sun is down"},
		{[]string{"now", "90 W Voc 28.3 Isc 5.6", "--at", "10,10"}, "isc"},
		{[]string{"now", "90 W", "--at", "10,10", "--bonded", "--lying"}, "one of"}, {[]string{"cable", "--current", "15"}, "--current"},
		{[]string{"cable", "--current", "15 A", "--length", "6 m", "--size", "4 mm", "--voltage", "12 V"}, "mm²"},
		{[]string{"curve", file(t, "heron-van"), "nobody"}, "nobody"}, {[]string{"curve", file(t, "heron-van"), "A", "--shade", "cell 43 = 5 %"}, "cell 43"},
		{[]string{"curve", file(t, "heron-van"), "lid", "--shade", "cell 3 = 5 %"}, "on which module"}, {[]string{"curve", file(t, "heron-van"), "A", "--shade", "cell 3"}, "cell 2 = 60 %"},
		{[]string{"curve", file(t, "heron-van"), "A", "--shade-keeps", "200 %"}, "share"}, {[]string{"shade", file(t, "heron-van"), "--day", "tomorrow"}, "2027-06-21"},
		{[]string{"choose", file(t, "heron-van"), "--prices", "nobody 30"}, "nobody"}, {[]string{"choose", file(t, "heron-van"), "--prices", "foil-95"}, "price"},
		{[]string{"choose", file(t, "heron-van"), "--among", "nobody"}, "foil-90"}, {[]string{"arrange", file(t, "heron-van"), "--most", "99"}, "--most"},
		{[]string{"noon", "--wind", "-3 m/s"}, "0 to 40"}, {[]string{"noon", "--wind", "100 m/s"}, "0 to 40"}, {[]string{"trip", file(t, "heron-van"), "--seed", "-1"}, "0 or more"},
		{[]string{"example", "nobody"}, "heron-van"}, {[]string{"plan", "--no-such"}, "--help"},
	} {
		out, errs, code := do(t, "", c.args...)
		if code != ExitUse || out != "" || !strings.Contains(errs, c.want) {
			t.Errorf("%v: exit %d, want 2 with %q; printed %q, said %q", c.args, code, c.want, out, errs)
		}
	}
}

// Eight empty answers make a file that plans; it is not written over, and a bad answer writes nothing.
func TestNew(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mine.yaml")
	if _, errs, code := do(t, "\n\n\n\n\n\n\n\n", "new", path); code != ExitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	if _, errs, code := do(t, "", "trip", path, "--years", "2"); code != ExitDone {
		t.Errorf("the new file does not run: exit %d, %s", code, errs)
	}
	if _, _, code := do(t, "\n\n\n\n\n\n\n\n", "new", path); code != ExitUse {
		t.Errorf("written over: exit %d", code)
	}
	other := filepath.Join(t.TempDir(), "other.yaml")
	if _, errs, code := do(t, "\n20 x glass 300 W\n", "new", other); code != ExitUse || errs == "" {
		t.Errorf("twenty modules: exit %d", code)
	}
	if _, err := os.Stat(other); err == nil {
		t.Error("a half-written file was left")
	}
	typed := "2.4 m x 1.5 m\n2 x flexible 110 W Voc 22.4 V Isc 6.3 A Vmp 18.6 V Imp 5.9 A 1.1 m x 0.55 m\n100 V 20 A\n100 Ah at 12.8 V\n3\nfridge-90, lights\nHobart, AU\n2027-01-10, 7 nights\n"
	out, errs, code := do(t, typed, "new")
	if code != ExitDone || !strings.Contains(out, "Hobart") {
		t.Errorf("typed answers: exit %d, %s", code, errs)
	}
}

// full takes nothing, as a full disk.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// What cannot be printed is a fault, whatever prints it.
func TestPrintLost(t *testing.T) {
	for _, args := range [][]string{{"noon"}, {"version"}, {"help"}, {"sun", "--help"}, {"example", "heron-van"}, {"check", file(t, "heron-van")}} {
		var e bytes.Buffer
		code := Run(context.Background(), args, Streams{In: strings.NewReader(""), Out: full{}, Err: &e, Clock: time.Now})
		if code != ExitInternal || !strings.Contains(e.String(), "no space left") {
			t.Errorf("%v: exit %d, %q", args, code, e.String())
		}
	}
}

// Every command's help shows an example, and completion prints.
func TestHelp(t *testing.T) {
	for _, make := range commands() {
		name := make(&Streams{}).Name()
		out, _, code := do(t, "", name, "--help")
		if code != ExitDone || !strings.Contains(out, "noonmark "+name) {
			t.Errorf("%s --help: exit %d", name, code)
		}
	}
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		if out, _, code := do(t, "", "completion", shell); code != ExitDone || len(out) < 200 {
			t.Errorf("completion %s: exit %d", shell, code)
		}
	}
	if out, _, code := do(t, "", "noon"); code != ExitDone || !strings.Contains(out, "glass") {
		t.Errorf("noon: exit %d, %s", code, out)
	}
	if out, _, code := do(t, "", "schema"); code != ExitDone || !json.Valid([]byte(out)) {
		t.Error("the schema is no JSON")
	}
}
