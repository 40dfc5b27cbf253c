// The vehicle as a solid, turned by hand or key: a picture beside the plan, which alone carries the figures.
// Shadows on the roof are the server's; that on the ground is a plain projection.
const box = document.querySelector("[data-solid]"), canvas = box.querySelector("canvas"), pen = canvas.getContext("2d"), said = box.querySelector("[data-solid-text]");
let model = null, sky = null, turn = -0.7, rise = 0.5, held = null;

const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const sub = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

// the eye looks from a direction of the vehicle's frame; the picture is a parallel one
function eye() { return [Math.cos(rise) * Math.cos(turn), Math.cos(rise) * Math.sin(turn), Math.sin(rise)]; }
function axes() { const e = eye(), right = [-Math.sin(turn), Math.cos(turn), 0]; return { e, right, up: cross(e, right) }; }

function prism(foot, top, ink) {
  const out = [{ points: top, ink, top: true }];
  for (let i = 0; i < foot.length; i++) { const k = (i + 1) % foot.length; out.push({ points: [foot[i], foot[k], top[k], top[i]], ink, wall: true }); }
  return out;
}
const middle = (list) => list.reduce((s, p) => [s[0] + p[0] / list.length, s[1] + p[1] / list.length, s[2] + p[2] / list.length], [0, 0, 0]);

function hull(list) {
  const p = [...list].sort((a, b) => a[0] - b[0] || a[1] - b[1]), half = (q) => { const h = []; for (const x of q) { while (h.length > 1 && (h[h.length - 1][0] - h[h.length - 2][0]) * (x[1] - h[h.length - 2][1]) - (h[h.length - 1][1] - h[h.length - 2][1]) * (x[0] - h[h.length - 2][0]) <= 0) h.pop(); h.push(x); } h.pop(); return h; };
  return [...half(p), ...half(p.reverse())];
}

// toward the sun, in the vehicle's frame: its front looks along -x
function sun() {
  if (!sky || sky.elevation_deg <= 0) return null;
  const a = (sky.azimuth_deg - sky.heading_deg) * Math.PI / 180, e = sky.elevation_deg * Math.PI / 180;
  return [-Math.cos(a) * Math.cos(e), Math.sin(a) * Math.cos(e), Math.sin(e)];
}

function parts() {
  const groups = []; // drawn far to near; in a group, in their order
  const s = sun();
  for (const f of model.surfaces) {
    const ground = f.level.map((p) => [p[0], p[1], 0.35]);
    groups.push({ at: middle([...ground, ...f.level]), faces: prism(ground, f.level, "--paper") });
    const lid = { at: middle(f.stands), faces: [] };
    lid.at[2] += 0.5;
    if (f.raised && f.walls) lid.faces.push(...prism(f.level, f.stands, "--white").slice(1));
    if (f.raised && !f.walls) lid.faces.push(...prism(f.stands.map((p) => [p[0], p[1], p[2] - 0.03]), f.stands, "--white").slice(1));
    lid.faces.push({ points: f.stands, ink: "--white", top: true });
    for (const m of model.modules) if (m.surface === f.name) lid.faces.push({ points: m.outline, ink: "--cells", top: true });
    if (f.plan && s) for (const h of sky.shadows || []) if (h.figure === f.plan.figure) {
      const at = h.points.split(" ").map((t) => { const [x, y] = t.split(",").map(Number), u = (x - f.plan.x_mm) / f.plan.zoom_mm, v = (y - f.plan.y_mm) / f.plan.zoom_mm; return [0, 1, 2].map((k) => f.plan.origin[k] + u * f.plan.along[k] + v * f.plan.across[k]); });
      lid.faces.push({ points: at, shadow: true, within: f.stands });
    }
    groups.push(lid);
  }
  for (const t of model.things) { const g = { at: middle([...t.foot, ...t.top]), faces: prism(t.foot, t.top, "--paper") }; g.at[2] += 1; groups.push(g); }
  return groups;
}

function groundShadow() {
  const s = sun();
  if (!s || s[2] < 0.05) return [];
  const down = (p) => [p[0] - s[0] * p[2] / s[2], p[1] - s[1] * p[2] / s[2], 0];
  const out = [];
  for (const f of model.surfaces) out.push(hull([...f.level.map((p) => [p[0], p[1], 0]), ...f.level.map(down), ...(f.raised ? f.stands.map(down) : [])]));
  for (const t of model.things) out.push(hull([...t.foot, ...t.top].map(down)));
  return out.map((h) => h.map((p) => [p[0], p[1], 0]));
}

