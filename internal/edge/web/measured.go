package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/answer/diagnose"
	"noonmark/internal/edge/store"
	"noonmark/internal/sheet/sheet"
)

// measuredSpec is a sheet made from what was measured, by a command of the program.
type measuredSpec struct {
	Key     string
	Command string
	Ending  string     // of the file of readings; empty: it takes none
	Asks    []askField // flags that a form fills
	Hint    string     // what the readings look like
	Example string
}

// askField is a flag as a form asks for it.
type askField struct{ Flag, Name, Hint, Value string }

// Key is its name in the address of a page, where "at" is the revision.
func (a askField) Key() string {
	if a.Flag == "at" {
		return "place"
	}
	return a.Flag
}

var skyFields = []askField{{Flag: "at", Name: "place", Hint: "Evora, PT"}, {Flag: "sky", Name: "sky", Hint: "clear"}, {Flag: "air", Name: "air", Hint: "24 °C"}}

// measuredSpecs are those sheets, in the order of the work.
var measuredSpecs = []measuredSpec{
	{Key: "bench", Command: "bench", Ending: ".csv", Asks: slices.Concat(skyFields, []askField{{Flag: "date", Name: "day of times without a date", Hint: "2027-06-21"}, {Flag: "meter", Name: "instrument", Hint: "multimeter"}}),
		Hint: "A table of any layout, one reading a line: time, module, voc, isc, volts, amps, back, air, sky. Heads may carry units.", Example: "time,module,voc V,isc A,irradiance,back °C\n2027-06-21 12:40,A,26.2,4.31,934,54.5"},
	{Key: "record", Command: "record", Asks: slices.Concat(skyFields, []askField{{Flag: "time", Name: "time", Hint: "2027-06-21 12:10"}})},
	{Key: "log", Command: "log compare", Ending: ".csv", Asks: []askField{{Flag: "at", Name: "place", Hint: "Evora, PT"}, {Flag: "posture", Name: "posture", Hint: "camped"}, {Flag: "heading", Name: "front looks to", Hint: "160°"}}, Hint: "A log of the controller or a shunt, as it came: one line a reading or a day.", Example: "date,yield Wh\n2027-03-21,512"},
	{Key: "fault", Command: "diagnose", Ending: ".txt", Hint: "One reading a line: KIND PLACE = VALUE. Conditions: light, cells, or at, time, sky, air.", Example: "at = Evora, PT\ntime = 2027-06-21 12:10\nsky = clear\nvoc A = 26.6 V\nisc A = 4.07 A"},
	{Key: "claim", Command: "claim", Ending: ".txt", Hint: "Readings as for Fault, and lines KEY = VALUE of what a claim asks for.", Example: "date = 2027-06-21 12:10\nbought = 2026-11-02\nvoc A = 26.6 V"},
}

func measuredOf(key string) (measuredSpec, bool) {
	i := slices.IndexFunc(measuredSpecs, func(m measuredSpec) bool { return m.Key == key })
	if i < 0 {
		return measuredSpec{}, false
	}
	return measuredSpecs[i], true
}

// largestReadings is the most a text of readings may have, bytes; what a page shows of it to type in.
const largestReadings, shownReadings = 8 << 20, 64 << 10

// measuredView is what a sheet of measurements has beyond the others.
type measuredView struct {
	Spec   measuredSpec
	Asks   []askField
	Text   string // of the readings
	Base   int64  // the record it is; 0: none yet
	Long   bool   // too long to type in
	Name   string
	Fault  string // why there is no sheet
	Theirs string // kept meanwhile in another window
	Kinds  []kindView
	Places []string
	Module string
	Photos []string
	Terms  []diagnose.Term
	Empty  bool
}

// kindView is a kind of reading to choose.
type kindView struct{ Word, How, Unit string }

func kindViews() []kindView {
	var out []kindView
	for _, k := range diagnose.Kinds() {
		out = append(out, kindView{k.String(), k.How(), k.Unit()})
	}
	return out
}

