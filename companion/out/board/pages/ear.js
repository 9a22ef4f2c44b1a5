// Sends what this device's microphone hears to the loom, which listens for commands and keeps none.
import { at, connect, ticked } from "/page.js";

const RATE = 16000;
const MOST_WAITING = 64000; // bytes; where the network is slower, sound is dropped and said to be
const AGAIN_MS = 2000;
const TAIL_MS = 60; // the sound card's own, beside what the browser tells of
const OTHER = 4409;
const STATES = {
  asking: "The browser asks whether this page may hear.",
  loading: "Getting ready to listen.",
  ready: "Listening.",
  away: "Not listening: the loom is away.",
  refused: "The browser does not let this page hear. Allow the microphone in its settings.",
  other: "Another device listens now.",
};

function release(context, stream) {
  if (context) context.close();
  if (stream) for (const track of stream.getTracks()) track.stop();
}

export class Ear {
  constructor(voice) {
    this.voice = voice;
    this.context = null;
    this.socket = null;
    this.stream = null;
    this.turn = 0; // what was begun in an earlier one is given up, however late it comes
    this.isLost = false; // a piece was dropped, and the loom is not told yet
    // A browser hears on encrypted pages alone, or on the loom's own machine.
    const isKnown = Boolean(navigator.mediaDevices) && "AudioWorkletNode" in globalThis;
    at("deaf").hidden = isKnown;
    ticked("ear", isKnown, "no", () => (this.isWanted ? this.begin() : this.end("")));
    ticked("clean", isKnown, "yes", () => { if (this.isWanted) this.restart(); });
    if (this.isWanted) this.begin();
  }

  get isWanted() { return at("ear").checked; }

  // A browser starts what takes sound in only after a press; this is called from one.
  wake() {
    if (this.context && this.context.state === "suspended") this.context.resume();
  }

  // The walk is over; the next one finds the microphone as it was wanted.
  rest() {
    if (this.isWanted) this.end("");
  }

  restart() {
    this.end("");
    at("ear").checked = true;
    this.begin();
  }

  async begin() {
    this.turn += 1;
    const { turn } = this;
    this.show("asking");
    const isClean = at("clean").checked;
    const wanted = { channelCount: 1, echoCancellation: isClean, noiseSuppression: isClean, autoGainControl: isClean };
    let stream;
    try {
      stream = await navigator.mediaDevices.getUserMedia({ audio: wanted });
    } catch {
      if (turn === this.turn) this.end("refused");
      return;
    }
    // Not every browser brings the microphone to another rate; the loom then does.
    const context = await this.capture(stream, { sampleRate: RATE }).catch(() => this.capture(stream, {}));
    if (turn === this.turn) {
      this.stream = stream;
      this.context = context;
      this.open();
    } else {
      release(context, stream);
    }
  }

  async capture(stream, options) {
    const context = new AudioContext(options);
    await context.audioWorklet.addModule("/microphone.js");
    const node = new AudioWorkletNode(context, "microphone", { numberOfOutputs: 0 });
    node.port.onmessage = ({ data }) => { if (context === this.context) this.send(data); };
    context.createMediaStreamSource(stream).connect(node);
    return context;
  }

  open() {
    if (!this.context) return;
    this.show("loading");
    this.isLost = false;
    connect(this, "ear", () => ({ kind: "hear", rate: this.context.sampleRate }));
  }

  take(event) {
    if (event.kind === "ready") {
      this.voice.tailMs = TAIL_MS + 1000 * (this.context.outputLatency || 0);
      this.show("ready");
    } else {
      this.end("", event.text);
    }
  }

  send(piece) {
    const { socket } = this;
    if (!socket || socket.readyState !== WebSocket.OPEN) return;
    if (socket.bufferedAmount > MOST_WAITING) {
      this.isLost = true;
      return;
    }
    if (this.isLost) socket.send('{"kind":"gap"}');
    this.isLost = false;
    socket.send(piece);
  }

  lose(code) {
    this.socket = null;
    if (code === OTHER) {
      this.end("other");
      return;
    }
    this.show("away");
    const { turn } = this;
    setTimeout(() => { if (turn === this.turn) this.open(); }, AGAIN_MS);
  }

  end(state, text = "") {
    const { socket, context, stream } = this;
    this.turn += 1;
    this.socket = this.context = this.stream = null;
    if (socket) socket.close();
    release(context, stream);
    at("ear").checked = false;
    this.voice.tailMs = 0;
    this.show(state, text);
  }

  show(state, text = "") {
    at("hears").textContent = text || STATES[state] || "";
    at("listening").hidden = state !== "ready";
  }
}
