// Keeps the screen from darkening while the walk is shown, where the browser can.
import { at, ticked } from "/page.js";

export class Awake {
  constructor() {
    this.lock = null;
    this.hasEnded = false;
    this.turn = Promise.resolve(); // one change after another
    ticked("awake", "wakeLock" in navigator, "yes", () => this.fit());
    // The browser takes the lock away whenever the page is out of sight.
    document.addEventListener("visibilitychange", () => this.fit());
    this.fit();
  }

  follow(hasEnded) {
    if (hasEnded === this.hasEnded) return;
    this.hasEnded = hasEnded;
    this.fit();
  }

  fit() {
    this.turn = this.turn.then(() => this.change()).catch(() => { this.lock = null; });
    this.turn.then(() => this.show());
  }

  show() {
    at("dark").hidden = Boolean(this.lock) || !at("awake").checked || this.hasEnded || document.hidden;
  }

  async change() {
    const isWanted = at("awake").checked && !this.hasEnded && !document.hidden;
    if (isWanted === Boolean(this.lock)) return;
    if (!isWanted) {
      await this.lock.release();
      return;
    }
    const lock = await navigator.wakeLock.request("screen");
    this.lock = lock;
    lock.addEventListener("release", () => {
      if (this.lock === lock) this.lock = null;
      this.show();
    });
  }
}