// readingsOf returns the readings of a sheet as one text: the text kept last, and for faults the single
// readings typed since; with the latest record it holds.
func (s *Server) readingsOf(ctx context.Context, build, key string) (text, name string, base int64, err error) {
	list, err := s.config.Shelf.Records(ctx, build, key)
	if err != nil {
		return "", "", 0, err
	}
	if len(list) > 0 {
		rec, err := s.config.Shelf.Record(ctx, list[len(list)-1].ID)
		if err != nil {
			return "", "", 0, err
		}
		text, name, base = string(rec.Data), rec.Name, rec.ID
	}
	if key != "fault" {
		return text, name, base, nil
	}
	single, err := s.config.Shelf.Records(ctx, build, "reading")
	if err != nil {
		return "", "", 0, err
	}
	for _, r := range single {
		if r.ID <= base {
			continue
		}
		rec, err := s.config.Shelf.Record(ctx, r.ID)
		if err != nil {
			return "", "", 0, err
		}
		var x reading
		if json.Unmarshal(rec.Data, &x) != nil || x.Kind == "" {
			continue // free text of the ladder
		}
		if text != "" && !strings.HasSuffix(text, "\n") {
			text += "\n"
		}
		text += strings.TrimSpace(x.Kind+" "+x.At) + " = " + x.Value + "\n"
	}
	if len(single) > 0 {
		base = max(base, single[len(single)-1].ID)
	}
	return text, name, base, nil
}

// keepReadings keeps a text of readings, typed or dropped as a file. What another window kept meanwhile is
// shown beside it; nothing is lost, for every text is a record of its own.
func (s *Server) keepReadings(r *http.Request) (*reply, error) {
	spec, ok := measuredOf(r.PathValue("sheet"))
	if !ok || spec.Ending == "" {
		return nil, errNoPage
	}
	if err := formOf(r); err != nil {
		return nil, err
	}
	name := r.PathValue("build")
	text, file := strings.ReplaceAll(r.PostFormValue("text"), "\r\n", "\n"), "typed"
	base, _ := strconv.ParseInt(r.PostFormValue("base"), 10, 64)
	dropped := false
	if r.MultipartForm != nil {
		defer r.MultipartForm.RemoveAll()
		if f, head, err := r.FormFile("file"); err == nil {
			defer f.Close()
			data, err := io.ReadAll(io.LimitReader(f, largestReadings+1))
			if err != nil {
				return nil, err
			}
			if len(data) > 0 {
				text, file, dropped = string(data), nameOfFile(head.Filename), true
			}
		}
	}
	if len(text) > largestReadings {
		return nil, &tooLarge{limit: largestReadings}
	}
	if strings.TrimSpace(text) == "" {
		return nil, wrong("there is no reading in it")
	}
	now, _, latest, err := s.readingsOf(r.Context(), name, spec.Key)
	if err != nil {
		return nil, err
	}
	if latest != base && !dropped && now != text {
		return s.measuredReply(r, spec, func(v *measuredView) {
			v.Theirs, v.Text, v.Fault = now, text, "another window kept other readings meanwhile: join them and keep again; nothing is lost"
		}, http.StatusConflict)
	}
	if now != text {
		if _, err := s.config.Shelf.AddRecord(r.Context(), name, store.Record{Kind: spec.Key, Name: file, Form: "csv", Data: []byte(text)}); err != nil {
			return nil, err
		}
	}
	to := pathOf(name, spec.Key)
	if m := r.PostFormValue("module"); m != "" {
		to += "?module=" + escapeQuery(m)
	}
	return see(to), nil
}

