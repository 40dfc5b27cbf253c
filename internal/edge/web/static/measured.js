import "./drop.js";

// the value stays at hand: the next reading is typed at once
if (location.hash === "#next") document.querySelector("[data-one] [name=value]")?.focus({ preventScroll: true });
document.body.dataset.ready = "1";
