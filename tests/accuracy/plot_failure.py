"""Draws one window that the evaluation dumped: sound, spectrogram, envelope, true and found beats.

Run: accuracy --dump DUMPS FOLDER; python3 plot_failure.py DUMPS/NAME.tsv [-o NAME.png] [--from S] [--seconds S]
Needs numpy, scipy and matplotlib; for FLAC also soundfile or ffmpeg, else WAV only.
"""
import argparse
import os

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
from scipy import signal
from scipy.io import wavfile

STRIP_S = 12.0  # seconds in one row of the drawing


def read_dump(path):
    """Keys of the heading, and times by kind."""
    heading, times = {}, {"truth": [], "s1": [], "s2": []}
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            left, _, right = line.rstrip("\n").partition("\t")
            if left.startswith("# "):
                heading[left[2:]] = right
            else:
                times[left].append(float(right))
    return heading, {kind: np.array(v) for kind, v in times.items()}


def read_sound(path):
    """Rate and channel 0, full scale 1."""
    if path.endswith(".wav"):
        rate, x = wavfile.read(path)
        x = x.astype(float) / (np.iinfo(x.dtype).max if x.dtype.kind == "i" else 1.0)
    else:
        import soundfile

        x, rate = soundfile.read(path)
    return rate, x if x.ndim == 1 else x[:, 0]


def envelope_of(x, rate):
    """Log envelope of 30-150 Hz, smoothed at 14 Hz, for the eye only."""
    band = signal.sosfiltfilt(signal.butter(4, [30, 150], "band", fs=rate, output="sos"), x)
    smooth = signal.sosfiltfilt(
        signal.butter(2, 14, fs=rate, output="sos"), np.abs(signal.hilbert(band))
    )
    return np.log(np.maximum(smooth, np.max(smooth) * 1e-4))


def draw_strip(axes, x, envelope, rate, times, lag, start, stop):
    """One row: the sound with marks above, its spectrogram with the envelope below."""
    top, below = axes
    i, j = int(start * rate), int(min(stop * rate, len(x)))
    t = np.arange(i, j) / rate
    step = max(1, (j - i) // 6000)
    top.plot(t[::step], x[i:j][::step], color="0.4", linewidth=0.5)
    most = np.max(np.abs(x[i:j])) or 1.0
    inside = {k: v[(v >= start) & (v < stop)] for k, v in times.items()}
    top.vlines(inside["truth"] + lag, 0, 1.25 * most, color="black", linestyle="--", linewidth=1)
    top.plot(inside["s1"], np.full(len(inside["s1"]), 1.1 * most), "k^", markersize=6)
    top.plot(inside["s2"], np.full(len(inside["s2"]), 1.1 * most), "kx", markersize=5)
    top.set_ylim(-1.3 * most, 1.3 * most)
    f, ts, power = signal.spectrogram(
        x[i:j], rate, nperseg=int(0.06 * rate), noverlap=int(0.05 * rate)
    )
    keep = f <= 500
    below.pcolormesh(
        ts + start, f[keep], 10 * np.log10(power[keep] + 1e-14), shading="auto", cmap="cividis"
    )
    low, high = np.percentile(envelope, [2, 99.5])
    below.plot(
        t[::step],
        500 * np.clip((envelope[i:j][::step] - low) / (high - low), 0, 1),
        color="white",
        linewidth=0.8,
    )
    for axis in axes:
        axis.set_xlim(start, start + STRIP_S)
    below.set_ylabel("Hz")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("dump", help="NAME.tsv that accuracy --dump wrote")
    parser.add_argument("-o", "--output", help="picture (default: NAME.png beside it)")
    parser.add_argument("--from", dest="start", type=float, help="first second to draw")
    parser.add_argument("--seconds", type=float, default=36.0, help="seconds to draw")
    options = parser.parse_args()
    heading, times = read_dump(options.dump)
    rate, x = read_sound(heading["sound"])
    start = float(heading["start_s"]) if options.start is None else options.start
    stop = min(start + options.seconds, len(x) / rate)
    lag = float(heading["lag_s"])
    lag = lag if -0.02 <= lag <= 0.2 else 0.0
    rows = max(1, int(np.ceil((stop - start) / STRIP_S)))
    figure, axes = plt.subplots(2 * rows, 1, figsize=(16, 4.2 * rows), constrained_layout=True)
    envelope = envelope_of(x, rate)
    for row in range(rows):
        a = start + row * STRIP_S
        draw_strip(axes[2 * row : 2 * row + 2], x, envelope, rate, times, lag, a,
                   min(a + STRIP_S, stop))
    figure.suptitle(
        "{recording}: truth {truth_rate}, found {found_rate}, {status} ({reason}), "
        "confidence {confidence}\ndashed: true beat; triangle: S1 found; cross: S2 found; "
        "white: log envelope 30-150 Hz".format(**heading)
    )
    output = options.output or os.path.splitext(options.dump)[0] + ".png"
    figure.savefig(output, dpi=70)
    print(output)


if __name__ == "__main__":
    main()
