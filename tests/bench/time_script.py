"""Times decode(x, rate) of a Python script on one sound, start-up left out.

Run: python3 time_script.py SCRIPT SOUND.wav REPEATS
Prints the median of the processor time of each call, in ms, and the rate it found.
"""
import importlib.util
import statistics
import sys
import time

from scipy.io import wavfile

spec = importlib.util.spec_from_file_location("script", sys.argv[1])
script = importlib.util.module_from_spec(spec)
spec.loader.exec_module(script)
rate, x = wavfile.read(sys.argv[2])
x = x.astype(float)
script.decode(x, rate)  # the first call also loads what is imported late
times_ms = []
for _ in range(int(sys.argv[3])):
    start = time.process_time()
    found = script.decode(x, rate)
    times_ms.append(1000 * (time.process_time() - start))
print(f"{statistics.median(times_ms):.1f} {len(found[0][3][1])}")
