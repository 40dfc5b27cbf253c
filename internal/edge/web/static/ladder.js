// What is typed on the ladder stays on the device until the computer has it.
const root = document.querySelector("[data-ladder]");
const store = (key) => "noonmark " + root.dataset.ladder + " " + key;
const read = (key, other) => { try { return JSON.parse(localStorage.getItem(store(key))) ?? other; } catch { return other; } };
const write = (key, v) => localStorage.setItem(store(key), JSON.stringify(v));
const form = root.querySelector("[data-keep]"), waiting = root.querySelector("[data-waiting]");
const said = document.querySelector("[data-said]");

// drafts: what stands in the form survives a phone that sleeps
const draft = read("draft", {});
for (const i of form.elements) if (i.name && draft[i.name]) i.value = draft[i.name];
form.addEventListener("input", () => write("draft", Object.fromEntries(new FormData(form))));

// a reading of a known kind is weighed at once: what it proves, and what to measure next
const kind = form.elements.kind, verdict = root.querySelector("[data-verdict]");
function shape() {
  const known = kind.value !== "";
  form.querySelector("[data-own]").hidden = known;
  form.querySelector("[data-at]").hidden = !known;
  form.elements.point.required = !known;
}
kind.addEventListener("change", shape);
shape();
async function weigh() {
  try {
    const r = await fetch("/api/builds/" + location.pathname.split("/")[2] + "/verdict", { headers: { Accept: "application/json" } });
    if (!r.ok) return;
    const out = await r.json();
    if (!out.lead) return;
    verdict.hidden = false;
    verdict.textContent = out.lead;
    document.body.dataset.verdict = "1";
  } catch { /* out of reach: later */ }
}

let sending = false;
async function send() {
  if (sending) return;
  sending = true;
  let sent = 0;
  try {
    for (let list = read("queue", []); list.length; list = read("queue", [])) {
      const r = await fetch(form.action, { method: "POST", body: new URLSearchParams(list[0]), headers: { Accept: "text/html" } });
      if (!r.ok && r.status !== 400 && r.status !== 409 && r.status !== 422) break; // a refusal will not get better
      if (!r.ok) write("refused", [...read("refused", []), list[0]]);
      write("queue", read("queue", []).slice(1));
      sent++;
    }
  } catch { /* out of reach: later */ }
  sending = false;
  tell();
  if (sent) location.reload();
}

function tell() {
  const n = read("queue", []).length, bad = read("refused", []).length;
  waiting.textContent = (n ? n + " on this device, not yet on the computer. " : "") + (bad ? bad + " refused by the computer: " + read("refused", []).map((x) => (x.point || x.kind + " " + x.at) + " " + x.value).join(", ") : "");
}

form.addEventListener("submit", (e) => {
  e.preventDefault();
  const x = Object.fromEntries(new FormData(form));
  x.key = Date.now().toString(36) + "-" + Math.random().toString(36).slice(2, 12); // sent twice, kept once
  x.when = new Date().toISOString();
  write("queue", [...read("queue", []), x]);
  write("draft", {});
  form.reset();
  said.textContent = "kept on this device";
  tell();
  send();
});
addEventListener("online", send);
document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
setInterval(send, 20000);

root.querySelectorAll("[data-tick]").forEach((box) => {
  const name = box.parentElement.textContent.trim();
  box.checked = !!read("ticks", {})[name];
  box.addEventListener("change", () => { const t = read("ticks", {}); t[name] = box.checked; write("ticks", t); });
});
tell();
send();
weigh();
document.body.dataset.ready = "1";
