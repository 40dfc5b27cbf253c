// The roof: things are moved by hand or key, the server redraws, and the sun goes over real cells.
const $ = (q, from = document) => from.querySelector(q), all = (q, from = document) => [...from.querySelectorAll(q)];
const ns = "http://www.w3.org/2000/svg";
const build = location.pathname.split("/")[2], api = "/api/builds/" + build + "/";
const said = $("[data-said]"), sun = $("[data-sun]");
const still = !sun || sun.hasAttribute("data-still");
let base = +($("[data-base]")?.value || 0), course = null, pending = new Map();
const snap = 0.01, fine = 0.001, catchAt = 0.025; // metres

function node(name, attributes) { const x = document.createElementNS(ns, name); for (const k in attributes) x.setAttribute(k, attributes[k]); return x; }
const hand = (figure) => $(`[data-hand="${figure}"]`);
const thing = (kind, name) => all(".thing").find((t) => t.dataset.kind === kind && t.dataset.name === name);
const round = (v, step) => Math.round(v / step) * step;

async function ask(path, extra = {}) {
  const moves = extra.moves || [...pending.values()];
  const r = await fetch(api + path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ base, leg: +($("[data-stay]")?.value ?? 0), day: $("[data-day]")?.value || "", ...extra, moves }) });
  const out = await r.json();
  if (!r.ok) { const e = new Error(out.error || r.status); e.status = r.status; e.out = out; throw e; }
  return out;
}

// --- drawing what the server answers

function apply(out) {
  out.figures.forEach((f, i) => { const box = $(`[data-plan="${i}"]`); if (box) box.innerHTML = f.svg; });
  for (const h of out.hands) {
    const svg = hand(h.figure);
    if (!svg) continue;
    svg.dataset.zoom = h.zoom;
    $("[data-open]", svg).setAttribute("d", h.open);
    svg.cells = h;
    for (const t of h.things) {
      const g = all(".thing", svg).find((x) => x.dataset.kind === t.kind && x.dataset.name === t.name);
      if (!g) continue;
      g.setAttribute("aria-label", t.text);
      g.dataset.turn = t.turn_deg;
      if (g === held?.g) continue;
      g.dataset.x = t.at_x_m; g.dataset.y = t.at_y_m;
      place(g, t.x, t.y, t.w, t.h);
    }
  }
  $("[data-margin]").innerHTML = out.margin_html;
  $("[data-lead]").textContent = out.lead;
  for (const s of out.strip) strip(s.key, s.text, s.bad);
  if (out.saved) setBase(out.revision);
}

function place(g, x, y, w, h) { const r = $("rect", g); r.setAttribute("x", x); r.setAttribute("y", y); if (w) { r.setAttribute("width", w); r.setAttribute("height", h); } }
function strip(key, text, bad) { const d = $(`[data-strip="${key}"]`); if (d) { d.textContent = text; d.classList.remove("waiting"); d.parentElement.classList.toggle("bad", !!bad); } }

function setBase(n) {
  base = n;
  all("[data-base]").forEach((i) => { i.value = n; });
  const r = $("[data-revision]"); if (r) r.textContent = n;
  const u = $("[data-undo]"); if (u) u.disabled = n < 2;
  const d = $("[data-redo]"); if (d) d.disabled = true;
}

// --- one request at a time; the latest wish wins

let busy = false, again = null;
async function redraw(save) {
  if (busy) { again = again === null ? save : again || save; return; }
  busy = true;
  const asked = new Map(pending);
  try {
    const out = await ask("try", { moves: [...asked.values()], save: !!save });
    performance.mark("redrawn");
    if (out.saved) for (const [k, v] of asked) if (pending.get(k) === v) pending.delete(k);
    all(".clash").forEach((g) => g.classList.remove("clash"));
    if (out.saved) $("[data-notice]")?.remove();
    apply(out);
    document.body.dataset.redraws = +(document.body.dataset.redraws || 0) + 1;
    if (save) { said.textContent = "saved as revision " + base; document.body.dataset.saved = base; sky().then(() => span() && paint()); }
  } catch (e) {
    if (e.status === 409) {
      said.textContent = "another window saved this build; what you moved is not saved";
      notice("Another window saved this build meanwhile.", "Load what it saved", () => location.reload());
    } else { // it lies over another thing, or off the roof
      said.textContent = e.message;
      for (const m of asked.values()) thing(m.kind, m.name)?.classList.add("clash");
      if (save) { notice("Not kept: " + (e.out?.problems?.map((p) => p.path + ": " + p.want).join("; ") || e.message)); pending.clear(); again = false; }
    }
  }
  busy = false;
  if (again !== null) { const s = again; again = null; redraw(s); }
}

