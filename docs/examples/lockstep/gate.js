// The small gate controller of gate.py in JavaScript: gatesim check FILE --controller 'run:node gate.js'
//
// The same rules, so the same verdicts.  It takes no snapshots: where gatesim needs a fork of it, it starts the program
// anew and plays all its calls again.  An example of the protocol and no controller for a gate.
"use strict";

const OTHER = { opening: "closing", closing: "opening" };
const WAYS = { open: "opening", close: "closing" };
const QUIET = ["at rest", "pressed", "interrupted"];
let settings;
let s;

function powerUp(kept) {
  s = {
    mode: "at rest", way: null, order: null, main: false, brake: "hold", alarm: kept !== null, lockout: kept || "none",
    ask: 0, until: null, alarmUntil: null, target: null, begunAt: 0, interrupted: null, served: false, second: false,
    reverse: false, resetAt: null, notices: [], refused: [], control: null, held: [], seen: { reports: [] }, told: {},
    now: 0,
  };
}

const names = (controls) => controls.map((one) => one.join("/"));

function guards(way) {
  const edges = settings.edges.filter((edge) => edge.direction === way).map((edge) => edge.edge);
  return s.seen.reports.filter((report) => edges.includes(report.edge));
}

function faulty(way) {
  const bad = (one) => !one.heard || !one.fresh || one.critical || !QUIET.includes(one.level);
  return (guards(way).find(bad) || { edge: null }).edge;
}

function pressed(way) {
  const on = (one) => one.fresh && (one.level === "pressed" || one.level === "interrupted");
  return (guards(way).find(on) || { edge: null }).edge;
}

const full = () => s.lockout === "entrapment" || s.lockout === "drive";
const bars = (way) => s.lockout !== "none" && s.lockout !== OTHER[way];

function lock(what) {
  const one = what in OTHER;
  if (one && s.lockout === OTHER[what]) what = "both directions";
  if (!full() && !(s.lockout === "both directions" && one)) s.lockout = what;
  s.alarm = true;
  s.alarmUntil = null;
}

function lockedOut() {
  Object.assign(s, { mode: "locked out", main: false, brake: "release", until: null });
}

function stop(reverse = false) {
  Object.assign(s, { order: null, mode: "stopping", until: s.now + settings.stop_limit, reverse, target: null });
}

function refuse([why, device]) {
  s.refused.push([...s.control, why, device]);
  Object.assign(s, { mode: "at rest", until: null });
}

function whyNot(way) {
  const device = faulty(way) || pressed(way);
  if (device) return ["not in order", device];
  return s.seen.force_ready && !s.seen.force ? null : ["not ready", "force sensing"];
}

function begin(control) {
  const way = WAYS[control[0]];
  s.control = control;
  const why = bars(way) ? ["locked out", ""] : whyNot(way);
  if (why) refuse(why);
  else if (!atEnd(way)) Object.assign(s, { mode: "testing", way, ask: s.ask + 1, until: s.now + settings.test_time });
}

const atEnd = (way) => (way === "opening" ? s.seen.at_open : s.seen.at_closed);

function go(mode, way) {
  const until = s.now + settings[`travel_time_${way}`];
  Object.assign(s, { mode, way, order: way, main: true, begunAt: s.seen.position, until });
  for (const report of s.seen.reports) if (report.low) s.notices.push(["battery low", report.edge]);
}

function demand() {
  const relieving = s.second;
  s.second = s.interrupted !== null;
  if (s.second) lock("entrapment");
  s.interrupted = s.interrupted || s.way;
  s.served = true;
  stop((s.second ? settings.second_demand_relief : 1) > 0 && !relieving);
}

function onTheWay() {
  const { way, seen } = s;
  const back = s.mode === "reversing";
  const sign = way === "opening" ? 1 : -1;
  if (!seen.force) s.served = false;
  if (pressed(way) || (seen.force && !s.served)) {
    demand();
  } else if (faulty(way) || !seen.force_ready) {
    lock(way);
    stop(!back && !faulty(OTHER[way]) && seen.force_ready);
  } else if (atEnd(way)) {
    if (settings.count_cleared_at_any_end || s.interrupted === way) s.interrupted = null;
    stop();
  } else if (back && (seen.position - s.target) * sign >= 0) {
    stop();
  } else if (s.now >= s.until) {
    lock("drive");
    stop();
  }
}

function standing() {
  if (s.seen.motion !== null) {
    if (s.now >= s.until) {
      lock("drive");
      lockedOut();
    }
  } else if (s.reverse) {
    Object.assign(s, { mode: "waiting to reverse", until: s.now + settings.reversal_dwell, reverse: false });
  } else {
    s.second = false;
    if (full()) lockedOut();
    else Object.assign(s, { mode: "at rest", main: false, brake: "hold", until: null });
  }
}

