import "./drop.js";

document.body.dataset.ready = "1";
