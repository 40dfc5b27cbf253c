package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"rsc.io/qr"

	"noonmark/internal/edge/store"
	"noonmark/internal/sheet/sheet"
)

// joinView is the page where another device gives the code.
type joinView struct {
	frame
	Code  string
	Fault string
}

// joinPage shows the form; the code of the square stands in it, and counts only when it is sent.
func (s *Server) joinPage(r *http.Request) (*reply, error) {
	code := r.URL.Query().Get("code")
	if len(code) > 20 {
		code = ""
	}
	return s.htmlReply("join.html", joinView{frame: frame{Title: "Join", Sheet: "Join"}, Code: code})
}

func (s *Server) join(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	if s.config.Code == nil {
		return nil, errNoPage
	}
	token, err := s.config.Code.Give(r.PostFormValue("code"))
	if errors.Is(err, errNoCode) {
		out, err := s.htmlReply("join.html", joinView{frame: frame{Title: "Join", Sheet: "Join"}, Fault: "That is not the code the computer shows."})
		if err == nil {
			out.status = http.StatusUnauthorized
		}
		return out, err
	}
	if err != nil {
		return nil, err
	}
	out := see("/")
	cookie := http.Cookie{Name: cookieName, Value: token, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, MaxAge: 7 * 24 * 3600}
	out.header = map[string]string{"Set-Cookie": cookie.String()}
	return out, nil
}

// phoneView shows the code to the one at the computer.
type phoneView struct {
	frame
	Code  string
	Links []linkView
}

type linkView struct {
	Text   string
	Square template.HTML
}

// phonePage shows the code and the square to photograph; to this machine alone.
func (s *Server) phonePage(r *http.Request) (*reply, error) {
	if s.config.Code == nil || !fromHere(r) {
		return nil, errNoPage
	}
	if r.URL.Query().Has("new") {
		s.config.Code.Renew()
	}
	v := phoneView{frame: frame{Title: "Phone", Sheet: "Phone"}, Code: s.config.Code.Now()}
	_, port, found := strings.Cut(r.Host, ":")
	if found {
		port = ":" + port
	}
	for _, h := range s.config.Hosts {
		link := "http://" + h + port + "/join"
		square, err := Square(link + "?code=" + v.Code)
		if err != nil {
			return nil, err
		}
		v.Links = append(v.Links, linkView{link, template.HTML(square)}) // digits of our own only
	}
	return s.htmlReply("phone.html", v)
}

// Square returns a text as a QR code, in SVG, dark on white with the border that readers need.
func Square(text string) (string, error) {
	c, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", err
	}
	const border = 4 // modules, ISO/IEC 18004
	var d strings.Builder
	for y := range c.Size {
		for x := range c.Size {
			if c.Black(x, y) {
				fmt.Fprintf(&d, "M%d %dh1v1h-1z", x+border, y+border)
			}
		}
	}
	side := c.Size + 2*border
	return fmt.Sprintf(`<svg class="square" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" role="img" aria-label="the address and the code, to photograph" shape-rendering="crispEdges"><path fill="#fff" d="M0 0h%dv%dH0z"/><path fill="#000" d="%s"/></svg>`,
		side, side, side, side, d.String()), nil
}

// TerminalSquare returns a text as a QR code of half blocks, for a terminal of light letters on dark.
func TerminalSquare(text string) (string, error) {
	c, err := qr.Encode(text, qr.L)
	if err != nil {
		return "", err
	}
	const border = 2
	white := func(x, y int) bool { return x < 0 || y < 0 || x >= c.Size || y >= c.Size || !c.Black(x, y) }
	var out strings.Builder
	for y := -border; y < c.Size+border; y += 2 {
		for x := -border; x < c.Size+border; x++ {
			out.WriteString(map[[2]bool]string{{true, true}: "█", {true, false}: "▀", {false, true}: "▄", {false, false}: " "}[[2]bool{white(x, y), white(x, y+1)}])
		}
		out.WriteByte('\n')
	}
	return out.String(), nil
}

// ladderView is the page for one hand: a photograph, a reading, ticks.
type ladderView struct {
	frame
	Modules  []string
	Kinds    []kindView
	Photos   []photoView
	Readings []readingView
	Work     *sheet.Sheet // of the installation day
	ReadOnly bool
}

type photoView struct {
	ID       int64
	Path     string
	Name, At string
	Note     string
	Width    int
	Height   int
}

type readingView struct{ At, Point, Value, Note string }

// reading is a figure read from a meter.
type reading struct {
	Point string `json:"point"`          // what was measured, on what
	Kind  string `json:"kind,omitempty"` // as reading files have it; empty: free words
	At    string `json:"at,omitempty"`   // module, string or charger
	Value string `json:"value"`          // as typed, with its unit
	Note  string `json:"note,omitempty"`
}