function notice(text, action, go) {
  let n = $("[data-notice]");
  if (!n) { n = document.createElement("p"); n.dataset.notice = ""; n.className = "notice"; n.setAttribute("role", "alert"); document.body.append(n); }
  n.replaceChildren(text + " ");
  const b = document.createElement("button");
  b.textContent = action || "Close";
  b.addEventListener("click", go || (() => n.remove()));
  n.append(b);
}

function wish(g, save) {
  pending.set(g.dataset.kind + "/" + g.dataset.name, { kind: g.dataset.kind, name: g.dataset.name, x_m: +(+g.dataset.x).toFixed(4), y_m: +(+g.dataset.y).toFixed(4) });
  redraw(save);
}

// --- moving by hand

let held = null;
function metres(svg, e) { const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse()); return { x: p.x / +svg.dataset.zoom, y: p.y / +svg.dataset.zoom }; }
function box(g) { const r = $("rect", g), z = +g.ownerSVGElement.dataset.zoom; return { x: +r.getAttribute("x") / z, y: +r.getAttribute("y") / z, w: +r.getAttribute("width") / z, h: +r.getAttribute("height") / z }; }

// edges a thing may snap to, in the sheet's metres: others' edges, a gap of 10 mm from them, 20 mm in from the roof's
function stops(svg, g, low, size) {
  const out = [], b = svg.cells?.box, z = +svg.dataset.zoom, k = low === "x" ? 0 : 1;
  if (b) out.push(b[k] / z + 0.02, (b[k] + b[k + 2]) / z - 0.02);
  for (const t of all(".thing", svg)) if (t !== g) { const o = box(t); out.push(o[low], o[low] + o[size], o[low] + o[size] + 0.01, o[low] - 0.01); }
  return out;
}
function caught(svg, g, low, size, at, length) {
  let best = null;
  for (const s of stops(svg, g, low, size)) for (const off of [0, length]) {
    const d = Math.abs(at + off - s);
    if (d < catchAt && (!best || d < best.d)) best = { d, at: s - off, line: s };
  }
  return best;
}
function guides(svg, lines) {
  const g = $("[data-guides]", svg), z = +svg.dataset.zoom, v = svg.viewBox.baseVal;
  g.replaceChildren(...lines.map((l) => node("line", l.x !== undefined ? { x1: l.x * z, x2: l.x * z, y1: 0, y2: v.height, class: "guide" } : { y1: l.y * z, y2: l.y * z, x1: 0, x2: v.width, class: "guide" })));
}

for (const g of still ? [] : all(".thing")) {
  const svg = g.ownerSVGElement;
  g.addEventListener("pointerdown", (e) => {
    if (e.button) return;
    g.setPointerCapture(e.pointerId);
    const b = box(g);
    held = { g, from: metres(svg, e), x: +g.dataset.x, y: +g.dataset.y, bx: b.x, by: b.y, w: b.w, h: b.h, moved: false };
    g.classList.add("held");
  });
  g.addEventListener("pointermove", (e) => {
    if (held?.g !== g) return;
    const p = metres(svg, e), z = +svg.dataset.zoom, lines = [];
    let dx = round(held.x + p.x - held.from.x, snap) - held.x, dy = round(held.y + p.y - held.from.y, snap) - held.y;
    if (!e.altKey) {
      const cx = caught(svg, g, "x", "w", held.bx + p.x - held.from.x, held.w), cy = caught(svg, g, "y", "h", held.by + p.y - held.from.y, held.h);
      if (cx) { dx = cx.at - held.bx; lines.push({ x: cx.line }); }
      if (cy) { dy = cy.at - held.by; lines.push({ y: cy.line }); }
    }
    if (!held.moved && Math.hypot(p.x - held.from.x, p.y - held.from.y) * z < 1) return;
    held.moved = true;
    g.dataset.x = held.x + dx; g.dataset.y = held.y + dy;
    place(g, (held.bx + dx) * z, (held.by + dy) * z);
    guides(svg, lines);
    wish(g, false);
  });
  const drop = (e) => {
    if (held?.g !== g) return;
    const moved = held.moved;
    if (e.type === "pointercancel") { g.dataset.x = held.x; g.dataset.y = held.y; pending.delete(g.dataset.kind + "/" + g.dataset.name); }
    held = null;
    g.classList.remove("held");
    guides(svg, []);
    if (e.type === "pointercancel") redraw(false); else if (moved) wish(g, true);
  };
  g.addEventListener("pointerup", drop);
  g.addEventListener("pointercancel", drop);

  let timer = 0;
  g.addEventListener("keydown", (e) => {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (e.key === "r" && g.dataset.kind === "modules") {
      e.preventDefault();
      clearTimeout(timer); // what the arrows moved goes with the turn
      pending.set("turn/" + g.dataset.name, { kind: "modules", name: g.dataset.name, turn_deg: (+g.dataset.turn + 90) % 360 });
      redraw(true);
      return;
    }
    if (!step) return;
    e.preventDefault();
    const by = e.shiftKey ? 0.1 : e.altKey ? fine : snap, z = +svg.dataset.zoom, b = box(g);
    g.dataset.x = +g.dataset.x + step[0] * by; g.dataset.y = +g.dataset.y + step[1] * by;
    place(g, (b.x + step[0] * by) * z, (b.y + step[1] * by) * z);
    said.textContent = `${g.dataset.name}: ${Math.round(g.dataset.x * 1000)} mm from the front, ${Math.round(g.dataset.y * 1000)} mm from the left`;
    wish(g, false);
    clearTimeout(timer);
    timer = setTimeout(() => wish(g, true), 500); // a run of keys is one revision
  });
}

