package web

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// browser is one Chromium for the package.
var browser struct {
	sync.Once
	ctx  context.Context
	stop context.CancelFunc
	err  error
}

// tab opens a page of a given width in the browser; it skips when there is none.
func tabOf(t *testing.T, width, height int64) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser is slow")
	}
	var exe string
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			exe = p
			break
		}
	}
	if exe == "" {
		t.Skip("no chromium here; ./test installs it")
	}
	browser.Do(func() {
		o := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(exe), chromedp.NoSandbox, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("force-color-profile", "srgb"))
		alloc, _ := chromedp.NewExecAllocator(context.Background(), o...)
		browser.ctx, browser.stop = chromedp.NewContext(alloc)
		browser.err = chromedp.Do(browser.ctx)
	})
	if browser.err != nil {
		t.Fatal(browser.err)
	}
	ctx, stop := chromedp.NewContext(browser.ctx)
	t.Cleanup(stop)
	ctx, cancel := context.WithTimeout(ctx, 15*time.Minute)
	t.Cleanup(cancel)
	do(t, ctx, chromedp.EmulateViewport(width, height))
	return ctx
}

func do(t *testing.T, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

func get[T any](t *testing.T, ctx context.Context, a chromedp.Action[T]) T {
	t.Helper()
	v, err := chromedp.Run(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// until waits for an expression of the page to be true, through any pages that come and go meanwhile.
func until(t *testing.T, ctx context.Context, expression string) {
	t.Helper()
	var err error
	for end := time.Now().Add(45 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		var ok bool
		if ok, err = chromedp.Run(ctx, chromedp.Evaluate[bool](`!!document.body && !!(`+expression+`)`)); err == nil && ok {
			return
		}
	}
	said, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector("h1").innerText + " | " + (document.querySelector("[data-said]")?.textContent || "")`))
	t.Fatalf("waiting for %s: %v; the page says %s", expression, err, said)
}

// listen serves a site on the loopback and returns its address.
func (s *site) listen() string {
	s.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		s.Fatal(err)
	}
	h := &http.Server{Handler: s.server}
	go h.Serve(l)
	s.Cleanup(func() { h.Close() })
	return "http://" + l.Addr().String()
}

// keep writes a picture where a person can look at it.
func keep(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	dir := filepath.Join("..", "..", "..", ".cache", "screens")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), get(t, ctx, chromedp.FullScreenshot(100)), 0o644); err != nil {
		t.Fatal(err)
	}
}

// axe is the text of the accessibility checker, "" when it is not here.
var axe = sync.OnceValue(func() string {
	text, err := os.ReadFile(filepath.Join("..", "..", "..", ".cache", "axe", "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		return ""
	}
	return string(text)
})

// serious runs the accessibility checker and reports what is serious or critical.
func serious(t *testing.T, ctx context.Context, what string) {
	t.Helper()
	if axe() == "" {
		t.Log("axe-core is not in .cache/axe: ./test puts it there")
		return
	}
	do(t, ctx, discard(chromedp.Evaluate[any](axe()+";true")))
	const run = `axe.run(document,{resultTypes:['violations']}).then(r=>r.violations.filter(v=>v.impact==='serious'||v.impact==='critical').map(v=>v.id+': '+v.nodes.slice(0,3).map(n=>n.html.slice(0,160)+' '+(n.any[0]?.message||n.all[0]?.message||'')).join(' | ')))`
	for _, v := range get(t, ctx, chromedp.Evaluate[[]string](run, chromedp.EvalAwaitPromise)) {
		t.Errorf("%s: %s", what, v)
	}
}

func discard[T any](a chromedp.Action[T]) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := a(ctx, t)
		return chromedp.Void{}, err
	}
}

// faults gathers what the page writes on its console.
func faults(t *testing.T, ctx context.Context) func() {
	t.Helper()
	var mu sync.Mutex
	var list []string
	go func() {
		for m, err := range chromedp.Console(ctx) {
			if err != nil {
				return
			}
			if text := fmt.Sprint(m); strings.Contains(text, "Failed to load resource") && (strings.Contains(text, "404") || strings.Contains(text, "409") || strings.Contains(text, "422")) {
				continue // a refusal that a test asked for; its page is looked at there
			}
			if m.IsException() || strings.Contains(strings.ToLower(fmt.Sprint(m)), "error") || strings.Contains(fmt.Sprint(m), "Content Security Policy") {
				mu.Lock()
				list = append(list, fmt.Sprint(m))
				mu.Unlock()
			}
		}
	}()
	return func() {
		mu.Lock()
		defer mu.Unlock()
		for _, m := range list {
			t.Errorf("console: %s", m)
		}
	}
}

// spot is where a thing of the plan stands on the screen.
type spot struct{ X, Y, W, H float64 }

func placeOfThing(t *testing.T, ctx context.Context, name string) spot {
	t.Helper()
	return get(t, ctx, chromedp.Evaluate[spot](`(()=>{const r=document.querySelector('.thing[data-name="`+name+`"] rect').getBoundingClientRect();return {X:r.x,Y:r.y,W:r.width,H:r.height}})()`))
}

// A hand drags a module: the drawing follows while it moves, the revision is saved when it is let go, and the
// text has the new place. Keys, undo, a place that is taken and a second window are tried too.
func TestBrowserDrag(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	at := s.listen()
	ctx := tabOf(t, 1280, 1000)
	quiet := faults(t, ctx)
	do(t, ctx, chromedp.Navigate(at+"/b/heron-van/roof"))
	until(t, ctx, `!!document.body.dataset.energy`)
	before := placeOfThing(t, ctx, "fan")
	drawn := get(t, ctx, chromedp.Evaluate[string](`document.querySelector('[data-plan="0"]').innerHTML`))
	redraws := get(t, ctx, chromedp.Evaluate[string](`document.body.dataset.redraws`))
	x, y := before.X+before.W/2, before.Y+before.H/2
	do(t, ctx, chromedp.DragAndDropXY(x, y, x-50, y+6, 12))
	until(t, ctx, `document.body.dataset.saved === "2"`)
	after := placeOfThing(t, ctx, "fan")
	if d := before.X - after.X; d < 38 || d > 62 {
		t.Errorf("the fan went %.0f px, the hand 50", d)
	}
	if n := get(t, ctx, chromedp.Evaluate[string](`document.body.dataset.redraws`)); n == redraws || n == "2" {
		t.Errorf("redrawn %s times, %s before: the drawing did not follow", n, redraws)
	}
	if get(t, ctx, chromedp.Evaluate[string](`document.querySelector('[data-plan="0"]').innerHTML`)) == drawn {
		t.Error("the drawing is the old one")
	}
	text := s.text("heron-van")
	if strings.Contains(text, "fan: {on: lid, at: [1.6 m, 0.9 m]") {
		t.Error("the text has the old place")
	}

	// by key: ten millimetres to the rear, a run of keys is one revision
	do(t, ctx, discard(chromedp.Evaluate[any](`document.querySelector('.thing[data-name="A"]').focus()`)))
	do(t, ctx, discard(chromedp.Evaluate[any](`for (let i = 0; i < 3; i++) document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowRight", bubbles: true, cancelable: true}))`)))
	until(t, ctx, `document.body.dataset.saved === "3"`)
	if got := s.text("heron-van"); !strings.Contains(got, "A: {type: foil-95, on: lid, at: [0.23 m, 0.15 m]") && !strings.Contains(got, "A: {type: foil-95, on: lid, at: [0.24 m, 0.15 m]") {
		t.Errorf("A by keys: %s", got[strings.Index(got, "\nmodules"):][:120])
	}

	// onto another module: shown, and not kept
	a, b := placeOfThing(t, ctx, "A"), placeOfThing(t, ctx, "B")
	stood := get(t, ctx, chromedp.Evaluate[string](`document.querySelector('.thing[data-name="A"] rect').getAttribute("y")`))
	do(t, ctx, chromedp.DragAndDropXY(a.X+30, a.Y+20, b.X+30, b.Y+20, 6))
	until(t, ctx, `!!document.querySelector("[data-notice]") && document.body.dataset.saved === "3" && !document.querySelector(".clash")`)
	if again := get(t, ctx, chromedp.Evaluate[string](`document.querySelector('.thing[data-name="A"] rect').getAttribute("y")`)); again != stood {
		t.Errorf("A stays on B: %s mm, was %s", again, stood)
	}

	// the sun's slider, without asking the server
	do(t, ctx, discard(chromedp.Evaluate[any](`{const r = document.querySelector("[data-hour]"); r.value = 19.5; r.dispatchEvent(new Event("input"))}`)))
	if n := get(t, ctx, chromedp.Evaluate[int](`document.querySelectorAll("[data-shadows] .shadow").length`)); n == 0 {
		t.Error("no shadow in the evening")
	}
	if n := get(t, ctx, chromedp.Evaluate[int](`document.querySelectorAll("[data-cells] .cell").length`)); n == 0 {
		t.Error("no shaded cell in the evening")
	}
	keep(t, ctx, "roof-evening-1280")

	// undo by its button
	do(t, ctx, chromedp.Click(chromedp.CSS("[data-undo]")))
	until(t, ctx, `!!document.body.dataset.energy && document.querySelector("[data-revision]").textContent === "2"`)

	// another window saves; this one's next change meets it
	s.post("/b/heron-van/set", "base", "2", "back", "roof", "path", "people", "was", "2", "value", "3")
	do(t, ctx, discard(chromedp.Evaluate[any](`document.querySelector('.thing[data-name="B"]').dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowDown", bubbles: true, cancelable: true}))`)))
	until(t, ctx, `document.querySelector("[data-notice]")?.textContent.includes("Another window")`)
	if !strings.Contains(s.text("heron-van"), "people: 3") {
		t.Error("the other window's change is lost")
	}
	keep(t, ctx, "roof-conflict-1280")
	quiet()
}

// The editor finds problems while typing and leads to their lines; what was typed is not lost by a stale save.
func TestBrowserEditor(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	at := s.listen()
	ctx := tabOf(t, 1280, 900)
	do(t, ctx, chromedp.Navigate(at+"/b/heron-van/text"))
	until(t, ctx, `!!document.body.dataset.ready`)
	do(t, ctx, discard(chromedp.Evaluate[any](`{const a = document.querySelector("textarea"); a.value = a.value.replace("pmax: 95 W", "pmax: 95"); a.dispatchEvent(new Event("input"))}`)))
	until(t, ctx, `document.querySelectorAll("[data-problems] li").length > 0`)
	keep(t, ctx, "text-problems-1280")
	do(t, ctx, chromedp.Click(chromedp.CSS("[data-problems] a[data-line]")))
	if got := get(t, ctx, chromedp.Evaluate[string](`{const a = document.querySelector("textarea"); a.value.slice(a.selectionStart, a.selectionEnd)}`)); got != "95" {
		t.Errorf("the link leads to %q", got)
	}
	s.post("/b/heron-van/set", "base", "1", "back", "roof", "path", "people", "was", "2", "value", "3")
	do(t, ctx, chromedp.Click(chromedp.CSS(".editor button")))
	until(t, ctx, `document.querySelector("h1").textContent === "Two changes met"`)
	serious(t, ctx, "merge page")
	keep(t, ctx, "merge-1280")
	if joined := get(t, ctx, chromedp.Evaluate[string](`document.querySelector("textarea").value`)); !strings.Contains(joined, "pmax: 95\n") || !strings.Contains(joined, "people: 3") {
		t.Error("the joined text lacks a change")
	}
}

// A reading typed while the computer is out of reach is kept on the device and sent later, once.
func TestBrowserLadder(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	at := s.listen()
	ctx := tabOf(t, 390, 800)
	do(t, ctx, chromedp.Navigate(at+"/b/heron-van/ladder"))
	until(t, ctx, `!!document.body.dataset.ready`)
	fill := `{const f = document.querySelector("[data-keep]"); f.point.value = "A, open volts"; f.value.value = "27.9 V"; f.dispatchEvent(new Event("input", {bubbles: true}))}`
	do(t, ctx, discard(chromedp.Evaluate[any](fill)), chromedp.Reload())
	until(t, ctx, `!!document.body.dataset.ready && document.querySelector("[data-keep]").elements.value.value === "27.9 V"`) // the phone slept
	do(t, ctx, discard(chromedp.Evaluate[any](`window.fetch = () => Promise.reject(new Error("out of reach"))`)), chromedp.Click(chromedp.CSS("[data-keep] button")))
	until(t, ctx, `document.querySelector("[data-waiting]").textContent.includes("1 on this device")`)
	if list, err := s.store.Records(context.Background(), "heron-van", "reading"); err != nil || len(list) != 0 {
		t.Errorf("%d readings before it was in reach, %v", len(list), err)
	}
	do(t, ctx, chromedp.Reload())
	until(t, ctx, `document.body.innerText.includes("27.9 V") && document.querySelector("[data-waiting]").textContent === ""`)
	if list, err := s.store.Records(context.Background(), "heron-van", "reading"); err != nil || len(list) != 1 {
		t.Errorf("%d readings, want one, %v", len(list), err)
	}
	known := `{const f = document.querySelector("[data-keep]"); f.kind.value = "voc"; f.kind.dispatchEvent(new Event("change")); f.elements.at.value = "B"; f.elements.value.value = "26.5 V"}`
	do(t, ctx, discard(chromedp.Evaluate[any](known)), chromedp.Click(chromedp.CSS("[data-keep] button")))
	until(t, ctx, `document.body.innerText.includes("voc B")`)
	if list, err := s.store.Records(context.Background(), "heron-van", "reading"); err != nil || len(list) != 2 || list[1].Name != "voc B" {
		t.Errorf("%v, %v: want a second reading, voc B", list, err)
	}
	do(t, ctx, discard(chromedp.Evaluate[any](`document.querySelector("[data-tick]").click()`)), chromedp.Reload())
	until(t, ctx, `!!document.body.dataset.ready && document.querySelector("[data-tick]").checked`)
}

// media sets the colours the page is asked for.
func media(scheme string) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return chromedp.Void{}, err
	}
}
