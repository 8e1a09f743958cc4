#!/bin/sh
# Installs what the tests need, builds, and runs every test. Run as `sh tests/run.sh`.
#
#   sh tests/run.sh              all tests but those of --real-time, plain build in .build/tests
#   sh tests/run.sh --gcc        the same built by gcc, every warning an error
#   sh tests/run.sh --clang      the same built by clang, every warning an error, without the
#                                live tests; and whether both builds say the same of every
#                                recording
#   sh tests/run.sh --asan       under the address and undefined-behaviour sanitizers
#   sh tests/run.sh --tsan       under the thread sanitizer
#   sh tests/run.sh --analyze    a build under gcc -fanalyzer; runs nothing
#   sh tests/run.sh --lint       clang-format, clang-tidy, cppcheck, shellcheck; runs nothing
#   sh tests/run.sh --wasm       the core (what knows no operating system) built by Emscripten, and
#                                its answers beside the program's; status 3: its compiler or the
#                                libraries' sources could not be had here
#   sh tests/run.sh --fuzz       every reader of outside bytes, ten seconds each
#   sh tests/run.sh --real-time  the minutes at their own speed, by terminal, by sound server
#                                and in a browser: a quarter of an hour, most of it waiting.
#                                Two of them are in every run: live.minute and page.checked
#   sh tests/run.sh --nth        every command with its Nth write, sync, rename, read,
#                                allocation or fork failing, for every N: an hour. A spread
#                                of them is in every run (nth.spread)
#   sh tests/run.sh --speed      what a slow or busy machine can fail, on a quiet one: frames
#                                drawn, marks beside their sound
#   sh tests/run.sh --handlers   how long each handler of the page holds the server's thread under
#                                the load of its tests, on a quiet machine
#   --build-only                 with any of these: build, and stop there
#   --only REGEX                 with any of these: only the tests whose name matches
#   --but REGEX                  with any of these: not those
#   --again                      run them even where nothing has changed since all passed
#
# Exit status: 0 all passed; 1 something failed; 2 wrong usage; 3 see --wasm.
set -eu
cd "$(dirname "$0")/.."
# shellcheck source=src/setup.sh
. src/setup.sh

mode=plain
build_only=no
only=.
but='^$'
again=no
while [ $# -gt 0 ]; do
    case $1 in
    --gcc | --clang | --asan | --tsan | --analyze | --lint | --fuzz | --wasm | --speed | --handlers | --real-time | --nth) mode=${1#--} ;;
    --build-only) build_only=yes ;;
    --again) again=yes ;;
    --only | --but)
        [ $# -ge 2 ] || { say "tests/run.sh: $1 needs a name or a pattern" >&2; exit 2; }
        if [ "$1" = --only ]; then only=$2; else but=$2; fi
        shift
        ;;
    -h | --help)
        sed -n '2,/^set/s/^# \{0,1\}//p' tests/run.sh
        exit 0
        ;;
    *)
        say "tests/run.sh: unknown option $1 (see sh tests/run.sh --help)" >&2
        exit 2
        ;;
    esac
    shift
done

# Everything a test's outcome depends on, as one number: our files, the compiler, the
# libraries, and whether open data lie beside this folder.
state()
{
    {
        find . -path ./.git -prune -o -path ./.build -prune -o \
            -type f ! -name '*.pyc' -print | LC_ALL=C sort | xargs cksum
        gcc --version
        pkg-config --modversion kissfft-float soxr sndfile jansson portaudio-2.0 alsa librsvg-2.0 cmocka
        ls ../shared/open-data
    } 2>/dev/null | cksum
}

# As released, but with assertions on: a test should meet them. WARNINGS=error in the
# environment makes a warning of this build an error too.
build_tests()
{
    build tests release -DCMAKE_C_FLAGS_RELWITHDEBINFO='-O2 -g' \
        ${WARNINGS:+-DCMAKE_COMPILE_WARNING_AS_ERROR=ON}
}