// measuredReply is the page of a sheet of measurements.
func (s *Server) measuredReply(r *http.Request, spec measuredSpec, change func(v *measuredView), status int) (*reply, error) {
	o, err := s.open(r.Context(), r.PathValue("build"), atOf(r))
	if err != nil {
		return nil, err
	}
	v := sheetView{frame: s.frameOf(o, spec.Key, titleOf(spec.Key)), Key: spec.Key, ReadOnly: s.config.Shelf.ReadOnly(), Problems: lined(o.analysis)}
	v.Module, v.Paper = "measured.js", true
	if o.build == nil {
		return s.htmlReply("broken.html", v)
	}
	m := &measuredView{Spec: spec}
	if m.Text, m.Name, m.Base, err = s.readingsOf(r.Context(), o.Build, spec.Key); err != nil {
		return nil, err
	}
	m.Module = r.URL.Query().Get("module")
	for i := range o.build.Modules {
		m.Places = append(m.Places, o.build.Modules[i].Name)
	}
	if spec.Key == "claim" {
		m.Terms = diagnose.Terms()
		if m.Module == "" && len(m.Places) > 0 {
			m.Module = m.Places[0]
		}
		photos, err := s.config.Shelf.Photos(r.Context(), o.Build)
		if err != nil {
			return nil, err
		}
		for _, p := range photos {
			m.Photos = append(m.Photos, photoFile(p))
		}
	}
	if spec.Key == "fault" {
		m.Kinds = kindViews()
		for i := range o.build.Strings {
			m.Places = append(m.Places, o.build.Strings[i].Name)
		}
		for i := range o.build.Chargers {
			m.Places = append(m.Places, o.build.Chargers[i].Name)
		}
	}
	flags := map[string]string{}
	for _, a := range spec.Asks {
		a.Value = r.URL.Query().Get(a.Key())
		m.Asks = append(m.Asks, a)
		flags[a.Flag] = a.Value
	}
	if change != nil {
		change(m)
	}
	m.Empty = spec.Ending != "" && strings.TrimSpace(m.Text) == ""
	if !m.Empty && m.Fault == "" {
		list, fault, err := s.measure(r.Context(), spec, o, m.Text, flags, m.Module)
		if err != nil {
			return nil, err
		}
		m.Fault = fault
		v.place(list)
	}
	if m.Long = len(m.Text) > shownReadings; m.Long {
		m.Text = ""
	}
	v.Measured = m
	out, err := s.htmlReply("sheet.html", v)
	if err == nil {
		out.status = status
	}
	return out, err
}

// place puts sheets one after the other on a page.
func (v *sheetView) place(list []sheet.Sheet) {
	n := 0
	for i, sh := range list {
		if i == 0 {
			v.Lead, v.Margin = sh.Lead, marginOf(sh)
		}
		for _, f := range sh.Figures {
			v.Figures = append(v.Figures, figureOf(v.Key, n, f))
			v.Figures[n].narrow(v.Key, f)
			n++
		}
		for _, t := range sh.Tables {
			v.Tables = append(v.Tables, tableOf(t))
		}
		v.Lists, v.Notes, v.Cautions = append(v.Lists, sh.Lists...), append(v.Notes, sh.Notes...), append(v.Cautions, sh.Cautions...)
		for _, a := range sh.Assumed {
			v.Assumed = append(v.Assumed, assumedView{Assumption: a})
		}
	}
}

// measure makes the sheets of readings; a fault of the readings is words for the reader, not an error.
func (s *Server) measure(ctx context.Context, spec measuredSpec, o opened, text string, flags map[string]string, module string) (list []sheet.Sheet, fault string, err error) {
	if s.config.Sheets == nil {
		return nil, "this program was started without its commands", nil
	}
	err = s.inFolder(ctx, spec, o, text, func(dir, build, readings string) error {
		args := strings.Fields(spec.Command)
		for _, a := range spec.Asks {
			if v := strings.TrimSpace(flags[a.Flag]); v != "" {
				args = append(args, "--"+a.Flag+"="+clip(v, 200))
			}
		}
		switch spec.Key {
		case "claim":
			args = append(args, "--readings="+readings, "-o", filepath.Join(dir, "claim.zip"), "--", build, module)
		case "bench":
			args = append(args, "-o", filepath.Join(dir, "sheet.pdf"), "--", readings, build)
		case "record":
			args = append(args, "--incoming", "-o", filepath.Join(dir, "sheet.pdf"), "--", build)
		default:
			args = append(args, "-o", filepath.Join(dir, "sheet.pdf"), "--", build, readings)
		}
		var errs []byte
		var code int
		list, errs, code = s.config.Sheets(ctx, args)
		if code > 2 {
			return fmt.Errorf("%s: %s", spec.Command, errs)
		}
		if len(list) == 0 || code == 2 {
			fault = plainly(errs, dir, spec)
		}
		return nil
	})
	var use *misuse
	if errors.As(err, &use) {
		return nil, use.text, nil
	}
	return list, fault, err
}

