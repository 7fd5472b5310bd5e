// The gate moves with the slider. Instants are whole microseconds; `place` is a share of the axis that is drawn.
const slider = byId("time"), clock = byId("clock"), nowList = byId("now"), told = byId("told");
const storyRows = [...document.querySelectorAll("#story tr")].map((row) => [Number(row.dataset.at), row]);
const cursors = [...document.querySelectorAll("line.cursor")];
let at = 0, playing = null;

function lastAt(list, when, key) {
  let low = 0, high = list.length;
  while (low < high) { const mid = (low + high) >> 1; if (key(list[mid]) <= when) low = mid + 1; else high = mid; }
  return low - 1;
}
function placeOf(when) {
  let place = 0;
  for (const [since, until, start] of data.axis) if (when >= since) place = start + (Math.min(when, until) - since) * data.each;
  return place;
}
function instantOf(place) {
  let when = data.axis[0][0];
  for (const [since, until, start] of data.axis) if (place >= start) when = Math.min(until, since + (place - start) / data.each);
  return Math.round(when);
}
function shareOf(leaf, when) {
  const k = lastAt(data.samples, when, (t) => t);
  if (k < 0) return leaf.shares[0];
  if (k + 1 >= data.samples.length) return leaf.shares[leaf.shares.length - 1];
  const since = data.samples[k], until = data.samples[k + 1];
  const part = until > since ? (when - since) / (until - since) : 0;
  return leaf.shares[k] + (leaf.shares[k + 1] - leaf.shares[k]) * part;
}
function moved(leaf, share) {
  if (leaf.how === "swing") return `rotate(${(-leaf.far * share).toFixed(3)} ${leaf.pivot} 150)`;
  if (leaf.how === "lift") return `translate(0 ${(-leaf.far * share).toFixed(2)})`;
  return `translate(${(leaf.far * share).toFixed(2)} 0)`;
}
const seconds = (when) => `${(when / 1e6).toFixed(3)} s`;
const holds = (list, leaf, way) => list.find((one) => one[0] <= at && at < one[1] && one[2] === leaf && one[3] === way);

const fields = new Map();
function field(name, text, strong) {
  if (!fields.has(name)) {
    const pair = made("div"), value = made("dd");
    pair.append(made("dt", {}, name), value);
    nowList.append(pair);
    fields.set(name, value);
  }
  const value = fields.get(name);
  if (value.textContent !== text) value.textContent = text;
  value.parentElement.classList.toggle("strong", Boolean(strong));
}
function show(when, say) {
  at = Math.max(0, Math.min(data.ends, when));
  const place = placeOf(at);
  slider.value = String(Math.round(place * 10000));
  slider.setAttribute("aria-valuetext", seconds(at));
  clock.textContent = seconds(at);
  for (const line of cursors) { line.setAttribute("x1", `${place * 100}%`); line.setAttribute("x2", `${place * 100}%`); }
  for (const leaf of data.leaves) {
    const share = Math.max(0, Math.min(1, shareOf(leaf, at)));
    const group = byId(`leaf-${leaf.name}`);
    group.setAttribute("transform", moved(leaf, share));
    field(`${leaf.title} at`, leaf.travel[Math.round(share * 200)]);
    for (const way of ["closing", "opening"]) {
      const contact = holds(data.contacts, leaf.name, way);
      const block = group.querySelector(`.block.${way}`);
      if (contact) block.removeAttribute("hidden"); else block.setAttribute("hidden", "");
      group.querySelector(`.strip.${way}`).classList.toggle("pressed", Boolean(holds(data.pressed, leaf.name, way)));
    }
  }
  if (data.contacts.length) {
    const touched = data.contacts.filter((one) => one[0] <= at && at < one[1]).map((one) => one[4]).join(", ");
    field("touches", touched || "nothing", touched);
  }
  for (const [name, changes] of data.now) {
    const k = lastAt(changes, at, (one) => one[0]);
    const text = k < 0 ? "–" : changes[k][1];
    field(name, text, /^fault|^alarm|^lockout/.test(name) && text !== "–");
  }
  const current = lastAt(storyRows, at, (one) => one[0]);
  storyRows.forEach(([, row], k) => row.classList.toggle("current", k === current));
  told.textContent = say && current >= 0 ? storyRows.filter(([t]) => t === storyRows[current][0])
    .map(([, row]) => row.cells[2].textContent).join("; ") : told.textContent;
}
function step(way) {
  const k = lastAt(data.events, at, (t) => t);
  const next = way > 0 ? data.events[k + 1] : data.events[data.events[k] < at ? k : k - 1];
  show(next === undefined ? (way > 0 ? data.ends : 0) : next, true);
}
function stop() {
  if (playing !== null) cancelAnimationFrame(playing.frame);
  playing = null;
  byId("play").textContent = "▸ play";
  byId("play").setAttribute("aria-pressed", "false");
}
function play() {
  if (playing !== null) { stop(); return; }
  if (at >= data.ends) show(0, false);
  byId("play").textContent = "■ stop";
  byId("play").setAttribute("aria-pressed", "true");
  playing = { last: performance.now(), frame: 0 };
  const tick = (now) => {
    let next = at + (now - playing.last) * 1000 * Number(byId("pace").value);
    playing.last = now;
    // What is cut out of the axis is leapt over.
    const k = data.axis.findIndex(([, until], n) => at <= until && n + 1 < data.axis.length && next > until);
    if (k >= 0 && next < data.axis[k + 1][0]) next = data.axis[k + 1][0];
    show(next, false);
    if (at >= data.ends) { stop(); return; }
    playing.frame = requestAnimationFrame(tick);
  };
  playing.frame = requestAnimationFrame(tick);
}
slider.addEventListener("input", () => { stop(); show(instantOf(Number(slider.value) / 10000), true); });
slider.addEventListener("keydown", (event) => {
  const leap = { PageUp: 1000, PageDown: -1000, ArrowRight: 10, ArrowUp: 10, ArrowLeft: -10, ArrowDown: -10 }[event.key];
  if (leap === undefined) return;
  event.preventDefault();
  stop();
  const share = event.shiftKey ? leap / 10 : leap;
  show(instantOf(Math.max(0, Math.min(10000, placeOf(at) * 10000 + share)) / 10000), true);
});
byId("back").addEventListener("click", () => { stop(); step(-1); });
byId("forth").addEventListener("click", () => { stop(); step(1); });
byId("play").addEventListener("click", play);
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.target.tagName === "SELECT") return;
  const does = { n: () => { stop(); step(1); }, b: () => { stop(); step(-1); }, p: play }[event.key];
  if (does) { event.preventDefault(); does(); }
});
for (const button of document.querySelectorAll("button.jump")) {
  button.addEventListener("click", () => {
    stop();
    show(Number(button.dataset.at), true);
    byId("h-gate").scrollIntoView({ block: "start" });
  });
}
byId("lanes").addEventListener("click", (event) => {
  const track = event.target.closest("svg.track");
  if (!track) return;
  const box = track.getBoundingClientRect();
  stop();
  show(instantOf((event.clientX - box.left) / box.width), true);
});
show(0, true);