# What records and plays by the clock may lose sound on a machine that is busy with the other
# tests. If nothing else failed, it is run once more with nothing beside it, and has to pass.
once_more_alone()
{
    failed=$(cut -d: -f2 "$1/Testing/Temporary/LastTestsFailed.log" 2>/dev/null)
    [ -n "$failed" ] || return 1
    for name in $failed; do
        case $name in
        live.minute | page.checked | page.shared | page.listen) ;;
        *) return 1 ;;
        esac
    done
    say "Once more, alone: $(printf '%s' "$failed" | tr '\n' ' ')"
    ctest --test-dir "$1" --no-tests=error --output-on-failure --rerun-failed
}

# run_tests NAME: all tests of .build/NAME; remembers when every one of them passed.
run_tests()
{
    [ "$build_only" = no ] || return 0
    tree=.build/$1
    now=$(state)
    if [ "$only$but" = '.^$' ] && [ "$again" = no ] && [ -f "$tree/passed" ] &&
        [ "$(head -n 1 "$tree/passed")" = "$now" ]; then
        sed 1d "$tree/passed"
        say "That was on $(date -r "$tree/passed" '+%Y-%m-%d at %H:%M'). Nothing has changed since;"
        say "to run them all the same: sh tests/run.sh --again"
        return 0
    fi
    rm -f "$tree/passed"
    leave_out='^(nth|real_time|speed)$'
    leave_name='^$'
    [ "$1" = tests ] || leave_out='^(minutes|nth|real_time|speed)$'
    [ "$1" != clang ] || leave_name=live
    # Named, a test of --real-time is run as well.
    [ "$1" != tests ] || [ "$only" = . ] || leave_out='^(nth|speed)$'
    # Some tests wait most of their time (a sound server, a browser, a lease of a seat): two
    # more than there are processors keep these busy. Nothing here holds a clock's bar.
    ctest --test-dir "$tree" --no-tests=error --output-on-failure \
        --parallel "$(($(nproc) + 2))" -R "$only" -LE "$leave_out" -E "$leave_name|$but" --output-log "$PWD/$tree/ctest.log" ||
        once_more_alone "$tree" || exit 1
    [ "$only$but" != '.^$' ] || {
        say "$now"
        sed -n '/tests passed/,$p' "$tree/ctest.log"
    } >"$tree/passed"
}

