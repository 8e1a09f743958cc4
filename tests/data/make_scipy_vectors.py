#!/usr/bin/env python3
"""Makes tests/data/scipy_vectors.h: what SciPy and NumPy answer, for the tests of dsp/.

    python3 make_scipy_vectors.py > scipy_vectors.h
    python3 make_scipy_vectors.py --check scipy_vectors.h

The second form makes the vectors again and compares them with the file, number by
number, within 1e-9 (of the number itself where it is larger than 1); it exits 1 on any
difference and 77 where SciPy is not installed. Inputs are rounded to single precision first, so that the
C tests feed the very same samples.
"""
import re
import sys

try:
    import numpy as np
    import scipy
    from scipy import signal
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(77)

TOLERANCE = 1e-9

FILTERS = [  # kind, order, rate, low, high (0: not used)
    ("lowpass", 1, 1000.0, 40.0, 0.0),
    ("lowpass", 4, 1000.0, 8.0, 0.0),
    ("lowpass", 5, 2000.0, 150.0, 0.0),
    ("highpass", 2, 4000.0, 20.0, 0.0),
    ("highpass", 3, 2000.0, 25.0, 0.0),
    ("highpass", 4, 4000.0, 250.0, 0.0),
    ("bandpass", 1, 2000.0, 40.0, 60.0),
    ("bandpass", 2, 1000.0, 25.0, 400.0),
    ("bandpass", 2, 2000.0, 25.0, 400.0),
    ("bandpass", 2, 4000.0, 25.0, 400.0),
    ("bandpass", 2, 2000.0, 25.0, 150.0),
    ("bandpass", 3, 2000.0, 150.0, 450.0),
    ("bandpass", 4, 4000.0, 100.0, 1000.0),
]
GAIN_PLACES = [0.02, 0.1, 0.3, 0.5, 0.7, 0.95]  # shares of half the sample rate
IMPULSE_SAMPLES = 48
SECTIONS_MAX = 8


def single(x):
    """The values of x after rounding to single precision, held as doubles."""
    return np.asarray(x, dtype=np.float32).astype(np.float64)


def noise(n, seed):
    """White noise, -1..1, from a generator that is one line in any language."""
    state, out = seed, []
    for _ in range(n):
        state = (1664525 * state + 1013904223) % 2**32  # Numerical Recipes' constants
        out.append(state / 2**31 - 1.0)
    return single(out)


def number(value):
    text = repr(float(value))
    return {"nan": "NAN"}.get(text, text)


def wrapped(parts):
    """The parts with a comma after each, in indented lines of at most 88 columns."""
    lines, line = [], "   "
    for part in parts:
        if len(line) + len(part) + 2 > 88:
            lines.append(line)
            line = "   "
        line += f" {part},"
    return "\n".join(lines + [line]) + "\n"


def array(name, values, kind="double"):
    suffix = "f" if kind == "float" else ""
    parts = [number(v) + suffix if kind != "int" else str(int(v)) for v in values]
    return f"static const {kind} {name}[{len(parts)}] = {{\n{wrapped(parts)}}};\n"


def design(kind, order, rate, low, high):
    corner = [low, high] if kind == "bandpass" else low
    return signal.butter(order, corner, kind, fs=rate, output="sos")


def filter_vectors():
    rows = []
    for kind, order, rate, low, high in FILTERS:
        sos = design(kind, order, rate, low, high)
        places = np.array(GAIN_PLACES) * rate / 2
        _, response = signal.sosfreqz(sos, places, fs=rate)
        poles = sorted((row[4], row[5]) for row in sos)
        impulse = signal.sosfilt(sos, np.eye(1, IMPULSE_SAMPLES)[0])
        rows.append(
            f'{{"{kind}", {number(rate)}, {number(low)}, {number(high)}, {order}, {len(sos)},\n {{'
            + ", ".join(f"{{{number(a1)}, {number(a2)}}}" for a1, a2 in poles)
            + "},\n {\n"
            + wrapped(number(v) for v in np.abs(response))
            + " },\n {\n"
            + wrapped(number(v) for v in impulse)
            + " }},\n"
        )
    return (
        "/* scipy.signal.butter(order, corners, kind, fs=rate, output='sos'): the (a1, a2)\n"
        "   of its sections in ascending order, its gain at SCIPY_GAIN_PLACES (shares of\n"
        "   half the rate), and sosfilt of a unit impulse. */\n"
        "struct scipy_filter {\n"
        "    const char *kind;\n    double rate_hz, low_hz, high_hz;\n"
        "    int order, n_sections;\n"
        f"    double poles[{SECTIONS_MAX}][2];\n    double gain[{len(GAIN_PLACES)}];\n"
        f"    double impulse[{IMPULSE_SAMPLES}];\n}};\n"
        + array("SCIPY_GAIN_PLACES", GAIN_PLACES)
        + f"static const struct scipy_filter SCIPY_FILTERS[{len(FILTERS)}] = {{\n"
        + "".join(rows)
        + "};\n"
    )


