#!/usr/bin/env bash
# Who may include whom, what stands at the top level, and a few house rules that a
# command can hold. Called as `bash layering.sh SOURCE_DIR`; prints one line an offence
# and exits 1 when there is any. tests/layering_catches.sh shows that each rule can fail.
set -u
export LC_ALL=C
cd "${1:?usage: layering.sh SOURCE_DIR}" || exit 1
offences=0

offence()
{
    printf '%s\n' "$*"
    offences=$((offences + 1))
}

# includes: FILE "name" or FILE <name>, one a line, as written after #include, the files in order.
includes()
{
    find dsp src -name '*.[ch]' | sort | xargs grep -E '^[[:space:]]*#[[:space:]]*include' /dev/null |
        sed -nE 's/^([^:]*):[[:space:]]*#[[:space:]]*include[[:space:]]*(["<][^">]*[">]).*/\1 \2/p'
}

# allowed_dsp FILE: the same within dsp/. The subjects stand one on the other (signal, heart,
# breath; rhythm, compare and compose beside them) and share the plain values at the top of
# dsp/; the analyser and the minute there put all of them together.
values='(constants|status|result|segment|words)\.h'
# The door of dsp/compose: its files are behind it.
allowed_dsp()
{
    case $1 in
    dsp/signal/*) echo '^"dsp/(signal/|constants\.h|status\.h)' ;;
    dsp/heart/*) echo "^\"dsp/(heart/|signal/|$values)" ;;
    dsp/breath/*) echo "^\"dsp/(breath/|heart/|signal/|$values)" ;;
    dsp/rhythm/*) echo "^\"dsp/(rhythm/|$values)" ;;
    dsp/compare/*) echo "^\"dsp/(compare/|$values)" ;;
    dsp/compose/*) echo "^\"dsp/(compose/|fullminute_compose\.h|signal/random\.h|breath/respiration_pause\.h|$values)" ;;
    dsp/*/*) echo '^$' ;;
    dsp/constants.* | dsp/status.* | dsp/result.* | dsp/fullminute_compose.*) echo "^\"dsp/$values" ;;
    dsp/segment.*) echo "^\"dsp/(signal/|$values)" ;;
    *) echo '^"dsp/' ;;
    esac
}

# allowed_own FILE: a pattern of our own headers that FILE may include. From the plain to the
# outside: base; document; words, picture and sheet; the ports, which use cases ask of the
# outside; use cases; the host and the roles, one outside thing each, which keep what the ports
# promise; the front ends.
roles='capture|playback|sound|logbook|batch|png'

