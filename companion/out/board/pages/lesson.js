// Teaches this device which press is which command.
import { at, capital } from "/page.js";

const WANTED = [["done", "Done"], ["back", "Back"], ["repeat", "Repeat"]];

// A press as it is told: "PageDown", "the earbud's next".
function named(press) {
  if (press.startsWith("earbud ")) return `the earbud's ${press.slice(7)} button`;
  return press === " " ? "the space bar" : `the key ${press}`;
}

export class Lesson {
  constructor(presses, earbud) {
    this.presses = presses;
    this.earbud = earbud;
    at("learn").addEventListener("click", () => this.begin());
    at("skip").addEventListener("click", () => this.next());
    at("leave").addEventListener("click", () => this.end("Nothing was changed."));
    at("foot").addEventListener("click", () => this.keep(true));
    at("hand").addEventListener("click", () => this.keep(false));
    at("forget").addEventListener("click", () => {
      this.presses.keep({}, false);
      this.end("This device takes the usual presses again.");
    });
    this.fit();
  }

  begin() {
    this.found = {};
    this.left = [...WANTED];
    this.presses.lesson = (press) => this.take(press);
    this.earbud.wake();
    at("lesson").hidden = false;
    at("learn").hidden = at("forget").hidden = true;
    this.ask();
    at("lesson").focus();
  }

  ask(before = "") {
    at("asks").textContent = `${before} Press what shall be ${this.left[0][1]}.`.trim();
  }

  take(press) {
    if (press === "Escape") {
      this.next();
    } else if (this.found[press]) {
      this.ask(`${capital(named(press))} is taken already.`);
    } else {
      const [command, name] = this.left[0];
      this.found[press] = command;
      this.next(`${capital(named(press))} is now ${name}.`);
    }
  }

  next(before = "") {
    this.left.shift();
    if (this.left.length) {
      this.ask(before);
      return;
    }
    const found = Object.keys(this.found);
    if (!found.length) this.end("Nothing was changed.");
    else if (found.every((press) => press.startsWith("earbud"))) this.keep(this.presses.isFoot, before);
    else this.askLimb(before);
  }

  // While feet are on treadles no foot pedal is taken.
  askLimb(before) {
    this.presses.lesson = () => {};
    at("foot").hidden = at("hand").hidden = false;
    at("skip").hidden = true;
    at("asks").textContent = `${before} Do you press by foot or by hand?`.trim();
  }

  keep(isFoot, before = "") {
    this.presses.keep({ ...this.presses.learnt, ...this.found }, isFoot);
    this.end(`${before} This device keeps that.`.trim());
  }

  end(text) {
    this.presses.lesson = null;
    at("foot").hidden = at("hand").hidden = true;
    at("skip").hidden = false;
    at("lesson").hidden = true;
    at("learn").hidden = false;
    at("asks").textContent = text;
    this.fit();
    at("learn").focus();
  }

  fit() {
    const names = new Map(WANTED);
    const learnt = Object.entries(this.presses.learnt);
    at("forget").hidden = !learnt.length;
    const told = learnt.map(([press, command]) => `${capital(named(press))} is ${names.get(command)}.`);
    if (this.presses.isFoot) told.push("You press by foot.");
    at("learnt").textContent = told.join(" ");
  }
}
