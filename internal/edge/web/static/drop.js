// A file dropped anywhere on the page goes into its form, and the form is sent.
const form = document.querySelector("[data-drop]");
if (form) {
  const input = form.querySelector("input[type=file]");
  const over = (on) => form.classList.toggle("over", on);
  document.addEventListener("dragover", (e) => { e.preventDefault(); over(true); });
  document.addEventListener("dragleave", (e) => { if (!e.relatedTarget) over(false); });
  document.addEventListener("drop", (e) => {
    e.preventDefault();
    over(false);
    if (e.dataTransfer.files.length) { input.files = e.dataTransfer.files; form.submit(); }
  });
  input.addEventListener("change", () => { if (input.files.length) form.submit(); });
}
