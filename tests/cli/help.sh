#!/usr/bin/env bash
# The program's own help: what a person sees who knows nothing yet, and that the help,
# the README and the parser speak of the same options.
# Called as `bash help.sh PROGRAM SOURCE_DIR`.
# shellcheck source=tests/cli/support.sh
. "$(dirname "$0")/support.sh"
run 0 --help
[ -s out ] && [ ! -s err ] || fail '--help: belongs on standard output'
grep -q 'not a medical device' out || fail '--help: the caution is missing'
commands=$(sed -nE 's/^  ([a-z]+) +[A-Z].*/\1/p' out)
[ "$(wc -w <<<"$commands")" -ge 3 ] || fail '--help: fewer than three commands listed'

run 0 --version
grep -qxE 'fullminute [0-9]+\.[0-9]+\.[0-9]+' out || fail "--version: $(cat out)"

run 2
[ -s err ] && [ ! -s out ] || fail 'no command: the answer belongs on standard error'
run 2 cuont
grep -q cuont err || fail 'an unknown command is not named'
[ ! -s out ] || fail 'an unknown command: something on standard output'

for command in $commands; do
    run 0 "$command" --help
    cp out "$command.help"
    [ ! -s err ] || fail "$command --help: something on standard error"
    for part in "fullminute $command" Options: 'Exit status:' '--help'; do
        grep -qF -- "$part" out || fail "$command --help: no '$part'"
    done
    cp out help
    awk -v c="$command" 'length > 80 { print "FAIL: " c " --help: over 80 columns: " $0; bad = 1 }
        END { exit bad }' out || failures=$((failures + 1))
    # Every option that takes a value is known to the parser, and misses it.
    while IFS= read -r option; do
        run 2 "$command" x "$option"
        grep -qF -- "$option" err || fail "$command $option: the answer does not name it"
        ! grep -qi 'unknown' err || fail "$command $option: in the help, unknown to the parser"
    done < <(sed -nE 's/^  (--[a-z0-9-]+) [^ ].*/\1/p' out)
    run 2 "$command" x --no-such-option
    grep -q -- --no-such-option err || fail "$command: an unknown option is not named"
    # Where the usage begins with an operand, it cannot be left out.
    ! grep -q "fullminute $command [A-Z]" help || {
        run 2 "$command"
        [ -s err ] || fail "$command without a file: says nothing"
    }
done

# Each option the README names is in some command's help.
while IFS= read -r option; do
    grep -qE -- "^  $option( |\$)" ./*.help || fail "the README names $option, no help does"
done < <(sed -n '/^## If you are/,/^## Where/p' "$source_dir/README.md" |
    grep -v -e 'cmake' -e 'sbatch' | grep -oE -- '--[a-z][a-z0-9-]+' | sort -u)

[ "$failures" -eq 0 ] && echo 'help, README and parser agree'
exit $((failures > 0))
