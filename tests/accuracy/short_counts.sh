#!/bin/bash
# The table of short counts in recordings/README.md is what the truth documents give.
# usage: short_counts.sh ACCURACY RECORDINGS
set -u
export LC_ALL=C
table=$("$1" --short-counts "$2") || exit 1
[ "$(printf '%s\n' "$table" | grep -c '^| ')" -ge 20 ] || {
    echo "FAILED: no table"
    exit 1
}
failures=0
while IFS= read -r line; do
    [ -z "$line" ] || grep -qxF -- "$line" "$2/README.md" || {
        echo "FAILED: not in recordings/README.md: $line"
        failures=$((failures + 1))
    }
done <<<"$table"
[ "$failures" -eq 0 ]
