// Sound out of the browser: one context, ticks, and a recording that tells what is heard.

let context;

export function audio() {
  if (!context) context = new AudioContext({ latencyHint: 'interactive' });
  if (context.state === 'suspended') context.resume();
  return context;
}

// The moment of the context's clock that is heard at a moment of the page's clock.
export function heardAt(page_ms) {
  const a = audio();
  const stamp = a.getOutputTimestamp ? a.getOutputTimestamp() : null;
  if (stamp && stamp.performanceTime > 0) {
    return stamp.contextTime + (page_ms - stamp.performanceTime) / 1000;
  }
  return a.currentTime - (a.outputLatency || a.baseLatency || 0) + (page_ms - performance.now()) / 1000;
}

export function beep(at_s, high) {
  const a = audio();
  const tone = a.createOscillator();
  const level = a.createGain();
  tone.frequency.value = high ? 1320 : 880;
  level.gain.setValueAtTime(0, at_s);
  level.gain.linearRampToValueAtTime(0.25, at_s + 0.004);
  level.gain.exponentialRampToValueAtTime(0.001, at_s + 0.07);
  tone.connect(level).connect(a.destination);
  tone.start(at_s);
  tone.stop(at_s + 0.08);
  return tone;
}

// A recording in memory. `place` is what is heard now, in seconds of the recording.
export class Recording {
  constructor(buffer) {
    this.buffer = buffer;
    this.node = null;
    this.from_s = 0;
    this.reached_s = 0; // the farthest that was heard since it plays
    this.began_s = 0;
  }

  static async read(bytes) {
    return new Recording(await audio().decodeAudioData(bytes));
  }

  get seconds() {
    return this.buffer.duration;
  }

  play(from_s = this.from_s, at_s = audio().currentTime + 0.05) {
    this.stop();
    const node = audio().createBufferSource();
    node.buffer = this.buffer;
    node.connect(audio().destination);
    node.start(at_s, from_s);
    this.node = node;
    this.from_s = from_s;
    this.reached_s = from_s;
    this.began_s = at_s;
  }

  stop() {
    if (!this.node) return;
    this.from_s = this.place();
    try { this.node.stop(); } catch { /* it had not begun */ }
    this.node.disconnect();
    this.node = null;
  }

  // Now never goes back while it plays: an output that stalls takes back what it was thought to
  // have played, and a mark would go and come again.
  place(page_ms) {
    if (!this.node) return this.from_s;
    const heard_s = heardAt(page_ms ?? performance.now());
    const at_s = Math.max(this.from_s, Math.min(this.seconds, this.from_s + heard_s - this.began_s));
    if (page_ms !== undefined) return at_s;
    this.reached_s = Math.max(this.reached_s, at_s);
    return this.reached_s;
  }
}
