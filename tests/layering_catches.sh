#!/usr/bin/env bash
# Shows that tests/layering.sh and src/cmake/dsp_is_pure.cmake can fail: each offence is
# planted in a copy of a small tree and must be named. Called as
# `bash layering_catches.sh SOURCE_DIR CMAKE NM OBJDUMP CC`.
set -u
export LC_ALL=C
source_dir=$1 cmake=$2 nm=$3 objdump=$4 cc=$5
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failures=0

fail()
{
    printf 'FAIL: %s\n' "$*"
    failures=$((failures + 1))
}

fresh_tree()
{
    rm -rf "$work/tree"
    mkdir -p "$work/tree"/{dsp/{signal,heart,breath,rhythm,compare,compose},src/{base,document,port,host,sound,playback,words,picture,sheet,command,usecase,page},tests,recordings}
    touch "$work/tree"/{README.md,DEVELOPERS.md,LICENSE}
    touch "$work/tree"/dsp/{status,result,segment,analyser,signal/peaks,signal/random,heart/beats,breath/breath}.h
    touch "$work/tree"/dsp/{rhythm/rhythm,compare/compare,compose/compose,breath/respiration_pause}.h
    printf '#include "dsp/%s.h"\n' breath/breath heart/beats compose/compose >"$work/tree/dsp/minute.c"
    printf '#include "dsp/%s.h"\n' heart/beats signal/peaks segment >"$work/tree/dsp/breath/b.c"
    printf '#include "dsp/%s.h"\n' signal/random breath/respiration_pause result >"$work/tree/dsp/compose/c.c"
    touch "$work/tree"/src/{base/text,document/d}.h
    printf '#include "%s"\n' src/base/text.h dsp/result.h >"$work/tree/src/document/d.c"
    printf '#include "src/document/d.h"\n' >"$work/tree/src/words/w.c"
    echo '#include "src/port/lock.h"' >"$work/tree/src/host/lock.c"
    echo '#include "src/port/player.h"' >"$work/tree/src/playback/player.c"
    touch "$work/tree"/{dsp/a.h,src/{base/b,port/lock,port/player,host/h,sound/s,words/w,picture/p,command/c}.h}
    echo 'pkg_check_modules(SOXR REQUIRED IMPORTED_TARGET soxr)' >"$work/tree/CMakeLists.txt"
    echo 'libsoxr-dev|module soxr|libsoxr' >"$work/tree/src/setup.sh"
}

# catches FILE LINE WORDS [NAMED]: with LINE added to FILE the check fails, and names
# NAMED (FILE unless given) and says WORDS.
catches()
{
    fresh_tree
    mkdir -p "$(dirname "$work/tree/$1")"
    printf '%s\n' "$2" >>"$work/tree/$1"
    local out
    if out=$(bash "$source_dir/tests/layering.sh" "$work/tree"); then
        fail "not caught in $1: $2"
    elif [[ $out != *"${4:-$1}"*"$3"* ]]; then
        fail "caught in $1 without saying '$3': $out"
    fi
}

fresh_tree
bash "$source_dir/tests/layering.sh" "$work/tree" || fail 'the clean tree was not accepted'

