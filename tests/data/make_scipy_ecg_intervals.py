#!/usr/bin/env python3
"""Beat intervals of the ECG that SciPy ships, for tests/dsp/test_compose_ecg.c.

Run: /usr/bin/python3 make_scipy_ecg_intervals.py > scipy_ecg_intervals.txt

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

import numpy as np
import scipy
from scipy import signal

try:
    from scipy.misc import electrocardiogram
except ImportError:  # SciPy 1.10 and later keep it in datasets (a download)
    sys.exit("this SciPy has no scipy.misc.electrocardiogram; use SciPy 1.10")

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


def main():
    import warnings
    warnings.simplefilter("ignore", DeprecationWarning)
    times = r_peaks(electrocardiogram())
    intervals = np.concatenate(
        [np.diff(times[(times >= a) & (times < b)]) for a, b in STRETCHES_S])
    print("# fullminute.intervals/1")
    print("# RR intervals of scipy.misc.electrocardiogram, SciPy %s, NumPy %s;"
          % (scipy.__version__, np.__version__))
    print("# made by make_scipy_ecg_intervals.py; %d intervals, %.3f s"
          % (len(intervals), intervals.sum()))
    for length in intervals:
        print("%.4f" % length)


if __name__ == "__main__":
    main()
