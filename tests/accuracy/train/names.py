"""Names of the numbers that a table is learned from. A file of training rows begins with a line
for each kind of number, `names PREFIX NAME ...` or `names PREFIX NAME:CUES ...`, which the
evaluation writes from the lists in dsp/ (FM_EVIDENCE_MAP, FM_PATCH_MAP, FM_LENGTH_MAP,
FM_GROUND_MAP). A table asserts them, so that dsp/ does not compile with a table that was learned
from other numbers, or in another order.
"""


def read_names(file, prefix, path):
    """{name: cues} in the order of the numbers, from the next line of a file opened as bytes."""
    word, *rest = file.readline(1 << 16).decode("ascii", "replace").split() or [""]
    if word != "names" or rest[:1] != [prefix]:
        raise SystemExit(f"{path}: no line of names of {prefix}; export it again")
    return {name: int(cues or 0) for name, _, cues in (n.partition(":") for n in rest[1:])}


def same_names(all_names, paths):
    """The names that all files have."""
    for names, path in zip(all_names, paths):
        if names != all_names[0]:
            raise SystemExit(f"{path}: other names than {paths[0]}; export both again")
    return all_names[0]


def write_names(file, prefix, names):
    """The line that read_names reads."""
    file.write(" ".join(["names", prefix, *(f"{n}:{cues}" if cues else n
                                            for n, cues in names.items())]).encode() + b"\n")


def c_names(prefix, names):
    """C that does not compile where dsp/ has other numbers, or in another order."""
    wanted = [*names, "SIZE"]
    return "".join(f'_Static_assert({prefix}_{name} == {i}, "learned from other numbers");\n'
                   for i, name in enumerate(wanted))
