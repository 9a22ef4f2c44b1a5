// Shows every loom, trouble first, and tells the news; what is pressed here is posted.
import { Line } from "/line.js";
import { at, capital, linked, log } from "/page.js";
import { Voice } from "/voice.js";

const QUIET_SECONDS = 600; // a loom that nobody has pressed anything at for so long comes after trouble
const QUIET_RANK = 4;
const LINES = 100;
const LOST = "The studio is not heard from. Trying again.";
const MANY = 8; // more looms than these are rows
const looms = new Map(); // by key: what the studio told last
const cards = new Map();
const UNDER_WAY = new Set(["held", "in doubt", "mending", "resting", "walking", "finished"]);
const TROUBLE = new Set(["fault", "held", "in doubt"]);
const WORDS = {
  held: "Held", "in doubt": "Something is wrong", mending: "Mending", resting: "Resting", walking: "Going on",
  finished: "Complete", away: "Its server is not heard from", stopped: "Stopped; the place is kept", free: "Nothing is walked", fault: "Not walked",
};

// ---- showing

const counted = (number, noun) => `${number} ${noun}${number === 1 ? "" : "s"}`;

function ago(seconds) {
  const minutes = Math.floor(seconds / 60);
  if (minutes < 1) return "heard just now";
  return `heard ${minutes < 60 ? counted(minutes, "minute") : counted(Math.floor(minutes / 60), "hour")} ago`;
}

let lead = 0; // seconds by which this device's clock is before the studio's
const silence = (loom) => (loom.heard_at ? Date.now() / 1000 - lead - loom.heard_at : 0);

function rank(loom) {
  const isQuiet = loom.condition === "walking" && silence(loom) > QUIET_SECONDS;
  return isQuiet ? QUIET_RANK : loom.rank;
}

function state(loom) {
  const what = [WORDS[loom.condition], TROUBLE.has(loom.condition) && loom.why].filter(Boolean).join(": ");
  return isResting(loom) && loom.condition !== "resting" ? `${what}; resting` : what;
}

const isResting = (loom) => UNDER_WAY.has(loom.condition) && loom.is_resting;

// A line never begins with the mark between two things.
const joined = (...parts) => parts.filter(Boolean).join("\u00a0· ");

// Only what differs is written, so that a screen reader that reads a card is left in peace.
function write(card, kind, text) {
  const element = card.querySelector(`.${kind}`);
  if (element.textContent !== text) element.textContent = text;
}

function draw(loom) {
  const card = cards.get(loom.key) || made(loom);
  write(card, "name", capital(loom.name));
  write(card, "state", state(loom));
  write(card, "who", joined(loom.weaver, loom.title));
  const where = [loom.place, loom.group].filter(Boolean).map((each) => `${capital(each)}.`);
  write(card, "where", [...where, UNDER_WAY.has(loom.condition) && loom.note].filter(Boolean).join("\n"));
  const devices = loom.pages ? counted(loom.pages, "device") : "no device";
  const heard = UNDER_WAY.has(loom.condition) ? joined(loom.heard_at ? ago(silence(loom)) : "not heard from yet", devices) : "";
  write(card, "more", capital(joined(loom.pace, loom.left, heard)));
  card.querySelector(".bar span").style.width = `${Math.round(100 * loom.done)}%`;
  card.toggleAttribute("data-trouble", TROUBLE.has(loom.condition));
  const isWalked = UNDER_WAY.has(loom.condition);
  const isHere = !loom.server;
  const isGone = loom.condition === "away";
  const shown = { pause: isWalked && !isResting(loom), "go on": isResting(loom), finish: isWalked, pair: isHere, remove: isHere && !isWalked };
  const held = document.activeElement;
  for (const button of card.querySelectorAll("[data-what]")) button.hidden = !shown[button.dataset.what];
  if (held.hidden && card.contains(held)) (card.querySelector("[data-what]:not([hidden])") || card.querySelector(".name")).focus();
  write(card, "there", isHere ? "" : `Its page and its history are at ${loom.server}. Once its walk has ended, the session can be taken up here under "Begin a walk".`);
  card.querySelector(".open").hidden = !isHere;
  card.querySelector(".acts").hidden = isGone || !(isHere || isWalked);
  card.querySelector(".hand").hidden = !loom.session || isGone;
  card.querySelector(".hand span").textContent = isWalked ? "Hand over to" : "Go on with, as";
  card.querySelector(".hand button").textContent = isWalked ? "Hand over" : "Go on";
  card.querySelector(".history").hidden = !loom.session || !isHere;
}

