#!/usr/bin/env python3
"""Beat intervals of the ECG that SciPy ships, for tests/dsp/test_compose_ecg.c.

    python3 make_scipy_ecg_intervals.py > scipy_ecg_intervals.txt
    python3 make_scipy_ecg_intervals.py --check scipy_ecg_intervals.txt

The check makes them again and compares to one sample of the ECG (1/360 s); it exits 77
(skipped) where NumPy or a SciPy that brings the ECG along is not installed.

scipy.misc.electrocardiogram: 5 minutes of lead MLII at 360 Hz, a person with early beats;
taken by SciPy from record 208 of the MIT-BIH Arrhythmia Database (Moody, Mark, IEEE Eng
Med Biol 20:45, 2001; Goldberger et al., Circulation 101:e215, 2000).

R peaks: band 5-20 Hz (zero phase), squared, averaged over 120 ms, peaks at least 330 ms
apart over 0.15 of the median of such peaks within 10 s, each moved to the largest |band|
within 60 ms. An early ventricular beat has a broad QRS, so that the moment of its
mechanical start is uncertain by some 20 ms: the intervals are used as a real, uneven
series, not as a cardiologist's reading. Only the two long stretches without electrode
artefact are used (the trace drifts away near 42, 97 and 210 s), one after the other.
"""
import sys
import warnings

SKIPPED = 77

warnings.simplefilter("ignore", DeprecationWarning)
try:
    import numpy as np
    import scipy
    from scipy import signal
    from scipy.misc import electrocardiogram
except ImportError as error:
    print("skipped: %s" % error, file=sys.stderr)
    sys.exit(SKIPPED)

FS = 360.0
STRETCHES_S = [(100.5, 207.0), (216.0, 300.0)]


def r_peaks(x):
    sos = signal.butter(2, [5.0, 20.0], "band", fs=FS, output="sos")
    band = signal.sosfiltfilt(sos, x)
    width = int(round(0.12 * FS))
    power = np.convolve(band**2, np.ones(width) / width, "same")
    peaks, _ = signal.find_peaks(power, distance=int(0.33 * FS))
    near = [np.median(np.sort(power[peaks[abs(peaks - p) < 10 * FS]])[-20:]) for p in peaks]
    peaks = peaks[power[peaks] > 0.15 * np.array(near)]
    reach = int(round(0.06 * FS))
    exact = [max(0, p - reach) + np.argmax(np.abs(band[max(0, p - reach): p + reach]))
             for p in peaks]
    return np.array(exact) / FS


def make():
    times = r_peaks(electrocardiogram())
    return np.concatenate(
        [np.diff(times[(times >= a) & (times < b)]) for a, b in STRETCHES_S])


def check(path):
    kept = np.loadtxt(path)
    again = make()
    if len(kept) != len(again):
        sys.exit("%s: %d intervals, made again: %d" % (path, len(kept), len(again)))
    worst = np.max(np.abs(kept - again))
    if not worst <= 1.0 / FS:
        sys.exit("%s: an interval differs by %.4f s" % (path, worst))
    print("%d intervals, largest difference %.6f s" % (len(kept), worst))


def write():
    intervals = make()
    print("# fullminute.intervals/1")
    print("# RR intervals of scipy.misc.electrocardiogram, SciPy %s, NumPy %s;"
          % (scipy.__version__, np.__version__))
    print("# made by make_scipy_ecg_intervals.py; %d intervals, %.3f s"
          % (len(intervals), intervals.sum()))
    for length in intervals:
        print("%.4f" % length)


if __name__ == "__main__":
    if len(sys.argv) == 3 and sys.argv[1] == "--check":
        check(sys.argv[2])
    elif len(sys.argv) == 1:
        write()
    else:
        sys.exit(__doc__)