def zero_phase_vectors():
    n = np.arange(400)
    x = single(np.sin(2 * np.pi * 60 * n / 2000) + 0.5 * np.sin(2 * np.pi * 5 * n / 2000) + 0.25)
    band = signal.butter(2, [25, 400], "band", fs=2000, output="sos")
    low = signal.butter(3, 150, "low", fs=2000, output="sos")
    short = x[:9]  # shorter than the usual padding: the padding is cut to n - 1
    return (
        "/* sosfiltfilt with its default padding: butter(2, [25, 400], 'band', fs=2000) and\n"
        "   butter(3, 150, 'low', fs=2000); and the first over 9 samples, padlen 8. */\n"
        + array("SCIPY_ZERO_PHASE_IN", x, "float")
        + array("SCIPY_ZERO_PHASE_BAND", signal.sosfiltfilt(band, x))
        + array("SCIPY_ZERO_PHASE_LOW", signal.sosfiltfilt(low, x))
        + array("SCIPY_ZERO_PHASE_SHORT", signal.sosfiltfilt(band, short, padlen=8))
    )


def notch_vectors():
    b, a = signal.iirnotch(50.0, 50.0 / 4.0, fs=2000.0)
    places = [10.0, 45.0, 48.0, 50.0, 52.0, 55.0, 400.0]
    _, response = signal.freqz(b, a, places, fs=2000.0)
    return (
        "/* |freqz| of iirnotch(50, 50 / 4, fs=2000) at SCIPY_NOTCH_HZ. */\n"
        + array("SCIPY_NOTCH_HZ", places)
        + array("SCIPY_NOTCH_GAIN", np.abs(response))
    )


def spectrum_vectors():
    x = single(0.5 * noise(640, 1) + 0.2 + 0.7 * np.sin(2 * np.pi * 0.11 * np.arange(640)))
    _, density = signal.welch(x, fs=2000.0, nperseg=128)
    window = signal.get_window("hann", 128)
    power = np.abs(np.fft.rfft(x[:128] * window)) ** 2
    full = signal.correlate(x, x, "full", "direct")[len(x) - 1 :]
    lags = np.arange(120)
    r = full[:120] / (len(x) - lags) / (full[0] / len(x))
    return (
        "/* welch(x, fs=2000, nperseg=128); |rfft|^2 of x[:128] under get_window('hann');\n"
        "   correlate(x, x), each lag over its number of products and over lag 0. */\n"
        + array("SCIPY_SPECTRUM_IN", x, "float")
        + array("SCIPY_WELCH", density)
        + array("SCIPY_POWER", power)
        + array("SCIPY_AUTOCORRELATION", r)
    )


