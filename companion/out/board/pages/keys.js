// The keys that fit now, and the field in which numbers are typed.
import { at } from "/page.js";

// Every command with its label, in the order the keys stand in: the words that give it, so that what
// is read can be said. After a colon stands what it means there; "…" asks for something first.
const KEYS = [
  ["yes", "Yes"],
  ["done", "Done", { counting: "Done: as planned", "left over": "Done: as planned", looking: "Done: leave the group", reading: "Done: read on" }],
  ["resume", "Resume", { reading: "Resume: stop reading" }],
  ["count", "Count…"],
  ["no", "No"],
  ["mend", "Mend it", { confirming: "Mend: another way" }],
  ["felt", "Shafts you feel…"],
  ["back", "Back"],
  ["repeat", "Repeat"],
  ["read back", "Read back"],
  ["accept", "Accept…"],
  ["mistake", "Mistake"],
  ["look", "Look at a group…"],
  ["rewind", "Rewind to…"],
  ["read group", "Read back group…"],
  ["spare", "Spare on shaft…"],
  ["lacking", "Missing on shaft…"],
  ["undo", "Undo"],
  ["pause", "Pause"],
  ["where", "Where am I"],
  ["slower", "Slower"],
  ["faster", "Faster"],
  ["help", "Help"],
  ["tell everything", "Tell everything"],
  ["cautions", "Cautions"],
  ["new plan", "New plan"],
  ["wrong edge", "Wrong edge", { confirming: "Wrong edge: another way" }],
  ["stop", "Stop for today"],
];
const USUAL = {
  walking: ["done", "mend", "back", "repeat"],
  counting: ["done", "mend", "back", "repeat", "read back"],
  "left over": ["done", "back", "repeat"],
  held: ["mend", "felt", "read back", "accept", "repeat"],
  mending: ["done", "back", "repeat"],
  looking: ["no", "felt", "mend", "read back", "done", "repeat"],
  finished: ["read back", "back", "repeat"],
  reading: ["done", "resume", "back", "repeat", "mistake"],
  paused: ["resume", "where"],
  confirming: ["yes", "no", "mend", "wrong edge", "repeat"],
};
const FIRST = ["yes", "done", "resume"];
const COUNTED = ["counting", "held", "left over", "looking"];

// What is asked for before a command is given, and how it is worded to the loom.
const ENTRIES = {
  which: { asked: "Which group?", give: "Look at it", text: (n) => `count ${n}` },
  count: { asked: "Your count", give: "Give the count", text: (n) => `count ${n}` },
  felt: { asked: "Shafts you feel, end by end", give: "Give the shafts", isRow: true, text: (n) => n },
  rewind: { asked: "Rewind to which number?", give: "Rewind", text: (n) => `rewind ${n}` },
  look: { asked: "Look at which group?", give: "Look at it", text: (n) => `look at group ${n}` },
  "read group": { asked: "Read which group?", give: "Read it", text: (n) => `read back group ${n}` },
  spare: { asked: "A heddle is left over on which shaft?", give: "Tell it", text: (n) => `spare on shaft ${n}` },
  lacking: { asked: "A heddle is missing on which shaft?", give: "Tell it", text: (n) => `missing on shaft ${n}` },
  accept: { asked: "Why does it stand? It can be left empty.", give: "Accept", isWords: true, text: (n) => `accept ${n}`.trim() },
};

// How much is told at a time, and how fully: what is chosen, as it is said to the loom.
const TOLD = {
  size: (value) => ({ 1: "one by one", unit: "unit by unit", dent: "dent by dent", group: "group by group" })[value] || `${value} at a time`,
  telling: (value) => ({ all: "tell everything", short: "keep it short", shafts: "shafts only" })[value],
};

export class Keys {
  // `give` takes a command's words, `fault` the name of a phrase for the weaver.
  constructor(give, fault) {
    this.give = give;
    this.fault = fault;
    this.buttons = new Map();
    this.place = null;
    this.entry = "";
    for (const [name] of KEYS) this.add(name);
    this.pad();
    for (const [name, words] of Object.entries(TOLD)) {
      at(name).addEventListener("change", () => this.give(words(at(name).value)));
    }
    at("more").addEventListener("click", () => this.open(at("more").getAttribute("aria-expanded") !== "true"));
    at("not-now").addEventListener("click", () => this.ask(this.usualEntry()));
    at("entry").addEventListener("submit", (event) => { event.preventDefault(); this.enter(); });
  }

  add(name) {
    const button = Object.assign(document.createElement("button"), { type: "button", onclick: () => this.press(name) });
    button.dataset.command = name;
    this.buttons.set(name, button);
    at("keys").append(button);
  }

  press(name) {
    if (name in ENTRIES) this.ask(name, true);
    else this.give(this.place.keys[name] || name);
  }