all("[data-larger]").forEach((b) => b.addEventListener("click", () => {
  const on = $(".stack", b.closest("figure")).classList.toggle("larger");
  b.setAttribute("aria-pressed", on);
  b.textContent = on ? "Whole plan" : "Larger plan";
}));

// --- the sun

let skyTurn = 0;
async function sky() {
  if (!sun) return;
  const mine = ++skyTurn;
  const energy = $('[data-strip="energy"]');
  energy.classList.add("waiting");
  try {
    const out = await ask("course");
    if (mine !== skyTurn) return;
    if (!course) { // begin where the roof's things take most
      const worst = out.moments.reduce((a, m) => m.open_W - m.left_W > a.open_W - a.left_W ? m : a);
      if (worst.open_W - worst.left_W > 1) $("[data-hour]").value = worst.hour;
    }
    course = out;
    solidModel();
    bars();
    moment();
    document.body.dataset.sun = mine;
    const day = await ask("energy");
    if (mine === skyTurn) { strip("energy", day.text); document.body.dataset.energy = mine; }
  } catch (e) { if (mine === skyTurn) { energy.textContent = "–"; said.textContent = e.message; $("[data-where]").textContent = e.message; } }
}

const left = 14, width = 932, slot = width / 48;
function bars() {
  const svg = $("[data-bars]"), parts = [], most = Math.max(1, ...course.moments.map((m) => m.open_W));
  for (let i = 0; i < 48; i++) {
    const in_ = course.moments.filter((m) => m.hour >= i / 2 && m.hour < (i + 1) / 2), mean = (k) => in_.reduce((s, m) => s + m[k], 0) / Math.max(1, in_.length);
    const open = 64 * mean("open_W") / most, kept = 64 * mean("left_W") / most, x = left + i * slot + 1;
    if (open > 0.2) parts.push(node("rect", { class: "bar-left", x, y: 70 - kept, width: slot - 2, height: kept }), node("rect", { class: "bar-open", x, y: 70 - open, width: slot - 2, height: open }));
  }
  parts.push(node("line", { class: "base", x1: left, x2: left + width, y1: 70, y2: 70 }));
  for (let h = 0; h <= 24; h += 3) { const t = node("text", { class: "tick-text", x: left + h * 2 * slot, y: 95, "text-anchor": "middle" }); t.textContent = h; parts.push(t); }
  parts.push(node("line", { class: "now", "data-now": "", y1: 2, y2: 74 }));
  svg.replaceChildren(...parts);
  $("[data-where]").textContent = `${course.place}, ${course.posture}, ` + (course.heading_free ? "front to the north, for want of a heading" : `front to ${course.heading_deg}°`);
}

// --- the light of each cell over a day, the trip, a year

let picture = null, pictureTurn = 0;
const span = () => $("[data-span]:checked")?.value || "";
async function paint() {
  const mine = ++pictureTurn, words = $("[data-span-text]");
  picture = null;
  if (!span()) { words.textContent = "light kept by each cell"; moment(); return; }
  words.textContent = "being computed";
  moment();
  try {
    const out = await ask("cells", { span: span() });
    if (mine !== pictureTurn) return;
    picture = out;
    words.textContent = out.text;
    said.textContent = span() + ": " + out.text;
    moment();
    document.body.dataset.picture = out.span;
  } catch (e) { if (mine === pictureTurn) words.textContent = e.message; }
}

function clock(h) { const m = Math.round(h * 60); return String(Math.floor(m / 60)).padStart(2, "0") + ":" + String(m % 60).padStart(2, "0"); }