function draw() {
  if (!model) return;
  const ratio = devicePixelRatio || 1, w = canvas.clientWidth, h = canvas.clientHeight;
  canvas.width = w * ratio; canvas.height = h * ratio;
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  const { e, right, up } = axes();
  let reach = 0.5;
  const all = model.surfaces.flatMap((f) => [...f.level, ...f.stands]), c = middle(all);
  c[2] = 1;
  for (const p of all) reach = Math.max(reach, Math.hypot(p[0] - c[0], p[1] - c[1]) + 0.4);
  const zoom = Math.min(w / (2 * reach * 1.25), h / (2 * reach * 1.1));
  const at = (p) => { const d = sub(p, c); return [w / 2 + zoom * dot(d, right), h / 2 - zoom * dot(d, up)]; };
  const trace = (points) => { pen.beginPath(); points.forEach((p, i) => { const [x, y] = at(p); if (i) pen.lineTo(x, y); else pen.moveTo(x, y); }); pen.closePath(); };
  pen.lineJoin = "round";
  const shadow = css("--shade"), ink = css("--ink");
  pen.fillStyle = shadow; pen.globalAlpha = 0.22;
  pen.beginPath();
  for (const g of groundShadow()) { g.forEach((p, i) => { const [x, y] = at(p); if (i) pen.lineTo(x, y); else pen.moveTo(x, y); }); pen.closePath(); }
  pen.fill("nonzero");
  pen.globalAlpha = 1;
  const s = sun();
  for (const g of parts().sort((a, b) => dot(a.at, e) - dot(b.at, e))) for (const f of g.faces) {
    if (f.points.length < 3) continue;
    let n = cross(sub(f.points[1], f.points[0]), sub(f.points[2], f.points[1]));
    if (f.top && n[2] < 0) n = n.map((x) => -x);
    if (f.wall) { const out = sub(middle(f.points), g.at); if (n[0] * out[0] + n[1] * out[1] < 0) n = n.map((x) => -x); if (dot(n, e) <= 0) continue; }
    if (f.shadow) {
      pen.save(); trace(f.within); pen.clip(); trace(f.points);
      pen.fillStyle = shadow; pen.globalAlpha = 0.4; pen.fill(); pen.globalAlpha = 1; pen.restore();
      continue;
    }
    trace(f.points);
    pen.fillStyle = css(f.ink) || css("--paper");
    pen.fill();
    const long = Math.hypot(...n) || 1, lit = s ? dot(n, s) / long : 0;
    if (s && lit <= 0) { pen.fillStyle = shadow; pen.globalAlpha = 0.3; pen.fill(); pen.globalAlpha = 1; }
    pen.lineWidth = 1; pen.strokeStyle = ink; pen.stroke();
  }
  pen.fillStyle = css("--fine"); pen.font = "13px B612, sans-serif"; pen.textAlign = "center";
  const front = middle(model.surfaces[0].level), low = Math.min(...all.map((p) => p[0]));
  const [fx, fy] = at([low - 0.5, front[1], 0]);
  pen.fillText("front", fx, fy);
  if (s) { const [x, y] = at([c[0] + s[0] * reach * 1.05, c[1] + s[1] * reach * 1.05, c[2] + s[2] * reach * 1.05]); pen.beginPath(); pen.arc(Math.max(10, Math.min(w - 10, x)), Math.max(10, Math.min(h - 10, y)), 7, 0, 7); pen.fillStyle = pen.strokeStyle = css("--sun"); if (dot(s, e) < 0) pen.fill(); else { pen.lineWidth = 2; pen.stroke(); } }
  const from = Math.round(((turn * 180 / Math.PI) % 360 + 360) % 360);
  canvas.setAttribute("aria-label", `the vehicle as a solid, ${model.posture}, seen from ${side(from)}, ${Math.round(rise * 180 / Math.PI)}° up`);
  said.textContent = `${model.posture}, seen from ${side(from)}; shadows on the roof as computed, on the ground a plain projection. Drag, or the arrow keys, turn it.`;
  document.body.dataset.solid = +(document.body.dataset.solid || 0) + 1;
}
function side(d) { return ["the rear", "the rear right", "the right", "the front right", "the front", "the front left", "the left", "the rear left"][Math.round(d / 45) % 8]; }

canvas.addEventListener("pointerdown", (e) => { held = { x: e.clientX, y: e.clientY, turn, rise }; canvas.setPointerCapture(e.pointerId); });
canvas.addEventListener("pointermove", (e) => { if (!held) return; turn = held.turn - (e.clientX - held.x) / 120; tilt(held.rise + (e.clientY - held.y) / 120); });
canvas.addEventListener("pointerup", () => { held = null; });
canvas.addEventListener("pointercancel", () => { held = null; });
canvas.addEventListener("keydown", (e) => {
  const by = { ArrowLeft: [0.13, 0], ArrowRight: [-0.13, 0], ArrowUp: [0, 0.1], ArrowDown: [0, -0.1] }[e.key];
  if (!by) return;
  e.preventDefault();
  turn += by[0];
  tilt(rise + by[1]);
});
function tilt(to) { rise = Math.max(0.05, Math.min(1.5, to)); draw(); }

addEventListener("noonmark:moment", (e) => { sky = e.detail; draw(); });
addEventListener("noonmark:solid", (e) => { model = e.detail; draw(); });
addEventListener("resize", draw);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
dispatchEvent(new CustomEvent("noonmark:ready"));
