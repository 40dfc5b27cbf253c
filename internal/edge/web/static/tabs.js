// On a narrow page the rows of sheets begin where the sheet shown stands.
for (const nav of document.querySelectorAll(".tabs nav")) {
  const here = nav.querySelector("[aria-current]");
  if (here) nav.scrollLeft = here.offsetLeft - nav.offsetLeft - (nav.clientWidth - here.offsetWidth) / 2;
}
document.body.dataset.ready ||= "1";