  // Show what fits the place, and nothing else.
  fit(place) {
    const isSame = this.place && this.place.mode === place.mode;
    this.place = place;
    const fitting = this.fitting();
    for (const name of fitting) if (!this.buttons.has(name)) this.add(name);
    const first = FIRST.find((name) => fitting.includes(name) && !(name === "done" && COUNTED.includes(place.mode)));
    const held = document.activeElement;
    for (const [name, button] of this.buttons) {
      const [, label = place.keys[name] || "", others = {}] = KEYS.find((each) => each[0] === name) || [name];
      button.textContent = others[place.mode] || label || name;
      button.classList.toggle("first", name === first);
      button.dataset.usual = (USUAL[place.mode] || []).includes(name) ? "yes" : "";
      button.dataset.fits = fitting.includes(name) ? "yes" : "";
    }
    for (const name of Object.keys(TOLD)) this.choose(at(name), place[name], place.mode === "walking");
    if (!isSame) this.open(false);
    else this.sift();
    if (!isSame || !(this.entry === "" || fitting.includes(this.entry))) this.ask(this.usualEntry());
    // At a count the field has the focus, so that no press meant for a step affirms it.
    const isCounting = !isSame && this.usualEntry() && at("keys").contains(held);
    if (held && (held.hidden || isCounting)) this.focus();
  }

  // A choice that is not offered, such as 7 ends, is offered once it has been made elsewhere.
  choose(select, value, isOpen) {
    if (![...select.options].some((option) => option.value === value)) select.add(new Option(`${value} at a time`, value));
    select.value = value;
    select.disabled = !isOpen;
  }

  fitting() {
    const names = Object.keys(this.place.keys).filter((name) => name in ENTRIES || this.place.keys[name]);
    if (this.usualEntry() === "which") return names.filter((name) => name !== "count");
    if (names.includes("count") && this.place.has_shafts && this.place.mode !== "left over") names.push("felt");
    if (names.includes("read back")) names.push("read group");
    return names;
  }

  open(isOpen) {
    at("more").setAttribute("aria-expanded", isOpen);
    at("more").textContent = isOpen ? "Fewer" : "More";
    this.sift();
  }

  sift() {
    const isOpen = at("more").getAttribute("aria-expanded") === "true";
    for (const [name, button] of this.buttons) {
      const isWanted = button.dataset.usual || isOpen;
      button.hidden = !button.dataset.fits || !isWanted || name === this.usualEntry();
    }
  }

  // Where a count is due, or which group to look at, the field for it stands open.
  usualEntry() {
    if (!COUNTED.includes(this.place.mode) || !("count" in this.place.keys)) return "";
    return "no" in this.place.keys ? "which" : "count";
  }

  ask(name, isPressed = false) {
    const had = at("entry").contains(document.activeElement);
    this.entry = name;
    at("entry").hidden = !name;
    if (!name) {
      if (had) this.focus();
      return;
    }
    const { asked, give, isWords } = ENTRIES[name];
    const isUsual = name === this.usualEntry();
    at("asked").textContent = asked;
    at("give").textContent = give;
    at("give").className = "first";
    at("not-now").hidden = isUsual;
    at("pad").hidden = Boolean(isWords);
    at("space").hidden = !this.hasSpaces();
    at("typed").inputMode = isWords ? "text" : "none";
    at("typed").value = "";
    at("typed").maxLength = isWords ? 120 : 200;
    if (isPressed) at("typed").focus();
  }

  enter() {
    const { text, isRow, isWords } = ENTRIES[this.entry];
    const typed = at("typed").value.trim();
    const isFit = isWords || (isRow ? /^[0-9]+([ ,]+[0-9]+)*$/ : /^[0-9]+$/).test(typed);
    if (!isFit) {
      this.fault(isRow ? "row" : "number");
      return;
    }
    at("typed").value = "";
    this.give(text(typed.replace(/[ ,]+/g, " ")));
    this.ask(this.usualEntry());
  }

  pad() {
    for (const digit of "1234567890") {
      at("pad").append(Object.assign(document.createElement("button"), { type: "button", textContent: digit, onclick: () => this.mark(digit) }));
    }
    const typed = at("typed");
    at("erase").addEventListener("click", () => { typed.value = typed.value.trimEnd().slice(0, -1).trimEnd(); });
    at("space").addEventListener("click", () => { typed.value = `${typed.value.trimEnd()} `; });
  }

  mark(digit) {
    const typed = at("typed");
    const isApart = ENTRIES[this.entry].isRow && !this.hasSpaces() && typed.value;
    typed.value += isApart ? ` ${digit}` : digit;
  }

  // Up to nine shafts every digit is one; with more a space tells them apart.
  hasSpaces() {
    const { isRow } = ENTRIES[this.entry] || {};
    return Boolean(isRow && this.place.strip && this.place.strip.shafts > 9);
  }

  // What had the focus is gone: it goes to the field that is open, or to the first key.
  focus() {
    if (!at("entry").hidden) {
      at("typed").focus();
      return;
    }
    const shown = [...this.buttons.values()].find((button) => !button.hidden);
    if (shown) shown.focus();
  }
}