def peak_vectors():
    smooth = signal.sosfilt(signal.butter(2, 0.2, output="sos"), noise(300, 7))
    x = single(np.round(smooth * 16) / 16)  # rounded, so that flat tops occur
    out = array("SCIPY_PEAKS_IN", x, "float")
    for name, prominence, side in (("ALL", 0.0, 0), ("TALL", 0.25, 0), ("NEAR", 0.125, 12)):
        wlen = 2 * side + 1 if side else None
        index, properties = signal.find_peaks(x, prominence=prominence, wlen=wlen)
        out += array(f"SCIPY_PEAKS_{name}", index, "int")
        out += array(f"SCIPY_PEAKS_{name}_PROMINENCE", properties["prominences"])
    values = noise(101, 11)
    shares = [0.0, 0.013, 0.25, 0.5, 0.9, 0.955, 1.0]
    return (
        "/* find_peaks(x, prominence=p, wlen=w): p = 0; p = 0.25; p = 0.125 with w = 25\n"
        "   (12 samples either side). numpy.quantile(values, SCIPY_QUANTILE_SHARES). */\n"
        + out
        + array("SCIPY_QUANTILE_IN", values, "float")
        + array("SCIPY_QUANTILE_SHARES", shares)
        + array("SCIPY_QUANTILES", np.quantile(values, shares))
    )


def envelope_vectors():
    n = np.arange(2000)
    swell = 0.6 + 0.4 * np.cos(2 * np.pi * 3 * n / 2000)
    x = single(swell * np.sin(2 * np.pi * 117 * n / 2000))
    envelope = np.abs(signal.hilbert(x))
    weight = signal.get_window("hann", 128) ** 2
    smooth = np.convolve(envelope**2 / 2, weight[::-1])[64 - 1 :] / weight.sum()
    return (
        "/* abs(hilbert(x))^2 / 2 of a swelling tone at 117 Hz, averaged under the square of\n"
        "   get_window('hann', 128) centred on every 20th sample. */\n"
        + array("SCIPY_ENVELOPE_IN", x, "float")
        + array("SCIPY_ENVELOPE_POWER", smooth[:2000:20])
    )


def resample_vectors():
    out = (
        "/* A burst exp(-((t - 0.5) / 0.1)^2) * (sin 2 pi 60 t + 0.5 sin 2 pi 333 t), 1 s,\n"
        "   brought to 2000 Hz by scipy.signal.resample (whole spectrum, so exact for it);\n"
        "   output samples 900..1099. */\n"
    )
    for rate in (4000, 8000, 11025, 44100, 48000):
        t = np.arange(rate) / rate
        x = np.exp(-(((t - 0.5) / 0.1) ** 2)) * (
            np.sin(2 * np.pi * 60 * t) + 0.5 * np.sin(2 * np.pi * 333 * t)
        )
        out += array(f"SCIPY_RESAMPLE_{rate}", signal.resample(x, 2000)[900:1100])
    return out


def make():
    return (
        "/* Made by make_scipy_vectors.py with SciPy "
        f"{scipy.__version__} and NumPy {np.__version__}; not edited by hand. */\n"
        "/* clang-format off */\n"
        "#ifndef TESTS_DATA_SCIPY_VECTORS_H\n#define TESTS_DATA_SCIPY_VECTORS_H\n\n"
        + "\n".join(
            (
                filter_vectors(),
                zero_phase_vectors(),
                notch_vectors(),
                spectrum_vectors(),
                peak_vectors(),
                envelope_vectors(),
                resample_vectors(),
            )
        )
        + "\n#endif\n"
    )


def pieces(text):
    """The text without its version line, cut at its numbers, and the numbers.

    White space is left out: where a line breaks depends on the last digits, which differ
    from one linear algebra library to the next.
    """
    text = text.split("\n", 1)[1]
    pattern = r"(?<![\w.])-?\d+(?:\.\d+)?(?:e[+-]?\d+)?"
    names = ["".join(piece.split()) for piece in re.split(pattern, text)]
    return names, [float(v) for v in re.findall(pattern, text)]


def check(path):
    with open(path, encoding="ascii") as file:
        old_text, old = pieces(file.read())
    new_text, new = pieces(make())
    if old_text != new_text or len(old) != len(new):
        print(f"{path}: its names or lengths are not what this script makes")
        return 1
    worst = max(abs(a - b) / max(1.0, abs(a)) for a, b in zip(old, new))
    print(f"{len(old)} numbers made again with SciPy {scipy.__version__}; worst {worst:.3g}")
    return int(worst > TOLERANCE)


if __name__ == "__main__":
    if len(sys.argv) == 3 and sys.argv[1] == "--check":
        sys.exit(check(sys.argv[2]))
    if len(sys.argv) != 1:
        sys.exit(__doc__)
    sys.stdout.write(make())
