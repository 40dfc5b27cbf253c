// A sheet that was computed in short takes the one computed in full when it is ready.
const quick = document.querySelector("[data-quick]"), said = document.querySelector("[data-said]");
document.body.dataset.ready = "1";
if (quick) {
  const was = quick.textContent;
  try {
    const url = new URL(location.href);
    url.searchParams.set("full", "1");
    quick.textContent = "More is being computed.";
    const r = await fetch(url);
    if (!r.ok) throw new Error(r.status);
    const page = new DOMParser().parseFromString(await r.text(), "text/html");
    for (const part of [".head", ".draw", "[data-margin]"]) {
      const now = document.querySelector(part), then = page.querySelector(part);
      if (now && then) now.replaceWith(document.adoptNode(then));
    }
    said.textContent = "computed in full";
  } catch { quick.textContent = was; }
  document.body.dataset.full = "1";
}
