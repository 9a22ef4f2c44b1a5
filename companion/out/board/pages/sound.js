// Speaks on this device: clips are fetched ahead, and sound at once when they are due.
const BYTES_KEPT = 60;
const DECODED_KEPT = 12; // a decoded clip takes ten times what its file does
const DECODED_AHEAD = 4;
const TONES = ["confirm", "boundary", "trouble", "refuse"]; // any may be due at any time
const PAUSE = { short: 0.08, long: 0.3 };

function bounded(map, most, kept = new Set()) {
  for (const name of map.keys()) if (map.size > most + kept.size && !kept.has(name)) map.delete(name);
}

export class Sound {
  // `sounding` is told when something begins to be heard here, and when all is silent.
  constructor(sounding) {
    this.sounding = sounding;
    this.context = null;
    this.bytes = new Map();
    this.kept = new Set(TONES); // and clips for when the loom is away
    this.decoded = new Map();
    this.playing = new Set();
    this.turn = 0;
    this.free = 0;
    this.isTold = false;
  }

  get isLocked() {
    return this.context !== null && this.context.state !== "running";
  }

  // A browser lets a page sound only after a press; this is called from one.
  async wake() {
    this.context = this.context || new AudioContext();
    if (this.context.state !== "running") await this.context.resume();
  }

  sleep() {
    this.hush();
    if (this.context) this.context.close();
    this.context = null;
    this.decoded.clear();
  }

  ahead(names) {
    for (const name of [...names, ...this.kept]) this.fetched(name);
    if (!this.context) return;
    for (const name of [...TONES, ...names.slice(0, DECODED_AHEAD)]) this.buffer(name).catch(() => {});
  }

  fetched(name) {
    if (!this.bytes.has(name)) {
      const got = fetch(`clip/${name}`).then((answer) => {
        if (!answer.ok) throw new Error(answer.status);
        return answer.arrayBuffer();
      });
      got.catch(() => this.bytes.delete(name));
      this.bytes.set(name, got);
      bounded(this.bytes, BYTES_KEPT, this.kept);
    }
    return this.bytes.get(name);
  }

  buffer(name) {
    const made = this.decoded.get(name) || this.decode(name);
    this.decoded.delete(name); // what was wanted last goes last
    this.decoded.set(name, made);
    bounded(this.decoded, DECODED_KEPT);
    return made;
  }

  decode(name) {
    // Decoding takes the bytes away, so it is given a copy.
    const made = this.fetched(name).then((bytes) => this.context.decodeAudioData(bytes.slice(0)));
    made.catch(() => this.decoded.delete(name));
    return made;
  }

  hush() {
    this.turn += 1;
    for (const source of this.playing) source.stop();
    this.playing.clear();
    this.free = 0;
    this.tell();
  }

  async play({ interrupt, items }) {
    if (!this.context) return;
    if (interrupt) this.hush();
    const turn = this.turn;
    for (const { clip, pause } of items) {
      let buffer = null;
      try { buffer = await this.buffer(clip); } catch { continue; }
      if (turn !== this.turn || !this.context) return;
      this.queue(buffer, PAUSE[pause]);
    }
  }

  queue(buffer, pause) {
    const source = this.context.createBufferSource();
    source.buffer = buffer;
    source.connect(this.context.destination);
    const at = Math.max(this.context.currentTime, this.free);
    source.start(at);
    this.free = at + buffer.duration + pause;
    this.playing.add(source);
    source.onended = () => { this.playing.delete(source); this.tell(); };
    this.tell();
  }

  tell() {
    const isOn = this.playing.size > 0;
    if (isOn !== this.isTold) {
      this.isTold = isOn;
      this.sounding(isOn);
    }
  }
}

// The browser's own voices, where there are any that need no internet.
export class OwnVoices {
  static found(language) {
    if (!("speechSynthesis" in globalThis)) return null;
    return speechSynthesis.getVoices().find((voice) => voice.localService && voice.lang.startsWith(language)) || null;
  }

  constructor(sounding) {
    this.sounding = sounding;
    this.waiting = new Set();
  }

  hush() {
    this.waiting.clear();
    speechSynthesis.cancel();
    this.sounding(false);
  }

  play({ interrupt, items }) {
    if (interrupt) this.hush();
    for (const { text } of items) if (text) this.say(text);
  }

  say(text) {
    const said = new SpeechSynthesisUtterance(text);
    said.voice = OwnVoices.found("en");
    this.waiting.add(said);
    this.sounding(true);
    // What was cancelled ends late, when the next is being said.
    said.onend = () => { if (this.waiting.delete(said) && !this.waiting.size) this.sounding(false); };
    said.onerror = said.onend;
    speechSynthesis.speak(said);
  }
}