function goBack() {
  const way = OTHER[s.way];
  const place = s.seen.position;
  let far = way === "opening" ? settings.reversal_distance : settings.opening_relief;
  if (s.second) far = Math.min(settings.second_demand_relief, Math.abs(place - s.begunAt) / 2);
  if (way === "closing" && s.seen.position_known) far = Math.min(far, place / 2);
  if (pressed(way)) {
    lock("entrapment");
    lockedOut();
    return;
  }
  s.target = place + (way === "opening" ? far : -far);
  go("reversing", way);
}

function buttons() {
  const held = names(s.seen.controls);
  const fresh = s.seen.controls.filter((one) => !s.held.includes(one.join("/")));
  const gone = s.held.filter((one) => !held.includes(one));
  const reset = "reset/wired in view";
  s.held = held;
  if (names(fresh).includes(reset)) s.resetAt = s.now;
  if (gone.includes(reset) && s.resetAt !== null) {
    const inTime = s.now - s.resetAt <= settings.reset_window;
    const still = s.mode === "at rest" || s.mode === "locked out";
    if (inTime && still && !faulty("opening") && !faulty("closing")) {
      Object.assign(s, { lockout: "none", alarm: false, alarmUntil: null, interrupted: null, mode: "at rest", brake: "hold" });
    }
    s.resetAt = null;
  }
  if (fresh.some((one) => one[0] === "silence")) s.alarm = false;
  return fresh;
}

function noteFaults(moving) {
  for (const way of ["opening", "closing"]) {
    for (const one of guards(way)) {
      const bad = one.critical || !QUIET.includes(one.level);
      if (one.heard && (one.fresh ? bad : moving) && !bars(way)) lock(way);
    }
  }
}

function step() {
  const asked = buttons();
  const stopped = s.seen.controls.some((one) => one[0] === "stop");
  const mode = s.mode;
  noteFaults(mode === "moving" || mode === "reversing");
  if (mode === "moving" || mode === "reversing") {
    const other = s.way === "closing" ? "open" : "close";
    if (stopped || (mode === "moving" && asked.some((one) => one[0] === other))) stop();
    else onTheWay();
  } else if (mode === "testing") {
    const answered = guards(s.way).every((one) => !one.asked || one.answered >= s.ask);
    let why = stopped ? ["stopped", ""] : bars(s.way) ? ["locked out", ""] : whyNot(s.way);
    if (!why && !answered && s.now >= s.until) why = ["no answer to the test", ""];
    if (why) refuse(why);
    else if (answered) go("moving", s.way);
  } else if (mode === "stopping") {
    standing();
  } else if (mode === "waiting to reverse" && s.now >= s.until) {
    if (stopped) Object.assign(s, { mode: "at rest", main: false, until: null });
    else goBack();
  } else if (mode === "at rest" && !stopped) {
    for (const control of asked) if (control[0] in WAYS && s.mode === "at rest") begin(control);
  }
  if (s.alarm && s.alarmUntil === null) s.alarmUntil = s.now + settings.alarm_time;
  if (s.alarmUntil !== null && s.now >= s.alarmUntil) s.alarm = false;
}

function answer() {
  const out = {
    order: s.order, main: s.main, brake: s.brake, alarm: s.alarm, lockout: s.lockout, mode: s.mode, ask: s.ask,
    slow: s.order !== null && !s.seen.position_known, watch: s.mode === "reversing" ? s.target : null,
  };
  const told = {};
  for (const [name, value] of Object.entries(out)) if (s.told[name] !== value) told[name] = value;
  s.told = out;
  for (const name of ["refused", "notices"]) {
    if (s[name].length) told[name] = s[name];
    s[name] = [];
  }
  const ahead = [s.until, s.alarm ? s.alarmUntil : null].filter((time) => time !== null && time > s.now);
  const keep = s.lockout === "none" ? null : s.lockout;
  return { do: told, wake: ahead.length ? Math.min(...ahead) : null, keep };
}

function learn({ reports, ...rest }) {
  Object.assign(s.seen, rest);
  for (const report of reports || []) {
    const k = s.seen.reports.findIndex((one) => one.edge === report.edge);
    if (k < 0) s.seen.reports.push(report);
    else s.seen.reports[k] = report;
  }
}

function serve(request) {
  const [[kind, given]] = Object.entries(request);
  if (kind === "hello") {
    settings = given.settings;
    return { hello: { "gatesim-logic": 1, name: "small gate in JavaScript", snapshots: false, wants: "change" } };
  }
  if (kind === "start") {
    powerUp(given.kept);
    return answer();
  }
  if (kind === "step") {
    s.now = given.now;
    learn(given.seen);
    step();
    return answer();
  }
  return kind === "bye" ? { ok: true } : { refused: "there is no such request" };
}

require("readline")
  .createInterface({ input: process.stdin })
  .on("line", (line) => process.stdout.write(JSON.stringify(serve(JSON.parse(line))) + "\n"));