func (s *Server) ladderPage(r *http.Request) (*reply, error) {
	o, err := s.open(r.Context(), r.PathValue("build"), "")
	if err != nil {
		return nil, err
	}
	v := ladderView{frame: s.frameOf(o, "ladder", "On the ladder"), ReadOnly: s.config.Shelf.ReadOnly()}
	v.Module, v.Kinds = "ladder.js", kindViews()
	if o.build != nil {
		for i := range o.build.Modules {
			v.Modules = append(v.Modules, o.build.Modules[i].Name)
		}
		j := sheet.Job{Build: o.build}
		if err := planDay(&j, "", ""); err != nil {
			return nil, err
		}
		if j.Day != nil {
			work := sheet.DayPlan(j)
			v.Work = &work
		}
	}
	photos, err := s.config.Shelf.Photos(r.Context(), o.Build)
	if err != nil {
		return nil, err
	}
	for i := len(photos) - 1; i >= 0; i-- {
		p := photos[i]
		v.Photos = append(v.Photos, photoView{ID: p.ID, Path: pathOf(o.Build, "photos/"+strconv.FormatInt(p.ID, 10)), Name: p.Name, At: day(p.At), Note: p.Note, Width: p.Width, Height: p.Height})
	}
	records, err := s.config.Shelf.Records(r.Context(), o.Build, "reading")
	if err != nil {
		return nil, err
	}
	for i := len(records) - 1; i >= 0 && len(v.Readings) < 50; i-- {
		rec, err := s.config.Shelf.Record(r.Context(), records[i].ID)
		if err != nil {
			return nil, err
		}
		var x reading
		if json.Unmarshal(rec.Data, &x) != nil || x.Point == "" {
			continue // of another kind
		}
		v.Readings = append(v.Readings, readingView{At: day(rec.At), Point: x.Point, Value: x.Value, Note: x.Note})
	}
	return s.htmlReply("ladder.html", v)
}

// addPhoto keeps a photograph; the store looks at what it is before it keeps it.
func (s *Server) addPhoto(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	if r.MultipartForm == nil {
		return nil, wrong("send the photograph as a form's file")
	}
	defer r.MultipartForm.RemoveAll()
	file, head, err := r.FormFile("photo")
	if err != nil {
		return nil, wrong("no photograph was sent")
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, store.LargestPhoto+1))
	if err != nil {
		return nil, err
	}
	name := r.PathValue("build")
	if _, err := s.config.Shelf.AddPhoto(r.Context(), name, store.Photo{Name: nameOfFile(head.Filename), Note: r.PostFormValue("note"), Data: data}); err != nil {
		return nil, err
	}
	return see(pathOf(name, "ladder")), nil
}

func (s *Server) photo(r *http.Request) (*reply, error) {
	id, err := strconv.ParseInt(r.PathValue("id"), 10, 64)
	if err != nil {
		return nil, errNoPage
	}
	p, err := s.config.Shelf.Photo(r.Context(), id)
	if err != nil {
		return nil, err
	}
	if p.Build != r.PathValue("build") {
		return nil, errNoPage
	}
	return &reply{kind: p.Kind, body: p.Data, lasting: true}, nil
}

// addReading keeps a reading. Its key is made by the page, so that one that is sent again, because the
// answer was lost, is kept once.
func (s *Server) addReading(r *http.Request) (*reply, error) {
	if err := formOf(r); err != nil {
		return nil, err
	}
	x := reading{Point: strings.TrimSpace(r.PostFormValue("point")), Kind: strings.TrimSpace(r.PostFormValue("kind")), At: strings.TrimSpace(r.PostFormValue("at")), Value: strings.TrimSpace(r.PostFormValue("value")), Note: strings.TrimSpace(r.PostFormValue("note"))}
	if x.Kind != "" {
		if !slices.ContainsFunc(kindViews(), func(k kindView) bool { return k.Word == x.Kind }) || strings.ContainsAny(x.At+x.Value, "=\n\r") {
			return nil, wrong("no reading of that kind")
		}
		if x.Point == "" {
			x.Point = strings.TrimSpace(x.Kind + " " + x.At)
		}
	}
	if x.Point == "" || x.Value == "" || len(x.Point)+len(x.Value)+len(x.Note) > 4000 {
		return nil, wrong("a reading has what was measured, and its value with the unit")
	}
	data, err := json.Marshal(x)
	if err != nil {
		return nil, err
	}
	rec := store.Record{Kind: "reading", Key: r.PostFormValue("key"), Name: x.Point, Form: "json", Data: data}
	if at, err := time.Parse(time.RFC3339, r.PostFormValue("when")); err == nil {
		rec.At = at
	}
	name := r.PathValue("build")
	if _, err := s.config.Shelf.AddRecord(r.Context(), name, rec); err != nil {
		return nil, err
	}
	if r.PostFormValue("back") == "fault" {
		return see(pathOf(name, "fault#next")), nil
	}
	return see(pathOf(name, "ladder")), nil
}
