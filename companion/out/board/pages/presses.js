// Presses that are none of the page's own keys: a pedal that types, one switch, an earbud.
import { at, chosen, kept } from "/page.js";

const REPEATING_MS = 120; // closer presses of one key are the key held down
const DEAD_MS = 300; // and so soon after a command the same one is a bounce
const BURST_MS = 1000;
const BURST = 3; // so many quick presses for "done" ask for the choices

// What is pressed, and what it gives until this device has learnt otherwise.
const USUAL = {
  PageDown: "done",
  ArrowRight: "done",
  PageUp: "back",
  ArrowLeft: "back",
  "earbud play": "done",
  "earbud previous": "back",
  "earbud next": "repeat",
};
const ARROWS = new Set(["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "Home", "End"]);
const SILENT = new Set(["Tab", "Shift", "Control", "Alt", "AltGraph", "Meta", "CapsLock", "Unidentified"]);

export class Presses {
  // `give` takes a command's words, and which quick presses were given in its place, and
  // returns which press it is; `refuse` tells that a foot is wanted elsewhere, where it is.
  constructor(give, refuse) {
    this.give = give;
    this.refuse = refuse;
    this.lesson = null; // takes the next press instead, while there is one
    this.downAt = new Map();
    this.givenAt = new Map();
    this.dones = []; // the last quick presses of done: when, and which, where it was given
    this.isTabbing = false;
    try { this.learnt = JSON.parse(kept.get("presses")) || {}; } catch { this.learnt = {}; }
    this.isFoot = kept.get("foot") === "yes";
    chosen("pressing", "pedal", () => this.fit());
    document.addEventListener("keydown", (event) => this.key(event), { capture: true });
    document.addEventListener("pointerdown", () => { this.isTabbing = false; }, { capture: true });
    document.querySelector("main").addEventListener("click", (event) => this.tap(event), { capture: true });
    this.fit();
  }

  get kind() { return at("pressing").value; }

  fit() {
    document.body.classList.toggle("switch", this.kind === "switch");
    at("press").hidden = this.kind !== "switch";
  }

  keep(learnt, isFoot) {
    this.learnt = learnt;
    this.isFoot = isFoot;
    kept.set("presses", JSON.stringify(learnt));
    kept.set("foot", isFoot ? "yes" : "");
  }

  // Whether a press comes from a foot, or may: what page-turning pedals send until they are learnt.
  isByFoot(name) {
    if (name.startsWith("earbud")) return false;
    return name in this.learnt ? this.isFoot : name === "PageDown" || name === "PageUp";
  }

  command(name) {
    return { ...USUAL, ...this.learnt }[name];
  }

  key(event) {
    if (event.key === "Tab") this.isTabbing = true;
    if (event.ctrlKey || event.altKey || event.metaKey || SILENT.has(event.key)) return;
    if (!this.isOurs(event)) return;
    event.preventDefault();
    event.stopPropagation();
    if (!event.repeat) this.take(event.key);
  }

  // Whether a key is a press, and not meant for what has the focus.
  isOurs({ key, target }) {
    if (this.lesson) return !(target.closest("#lesson button") && (key === "Enter" || key === " "));
    // Whoever comes to the settings by Tab has more than one key.
    if (this.kind === "switch") return !(this.isTabbing && target.closest("header, footer"));
    return this.kind === "pedal" && Boolean(this.command(key)) && !isForFocus(key, target);
  }

  // With one switch the whole of the walk is its button.
  tap(event) {
    if (this.kind !== "switch" || this.lesson) return;
    event.preventDefault();
    event.stopPropagation();
    this.take("tap");
  }

  // Take one press, by its name.
  take(name) {
    const now = performance.now();
    const isRepeating = now - (this.downAt.get(name) ?? -Infinity) < REPEATING_MS;
    this.downAt.set(name, now);
    if (isRepeating) return;
    if (this.lesson) this.lesson(name);
    else if (this.isByFoot(name) && this.refuse()) return;
    else this.act(this.kind === "switch" && !name.startsWith("earbud") ? "done" : this.command(name), now);
  }

  act(command, now) {
    if (!command) return;
    if (command === "done") {
      this.dones = [...this.dones.filter(({ when }) => now - when < BURST_MS), { when: now }];
      if (this.dones.length >= BURST) return this.insteadOfDone();
    }
    if (now - (this.givenAt.get(command) ?? -Infinity) < DEAD_MS) return;
    this.givenAt.set(command, now);
    const press = this.give(command);
    if (command === "done") this.dones.at(-1).press = press;
  }

  // Nobody knew what would follow the first ones: the walk takes back what they did, if anything.
  insteadOfDone() {
    const quick = this.dones.map(({ press }) => press).filter(Boolean);
    this.dones = [];
    this.give("choices", quick);
  }
}

// A key that does something of its own where the focus is: a choice, the log, a field, a button.
function isForFocus(key, target) {
  if (target.closest("select, textarea, [role=log], input[type=checkbox]")) return true;
  const field = target.closest("input");
  if (field) return key.length === 1 || (key !== "PageDown" && key !== "PageUp" && !(ARROWS.has(key) && field.value === ""));
  return (key === "Enter" || key === " ") && target.closest("button, a, summary") !== null;
}