function made(loom) {
  const card = at("card").content.firstElementChild.cloneNode(true);
  const name = capital(loom.name);
  card.querySelector(".acts").setAttribute("aria-label", name);
  for (const each of card.querySelectorAll(".open, summary")) each.setAttribute("aria-label", `${each.textContent}, ${name}`);
  card.querySelector(".open").href = `/loom/${loom.key}/`;
  card.querySelector(".history").href = `/looms/history/${loom.key}/`;
  card.addEventListener("click", (event) => {
    const what = event.target.dataset.what;
    if (what === "pair") offer(loom.key, name);
    else if (what) act({ what, loom: loom.key });
  });
  card.querySelector(".hand").addEventListener("submit", (event) => {
    event.preventDefault();
    const field = event.target.elements.weaver;
    act({ what: "hand over", loom: loom.key, weaver: field.value }).then((isDone) => { if (isDone) field.value = ""; });
  });
  cards.set(loom.key, card);
  at("looms").append(card);
  return card;
}

// The card with the focus inside is never moved, so that the focus is not lost; the others move about it.
function order() {
  const sorted = [...looms.values()].sort((one, other) => rank(one) - rank(other) || one.name.localeCompare(other.name, undefined, { numeric: true }));
  const list = at("looms");
  const wanted = sorted.map(({ key }) => cards.get(key));
  if (wanted.some((card, place) => list.children[place] !== card)) {
    const held = wanted.findIndex((card) => card.contains(document.activeElement));
    wanted.slice(0, Math.max(held, 0)).forEach((card) => list.insertBefore(card, wanted[held]));
    list.append(...wanted.slice(held + 1));
  }
  at("looms").toggleAttribute("data-many", looms.size > MANY);
  at("none").hidden = looms.size > 0;
  const walked = sorted.filter((loom) => UNDER_WAY.has(loom.condition)).length;
  const troubled = sorted.filter((loom) => TROUBLE.has(loom.condition)).length;
  at("summary").textContent = `${walked} of ${looms.size} walked, ${troubled} in trouble`;
}

function take(loom) {
  looms.set(loom.key, loom);
  draw(loom);
  order();
}

function gone({ key }) {
  looms.delete(key);
  if (cards.get(key)?.contains(document.activeElement)) at("plan").focus();
  cards.get(key)?.remove();
  cards.delete(key);
  order();
}

function whole(data) {
  for (const key of [...looms.keys()]) gone({ key });
  (data.place.looms || []).forEach(take);
  at("log").replaceChildren();
  for (const each of data.lines) log(each, LINES);
  order(); // with no loom at all, too
  voice.room(null);
  if (data.ended) end(data.ended);
}

setInterval(() => { looms.forEach(draw); order(); }, 15000);

// ---- telling

function show(id, text, isAnnounced) {
  const region = at(id);
  region.setAttribute("aria-live", isAnnounced ? (id === "trouble" ? "assertive" : "polite") : "off");
  // The same words again are news again: a screen reader tells only what changes.
  region.textContent = region.textContent === text && text ? `${text}\u00a0` : text;
}

// What came of a press here, and what else is of this page alone: announced where it does not say it.
function reply(id, text) {
  show(id, text, !(voice.kind === "own" && voice.say({ text })));
}

