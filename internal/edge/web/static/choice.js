// The choice: how far a search is, and its outcome when it is there.
const build = location.pathname.split("/")[2], said = document.querySelector("[data-said]");
let told = "";
async function look() {
  if (!document.querySelector("[data-run]")) return;
  try {
    const r = await fetch("/api/builds/" + build + "/search", { headers: { Accept: "application/json" } });
    const out = await r.json();
    let busy = false;
    for (const s of out.searches) {
      const box = document.querySelector(`[data-run="${s.kind}"]`);
      if (!box) continue;
      if (s.state !== "runs") { if (box.dataset.seen === "runs") return swap(s.state); continue; }
      busy = true;
      box.dataset.seen = "runs";
      const bar = box.querySelector("progress");
      bar.max = s.total || 1;
      bar.value = s.done;
      box.querySelector("[data-far]").textContent = (s.kind === "sure" ? "Drawing what is not known" : `Searching ${s.kind}`) + (s.total ? `: ${s.done} of ${s.total}${s.kind === "sure" ? "" : " judged"}.` : ".");
      if (s.best) box.querySelector("[data-best]").textContent = s.best;
      if (s.best && s.best !== told) { told = s.best; said.textContent = "best so far: " + told; }
    }
    if (!busy) return;
  } catch { /* out of reach: again */ }
  setTimeout(look, 400);
}
async function swap(state) {
  const r = await fetch(location.href);
  const page = new DOMParser().parseFromString(await r.text(), "text/html");
  for (const part of [".head", ".field", ".under"]) {
    const now = document.querySelector(part), then = page.querySelector(part);
    if (now && then) now.replaceWith(document.adoptNode(then));
  }
  said.textContent = { done: "the search is done", stopped: "the search was stopped" }[state] ?? "the search failed";
  document.body.dataset.found = "1";
  look();
}
document.body.dataset.ready = "1";
document.querySelectorAll("[data-run]").forEach((b) => { b.dataset.seen = /Searching|Drawing/.test(b.textContent) ? "runs" : ""; });
look();
