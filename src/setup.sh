# shellcheck shell=sh
# Shared by src/start.sh and tests/run.sh, which read it with `.`: finds out what is
# missing on this machine, gets it, and builds. Not run by itself.
#
# needs: one line a need. Debian 12 package | how to see that it is there | what it is.
# Every pkg-config module that CMakeLists.txt asks for must have its line here
# (tests/layering.sh looks).
# shellcheck disable=SC2034 # the needs_ lists are used by the two scripts that read this

needs_build='
gcc|compiler gcc|a C17 compiler (gcc 12 or clang 14 are tried)
libc6-dev|compiler gcc|the C library headers
cmake|program cmake|CMake, 3.22 or later
ninja-build|program ninja|Ninja
pkg-config|program pkg-config|pkg-config
libkissfft-dev|module kissfft-float|KISS FFT, the float and shared build
libsoxr-dev|module soxr|libsoxr, the SoX resampler library
libsndfile1-dev|module sndfile|libsndfile
libjansson-dev|module jansson|Jansson
portaudio19-dev|module portaudio-2.0|PortAudio, for sound in and out
libasound2-dev|module alsa|the ALSA library, whose chatter is silenced
libsqlite3-dev|module sqlite3|SQLite 3, for what a batch has done
libsodium-dev|module libsodium|libsodium, for the digest of a file
libcairo2-dev|module cairo-png|cairo, for pictures as PNG
librsvg2-dev|module librsvg-2.0|librsvg 2.52 or later, for pictures as PNG
libmicrohttpd-dev|module libmicrohttpd|GNU libmicrohttpd, which serves the page
libqrencode-dev|module libqrencode|libqrencode, for the address of a shared minute
nodejs|program node|Node.js 18 or later, which puts the page together at build
npm|program npm|npm, which gets the packages of the page'

needs_test='
bash|program bash|Bash
libcmocka-dev|module cmocka|cmocka
locales|file /usr/share/i18n/locales/de_DE|the definitions of languages, for a decimal comma
sox|program sox|SoX, for sounds as other programs write and read them
espeak-ng|program espeak-ng|espeak-ng: spoken words, which must be refused
python3|program python3|Python 3
python3-scipy|python scipy|SciPy and NumPy for Python 3'

needs_live='
pulseaudio|program pulseaudio|PulseAudio: a sound server without a sound card
pulseaudio-utils|program pacat|the commands of PulseAudio
libasound2-plugins|file /etc/alsa/conf.d/50-pulseaudio.conf|the way from ALSA to PulseAudio
procps|program ps|ps
tmux|program tmux|tmux: a terminal that a script can read and type into'

needs_page='
chromium|program chromium|Chromium, for the tests of the page'

needs_clang='
clang|compiler clang|clang'

needs_asan='
clang|compiler clang|clang
libclang-rt-14-dev|sanitizer clang|the sanitizer libraries of clang 14'

needs_lint='
clang|compiler clang|clang
clang-format|program clang-format|clang-format 14
clang-tidy|program clang-tidy|clang-tidy 14
cppcheck|program cppcheck|cppcheck 2.10
shellcheck|program shellcheck|shellcheck 0.9'

needs_wasm='
emscripten|program emcc|Emscripten
node-acorn|file /usr/share/nodejs/acorn|Acorn, which Emscripten runs
dpkg-dev|program dpkg-source|dpkg-source, for the sources of three libraries'

say()
{
    printf '%s\n' "$*"
}

die()
{
    printf '%s\n' "$*" >&2
    exit 1
}

on_debian_12()
{
    [ -r /etc/os-release ] || return 1
    # shellcheck disable=SC1091
    [ "$(. /etc/os-release && printf '%s %s' "${ID:-}" "${VERSION_ID:-}")" = 'debian 12' ]
}

# is_there KIND NAME: true when this machine has it.
is_there()
{
    case $1 in
    program) command -v "$2" >/dev/null 2>&1 ;;
    module) pkg-config --exists "$2" >/dev/null 2>&1 ;;
    file) [ -e "$2" ] ;;
    python) /usr/bin/python3 -c "import $2" >/dev/null 2>&1 ;;
    compiler) printf '#include <stdio.h>\n' | "$2" -E -x c - >/dev/null 2>&1 ;;
    sanitizer)
        trial=$(mktemp)
        printf 'int main(void) { return 0; }\n' |
            "$2" -fsanitize=address,undefined -x c -o "$trial" - >/dev/null 2>&1
        set -- $?
        rm -f "$trial"
        return "$1"
        ;;
    *) die "setup.sh: unknown kind of need: $1" ;;
    esac
}

