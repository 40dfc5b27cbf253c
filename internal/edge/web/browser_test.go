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
	ctx, cancel := context.WithTimeout(ctx, 5*time.Minute)
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

// until waits for an expression of the page to be true.
func until(t *testing.T, ctx context.Context, expression string) {
	t.Helper()
	if _, err := chromedp.Run(ctx, chromedp.Poll[bool](expression, chromedp.WithPollingTimeout(45*time.Second))); err != nil {
		said, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`document.body.innerText.slice(0, 300) + " | " + (document.querySelector("[data-said]")?.textContent || "")`))
		t.Fatalf("waiting for %s: %v; the page says %s", expression, err, said)
	}
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

// Each sheet opens at two widths without a fault, nothing runs out of the page, axe-core finds nothing
// serious, and a picture of it is kept for reading.
func TestBrowserSheets(t *testing.T) {
	s := openSite(t, nil).with("heron-van").with("bad-bittern")
	at := s.listen()
	for _, width := range []int64{1280, 390} {
		ctx := tabOf(t, width, 900)
		quiet := faults(t, ctx)
		var pages []string
		for _, key := range sheetKeys() {
			pages = append(pages, "/b/heron-van/"+key)
		}
		pages = append(pages, "/", "/new", "/b/heron-van/text", "/b/heron-van/revisions", "/b/heron-van/ladder", "/b/bad-bittern/roof", "/b/bad-bittern/text", "/join", "/nowhere")
		for _, page := range pages {
			name := strings.Trim(strings.ReplaceAll(page, "/", "-"), "-")
			if name == "" {
				name = "shelf"
			}
			do(t, ctx, chromedp.Navigate(at+page))
			if get(t, ctx, chromedp.Evaluate[bool](`!!document.querySelector("script[src]")`)) {
				until(t, ctx, `!!document.body.dataset.ready`)
			}
			if get(t, ctx, chromedp.Evaluate[bool](`!!document.querySelector("[data-sun]")`)) {
				until(t, ctx, `!!document.body.dataset.energy`)
			}
			if get(t, ctx, chromedp.Evaluate[bool](`!!document.querySelector("[data-quick]")`)) {
				until(t, ctx, `!!document.body.dataset.full`)
			}
			if over := get(t, ctx, chromedp.Evaluate[float64](`document.documentElement.scrollWidth - innerWidth`)); over > 1 {
				t.Errorf("%s at %d: %.0f px wider than the window", page, width, over)
			}
			serious(t, ctx, fmt.Sprintf("%s at %d", page, width))
			keep(t, ctx, fmt.Sprintf("%s-%d", name, width))
		}
		quiet()
	}
}
