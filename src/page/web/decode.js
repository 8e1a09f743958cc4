// What only a browser reads (m4a, aac, webm): decoded here, handed on as a WAV file of 16 bit.

// No browser says what rate a file has; at 48 kHz nothing that is listened for is lost.
const RATE_HZ = 48000;
const HEADER_BYTES = 44;
export const MOST_BYTES = 48 * 1024 * 1024; // PAGE_UPLOAD_BYTES

// What the program reads by itself, it judges by itself: a damaged one is not to be smoothed over.
export async function isReadHere(file) {
  const head = new Uint8Array(await file.slice(0, 4).arrayBuffer());
  return ['RIFF', 'fLaC', 'OggS', 'FORM', 'ID3'].some((w) => [...w].every((c, i) => head[i] === c.charCodeAt(0)));
}

// As the program does it: the loudest channel.
function loudest(buffer) {
  let best = { power: -1 };
  for (let c = 0; c < buffer.numberOfChannels; c += 1) {
    const samples = buffer.getChannelData(c);
    const power = samples.reduce((sum, x) => sum + x * x, 0);
    if (power > best.power) best = { power, samples };
  }
  return best.samples;
}

// RIFF WAVE, as in src/usecase/listen_make.c.
function wav(samples) {
  const n = Math.min(samples.length, Math.floor((MOST_BYTES - HEADER_BYTES) / 2));
  const view = new DataView(new ArrayBuffer(HEADER_BYTES + 2 * n));
  const text = (at, word) => [...word].forEach((c, i) => view.setUint8(at + i, c.charCodeAt(0)));
  text(0, 'RIFF');
  view.setUint32(4, HEADER_BYTES - 8 + 2 * n, true);
  text(8, 'WAVEfmt ');
  [[16, 16], [24, RATE_HZ], [28, 2 * RATE_HZ], [40, 2 * n]].forEach(([at, v]) => view.setUint32(at, v, true));
  [[20, 1], [22, 1], [32, 2], [34, 16]].forEach(([at, v]) => view.setUint16(at, v, true));
  text(36, 'data');
  for (let i = 0; i < n; i += 1) {
    view.setInt16(HEADER_BYTES + 2 * i, Math.round(32767 * Math.max(-1, Math.min(1, samples[i]))), true);
  }
  return new Blob([view], { type: 'audio/wav' });
}

// Throws where the browser cannot.
export async function decoded(file) {
  const context = new OfflineAudioContext(1, 1, RATE_HZ);
  return wav(loudest(await context.decodeAudioData(await file.arrayBuffer())));
}
