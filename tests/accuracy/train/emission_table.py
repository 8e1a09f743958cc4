#!/usr/bin/env python3
"""Write dsp/heart/emission_weights.h from the networks that train_emission.py learned.

usage: emission_table.py --out FILE MEMBER.npz...

Weights are whole numbers of -999..999 and a scale for each unit: half the size of a table of
decimals, and what is lost moves a score by less than 0.05. Needs NumPy only.
"""
import argparse
import sys

import numpy as np

import small_network as net
from names import c_names

LARGEST = 999
MEMBERS = "FM_EMISSION_MEMBERS"
SIZES = ("FM_PATCH_SIZE", "FM_EMISSION_HIDDEN_1", "FM_EMISSION_HIDDEN_2",
         "FM_EMISSION_CLASSES")


def main():
    a = argparse.ArgumentParser()
    a.add_argument("members", nargs="+")
    a.add_argument("--out", required=True)
    o = a.parse_args()
    members = [np.load(path) for path in o.members]
    composed, heart = members[0]["counts"]
    body = '#include "dsp/heart/emission.h"\n\n#include <stdint.h>\n\n'
    body += (f"_Static_assert({MEMBERS} == {len(members)}, "
             '"the table holds another number of networks");\n\n/* clang-format off */\n')
    body += c_names("FM_PATCH", members[0]["names"])
    for k in (1, 2, 3):
        weights = [m[f"weights_{k}"] for m in members]
        scales = [np.abs(w).max(axis=0) / LARGEST for w in weights]
        whole = [np.rint(w / s) for w, s in zip(weights, scales)]
        body += net.c_table("int16_t", f"WEIGHTS_{k}", (MEMBERS,) + SIZES[k - 1 : k + 1],
                            whole, lambda v: str(int(v)))
        shape = (MEMBERS, SIZES[k])
        body += net.c_table("float", f"SCALE_{k}", shape, scales, net.c_number)
        body += net.c_table("float", f"BIAS_{k}", shape,
                            [m[f"bias_{k}"] for m in members], net.c_number)
    body += net.c_table("float", "LOG_PRIOR", (MEMBERS, SIZES[3]),
                        [m["log_prior"] for m in members], net.c_number)
    body += "/* clang-format on */\n"
    net.c_header(o.out, "FM_EMISSION_WEIGHTS_H",
                 f" * Made by tests/accuracy/train/emission_table.py: {len(members)} networks learned\n"
                 f" * from {composed} composed and {heart} open recordings; do not edit. What they\n"
                 " * are: tests/accuracy/train/README.md.\n" + net.SOURCES, body)


if __name__ == "__main__":
    sys.exit(main())
