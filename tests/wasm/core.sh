#!/bin/sh
# Builds the core (the folders that know no operating system) with emscripten and holds its
# answers to the program's own. Called by `sh tests/run.sh --wasm` as
#   core.sh SOURCE PROGRAM BUILD
# Exit status 3: the libraries' sources could not be had, so that nothing was built.
# The libraries' sources come from the package archive, once; they lie in BUILD.
set -eu
source=$1 program=$2 build=$3
mkdir -p "$build/src" "$build/work" "$build/lists/partial"
build=$(cd "$build" && pwd)
export NODE_PATH=/usr/share/nodejs

# Where the machine's packages come from, their sources come from; the machine's own list is
# left alone.
fetch()
{
    mkdir -p "$build/parts"
    sed 's/^Types:.*/Types: deb-src/' /etc/apt/sources.list.d/debian.sources \
        >"$build/parts/source.sources" 2>/dev/null ||
        sed 's/^deb /deb-src /' /etc/apt/sources.list >"$build/parts/source.list"
    set -- -o Dir::Etc::SourceList=/dev/null -o Dir::Etc::SourceParts="$build/parts" \
        -o Dir::State::Lists="$build/lists" -o APT::Sandbox::User=root
    apt-get "$@" -qq update && (cd "$build/src" &&
        apt-get "$@" -qq source --download-only kissfft libsoxr jansson) || return 1
    for name in kissfft libsoxr jansson; do
        dpkg-source --no-check -x "$build/src/$name"_*.dsc "$build/src/$name" >/dev/null 2>&1 || return 1
    done
}

library() # NAME OPTION...
{
    name=$1
    shift
    [ ! -f "$build/$name.done" ] || return 0
    emcmake cmake -S "$build/src/$name" -B "$build/$name" -DCMAKE_BUILD_TYPE=Release \
        -DBUILD_SHARED_LIBS=OFF "$@" >"$build/$name.log" 2>&1
    cmake --build "$build/$name" -j "$(nproc)" >>"$build/$name.log" 2>&1
    touch "$build/$name.done"
}

[ -d "$build/src/jansson" ] || fetch || {
    echo "not built: the sources of KISS FFT, libsoxr and Jansson could not be had" >&2
    exit 3
}
library libsoxr -DWITH_OPENMP=OFF -DBUILD_TESTS=OFF -DBUILD_EXAMPLES=OFF \
    -DWITH_LSR_BINDINGS=OFF -DWITH_CR32S=OFF -DWITH_CR64S=OFF
library jansson -DJANSSON_BUILD_DOCS=OFF -DJANSSON_EXAMPLES=OFF -DJANSSON_WITHOUT_TESTS=ON
version=$(sed -n 's/^#define FM_LIBRARY_VERSION "\(.*\)"/\1/p' "$source/dsp/fullminute.h")
emcmake cmake -G Ninja -S "$source/tests/wasm" -B "$build/core" -DCORE_LIBRARIES="$build" \
    -DCORE_VERSION="$version" >"$build/core.log" 2>&1
cmake --build "$build/core" >>"$build/core.log" 2>&1 || {
    grep -E 'error|undefined' "$build/core.log" >&2 || tail -n 20 "$build/core.log" >&2
    exit 1
}
node --no-warnings "$source/tests/wasm/core.mjs" "$build/core/core.wasm" "$program" \
    "$source" "$build/work"
