// The editor: problems while typing, each leading to its line.
const form = document.querySelector("[data-editor]"), area = document.querySelector("textarea");
const box = document.querySelector("[data-problems]"), said = document.querySelector("[data-said]");

function go(line, column) {
  const lines = area.value.split("\n");
  let at = 0;
  for (let i = 0; i < line - 1 && i < lines.length; i++) at += lines[i].length + 1;
  const end = at + (lines[line - 1] || "").length;
  area.focus();
  area.setSelectionRange(at + Math.max(0, column - 1), end);
  area.scrollTop = area.scrollHeight * ((line - 4) / Math.max(1, lines.length));
}

document.addEventListener("click", (e) => {
  const a = e.target.closest("a[data-line]");
  if (a && area) { e.preventDefault(); go(+a.dataset.line, +a.dataset.column); }
});

function el(name, text) { const x = document.createElement(name); if (text) x.textContent = text; return x; }

function show(problems) {
  box.replaceChildren();
  document.querySelector(".head p").textContent = problems.length ? "Problems: " + problems.length + ". Not saved yet." : "The text reads without a problem. Not saved yet.";
  if (!problems.length) { box.append(el("p", "None.")); return; }
  const list = el("ol"), lines = area.value.split("\n");
  list.className = "problems";
  for (const p of problems) {
    const li = el("li");
    if (p.line) { const a = el("a", "line " + p.line); a.href = "#text"; a.dataset.line = p.line; a.dataset.column = p.column || 1; li.append(a, " "); }
    if (p.path) li.append(el("b", p.path), " ");
    if (p.found) li.append("is “" + p.found + "”; ");
    li.append("wanted: " + p.want + (p.likely ? "; most likely " + p.likely : "") + ".");
    if (p.line) li.append(el("code", lines[p.line - 1] || ""));
    list.append(li);
  }
  box.append(list);
}

if (form && area && box) {
  let timer = 0, turn = 0, dirty = false;
  area.addEventListener("input", () => {
    dirty = true;
    clearTimeout(timer);
    timer = setTimeout(async () => {
      const mine = ++turn;
      try {
        const r = await fetch("/api/problems", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ text: area.value }) });
        const out = await r.json();
        if (mine !== turn || !r.ok) return;
        show(out.problems);
        said.textContent = out.problems.length ? "problems: " + out.problems.length : "no problem";
      } catch { said.textContent = "the program does not answer; what you typed is still here"; }
    }, 250);
  });
  form.addEventListener("submit", () => { dirty = false; });
  addEventListener("beforeunload", (e) => { if (dirty) e.preventDefault(); });
}
document.body.dataset.ready = "1";
