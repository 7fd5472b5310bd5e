// The small gate controller of gate.c in JavaScript: node gate.js HOST PORT MAP_HASH
//
// The same rules for scenarios/sites/mill-lane.site.yaml.  An example of the wire and no controller for a gate.
"use strict";

const Modbus = require("modbus-serial");

const IN = {
  going: 0, supply: 1, atClosed: 2, atOpen: 3, force: 4, forceReady: 5, known: 6, opening: 7, closing: 8,
  openWired: 16, openRadio: 17, closeWired: 19, closeRadio: 20, stopWired: 22, stopRadio: 23, front: 48, rear: 64,
};
const INPUTS = 80;
const OUT = { open: 0, close: 1, slow: 2, main: 3, heartbeat: 7 };
const RUN_NUMBER = 3, POSITION = 10, ANSWERED = 21, TEST_REQUEST = 5;

const coils = new Array(8).fill(false);
let bits, words, mode = "rest", way = 1, back = false, request = 0, before = 0, run = 0, since = 0n, target = 0;

const on = (name) => bits[IN[name]];
const now = () => words.slice(6, 10).reduce((sum, word) => (sum << 16n) | BigInt(word), 0n);
const position = () => (words[POSITION] << 16) | words[POSITION + 1];
const edge = (direction) => (direction > 0 ? IN.rear : IN.front);
const guarded = (direction) => bits[edge(direction)] && bits[edge(direction) + 7];
const moving = () => on("opening") || on("closing");

function enter(next) {
  const driven = next === "moving";
  mode = next;
  since = now();
  coils[OUT.open] = driven && way > 0;
  coils[OUT.close] = driven && way < 0;
  coils[OUT.slow] = driven && !on("known");
  coils[OUT.main] = next !== "rest" && next !== "testing";
}

function begin(direction) {
  if (on(direction > 0 ? "atOpen" : "atClosed")) return;
  way = direction;
  back = false;
  request += 1;
  enter("testing");
}

function goBack() {
  way = -way;
  back = true;
  target = position() + way * (way > 0 ? 1200000 : 150000);
  enter(guarded(way) ? "moving" : "rest");
}

function onTheWay(stop) {
  const ended = on(way > 0 ? "atOpen" : "atClosed");
  const there = back && (position() - target) * way >= 0;
  const danger = !guarded(way) || (on("force") && !back);
  if (danger && !back && !stop) enter("dwell");
  else if (stop || ended || there || danger) enter("stopping");
}

function think() {
  const asked = on("openWired") || on("openRadio") ? 1 : on("closeWired") || on("closeRadio") ? -1 : 0;
  const stop = on("stopWired") || on("stopRadio");
  const news = asked !== 0 && asked !== before;
  before = asked;
  if (mode === "rest" && news && !stop) {
    begin(asked);
  } else if (mode === "testing") {
    const answered = words[ANSWERED] === request && words[ANSWERED + 1] === request;
    if (stop || now() - since > 2000000n) enter("rest");
    else if (answered && guarded(1) && guarded(-1) && on("forceReady") && !on("force")) enter("moving");
  } else if (mode === "moving") {
    onTheWay(stop);
  } else if (mode === "stopping" && !moving()) {
    enter("rest");
  } else if (mode === "dwell") {
    if (moving()) since = now();
    else if (now() - since > 100000n) goBack();
  }
}

async function poll(wire) {
  bits = (await wire.readDiscreteInputs(0, INPUTS)).data;
  words = (await wire.readInputRegisters(0, ANSWERED + 2)).data;
  if (words[RUN_NUMBER] !== run) {
    run = words[RUN_NUMBER]; // another run: as after a power-up
    enter("rest");
  }
  if (on("going") && on("supply")) {
    const asked = request;
    think();
    if (request !== asked) await wire.writeRegister(TEST_REQUEST, request);
  }
  coils[OUT.heartbeat] = !coils[OUT.heartbeat];
  await wire.writeCoils(0, coils); // all coils in one request: none of them alone
}

async function main([host, port, hash]) {
  const wire = new Modbus();
  await wire.connectTCP(host, { port: Number(port) });
  wire.setID(1);
  const [, high, low] = (await wire.readInputRegisters(0, 3)).data;
  if (high * 65536 + low !== parseInt(hash, 16)) throw new Error("the server has another wiring");
  for (;;) {
    await poll(wire);
    await new Promise((done) => setTimeout(done, 5));
  }
}

main(process.argv.slice(2)).catch((error) => {
  console.error(error.message || String(error));
  process.exit(3);
});
