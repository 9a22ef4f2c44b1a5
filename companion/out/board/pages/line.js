// The line to the loom: kept open and told what was missed. Presses that are quicker than their answers
// are kept in order; while the loom is away no more than one is taken to wait.
import { connect } from "/page.js";

const QUIET_MS = 13000; // the loom gives a sign of life every five seconds
const OPEN_MS = 6000; // what is not there by then is asked for anew
const ANSWER_MS = 4000;
const AGAIN_MS = 1500;
const CROWDED_MS = 10000;
const REFUSED = 1008; // the loom cannot read this page: it was brought up to date meanwhile
const CROWDED = 1013;
const ENDED_MS = 3000; // another walk may begin at this loom
const WAKE_MS = 4000;
const MOST_ON_THEIR_WAY = 3;
const QUICK_MS = 700; // a press that is not answered by then is pressed again out of impatience

// A press of these moves nothing, so it is not kept for later.
const TIMELESS = new Set(["repeat", "where am i", "help", "slower", "faster"]);

function identity() {
  // crypto.randomUUID is for secure pages alone, and a studio network may have none.
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export class Line {
  // `hear` has event(kind, data), near(), away() and outcome(what, text).
  constructor(hear) {
    this.hear = hear;
    this.last = "";
    this.run = "";
    this.step = null;
    this.isNear = false;
    this.hasEnded = false;
    this.isOld = false;
    this.presses = []; // those that are not answered yet, the first first
    this.latest = ""; // the last one, answered or not
    this.heardAt = 0;
    this.tickedAt = Date.now();
    setInterval(() => this.check(), 1000);
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.check(); });
    this.open();
  }

  open() {
    this.heardAt = Date.now();
    connect(this, "line", () => ({ kind: "hello", last: this.last }));
  }

  take(event) {
    this.heardAt = Date.now();
    if (event.id) {
      this.last = event.id;
      this.run = event.id.split(".")[0];
    }
    const place = event.kind === "whole" ? event.data.place : event.kind === "place" ? event.data : null;
    if (place && place.step !== undefined) this.step = place.step;
    if (event.kind === "whole") this.hasEnded = Boolean(event.data.ended);
    if (event.kind === "end") this.hasEnded = true;
    if (event.kind === "answer") this.answer(event.data);
    else if (event.kind === "beat") this.arrive();
    else this.hear.event(event.kind, event.data);
  }

  // The first beat on a line comes once all that was missed has been told.
  arrive() {
    if (this.isNear) return;
    this.isNear = true;
    this.hear.near();
    // It may have been taken already, with the answer lost on the way: the loom alone can tell.
    this.presses.forEach((press) => this.send(press));
  }

  lose(code) {
    const isNews = this.isNear;
    this.isNear = false;
    this.socket = null;
    if (code === 4401) location.assign("/pair");
    if (code === REFUSED) this.isOld = true;
    if (isNews && !this.hasEnded) this.hear.away();
    if (isNews) for (const { text } of this.presses) this.hear.outcome("waiting", text);
    if (code === CROWDED) this.hear.outcome("crowded", "");
    setTimeout(() => this.again(), code === CROWDED ? CROWDED_MS : this.hasEnded ? ENDED_MS : AGAIN_MS);
  }

  // A browser is not told why a line was refused; the page itself leads to where a code is typed.
  async again() {
    if (this.socket) return;
    try {
      const page = await fetch(location.pathname, { cache: "no-store", signal: AbortSignal.timeout(OPEN_MS) });
      if (page.redirected) location.assign(page.url);
      else if (this.isOld && page.ok) return location.reload();
    } catch { /* still away */ }
    if (!this.socket) this.open();
  }

  check() {
    if (!this.socket) return;
    const now = Date.now();
    // A page that slept reads first what came meanwhile, before it takes the line for dead.
    if (now - this.tickedAt > WAKE_MS) this.heardAt = Math.max(this.heardAt, now - QUIET_MS + WAKE_MS);
    this.tickedAt = now;
    const isSlow = this.waited() > ANSWER_MS;
    const patience = this.socket.readyState === WebSocket.CONNECTING ? OPEN_MS : QUIET_MS;
    if (now - this.heardAt > patience || (isSlow && this.isNear)) {
      const dead = this.socket;
      this.lose(0);
      dead.close();
    }
  }

  // How long the first of the presses on their way has been so.
  waited() {
    const sentAt = this.presses[0]?.sentAt;
    return sentAt ? Date.now() - sentAt : 0;
  }

  // Give a command for the step that is shown, in whose place these quick presses were given.
  // Returns which press it is, or nothing. The loom takes one given before the step that the press
  // before it led to was seen only where it means the same there.
  give(text, quick = []) {
    if (this.step === null) return this.hear.outcome("early", text);
    if (!this.isNear && this.presses.length) return this.hear.outcome("held", text);
    if (!this.isNear && TIMELESS.has(text)) return this.hear.outcome("away", text);
    if (this.presses.length >= MOST_ON_THEIR_WAY || this.waited() > QUICK_MS) return this.hear.outcome("full", text);
    const press = { given: { id: identity(), run: this.run, step: this.step, text, quick, after: this.latest }, text, sentAt: 0 };
    this.latest = press.given.id;
    this.presses.push(press);
    if (this.isNear) this.send(press);
    else this.hear.outcome("waiting", text);
    return this.latest;
  }

  send(press) {
    press.sentAt = Date.now();
    this.tell({ kind: "give", ...press.given });
  }

  // Tell the loom something.
  tell(message) {
    if (this.isNear && this.socket.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify(message));
  }

  answer({ id, outcome }) {
    const press = this.presses.find(({ given }) => given.id === id);
    this.presses = this.presses.filter((each) => each !== press);
    if (press) this.hear.outcome(outcome, press.text);
  }
}