let told = ""; // the last trouble of a loom
function news(line) {
  log(line, LINES);
  const isTrouble = line.tune === "trouble";
  // One that speaks itself is not to be spoken over by a screen reader.
  show(isTrouble ? "trouble" : "status", line.text, voice.kind === "reader");
  // That something was not done outlasts what is told of the looms.
  if (isTrouble) told = line.text;
  else if (at("trouble").textContent.trim() === told) at("trouble").textContent = "";
}

function end(text) {
  linked("away", "The studio has ended");
  reply("status", text);
}

const HEARD = {
  whole,
  loom: take,
  gone,
  line: news,
  end: (ended) => end(ended.text),
  sound: (data) => { if (line.isNear) voice.play(data); },
};

let isLost = false;
const line = new Line({
  event: (kind, data) => HEARD[kind]?.(data),
  near: () => {
    linked("near", "In step with the studio");
    if (at("trouble").textContent.trim() === LOST) at("trouble").textContent = "";
    if (isLost) reply("status", "The studio is back.");
    isLost = false;
  },
  away: () => {
    linked("away", "Looking for the studio");
    isLost = true;
    reply("trouble", LOST);
  },
  outcome: (what) => { if (what === "crowded") linked("away", "Too many devices look on. Close this page on one of them."); },
});
const voice = new Voice(line, {});

// ---- doing

async function posted(where, fields) {
  try {
    const answer = await fetch(where, { method: "POST", body: new URLSearchParams(fields) });
    if (answer.ok) return answer;
    reply("trouble", (await answer.text()).trim());
  } catch {
    reply("trouble", "The studio is not heard from. This was not done.");
  }
  return null;
}

async function act(fields) {
  at("trouble").textContent = at("status").textContent = "";
  const answer = await posted("/looms/do", fields);
  if (!answer) return false;
  if (fields.what !== "tell") reply("status", (await answer.text()).trim());
  return true;
}

async function offer(loom, name) {
  const answer = await posted("/looms/code", { loom });
  if (!answer) return;
  const told = await answer.json();
  at("code-title").textContent = `A device for ${name}`;
  at("digits").textContent = `${told.code.slice(0, 3)} ${told.code.slice(3)}`;
  at("minutes").textContent = told.minutes;
  at("where").textContent = told.url;
  at("qr").innerHTML = told.qr;
  at("code").showModal();
}
at("pair-teacher").addEventListener("click", () => offer("", "a teacher"));
at("tell").addEventListener("click", () => act({ what: "tell" }));

let asked = 0;
async function choices() {
  asked += 1;
  const own = asked;
  const answer = await fetch("/looms/choices").catch(() => null);
  if (!answer || !answer.ok) return;
  const { plans, sessions, shared, looms: names } = await answer.json();
  if (own !== asked) return; // a later answer came sooner
  const told = Date.parse(answer.headers.get("date"));
  if (told) lead = (Date.now() - told) / 1000;
  const before = at("plan").value;
  const group = (label, options) => {
    const made = Object.assign(document.createElement("optgroup"), { label });
    made.append(...options);
    return made;
  };
  at("plan").replaceChildren(
    group("Plans", plans.map((name) => new Option(name.replace(/\.toml$/, ""), name))),
    group("Go on with", sessions.map(([id, title]) => new Option(`${id}, ${title}`, id))),
    ...(shared.length ? [group("From another server", shared.map(([id, title]) => new Option(title, id)))] : []),
  );
  if (before) at("plan").value = before;
  at("names").replaceChildren(...names.map((name) => new Option(name)));
}

at("start").addEventListener("submit", async (event) => {
  event.preventDefault();
  const isDone = await act({ what: "start", ...Object.fromEntries(new FormData(event.target)) });
  if (isDone) for (const field of ["name", "weaver"]) event.target.elements[field].value = "";
  choices();
});
choices();
// Only a session of another server can be one that was not given back there.
at("plan").addEventListener("change", () => { at("affirm").hidden = !at("plan").value.startsWith("shared:"); });
at("plan").addEventListener("focus", choices);
