// A cell of the matrix opens the story of its worst moment.
const cells = [...document.querySelectorAll("button.cell")];
const chosen = byId("chosen");
const ms = (us) => `${(us / 1000).toFixed(1)} ms`;
const seconds = (us) => `${(us / 1e6).toFixed(3)} s`;

function region(name) { return made("div", { class: "wide", role: "region", tabindex: "0", "aria-label": name }); }
function table(kind, heads, rows) {
  const one = made("table", { class: kind }), head = made("thead"), line = made("tr"), body = made("tbody");
  for (const [text, look] of heads) line.append(made("th", { scope: "col", class: look }, text));
  head.append(line);
  body.append(...rows);
  one.append(head, body);
  return one;
}
function plotted(row) {
  const name = `Margin against moment, ${row.points.length} points`;
  if (!row.points.length) return made("p", {}, "No margin was measured at any moment.");
  const [first, last] = row.window, margins = row.points.map((one) => one[1]);
  const top = Math.max(0, ...margins), foot = Math.min(0, ...margins), span = top - foot || 1;
  const x = (moment) => 9 + (moment - first) / Math.max(1, last - first) * 89;
  const y = (margin) => 20 + (top - margin) / span * 180;
  const least = row.points.reduce((a, b) => (b[1] < a[1] ? b : a));
  const one = drawn("svg", { class: "plot", role: "img", "aria-label": `${name}; the least is ${ms(least[1])} at ${seconds(least[0])}` });
  for (const [margin, look] of [[top, "rule"], [0, "zero"], ...(foot < 0 ? [[foot, "rule"]] : [])]) {
    one.append(drawn("line", { class: look, x1: "9%", x2: "98%", y1: y(margin), y2: y(margin) }));
    one.append(drawn("text", { x: "8.5%", y: y(margin) + 4, "text-anchor": "end" }, look === "zero" ? "limit" : ms(margin)));
  }
  for (const [moment, margin] of row.points) one.append(drawn("circle", { class: "dot", cx: `${x(moment)}%`, cy: y(margin), r: 3 }));
  one.append(drawn("circle", { class: "worst", cx: `${x(least[0])}%`, cy: y(least[1]), r: 6 }));
  for (const [moment, anchor] of [[first, "start"], [(first + last) / 2, "middle"], [last, "end"]]) {
    one.append(drawn("text", { x: `${x(moment)}%`, y: 228, "text-anchor": anchor }, seconds(moment)));
  }
  return one;
}
function chainOf(chain) {
  const box = made("div", { class: "chain" });
  box.append(made("h3", {}, `${chain.requirements}: ${chain.measured} of ${chain.limit}, margin ${chain.margin}`));
  const bar = drawn("svg", { class: "bar", role: "img", "aria-label": `Delays that add up to ${chain.measured}, beside the limit of ${chain.limit}` });
  bar.append(drawn("rect", { class: "room", width: `${chain.limit_at}%`, height: 34, y: 4 }));
  chain.delays.forEach((delay, k) => {
    if (delay.wide <= 0.05) return;
    const part = drawn("svg", { x: `${delay.since}%`, y: 4, width: `${delay.wide}%`, height: 34 });
    part.append(drawn("rect", { class: `d${k % 6}`, width: "100%", height: 34 }));
    if (delay.wide > 2.5) part.append(drawn("text", { x: "50%", y: 22, "text-anchor": "middle" }, String(delay.number)));
    bar.append(part);
  });
  bar.append(drawn("line", { class: "limit", x1: `${chain.limit_at}%`, x2: `${chain.limit_at}%`, y1: 0, y2: 42 }));
  const rows = chain.delays.map((delay) => {
    const line = made("tr");
    line.append(made("td", { class: "n" }, String(delay.number)), made("th", { scope: "row" }, delay.name), made("td", { class: "n" }, delay.lasts),
      made("td", { class: "n" }, delay.sum), made("td", {}, `${delay.instant}: ${delay.sentence}`));
    return line;
  });
  const hold = region("Delays");
  hold.append(table("delays", [["no.", "n"], ["delay", ""], ["takes", "n"], ["together", "n"], ["ends when", ""]], rows));
  box.append(made("p", {}, `Begins at ${chain.instant}: ${chain.cause}.`), bar, hold);
  return box;
}
function storyOf(row) {
  const rows = row.lines.map(([when, strip, who, sentence, alarming]) => {
    const line = made("tr", { class: alarming ? "alarming" : "" }), what = made("td");
    what.append(made("bdi", {}, data.texts[sentence]));
    line.append(made("td", { class: "n" }, when), made("td", { class: "strip-text" }, data.texts[strip]), made("td", {}, data.texts[who]), what);
    return line;
  });
  const hold = region("The story of the worst moment");
  hold.append(table("story", [["time", "n"], ["leaf, closed … open", ""], ["who", ""], ["what", ""]], rows));
  return hold;
}
function choose(number, focus) {
  const row = data.rows[number], { look, mark } = row.cell;
  for (const cell of cells) cell.setAttribute("aria-pressed", String(Number(cell.dataset.row) === number));
  const title = made("h3"), badge = made("span", { class: `badge ${look}` }), facts = made("dl");
  badge.append(made("span", { "aria-hidden": "true" }, mark), ` ${row.cell.outcome}${row.cell.coverage === "exact" ? "" : `, ${row.cell.coverage}`}`);
  title.append(badge, " ", made("bdi", {}, row.name), `; ${row.column}`);
  for (const [name, text] of row.facts) { const pair = made("div"); pair.append(made("dt", {}, name), made("dd", {}, text)); facts.append(pair); }
  const parts = [title, facts];
  if (row.differs) parts.push(made("p", {}, "This is not what the catalogue lets expect of this fault."));
  if (row.why) parts.push(made("p", {}, row.why));
  if (row.latent) parts.push(made("p", {}, row.latent));
  if (row.gaps.length) parts.push(made("p", {}, `Not proved for: ${row.gaps.join("; ")}`));
  parts.push(made("h3", {}, "Margin against the moment of the fault"), plotted(row));
  if (row.chains.length) parts.push(made("h3", {}, "From fault to reaction"), ...row.chains.map(chainOf));
  if (row.lines.length) parts.push(made("h3", {}, "The story around the worst moment"), storyOf(row));
  if (row.cut) parts.push(made("p", {}, `${row.cut} further lines are left out.`));
  chosen.replaceChildren(...parts);
  chosen.hidden = false;
  byId("nothing").hidden = true;
  if (focus) { byId("h-detail").focus(); byId("h-detail").scrollIntoView({ block: "start" }); }
}
for (const cell of cells) cell.addEventListener("click", () => choose(Number(cell.dataset.row), true));
document.querySelector("table.matrix").addEventListener("keydown", (event) => {
  const cell = event.target.closest("button.cell");
  if (!cell || !event.key.startsWith("Arrow")) return;
  const place = cell.closest("td"), line = place.parentElement, column = place.cellIndex;
  const step = { ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] }[event.key];
  const lines = [...line.parentElement.rows];
  for (let y = lines.indexOf(line) + step[0], x = column + step[1]; lines[y] && lines[y].cells[x]; y += step[0], x += step[1]) {
    const next = lines[y].cells[x].querySelector("button.cell");
    if (next) { event.preventDefault(); next.focus(); return; }
  }
});