# kept_by FOLDER: the ports whose promise it keeps. A role sees its own and the host's.
kept_by()
{
    case $1 in
    capture) echo 'capture|devices' ;;
    playback) echo player ;;
    sound) echo 'sound_file|sound_writer|recording|dropped_sound' ;;
    logbook) echo logbook ;;
    batch) echo 'digest|pool_work' ;;
    png) echo picture_png ;;
    host) echo 'file|folder|home|interrupt|lock|private_folder|read_whole|sealed|settings|steady|utc' ;;
    esac
}
told='words|picture|sheet'
allowed_own()
{
    case $1 in
    dsp/*) allowed_dsp "$1" ;;
    src/base/*) echo '^"src/base/' ;;
    src/document/*) echo '^"(src/(document|base)|dsp)/' ;;
    src/words/*) echo '^"(src/(words|document|base)|dsp)/' ;;
    src/picture/*) echo '^"(src/(picture|words|document|base)|dsp)/' ;;
    src/sheet/*) echo "^\"(src/($told|document|base)|dsp)/" ;;
    src/port/*) echo '^"(src/(port|document|base)|dsp)/' ;;
    src/usecase/*) echo "^\"(src/(usecase|port|document|base|$told)|dsp)/" ;;
    src/main.c) echo '^"(src/(command|port|base)|dsp)/' ;;
    src/command/*) echo "^\"(src/(command|usecase|page|port|document|host|base|$roles|$told)|dsp)/" ;;
    src/page/*) echo '^"(src/(page|usecase|port|document|host|base)|dsp)/' ;;
    src/*/*)
        local role=${1#src/}
        role=${role%%/*}
        echo "^\"(src/(port/($(kept_by "$role")|$(kept_by host))\.h|($role|document|host|base)/)|dsp/)"
        ;;
    *) echo '^"(src|dsp|tests)/' ;;
    esac
}

# The pure library sees numbers, memory and its two libraries; nothing that reads,
# prints, waits, or depends on the clock or the locale. xmmintrin: registers, in dsp/signal/lanes.h.
pure='^<(assert|complex|float|limits|math|stdalign|stdbool|stddef|stdint|stdlib|string|kiss_fft|kiss_fftr|soxr|xmmintrin)\.h>$'

# What base, documents, words, pictures, sheets, ports and use cases see: standard C and Jansson, no operating
# system.
standard='^<(assert|ctype|errno|float|inttypes|jansson|limits|math|stdarg|stdatomic|stdbool|stddef|stdint|stdio|stdlib|string|strings)\.h>$'

# A folder that the rules above do not know would be held to none of them.
check_folders()
{
    local folder
    while IFS= read -r folder; do
        [[ $folder =~ ^(dsp/(signal|heart|breath|rhythm|compare|compose)|src/(command|usecase|page|port|document|host|base|cmake|$roles|$told))$ ]] ||
            offence "$folder: not a known folder"
    done < <(find dsp src -mindepth 1 -maxdepth 1 -type d | sort)
}

check_includes()
{
    local file name pattern last=
    while read -r file name; do
        [ "$file" = "$last" ] || pattern=$(allowed_own "$file")
        last=$file
        case $name in
        \"*)
            [[ $name =~ $pattern ]] || offence "$file: may not include $name"
            [ -f "${name//\"/}" ] ||
                offence "$file: no file $name (write includes from the top folder)"
            ;;
        '<sndfile.h>')
            [[ $file == src/sound/* || $file == tests/* ]] ||
                offence "$file: only src/sound may include $name"
            ;;
        '<portaudio.h>')
            [[ $file == src/capture/* || $file == src/playback/* ]] ||
                offence "$file: only src/capture and src/playback may include $name"
            ;;
        '<alsa/'*)
            [[ $file == src/capture/* ]] ||
                offence "$file: only src/capture may include $name"
            ;;
        *)
            [[ $file != dsp/* || $name =~ $pure ]] ||
                offence "$file: the pure library may not include $name"
            [[ ! $file =~ ^src/(base|document|words|picture|sheet|port|usecase)/ || $name =~ $standard ]] ||
                offence "$file: knows no operating system and may not include $name"
            ;;
        esac
    done < <(includes)
}

# A port is what is promised; whoever keeps the promise stands in the host or in a role.
check_ports()
{
    local found folder keepers
    found=$(find src/port -type f ! -name '*.h' 2>/dev/null)
    [ -z "$found" ] || offence "$found: src/port holds headers only"
    while IFS= read -r found; do
        keepers=
        for folder in host ${roles//|/ }; do
            [[ ! ${found##*/} =~ ^($(kept_by "$folder"))\.h$ ]] ||
                keepers+=$(grep -lF "\"$found\"" "src/$folder"/*.[ch] 2>/dev/null)
        done
        [ -n "$keepers" ] || offence "$found: nobody keeps this port"
    done < <(find src/port -name '*.h' | sort)
}

# What dsp/ asks of a compiler beyond C17 stands in one header, which says what that is.
check_extensions()
{
    local found
    found=$(grep -rnE '__attribute__|__builtin|__typeof|__extension__|vector_size|<(x|e)mmintrin|_mm_|__SSE|__asm|\(\{' \
        --include=*.[ch] dsp | grep -v '^dsp/signal/lanes.h:')
    [ -z "$found" ] || offence "$found: compiler extensions stand in dsp/signal/lanes.h"
}

# Tracked entries where git can tell them; otherwise what is visible.
check_top_level()
{
    local entry
    while IFS= read -r entry; do
        case $entry in
        README.md | DEVELOPERS.md | CMakeLists.txt | LICENSE) ;;
        src | dsp | tests | recordings) ;;
        .*) ;;
        *) offence "$entry: does not belong at the top level" ;;
        esac
    done < <(git ls-files 2>/dev/null | cut -d/ -f1 | sort -u | grep . || ls)
    for entry in README.md DEVELOPERS.md CMakeLists.txt LICENSE src dsp tests recordings; do
        [ -e "$entry" ] || offence "$entry: missing from the top level"
    done
}

# Every library that CMake asks pkg-config for can be installed by src/setup.sh.
check_needs()
{
    local module
    while IFS= read -r module; do
        grep -qF "|module $module|" src/setup.sh ||
            offence "src/setup.sh: no line for the pkg-config module $module"
    done < <(sed -nE 's/^ *pkg_check_modules\([A-Z0-9_]+ (.*)\)/\1/p' CMakeLists.txt \
        tests/CMakeLists.txt tests/*/CMakeLists.txt 2>/dev/null |
        sed -E 's/[<>=]+[0-9.]+//g' | tr ' ' '\n' | grep -vE '^(REQUIRED|QUIET|IMPORTED_TARGET)$' | sort -u)
}

