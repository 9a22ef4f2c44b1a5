// Shows the walk as it is, and gives it what is pressed here.
import { Awake } from "/awake.js";
import { drawStrip, drawWay } from "/draw.js";
import { Ear } from "/ear.js";
import { Earbud } from "/earbud.js";
import { Keys } from "/keys.js";
import { Lesson } from "/lesson.js";
import { Line } from "/line.js";
import { at, linked, log, span } from "/page.js";
import { Presses } from "/presses.js";
import { Voice } from "/voice.js";

const LINES = 60;
const MOST_AT_ONCE = 5; // lines that a walk begins with, the step the last of them
const PHRASES = JSON.parse(document.getElementById("phrases").textContent);

let place = null; // the last place shown
let places = 0; // how many there were
let isOpening = false; // whether it is the first of a walk or stage
let said = [];
let alarms = 0; // how many there were
let pressedAt = 0; // when a key was pressed here
const PRESSED_MS = 3000;

// ---- showing

function show(next) {
  isOpening = next.step === 1 || (place !== null && place.stage !== next.stage);
  place = next;
  places += 1;
  document.body.dataset.mode = next.mode;
  document.querySelector("h1").textContent = next.title;
  document.title = `${next.title} - loom board`;
  at("stage").textContent = next.stage;
  head(next);
  for (const id of ["answer", "opening"]) at(id).textContent = "";
  at("detail").textContent = next.detail;
  at("detail").className = next.headline || next.lines.length ? "" : "large";
  at("before").textContent = next.strip ? "" : next.before && `Before: ${next.before}`;
  at("after").textContent = next.strip ? "" : next.after && `After: ${next.after}`;
  at("way").hidden = false;
  drawWay(at("groups"), at("progress"), next.progress);
  at("commands").hidden = false;
  keys.fit(next);
  drawStrip(at("strip"), next.strip, next.edge);
  awake.follow(false);
  earbud.show(at("now").textContent.trim(), next.stage);
  unrepeated();
}

function head(next) {
  const now = at("now");
  now.replaceChildren(...next.lines.map(row));
  if (!next.lines.length) now.textContent = next.headline;
  // Where the wanted numbers are many and small, what stands beside them is smaller still.
  now.style.setProperty("--wanted", Math.max(...next.lines.map(([, value, rank]) => (rank === "wanted" ? marks(value) : 0)), 1));
  const length = next.headline.length;
  now.className = next.lines.length ? "lines" : length < 24 ? "few" : length < 60 ? "some" : "many";
}

const marks = (value) => Math.max(2.2, value.length);

function row([name, value, rank]) {
  const line = span("", `line ${rank}`);
  line.append(span(name, "what"));
  if (value) {
    line.append(" ", span(value, "value"), " ");
    line.style.setProperty("--marks", marks(value));
  }
  return line;
}

new ResizeObserver(() => { if (place && document.body.dataset.mode !== "ended") drawStrip(at("strip"), place.strip, place.edge); }).observe(at("present"));

// ---- telling

function tell(text) {
  const status = at("status");
  const wanted = voice.kind === "reader" ? text : "";
  // The same words again are news again: a screen reader tells only what changes.
  status.textContent = status.textContent === wanted && wanted ? `${wanted}\u00a0` : wanted;
}

// What the loom tells is announced where this device leaves it to a screen reader; what is of the
// page's own wherever the device does not say it itself. Never is a thing told twice.
function alarm(text, kind = "", isAnnounced = voice.kind === "reader") {
  alarms += 1;
  at("trouble").dataset.kind = kind;
  at("trouble").setAttribute("aria-live", isAnnounced ? "assertive" : "off");
  if (at("trouble").textContent !== text) at("trouble").textContent = text;
  unrepeated();
}

function phrase(name, kind = "") {
  alarm(PHRASES[name].text, kind, !voice.say(PHRASES[name]));
}

function calm(kind) {
  if (at("trouble").dataset.kind === kind) alarm("");
}

// What stands on the page anyway is not shown twice, only told.
function unrepeated() {
  const trouble = at("trouble");
  trouble.classList.toggle("heard-only", Boolean(place) && [place.told, place.detail].includes(trouble.textContent));
}

// Lines come one by one just before the place they lead to; together they are one announcement.
let telling = 0;
let alarmsBefore = 0;
function gather(line) {
  log(line, LINES);
  if (!said.length) alarmsBefore = alarms;
  said.push({ ...line, before: places });
  clearTimeout(telling);
  telling = setTimeout(announce, 60);
}

