// Which voice this device has: its screen reader's, the companion's, the browser's own, or none.
import { at, chosen } from "/page.js";
import { OwnVoices, Sound } from "/sound.js";

export class Voice {
  // `phrases` are what the page says of itself, each with its clip.
  constructor(line, phrases) {
    this.line = line;
    this.tailMs = 0; // while this device listens: how long its own sound still comes back to it
    let silence = 0;
    this.isSounding = false;
    const sounding = (isOn) => {
      const tell = () => {
        this.isSounding = isOn;
        line.tell({ kind: "sounding", is_on: isOn });
      };
      clearTimeout(silence);
      if (isOn || !this.tailMs) tell();
      else silence = setTimeout(tell, this.tailMs);
    };
    this.sound = new Sound(sounding);
    this.own = new OwnVoices(sounding);
    this.names = [];
    for (const { clip } of Object.values(phrases)) if (clip) this.sound.kept.add(clip);
    chosen("voice", "reader", () => this.choose());
    at("room").addEventListener("change", () => line.tell({ kind: "room", is_on: at("room").checked }));
    this.offer();
    if ("speechSynthesis" in globalThis) speechSynthesis.addEventListener("voiceschanged", () => this.offer());
    for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, () => this.wake(), { capture: true });
    this.fit();
  }

  // On a new line the loom knows nothing of what is being heard here.
  tellAgain() {
    if (this.isSounding) this.line.tell({ kind: "sounding", is_on: true });
  }

  get kind() { return at("voice").value; }

  // The choice is offered only where there is such a voice.
  offer() {
    const option = at("voice").querySelector("[value=own]");
    option.hidden = option.disabled = !OwnVoices.found("en");
  }

  choose() {
    if (this.kind !== "companion") this.sound.sleep();
    this.wake();
    this.fit();
  }

  wake() {
    if (this.kind !== "companion" || (this.sound.context && !this.sound.isLocked)) return;
    this.sound.wake().then(() => { this.sound.ahead(this.names); this.fit(); }, () => {});
  }

  fit() {
    const isMute = this.kind === "companion" && (!this.sound.context || this.sound.isLocked);
    at("mute").hidden = !isMute;
  }

  ahead(names) {
    this.names = names;
    if (this.kind === "companion") this.sound.ahead(names);
  }

  play(sound) {
    if (this.kind === "companion") this.sound.play(sound);
    else if (this.kind === "own") this.own.play(sound);
    this.fit();
  }

  // Say a phrase of the page's own; tells whether this device can.
  say(phrase) {
    const isAble = this.kind === "own" || (this.kind === "companion" && this.sound.context && !this.sound.isLocked);
    if (isAble) this.play({ interrupt: true, items: [{ pause: "long", ...phrase }] });
    return Boolean(isAble);
  }

  room(isOn) {
    at("room").closest("p").hidden = isOn === null;
    at("room").checked = Boolean(isOn);
  }
}
