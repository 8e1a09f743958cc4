#!/usr/bin/env python3
"""Two builds of the program, by different compilers, must say the same of every recording.

    python3 compilers.py PROGRAM OTHER_PROGRAM SOURCE_DIR

Same words and whole numbers everywhere; times within 1 ms, other numbers within 0.1.
Exits 1 when any document differs by more.
"""
import json
import pathlib
import subprocess
import sys

TIME_S = 0.001 + 1e-9
OTHER = 0.1 + 1e-9


def differences(a, b, place=""):
    """Yields 'place: a, b' for whatever differs by more than is allowed."""
    if isinstance(a, dict) and isinstance(b, dict) and a.keys() == b.keys():
        for key in a:
            yield from differences(a[key], b[key], f"{place}.{key}")
    elif isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        for i, (x, y) in enumerate(zip(a, b)):
            yield from differences(x, y, f"{place}[{i}]")
    elif isinstance(a, float) and isinstance(b, float):
        is_time = place.split("[")[0].endswith("_s") or place.endswith("_s")
        if abs(a - b) > (TIME_S if is_time else OTHER):
            yield f"{place}: {a}, {b}"
    elif a != b:
        yield f"{place}: {a}, {b}"


def count(program, recording):
    done = subprocess.run(
        [program, "count", "--json", recording], capture_output=True, text=True, check=False
    )
    if done.returncode not in (0, 4):
        sys.exit(f"{program} count {recording}: exits {done.returncode}: {done.stderr}")
    return done.returncode, json.loads(done.stdout)


def main():
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    recordings = sorted(pathlib.Path(sys.argv[3], "recordings").glob("*.flac"))
    if not recordings:
        sys.exit("no recordings to compare")
    identical, bad = 0, 0
    for recording in recordings:
        one, other = count(sys.argv[1], recording), count(sys.argv[2], recording)
        identical += one == other
        for line in differences(list(one), list(other)):
            print(f"{recording.name}{line}")
            bad += 1
    print(f"{len(recordings)} recordings: {identical} documents the same in every digit, "
          f"{bad} differences beyond 1 ms or 0.1")
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