// What is said as a walk or a stage begins stands below the step: where to begin, and the cautions.
function open(lines) {
  if (!isOpening || at("opening").textContent) return;
  at("opening").textContent = lines.slice(0, Math.min(lines.length, MOST_AT_ONCE) - 1).map(({ text }) => text).join("\n");
}

function announce() {
  clearTimeout(telling);
  if (!said.length) return;
  // Of places that came at once, as after a sleep of this device, only what led to the last is told.
  const latest = said.filter((each) => each.before >= places - 1);
  if (latest.length) said = latest;
  open(said);
  const isAnswer = said.every((each) => each.before === places);
  const text = said.map((each) => each.text).join(" ");
  const isTrouble = said.some((each) => each.tune === "trouble" || each.tune === "refuse");
  said = [];
  at("said").textContent = text;
  // What led to no other place, such as help, would be seen nowhere else.
  at("answer").textContent = isAnswer && !isTrouble && text !== place?.told ? text : "";
  if (isTrouble) {
    tell("");
    alarm(text);
  } else {
    // An alarm that came after these lines outlasts them, and so does that the loom is away.
    if (alarms === alarmsBefore && at("trouble").dataset.kind !== "away") alarm("");
    tell(text);
  }
  // Whoever pressed a key far below sees what came of it; for others nothing moves.
  if (Date.now() - pressedAt < PRESSED_MS && at("now").getBoundingClientRect().bottom < 0) scrollTo(0, 0);
}

// ---- the line to the loom

function end(text) {
  announce();
  at("commands").hidden = true;
  at("strip").hidden = true;
  at("before").textContent = "";
  at("after").textContent = "";
  document.body.dataset.mode = "ended";
  at("now").className = "few";
  at("now").textContent = "Stopped";
  at("detail").textContent = text;
  for (const id of ["answer", "opening"]) at(id).textContent = "";
  linked("away", "The walk has ended");
  awake.follow(true);
  ear.rest();
  tell(`Stopped. ${text}`);
}

function whole(data) {
  announce();
  at("log").replaceChildren();
  for (const each of data.lines) log(each, LINES);
  const before = place && at("now").textContent;
  if (data.place.stage) show(data.place);
  open(data.lines);
  const now = at("now").textContent;
  if (before !== now && (before || isOpening)) tell(`${at("opening").textContent} ${now} ${data.place.detail}`.trim());
  voice.room(data.room);
  voice.ahead(data.ahead);
  if (data.ended) end(data.ended);
}

const HEARD = {
  whole,
  line: gather,
  place: show,
  end: (ended) => end(ended.text),
  ahead: (data) => voice.ahead(data.clips),
  room: (data) => voice.room(data.is_on),
  // What was missed is shown, not sounded late.
  sound: (data) => { if (line.isNear) voice.play(data); },
};

const line = new Line({
  event: (kind, data) => HEARD[kind]?.(data),
  near: () => {
    if (document.body.dataset.mode !== "ended") linked("near", "In step with the loom");
    const isBack = at("trouble").dataset.kind === "away" && !line.presses.length;
    if (isBack && !voice.say(PHRASES.back)) tell(`${PHRASES.back.text} ${at("now").textContent}`);
    calm("away");
    calm("crowded");
    voice.tellAgain();
  },
  away: () => {
    linked("away", "Looking for the loom");
    phrase("lost", "away");
  },
  outcome: (what, text) => {
    if (what === "unpaired") location.assign("/pair");
    if (what === "crowded" && at("trouble").dataset.kind === what) return;
    if (what in PHRASES) phrase(what, { waiting: "away", crowded: what }[what]);
    if (what === "waiting") linked("away", `Looking for the loom. Waiting: ${text}`);
  },
});
const voice = new Voice(line, PHRASES);
const keys = new Keys((text) => {
  pressedAt = Date.now();
  line.give(text);
}, phrase);
const presses = new Presses((text, quick) => line.give(text, quick), () => {
  if (place?.is_by_foot) phrase("treadles");
  return Boolean(place?.is_by_foot);
});
const earbud = new Earbud((name) => presses.take(name));
new Lesson(presses, earbud);
const ear = new Ear(voice);
const awake = new Awake();
for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, () => { earbud.wake(); ear.wake(); }, { capture: true });

// A key that is held down presses its button again and again; only the first time counts.
document.addEventListener("keydown", (event) => {
  if (event.repeat && event.target.closest("button")) event.preventDefault();
});