# missing NEEDS: prints the lines of NEEDS that are not met here.
missing()
{
    printf '%s\n' "$1" | while IFS='|' read -r package how what; do
        [ -n "$package" ] || continue
        # shellcheck disable=SC2086 # two words: kind and name
        is_there $how || printf '%s|%s|%s\n' "$package" "$how" "$what"
    done
}

by_hand()
{
    say "Needed and not found (name on Debian 12, and what it is):"
    printf '%s\n' "$1" | while IFS='|' read -r package how what; do
        case $how in
        module*) say "  $package: $what; pkg-config calls it ${how#module }" ;;
        *) say "  $package: $what" ;;
        esac
    done
}

elsewhere()
{
    by_hand "$1" >&2
    cat >&2 <<'TEXT'

Nothing was installed: this is not Debian 12. fullminute has been built and tested on
Debian 12 (64-bit PC) and on nothing else; other systems are untried, not refused.
Get the libraries above, with their header files, under the names your system gives
them, then run this command again: it goes on from here.
There is no need to build it on the machine that records: a recording made on any
machine (WAV, FLAC, AIFF, Ogg) can be carried to a Debian 12 machine and checked there.
TEXT
    exit 1
}

# apt_get ARGS...: quiet, asks nothing; prints what apt said only when it fails.
apt_get()
{
    log=$(mktemp)
    # shellcheck disable=SC2086 # as_root is empty or one word
    if ! $as_root env DEBIAN_FRONTEND=noninteractive LC_ALL=C apt-get -y -qq \
        -o DPkg::Lock::Timeout=300 "$@" </dev/null >"$log" 2>&1; then
        cat "$log" >&2
        rm -f "$log"
        return 1
    fi
    rm -f "$log"
}

# get_needs NEEDS: installs what is missing on Debian 12; elsewhere says what to install.
get_needs()
{
    lacking=$(missing "$1")
    [ -n "$lacking" ] || return 0
    on_debian_12 || elsewhere "$lacking"
    packages=$(printf '%s\n' "$lacking" | cut -d'|' -f1 | sort -u | tr '\n' ' ')
    as_root=
    if [ "$(id -u)" -ne 0 ]; then
        command -v sudo >/dev/null 2>&1 ||
            die "Missing packages, and neither root nor sudo here. As root, run:
apt-get update && apt-get install --no-install-recommends $packages"
        as_root=sudo
    fi
    say "Installing from Debian, a minute or two: $packages"
    apt_get update || say "(the package lists could not all be brought up to date)"
    # shellcheck disable=SC2086 # one word a package
    apt_get install --no-install-recommends $packages ||
        die "The packages could not be installed; what apt-get said stands above."
    lacking=$(missing "$1")
    [ -z "$lacking" ] || {
        by_hand "$lacking" >&2
        die "Installed, yet still not found: see above."
    }
}

# build NAME CACHE [CMAKE ARGS...]: builds .build/NAME from src/cmake/CACHE.cmake.
# Configures once; after that Ninja itself notices what has changed.
build()
{
    build_name=$1
    build_cache=$2
    shift 2
    tree=.build/$build_name
    if [ -f "$tree/CMakeCache.txt" ] &&
        ! grep -qxF "CMAKE_HOME_DIRECTORY:INTERNAL=$(pwd -P)" "$tree/CMakeCache.txt"; then
        rm -rf "$tree" # this folder was moved or copied; an old tree would build the old place
    fi
    mkdir -p "$tree"
    if [ ! -f "$tree/build.ninja" ]; then
        say "Configuring $tree"
        cmake -C "src/cmake/$build_cache.cmake" -S . -B "$tree" -G Ninja "$@" \
            >"$tree/configure.log" 2>&1 || {
            cat "$tree/configure.log" >&2
            rm -f "$tree/build.ninja"
            die "CMake could not configure $tree; what it said stands above."
        }
    fi
    say "Building $tree"
    ninja --quiet -k 20 -C "$tree" >"$tree/build.log" 2>&1 || {
        cat "$tree/build.log" >&2
        die "The build in $tree failed; what the compiler said stands above."
    }
}
