// The buttons of an earbud or headset. A browser hands them to a page only while an audio element
// of more than five seconds plays, so silence is played in a loop.
import { at, ticked } from "/page.js";

const SILENCE = "/silence.flac";
const BUTTONS = { play: "play", pause: "play", previoustrack: "previous", nexttrack: "next" };

export class Earbud {
  // `press` takes the name of a button; `told` learns whether the buttons come to this page.
  constructor(press) {
    this.press = press;
    this.loop = null;
    this.isKnown = "mediaSession" in navigator;
    ticked("earbud", this.isKnown, "no", () => (this.isWanted ? this.wake() : this.sleep()));
    this.fit();
  }

  get isWanted() { return at("earbud").checked; }

  get isOn() { return this.loop !== null && !this.loop.paused; }

  // A browser lets a page sound only after a press on it; this is called from one.
  wake() {
    if (!this.isWanted || this.isOn) return;
    this.loop = this.loop || this.made();
    for (const [action, name] of Object.entries(BUTTONS)) {
      navigator.mediaSession.setActionHandler(action, () => this.press(`earbud ${name}`));
    }
    this.loop.play().catch(() => {}).finally(() => this.fit());
  }

  made() {
    const loop = new Audio(SILENCE);
    loop.loop = true;
    // Another program has taken the loudspeaker: the next press on the page takes it back.
    for (const kind of ["pause", "playing"]) loop.addEventListener(kind, () => this.fit());
    return loop;
  }

  sleep() {
    if (this.loop) this.loop.pause();
    this.loop = null;
    if (this.isKnown) for (const action of Object.keys(BUTTONS)) navigator.mediaSession.setActionHandler(action, null);
    this.fit();
  }

  // What a locked screen shows beside its buttons.
  show(step, about) {
    if (this.isKnown) navigator.mediaSession.metadata = new MediaMetadata({ title: step, artist: about });
  }

  fit() {
    at("earbud-off").hidden = !this.isWanted || this.isOn;
  }
}