# Tables of numbers are not for reading and may be longer.
check_lengths()
{
    local lines file
    while read -r lines file; do
        [ "$lines" -le 600 ] || offence "$file: $lines lines; 600 is the most"
    done < <(find dsp src tests -name '*.[ch]' ! -name '*_weights.h' ! -path 'tests/data/*' -exec wc -l {} + |
        grep -v ' total$')
}

check_words()
{
    local found
    found=$(grep -rnIE "\\b(TO""DO|FIX""ME|XX""X|HA""CK)\\b" dsp src tests 2>/dev/null)
    [ -z "$found" ] || offence "unfinished by its own word: $found"
    found=$(grep -rniIE "\\b(st""ub|place""holder|not imple""mented)\\b" dsp src tests 2>/dev/null)
    [ -z "$found" ] || offence "unfinished by its own word: $found"
}

# A sitting's time comes from src/port/steady, in whose place a test can put a clock that it
# steps. The deadline for a sound server that hangs is the machine's.
check_clock()
{
    local found
    found=$(grep -rnE '\b(clock_gettime|nanosleep|usleep|sleep) *\(' src/usecase src/page src/capture \
        src/command/live_* src/command/sources_* 2>/dev/null | grep -v '^src/capture/capture.c:')
    [ -z "$found" ] || offence "$found: time comes from src/port/steady"
}

# What is said is said for every front end: what the terminal does by an option or a command
# is a hint (src/base/hint.h), worded in src/command/hints.c.
check_said()
{
    local found commands='batch|check|compose|count|demonstrate|logbook|merge|page|report|sources|summary|worksheet'
    found=$(grep -rnE "\"[^\"]*(--[a-z%]|fullminute ($commands)\\>|'($commands)'|\\\\(033|x1[bB]))" \
        src/{words,picture,sheet,document,usecase,page,logbook,capture,playback,sound} --include=*.[ch] 2>/dev/null
        grep -HnE -e '--[a-z]' src/page/web/strings.js 2>/dev/null
        grep -rnE '"[^"]*</?(a|b|br|div|h[1-6]|i|li|p|pre|span|svg|table|td|tr)[ >/]' src/words src/document src/usecase 2>/dev/null)
    [ -z "$found" ] || offence "$found: says how one front end does it; name a hint"
}

# What stands from base to the use cases opens no file and asks no environment, not even by
# what standard C has for it.
check_outside()
{
    local found
    found=$(grep -rnE '\b(fopen|freopen|tmpfile|getenv|system|remove|rename) *\(|[,=(?:] *std(in|out|err)\b' \
        src/{base,document,words,picture,sheet,port,usecase} --include=*.[ch] 2>/dev/null)
    [ -z "$found" ] || offence "$found: the outside is asked through src/port"
}

check_folders
check_includes
check_outside
check_said
check_ports
check_clock
check_extensions
check_top_level
check_needs
check_lengths
check_words
if [ "$offences" -gt 0 ]; then
    echo "$offences offences against the layering"
    exit 1
fi
echo "layering holds"
