package web

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// The solid view is loaded when it is asked for, turns by key, and follows the sun.
func TestBrowserSolid(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	at := s.listen()
	for _, width := range []int64{1280, 390} {
		ctx := tabOf(t, width, 1000)
		quiet := faults(t, ctx)
		do(t, ctx, chromedp.Navigate(at+"/b/heron-van/roof"))
		until(t, ctx, `!!document.body.dataset.energy`)
		if get(t, ctx, chromedp.Evaluate[bool](`[...document.scripts].some((s) => s.src.includes("solid"))`)) {
			t.Error("the solid view is loaded unasked")
		}
		do(t, ctx, discard(chromedp.Evaluate[any](`document.querySelector("[data-solid-open]").click()`)))
		until(t, ctx, `+document.body.dataset.solid > 0`)
		picture := func() string {
			return get(t, ctx, chromedp.Evaluate[string](`document.querySelector("[data-solid] canvas").toDataURL()`))
		}
		first := picture()
		if get(t, ctx, chromedp.Evaluate[int](`new Set(document.querySelector("[data-solid] canvas").getContext("2d").getImageData(0, 0, document.querySelector("[data-solid] canvas").width, document.querySelector("[data-solid] canvas").height).data).size`)) < 4 {
			t.Error("nothing is drawn")
		}
		do(t, ctx, discard(chromedp.Evaluate[any](`{const c = document.querySelector("[data-solid] canvas"); c.focus(); c.dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowLeft", bubbles: true, cancelable: true}))}`)))
		turned := picture()
		if turned == first {
			t.Error("a key does not turn it")
		}
		do(t, ctx, discard(chromedp.Evaluate[any](`{const r = document.querySelector("[data-hour]"); r.value = 9; r.dispatchEvent(new Event("input"))}`)))
		if picture() == turned {
			t.Error("it does not follow the sun")
		}
		serious(t, ctx, "roof with the solid")
		keep(t, ctx, "roof-solid-"+map[int64]string{1280: "1280", 390: "390"}[width])
		quiet()
	}
}

// The light of each cell: this hour, a clear day, the trip, a year, one beside the other.
func TestBrowserCells(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	at := s.listen()
	ctx := tabOf(t, 1280, 1000)
	quiet := faults(t, ctx)
	do(t, ctx, chromedp.Navigate(at+"/b/heron-van/roof"))
	until(t, ctx, `!!document.body.dataset.energy`)
	seen := map[string]bool{}
	for _, span := range []string{"day", "trip", "year"} {
		do(t, ctx, discard(chromedp.Evaluate[any](`document.querySelector('[data-span][value="`+span+`"]').click()`)))
		until(t, ctx, `document.body.dataset.picture === "`+span+`"`)
		cells := get(t, ctx, chromedp.Evaluate[string](`document.querySelector("[data-cells]").innerHTML`))
		if cells == "" || seen[cells] {
			t.Errorf("%s: no picture of its own", span)
		}
		seen[cells] = true
		if n := get(t, ctx, chromedp.Evaluate[int](`document.querySelectorAll("[data-shadows] .shadow").length`)); n != 0 {
			t.Errorf("%s: %d shadows of an hour", span, n)
		}
		keep(t, ctx, "roof-"+span+"-1280")
	}
	do(t, ctx, discard(chromedp.Evaluate[any](`document.querySelector('[data-span][value=""]').click()`)))
	if n := get(t, ctx, chromedp.Evaluate[int](`document.querySelectorAll("[data-shadows] .shadow").length`)); n == 0 {
		t.Error("no shadow of this hour")
	}
	quiet()
}

// A search shows its progress and then its layouts without a reload; one is opened as a new revision.
func TestBrowserChoice(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	at := s.listen()
	ctx := tabOf(t, 1280, 900)
	quiet := faults(t, ctx)
	do(t, ctx, chromedp.Navigate(at+"/b/heron-van/choice"))
	until(t, ctx, `!!document.body.dataset.ready`)
	do(t, ctx, discard(chromedp.Evaluate[any](`{const f = document.querySelector("details.search form"); f.most.value = "3"; f.querySelector('[value="layouts"]').click()}`)))
	until(t, ctx, `!!document.querySelector("[data-run]") || !!document.querySelector(".takes")`)
	serious(t, ctx, "choice while it searches")
	keep(t, ctx, "choice-running-1280")
	until(t, ctx, `!!document.querySelector(".takes button")`)
	serious(t, ctx, "choice")
	keep(t, ctx, "choice-1280")
	do(t, ctx, chromedp.EmulateViewport(390, 900))
	keep(t, ctx, "choice-390")
	do(t, ctx, chromedp.EmulateViewport(1280, 900), chromedp.Click(chromedp.CSS(".takes button")))
	until(t, ctx, `location.pathname.endsWith("/roof") && document.querySelector("[data-revision]")?.textContent === "2"`)
	quiet()
}

// What if: a larger battery is typed on the trip's sheet, and the sheet shows at once what it would change;
// saved only when asked.
func TestBrowserWhatIf(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	at := s.listen()
	ctx := tabOf(t, 1280, 900)
	quiet := faults(t, ctx)
	do(t, ctx, chromedp.Navigate(at+"/b/heron-van/trip"))
	until(t, ctx, `!!document.body.dataset.ready`)
	const typed = `{const h = [...document.querySelectorAll('[data-set] input[name="path"]')].find((i) => i.value === "battery/like"); h.closest("details").open = true;
const v = h.parentElement.querySelector('input[name="value"]'); v.value = "lfp-200"; v.dispatchEvent(new Event("input", {bubbles: true}))}`
	do(t, ctx, discard(chromedp.Evaluate[any](typed)))
	until(t, ctx, `document.querySelector("[data-changes] td")`)
	if strings.Contains(s.text("heron-van"), "lfp-200") {
		t.Error("what was tried is saved")
	}
	serious(t, ctx, "trip, tried")
	keep(t, ctx, "trip-whatif-1280")
	do(t, ctx, chromedp.Click(chromedp.CSS("[data-changes] form button")))
	until(t, ctx, `document.querySelector("[data-revision]")?.textContent === "2" && !document.querySelector("[data-changes]")`)
	if !strings.Contains(s.text("heron-van"), "lfp-200") {
		t.Error("it was not saved")
	}
	quiet()
}
