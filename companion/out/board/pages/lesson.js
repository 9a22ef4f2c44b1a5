// Teaches this device which press is which command.
const WANTED = [["done", "Done"], ["back", "Back"], ["repeat", "Repeat"]];

const at = (id) => document.getElementById(id);

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
    at("forget").addEventListener("click", () => {
      this.presses.keep({});
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
    const isLearnt = Object.keys(this.found).length > 0;
    if (isLearnt) this.presses.keep({ ...this.presses.learnt, ...this.found });
    this.end(`${before} ${isLearnt ? "This device keeps that." : "Nothing was changed."}`.trim());
  }

  end(text) {
    this.presses.lesson = null;
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
    at("learnt").textContent = learnt.map(([press, command]) => `${capital(named(press))} is ${names.get(command)}.`).join(" ");
  }
}

function capital(text) {
  return text[0].toUpperCase() + text.slice(1);
}
