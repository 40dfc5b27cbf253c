// A sheet that was computed in short takes the one computed in full when it is ready, and figures that are
// typed show at once what they would change.
import "./choice.js";

const said = document.querySelector("[data-said]");
let turn = 0;
document.body.dataset.ready = "1";

function take(page, parts) {
  for (const part of parts) {
    const now = document.querySelector(part), then = page.querySelector(part);
    if (now && then) now.replaceWith(document.adoptNode(then));
  }
}
const read = async (r) => new DOMParser().parseFromString(await r.text(), "text/html");

async function full(ask) {
  const quick = document.querySelector("[data-quick]");
  if (!quick) return;
  const was = quick.textContent, mine = turn;
  try {
    quick.textContent = "More is being computed.";
    const r = await ask();
    if (mine !== turn) return;
    if (!r.ok) throw new Error(r.status);
    take(await read(r), [".head", ".draw", "[data-margin]"]);
    said.textContent = "computed in full";
  } catch { quick.textContent = was; }
  if (mine === turn) document.body.dataset.full = "1";
}
full(() => { const url = new URL(location.href); url.searchParams.set("full", "1"); return fetch(url); });

// what if: the sheet as it would be, while figures are typed
const form = document.querySelector("[data-set]"), go = document.querySelector("[data-try]");
if (form && go) {
  let timer = 0;
  const body = () => new URLSearchParams(new FormData(form));
  const attempt = async () => {
    const mine = ++turn;
    delete document.body.dataset.full;
    try {
      const r = await fetch(go.formAction, { method: "POST", body: body() });
      if (mine !== turn) return;
      const page = await read(r);
      if (!r.ok) { said.textContent = page.querySelector("main")?.textContent.trim() || "not yet a value"; return; }
      take(page, [".head", ".draw", "[data-margin]"]);
      const n = document.querySelectorAll("[data-changes] tbody tr").length;
      said.textContent = n ? n + " figures differ" : "nothing on this sheet differs";
      document.body.dataset.tried = mine;
      full(() => fetch(go.formAction + "?full", { method: "POST", body: body() }));
    } catch { said.textContent = "the program does not answer; what you typed is still here"; }
  };
  form.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(attempt, 250); });
}
