// The filter; a link to a scenario opens it.
const files = [...document.querySelectorAll("details.file")].map((one) => [one, one.textContent.toLowerCase()]);
function filter() {
  const words = byId("words").value.toLowerCase().split(/\s+/).filter(Boolean), which = byId("which").value;
  let shown = 0;
  for (const [one, text] of files) {
    const fits = words.every((word) => text.includes(word)) && (which === "" ||
      (which === "differs" ? one.dataset.outcome !== "as expected" : one.dataset.has.includes(`|${which}|`)));
    one.hidden = !fits;
    if (fits) shown += 1;
    for (const row of one.querySelectorAll("tr.row")) {
      row.hidden = which === "differs" ? row.dataset.differs !== "yes" : which !== "" && which !== "not exercised" && row.dataset.outcome !== which;
    }
  }
  byId("found").textContent = `${shown} of ${files.length} scenarios shown`;
}
byId("words").addEventListener("input", filter);
byId("which").addEventListener("change", filter);
document.querySelector("form.filter").addEventListener("submit", (event) => event.preventDefault());
byId("unfold").addEventListener("click", () => files.forEach(([one]) => { if (!one.hidden) one.open = true; }));
byId("fold").addEventListener("click", () => files.forEach(([one]) => { one.open = false; }));
function unfoldTarget() {
  const one = byId(location.hash.slice(1));
  if (one && one.matches("details.file")) { one.hidden = false; one.open = true; one.querySelector("summary").focus(); }
}
window.addEventListener("hashchange", unfoldTarget);
window.addEventListener("beforeprint", () => files.forEach(([one]) => { if (!one.hidden) one.open = true; }));
filter();
unfoldTarget();