catches dsp/a.c '#include "src/base/b.h"' 'may not include'
catches dsp/a.c '#include <stdio.h>' 'pure library'
catches dsp/a.c '#  include <time.h> /* spaced */' 'pure library'
catches dsp/a.c '#include "a.h"' 'may not include'
catches dsp/a.c '#include "dsp/none.h"' 'no file'
catches dsp/signal/x.c '#include "dsp/heart/beats.h"' 'may not include'
catches dsp/signal/x.c '#include "dsp/segment.h"' 'may not include'
catches dsp/heart/x.c '#include "dsp/breath/breath.h"' 'may not include'
catches dsp/heart/x.h '#include "dsp/analyser.h"' 'may not include'
catches dsp/breath/x.c '#include "dsp/rhythm/rhythm.h"' 'may not include'
catches dsp/rhythm/x.c '#include "dsp/heart/beats.h"' 'may not include'
catches dsp/compare/x.c '#include "dsp/rhythm/rhythm.h"' 'may not include'
catches dsp/compose/x.c '#include "dsp/signal/peaks.h"' 'may not include'
catches dsp/compose/x.c '#include "dsp/heart/beats.h"' 'may not include'
catches dsp/result.h '#include "dsp/heart/beats.h"' 'may not include'
catches dsp/segment.h '#include "dsp/heart/beats.h"' 'may not include'
catches dsp/fullminute_compose.h '#include "dsp/analyser.h"' 'may not include'
catches dsp/heart/x.c 'static __attribute__((unused)) int x;' 'compiler extensions'
catches dsp/x.h 'typedef float two __attribute__((vector_size(8)));' 'compiler extensions'
catches dsp/new/x.c '#include "dsp/result.h"' 'not a known folder' dsp/new
catches src/new/x.c '#include "src/base/b.h"' 'not a known folder' src/new
catches src/base/b.c '#include "dsp/a.h"' 'may not include'
catches src/base/b.c '#include "src/sound/s.h"' 'may not include'
catches src/base/b.c '#include "src/document/d.h"' 'may not include'
catches src/document/d.c '#include "src/words/w.h"' 'may not include'
catches src/document/d.c '#include "src/usecase/t.h"' 'may not include'
catches src/document/d.c '#include "src/host/h.h"' 'may not include'
catches src/document/d.c '#include <unistd.h>' 'no operating system'
catches src/document/d.h '#include <sqlite3.h>' 'no operating system'
catches src/sound/s.c '#include "src/words/w.h"' 'may not include'
catches src/words/w.c '#include "src/command/c.h"' 'may not include'
catches src/base/b.c '#include "src/host/h.h"' 'may not include'
catches src/base/b.c '#include <unistd.h>' 'no operating system'
catches src/words/w.c '#include "src/picture/p.h"' 'may not include'
catches src/words/w.c '#include "src/host/h.h"' 'may not include'
catches src/words/w.c '#include <sys/stat.h>' 'no operating system'
catches src/picture/p.c '#include "src/sound/s.h"' 'may not include'
catches src/sheet/s.c '#include <fcntl.h>' 'no operating system'
catches src/host/h.c '#include "src/words/w.h"' 'may not include'
catches src/sound/s.c '#include "src/words/w.h"' 'may not include'
catches src/words/w.c '#include <sndfile.h>' 'only src/sound'
catches src/usecase/t.c '#include "src/command/c.h"' 'may not include'
catches src/usecase/t.c '#include "src/host/h.h"' 'may not include'
catches src/usecase/t.c '#include "src/sound/s.h"' 'may not include'
catches src/usecase/t.c '#include <unistd.h>' 'no operating system'
catches src/usecase/t.h '#include <pthread.h>' 'no operating system'
catches src/usecase/t.c '    FILE *const f = fopen(path, "r");' 'through src/port'
catches src/document/d.c '    reader->file = standard ? stdin : from;' 'through src/port'
catches src/words/w.c '(void)fputs(text, stdout);' 'through src/port'
catches src/port/lock.h '#include "src/host/h.h"' 'may not include'
catches src/port/lock.h '#include "src/usecase/t.h"' 'may not include'
catches src/port/lock.h '#include <pthread.h>' 'no operating system'
catches src/port/q.c '#include "src/port/lock.h"' 'headers only'
catches src/base/b.c '#include "src/port/lock.h"' 'may not include'
catches src/port/other.h '#include "src/base/b.h"' 'nobody keeps'
catches src/sound/s.c '#include "src/port/player.h"' 'may not include'
catches src/host/h.c '#include "src/port/player.h"' 'may not include'
catches src/document/d.c '#include "src/port/lock.h"' 'may not include'
catches src/playback/p.c '#include "src/sound/s.h"' 'may not include'
catches src/page/p.c '#include "src/words/w.h"' 'may not include'
catches src/sound/s.c '#include <portaudio.h>' 'only src/capture'
catches src/playback/p.c '#include <alsa/asoundlib.h>' 'only src/capture'
catches src/usecase/t.c '(void)clock_gettime(CLOCK_MONOTONIC, &t);' 'src/port/steady'
catches src/words/w.c '    "If you counted 30 s, say --seconds 30.";' 'name a hint'
catches src/usecase/t.c 'app_err_set(err, APP_USAGE, "--%s is missing", name);' 'name a hint'
catches src/document/d.c '"a column has no name; see fullminute logbook export"' 'name a hint'
catches src/sheet/s.c "\"of another sound ('check' leaves it out)\"" 'name a hint'
catches src/picture/p.c 'fputs("\x1b[1m", to);' 'name a hint'
catches src/page/web/strings.js "  off: 'Start it with --share.'," 'name a hint'
catches src/words/w.c 'fputs("<b>72</b>", to);' 'name a hint'
catches notes.txt 'a stray file' 'does not belong'
catches src/long.c "$(seq 601)" '600 is the most'
catches src/base/b.c '/* TO''DO: the rest */' 'the rest'
catches src/base/b.c '/* a st''ub */' 'a st''ub'
catches CMakeLists.txt 'pkg_check_modules(ZZ REQUIRED IMPORTED_TARGET zz-dsp)' 'no line' src/setup.sh

# The symbol check: a clean object passes, one that prints does not.
symbols() # SOURCE: builds a library from it as the project would, and checks that
{
    printf '%s\n' "$1" >"$work/x.c"
    rm -f "$work/libx.a"
    "$cc" -fPIC -c -o "$work/x.o" "$work/x.c" || fail 'the trial object did not build'
    ar rcs "$work/libx.a" "$work/x.o" || fail 'the trial library was not made'
    "$cmake" -DNM="$nm" -DOBJDUMP="$objdump" -DLIB="$work/libx.a" \
        -P "$source_dir/src/cmake/dsp_is_pure.cmake" >"$work/out" 2>&1
}
symbols 'double fm_root(double x); double sqrt(double);
double fm_root(double x) { return sqrt(x); }' || fail "pure object refused: $(cat "$work/out")"
if symbols 'int puts(const char *s); int fm_say(void); int fm_say(void) { return puts("x"); }'; then
    fail 'an object that prints passed as pure'
fi
grep -q puts "$work/out" || fail 'the impure symbol was not named'
if symbols 'int fm_next(void); static int last; int fm_next(void) { return ++last; }'; then
    fail 'an object that remembers passed as pure'
fi
grep -q last "$work/out" || fail 'the variable was not named'
if symbols 'const char *fm_swap(const char *s); static const char *last = "a";
const char *fm_swap(const char *s) { const char *was = last; last = s; return was; }'; then
    fail 'an object that remembers an address passed as pure'
fi
grep -q last "$work/out" || fail 'the address was not named'
if symbols 'int fm_next(void); static __thread int last = 3; int fm_next(void) { return ++last; }'; then
    fail 'an object that remembers for each thread passed as pure'
fi
if symbols '__attribute__((weak)) int puts(const char *s); int fm_say(void);
int fm_say(void) { return puts ? puts("x") : 0; }'; then
    fail 'an object that prints where it can passed as pure'
fi
symbols 'const char *fm_word(int i); static const char *const words[] = {"a", "b"};
const char *fm_word(int i) { return words[i]; }' || fail "constant table refused: $(cat "$work/out")"

[ "$failures" -eq 0 ] && echo "every planted offence was caught"
exit $((failures > 0))