function moment() {
  if (!course) return;
  const range = $("[data-hour]"), hour = +range.value;
  let m = course.moments[0];
  for (const x of course.moments) if (Math.abs(x.hour - hour) < Math.abs(m.hour - hour)) m = x;
  const now = $("[data-now]"), x = left + hour * 2 * slot;
  now.setAttribute("x1", x); now.setAttribute("x2", x);
  const up = m.elevation_deg > 0;
  dispatchEvent(new CustomEvent("noonmark:moment", { detail: { ...m, heading_deg: course.heading_deg } }));
  range.setAttribute("aria-valuetext", `${clock(hour)}, ` + (up ? `sun ${Math.round(m.elevation_deg)}° up from ${Math.round(m.azimuth_deg)}°, ${m.open_W ? Math.round(100 * m.left_W / m.open_W) : 0} % of the light kept` : "the sun is down"));
  strip("kept", up && m.open_W ? `${Math.round(100 * m.left_W / m.open_W)} % at ${clock(hour)}` : "sun down");
  for (const svg of all("[data-hand]")) {
    const figure = svg.dataset.hand, parts = [], wide = span() !== "", lit = wide ? picture?.light : m.lit;
    for (const s of wide ? [] : m.shadows || []) if (String(s.figure) === figure) parts.push(node("polygon", { class: "shadow", points: s.points }), node("polygon", { class: "shadow-lines", points: s.points, fill: `url(#lines-${figure})` }));
    $("[data-shadows]", svg).replaceChildren(...parts);
    const h = svg.cells, cells = [];
    if (h && lit) h.cells.forEach((c, i) => {
      const l = lit[h.first_cell + i], lacks = wide ? Math.min(1, (1 - l / 100) / 0.33) : 1 - l / 100; // a third lacking is as dark as it gets
      if (l >= 99) return;
      cells.push(node("polygon", { class: "cell", points: c, "fill-opacity": (0.12 + 0.6 * lacks).toFixed(2) }));
      if (wide && lacks > 0.2) cells.push(node("polygon", { class: "shadow-lines", points: c, fill: `url(#lines-${figure})` }));
    });
    $("[data-cells]", svg).replaceChildren(...cells);
    compass(svg, m, up && !wide);
  }
}

// the sun's arrow at the drawing's lower right, front of the vehicle to the left
function compass(svg, m, up) {
  let g = $("[data-compass]", svg);
  if (!g) { g = node("g", { "data-compass": "" }); svg.append(g); }
  if (!up) { g.replaceChildren(); return; }
  const v = svg.viewBox.baseVal, a = (m.azimuth_deg - course.heading_deg) * Math.PI / 180, cx = v.width - 13, cy = v.height - 16, r = 7;
  const sx = cx - r * Math.cos(a), sy = cy + r * Math.sin(a);
  const t = node("text", { class: "sun-text", x: v.width - 2, y: v.height - 2.5, "text-anchor": "end" });
  t.textContent = `sun ${Math.round(m.elevation_deg)}° up`;
  g.replaceChildren(node("line", { class: "sun-ray", x1: sx, y1: sy, x2: cx + 4 * Math.cos(a), y2: cy - 4 * Math.sin(a) }), node("circle", { class: "sun-disc", cx: sx, cy: sy, r: 2 }), t);
}

// --- the solid view: a module of its own, loaded when it is asked for, where the browser can draw

const solid = $("[data-solid]");
let solidTurn = 0;
async function solidModel() {
  if (!solid?.dataset.on) return;
  const mine = ++solidTurn;
  try {
    const out = await ask("solid");
    if (mine === solidTurn) dispatchEvent(new CustomEvent("noonmark:solid", { detail: out }));
  } catch (e) { $("[data-solid-text]").textContent = e.message; }
}
if (solid && document.createElement("canvas").getContext?.("2d")) {
  solid.hidden = false;
  const open = $("[data-solid-open]"), canvas = $("canvas", solid);
  open.addEventListener("click", () => {
    const on = canvas.hidden;
    canvas.hidden = !on;
    open.textContent = on ? "Hide the solid" : "Show it as a solid";
    open.setAttribute("aria-expanded", on);
    if (!on || solid.dataset.on) return;
    solid.dataset.on = "1";
    addEventListener("noonmark:ready", () => { solidModel(); moment(); });
    const s = document.createElement("script");
    s.type = "module";
    s.src = solid.dataset.src;
    document.head.append(s);
  });
}

if (sun) {
  $("[data-hour]").addEventListener("input", moment);
  $("[data-day]").addEventListener("change", () => sky().then(() => span() === "day" && paint()));
  all("[data-span]").forEach((b) => b.addEventListener("change", paint));
  $("[data-stay]").addEventListener("change", (e) => {
    const o = e.target.selectedOptions[0], d = $("[data-day]");
    if (d.value < o.dataset.from || d.value > o.dataset.till) d.value = o.dataset.from;
    sky();
  });
}
if (base) redraw(false).then(sky); else sky();
document.body.dataset.ready = "1";