// plainly is what a command says of faults, without the names of files that the reader never saw, and with
// flags named as the page's fields are.
func plainly(errs []byte, dir string, spec measuredSpec) string {
	names := []string{dir + string(filepath.Separator) + "readings.csv", "the readings", dir + string(filepath.Separator) + "readings.txt", "the readings",
		dir + string(filepath.Separator) + "build.yaml", "the build", dir, "", "noonmark: ", ""}
	for _, a := range spec.Asks {
		names = append(names, "--"+a.Flag+" ", a.Name+" ")
	}
	text := strings.NewReplacer(names...).Replace(string(errs))
	if text = strings.TrimSpace(text); text == "" {
		return "nothing could be made of the readings"
	}
	return text
}

// inFolder puts a build, its readings and, for a claim, its photographs into a folder of their own and calls f.
func (s *Server) inFolder(ctx context.Context, spec measuredSpec, o opened, text string, f func(dir, build, readings string) error) (err error) {
	dir, err := os.MkdirTemp("", "noonmark-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	build, err := refOf(o.Revision)
	if err != nil {
		return err
	}
	if build == "" {
		build = filepath.Join(dir, "build.yaml")
		if err := os.WriteFile(build, o.Text, 0o600); err != nil {
			return err
		}
	}
	readings := ""
	if spec.Ending != "" {
		readings = filepath.Join(dir, "readings"+spec.Ending)
		if err := os.WriteFile(readings, []byte(text), 0o600); err != nil {
			return err
		}
	}
	if spec.Key == "claim" {
		photos, err := s.config.Shelf.Photos(ctx, o.Build)
		if err != nil {
			return err
		}
		for _, p := range photos {
			if !strings.Contains(text, photoFile(p)) {
				continue
			}
			whole, err := s.config.Shelf.Photo(ctx, p.ID)
			if err != nil {
				return err
			}
			if err := os.WriteFile(filepath.Join(dir, photoFile(p)), whole.Data, 0o600); err != nil {
				return err
			}
		}
	}
	return f(dir, build, readings)
}

// photoFile names a photograph for a claim.
func photoFile(p store.Photo) string {
	ending := map[string]string{"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp"}[p.Kind]
	return fmt.Sprintf("photo-%d%s", p.ID, ending)
}

// verdictJSON is what the readings of a build say by now.
type verdictJSON struct {
	Lead string `json:"lead"`
	Took int64  `json:"took_ms"`
}

// apiVerdict says what the readings typed so far prove, in a sentence or two.
func (s *Server) apiVerdict(r *http.Request) (*reply, error) {
	began := time.Now()
	o, err := s.open(r.Context(), r.PathValue("build"), "")
	if err != nil {
		return nil, err
	}
	if o.build == nil {
		return nil, problemError(o.analysis)
	}
	text, _, _, err := s.readingsOf(r.Context(), o.Build, "fault")
	if err != nil {
		return nil, err
	}
	out := verdictJSON{}
	if strings.TrimSpace(text) != "" {
		spec, _ := measuredOf("fault")
		list, fault, err := s.measure(r.Context(), spec, o, text, nil, "")
		if err != nil {
			return nil, err
		}
		if out.Lead = fault; len(list) > 0 {
			out.Lead = list[0].Lead
		}
	}
	out.Took = time.Since(began).Milliseconds()
	return jsonReply(out)
}

// escapeQuery escapes a value of a query.
func escapeQuery(text string) string {
	return url.QueryEscape(text)
}