# Ten seconds of one target. Debian's sound libraries leak on damaged files, so leaks are not
# looked for here.
fuzz_one()
{
    name=${1##*/}
    mkdir -p ".build/fuzz/found/$name"
    # Seeds that its reader accepts, and the words of such documents, where there are any.
    seeds=recordings
    words=
    [ ! -d "tests/fuzz/seeds/$name" ] || { seeds="tests/fuzz/seeds/$name"; words=-dict=tests/fuzz/json.dict; }
    ASAN_OPTIONS=detect_leaks=0 "$1" -detect_leaks=0 -max_total_time=10 \
        -max_len=65536 -rss_limit_mb=4096 -print_final_stats=1 \
        ${words:+"$words"} -artifact_prefix=".build/fuzz/$name-" ".build/fuzz/found/$name" "$seeds" \
        >".build/fuzz/$name.log" 2>&1 || {
        tail -n 60 ".build/fuzz/$name.log" >&2
        die "$name: failed; the input that did it lies in .build/fuzz/$name-*"
    }
    say "$name
$(grep -E 'number_of_executed_units|new_units_added' ".build/fuzz/$name.log")"
}

# Two targets at a time, or as many as there are processors.
fuzz()
{
    [ "$build_only" = no ] || return 0
    running=
    status=0
    for target in .build/fuzz/tests/fuzz/fuzz_*; do
        [ -f "$target" ] && [ -x "$target" ] || continue
        fuzz_one "$target" &
        running="$running $!"
        # shellcheck disable=SC2086 # a list of numbers
        set -- $running
        [ $# -ge "$(nproc)" ] || continue
        wait "$1" || status=1
        shift
        running=$*
    done
    for child in $running; do
        wait "$child" || status=1
    done
    return $status
}

# lint_files: every C file of ours, one a line.
lint_files()
{
    find dsp src tests -name '*.[ch]' | LC_ALL=C sort
}

lint()
{
    failed=
    say "clang-format: $(lint_files | wc -l) files"
    lint_files | xargs clang-format --dry-run -Werror || failed="$failed clang-format"

    # The two checks of size are hints for an editor; here only errors are looked for.
    say "clang-tidy: $(lint_files | grep -c '\.c$') files"
    lint_files | grep '\.c$' |
        xargs -n 1 -P "$(nproc)" clang-tidy --quiet -p .build/clang \
            --checks='-readability-function-size,-readability-function-cognitive-complexity' \
            --warnings-as-errors='*' \
            2>.build/clang/tidy.log || {
        grep -v 'warnings generated' .build/clang/tidy.log || true
        failed="$failed clang-tidy"
    }

    # Its search for values never set errs on arrays filled by a call; the analyzer of
    # clang-tidy looks for the same and does not.
    say "cppcheck"
    cppcheck --quiet --std=c11 --library=posix --inline-suppr --error-exitcode=1 \
        --enable=warning,performance,portability -j "$(nproc)" -I . \
        --suppress=uninitvar --suppress=legacyUninitvar \
        --suppress=missingIncludeSystem -D_POSIX_C_SOURCE=200809L \
        dsp src || failed="$failed cppcheck"

    # 2154: it does not follow src/setup.sh, which sets the needs; 2010: ls with grep.
    say "shellcheck"
    shellcheck --severity=warning --exclude=SC2154,SC2010 src/*.sh tests/*.sh \
        tests/cli/*.sh tests/batch/*.sh tests/live/*.sh tests/page/*.sh tests/stepped/*.sh tests/library/*.sh tests/wasm/*.sh .ci/run || failed="$failed shellcheck"
    [ -z "$failed" ] || die "lint: failed:$failed"
    say "lint: nothing found"
}

export ASAN_OPTIONS=detect_leaks=1:strict_string_checks=1
export TSAN_OPTIONS="suppressions='$PWD/tests/tsan.supp'"
export UBSAN_OPTIONS=print_stacktrace=1:halt_on_error=1

get_needs "$needs_build$needs_test$needs_live$needs_page"
case $mode in
plain)
    build_tests
    run_tests tests
    ;;
real-time)
    build_tests
    # One after the other, because each listens to a clock.
    [ "$build_only" = yes ] ||
        ctest --test-dir .build/tests --no-tests=error --output-on-failure \
            -L '^real_time$' -R "$only" -E "$but"
    ;;
nth)
    build_tests
    [ "$build_only" = yes ] || ctest --test-dir .build/tests --no-tests=error --verbose -R '^nth\.every$'
    ;;
speed)
    build_tests
    [ "$build_only" = yes ] ||
        SPEED=1 ctest --test-dir .build/tests --no-tests=error --output-on-failure \
            -R '^page\.(listen|frames|checked)$'
    ;;
handlers)
    build_tests
    [ "$build_only" = yes ] || sh tests/page/handlers.sh "$PWD" "$PWD/.build/tests"
    ;;
wasm)
    (get_needs "$needs_wasm") || { say "not built: Emscripten could not be had here"; exit 3; }
    build_tests
    [ "$build_only" = yes ] || sh tests/wasm/core.sh . .build/tests/fullminute .build/wasm || exit $?
    ;;
gcc)
    build gcc ci-gcc
    run_tests gcc
    ;;
clang)
    get_needs "$needs_clang"
    build clang ci-clang
    run_tests clang
    build_tests
    say "clang and gcc beside each other:"
    python3 tests/compilers.py .build/clang/fullminute .build/tests/fullminute .
    ;;
asan | tsan)
    get_needs "$needs_asan"
    build "$mode" "$mode"
    run_tests "$mode"
    ;;
analyze)
    # Its NULL and leak warnings need a person: it does not see that app_err_set is
    # always false. So they are printed, and fail nothing.
    rm -rf .build/analyze
    build analyze analyze -DBUILD_TESTING=OFF
    grep 'warning:' .build/analyze/build.log || say "analyze: nothing found"
    ;;
fuzz)
    get_needs "$needs_asan"
    build fuzz fuzz
    fuzz
    ;;
lint)
    get_needs "$needs_lint"
    build clang ci-clang
    lint
    ;;
esac
