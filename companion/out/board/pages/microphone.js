// Runs beside the sound: makes what the microphone hears into pieces of 16-bit samples.
const PIECE = sampleRate > 24000 ? 1536 : 512;

class Microphone extends AudioWorkletProcessor {
  constructor() {
    super();
    this.piece = new Int16Array(PIECE);
    this.filled = 0;
  }

  process([[samples]]) {
    for (const sample of samples || []) {
      this.piece[this.filled] = Math.round(32767 * Math.max(-1, Math.min(1, sample)));
      this.filled += 1;
      if (this.filled === PIECE) {
        this.port.postMessage(this.piece.buffer, [this.piece.buffer]);
        this.piece = new Int16Array(PIECE);
        this.filled = 0;
      }
    }
    return true;
  }
}

registerProcessor("microphone", Microphone);
