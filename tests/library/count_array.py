"""Counts a NumPy array with the installed library, through ctypes; no other binding.

    import count_array
    found = count_array.count(samples, rate_hz)      first minute of a one-channel array
    found["beats"], found["rate_bpm"], found["s1_s"]

Run: python3 count_array.py SOUND.wav     (16 bit, one channel) prints it as JSON.
FULLMINUTE_LIBRARY names the library where the loader does not find libfullminute.so.
"""
import ctypes as c
import json
import os
import sys
import wave

import numpy as np

BEATS, SPANS, FINDINGS, FINDING_TIMES, REPEAT = 512, 64, 6, 64, 16
PAUSES = 8
REFUSED, CAUTION, COUNTED = 0, 1, 2


def fields(*rows):
    """A struct of C: each row is a type and the names that have it."""
    listed = [(name, kind) for kind, names in rows for name in names.split()]
    return type("Struct", (c.Structure,), {"_fields_": listed})


# fullminute/result.h, member for member.
Span = fields((c.c_double, "start_s length_s"), (c.c_int, "reason"))
Window = fields((c.c_double, "start_s end_s"), (c.c_bool, "full_minute"))
Quality = fields(
    (c.c_double, "overall level_dbfs clipped_fraction"), (c.c_bool, "low_band_missing"),
    (c.c_size_t, "n_gaps"), (Span * SPANS, "gaps"),
    (c.c_size_t, "n_unusable"), (Span * SPANS, "unusable"))
EventCount = fields(
    (c.c_int, "status reason"), (Span, "reason_span"), (Window, "window"), (Quality, "quality"),
    (c.c_double, "usable_s rate_per_min rate_low_per_min rate_high_per_min confidence"),
    (c.c_size_t, "n"), (c.c_double * BEATS, "onsets_s"))
Heart = fields(
    (EventCount, "count"), (c.c_int, "band"), (c.c_float * BEATS, "s1_sureness"),
    (c.c_size_t, "n_s2"), (c.c_double * BEATS, "s2_s"))
Finding = fields((c.c_int, "kind"), (c.c_size_t, "count"),
                 (c.c_double * FINDING_TIMES, "times_s"))
Interval = fields((c.c_double, "start_s length_s"), (c.c_int, "kind"))
Rhythm = fields(
    (c.c_int, "pattern"), (c.c_char * REPEAT, "repeat"),
    (c.c_bool, "varies_with_breathing"), (c.c_size_t, "n_findings"),
    (Finding * FINDINGS, "findings"),
    (c.c_double, "mean_interval_s sdnn_ms rmssd_ms pnn50 cv sd1_ms sd2_ms"),
    (c.c_size_t, "n_intervals"), (Interval * BEATS, "intervals"))
Pause = fields((c.c_double, "start_s end_s"))
Breath = fields(
    (EventCount, "count"),
    (c.c_double * 3, "cue_quality cue_rate_per_min"), (c.c_int * 3, "cue_count"),
    (c.c_int, "pattern"), (c.c_size_t, "n_pauses"), (Pause * PAUSES, "pauses"))
Count = fields((Heart, "heart"), (Rhythm, "rhythm"), (Breath, "breath"))


def load(path=None):
    """The library with its functions declared; an error if its structs are not these."""
    lib = c.CDLL(path or os.environ.get("FULLMINUTE_LIBRARY", "libfullminute.so"))
    lib.fm_count_bytes.restype = c.c_size_t
    if lib.fm_count_bytes() != c.sizeof(Count):
        raise RuntimeError("another version of the library: its result has another shape")
    lib.fm_version.restype = c.c_char_p
    lib.fm_count_samples.argtypes = [c.POINTER(c.c_float), c.c_size_t, c.c_double, c.POINTER(Count)]
    for name in ("status_text", "reason_code", "pattern_word"):
        function = getattr(lib, "fm_" + name)
        function.argtypes, function.restype = [c.c_int], c.c_char_p
    return lib


def analyse(lib, samples, rate_hz):
    """The library's own Count of the first minute of samples[0..n-1], full scale +/-1."""
    x = np.ascontiguousarray(samples, dtype=np.float32)
    if x.ndim != 1:
        raise ValueError("one channel is needed")
    found = Count()
    status = lib.fm_count_samples(x.ctypes.data_as(c.POINTER(c.c_float)), x.size, rate_hz, found)
    if status != 0:
        raise ValueError(lib.fm_status_text(status).decode())
    return found


def count(samples, rate_hz, lib=None):
    """What a caller usually wants of a count; numbers that are not known are None."""
    lib = lib or load()
    found = analyse(lib, samples, rate_hz)
    beats, breaths, rhythm = found.heart.count, found.breath.count, found.rhythm
    word = {REFUSED: "refused", CAUTION: "caution", COUNTED: "counted"}
    heard = beats.status != REFUSED
    breathed = breaths.status != REFUSED
    reason = lib.fm_reason_code(beats.reason).decode()
    return {
        "status": word[beats.status],
        "reason_code": None if reason == "none" else reason,
        "beats": beats.n if heard else None,
        "rate_bpm": beats.rate_per_min if heard else None,
        "confidence": beats.confidence,
        "s1_s": np.array(beats.onsets_s[:beats.n if heard else 0]),
        "s2_s": np.array(found.heart.s2_s[:found.heart.n_s2 if heard else 0]),
        "pattern": lib.fm_pattern_word(rhythm.pattern).decode() if heard else None,
        "sdnn_ms": rhythm.sdnn_ms if heard else None,
        "breath_status": word[breaths.status],
        "breaths": breaths.n if breathed else None,
        "breath_starts_s": np.array(breaths.onsets_s[:breaths.n if breathed else 0]),
        "quality": beats.quality.overall,
    }


def main():
    """Prints the count of a WAV file."""
    with wave.open(sys.argv[1]) as sound:
        if sound.getnchannels() != 1 or sound.getsampwidth() != 2:
            sys.exit("count_array.py: a WAV file of one channel and 16 bit is needed")
        raw = sound.readframes(sound.getnframes())
        rate_hz = sound.getframerate()
    found = count(np.frombuffer(raw, dtype="<i2") / 32768.0, rate_hz)
    print(json.dumps({key: value.tolist() if isinstance(value, np.ndarray) else value
                      for key, value in found.items()}))


if __name__ == "__main__":
    main()
