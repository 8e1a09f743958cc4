#!/usr/bin/env bash
# The page's server from outside: who gets an answer, and who does not.
# Called as `bash locked.sh PROGRAM SOURCE_DIR`.
set -u
export LC_ALL=C
program=$1
work=$(mktemp -d)
export HOME=$work XDG_DATA_HOME=$work/data XDG_CONFIG_HOME=$work/config TMPDIR=$work
failed=0
pid=
trap '[ -n "$pid" ] && kill -INT "$pid" 2>/dev/null; wait; rm -rf "$work"' EXIT

bad()
{
    printf 'NOT OK: %s\n' "$*"
    failed=$((failed + 1))
}

is()
{
    if [ "$1" = "$2" ]; then printf 'ok: %s\n' "$3"; else bad "$3: $1, not $2"; fi
}

# status CURL_ARGS...: the number of the answer alone
status()
{
    curl -s -o "$work/body" -w '%{http_code}' --max-time 10 "$@"
}

start()
{
    "$program" page --no-open --recordings "$2/recordings" >"$work/out" 2>"$work/err" &
    pid=$!
    for ((i = 0; i < 100; i++)); do
        grep -qs token "$work/out" && break
        sleep 0.05
    done
    address=$(cat "$work/out")
    origin=${address%/open*}
    port=${origin##*:}
}

start "$@"

# ---- The token ----
is "$(status "$origin/")" 403 'nothing without a cookie'
is "$(status "$origin/app.js")" 403 'not even a file without a cookie'
is "$(status "$origin/open?token=00000000000000000000000000000000")" 403 'a wrong token'
is "$(status "$origin/open")" 403 'no token'
is "$(status "$origin/open?token=")" 403 'an empty token'
is "$(status "${address%?}")" 403 'a token that lacks its last letter'
is "$(status -H "Cookie: fullminute_$port=00000000000000000000000000000000" "$origin/")" 403 'a wrong cookie'
is "$(grep -c . "$work/body")" 1 'a refusal says one line'
grep -qE "token|${address##*=}" "$work/body" && bad 'a refusal tells the token'
is "$(status -c "$work/jar" "$address")" 200 'the right token'
grep -q HttpOnly "$work/jar" && echo 'ok: no script reads the cookie' || bad 'HttpOnly'
is "$(status -b "$work/jar" "$origin/")" 200 'the page with the cookie'

# ---- Headers of every answer ----
for path in / /app.js /api/recordings /none; do
    curl -s -D - -o "$work/body" -b "$work/jar" "$origin$path" >"$work/head"
    for want in "Content-Security-Policy: default-src 'none'" 'X-Content-Type-Options: nosniff' \
        'Referrer-Policy: no-referrer' 'Cache-Control: no-store' 'Cross-Origin-Resource-Policy: same-origin'; do
        grep -qF "$want" "$work/head" || bad "$path lacks $want"
    done
    grep -i '^content-security-policy' "$work/head" | grep -q unsafe && bad "$path allows inline code"
    grep -qi '^access-control' "$work/head" && bad "$path is shared with other origins"
done
echo 'ok: headers'

# ---- Host and Origin ----
# Named outright: curl itself sends a jar's cookie to no foreign Host.
b=(-H "Cookie: fullminute_$port=$(awk '/fullminute_/ { print $7 }' "$work/jar")")
is "$(status "${b[@]}" -H 'Host: rebound.example' "$origin/")" 403 'a foreign Host'
is "$(status "${b[@]}" -H "Host: rebound.example:$port" "$origin/api/recordings")" 403 'a foreign Host with our port'
is "$(status "${b[@]}" -H "Host: 127.0.0.1" "$origin/")" 403 'our Host without the port'
is "$(status "${b[@]}" -H "Host: localhost:$port" "$origin/api/recordings")" 200 'localhost is ours'
is "$(status "${b[@]}" -H 'Origin: http://evil.example' "$origin/api/recordings")" 403 'a foreign Origin reads nothing'
is "$(status "${b[@]}" -H 'Origin: null' "$origin/api/recordings")" 403 'an Origin of null reads nothing'
is "$(status "${b[@]}" -H 'Sec-Fetch-Site: same-site' -H 'Sec-Fetch-Mode: cors' "$origin/api/recordings")" 403 'another port of this computer reads nothing'
is "$(status "${b[@]}" -H 'Sec-Fetch-Site: cross-site' -H 'Sec-Fetch-Mode: no-cors' "$origin/app.js")" 403 'nor is a file of ours taken in elsewhere'
json=(-H 'Content-Type: application/json' -d '{}')
is "$(status "${b[@]}" "${json[@]}" "$origin/api/live/open")" 403 'no change without an Origin'
is "$(status "${b[@]}" "${json[@]}" -H 'Origin: http://evil.example' "$origin/api/live/open")" 403 'no change from a foreign Origin'
o=(-H "Origin: $origin")
is "$(status "${b[@]}" "${o[@]}" -H 'Content-Type: text/plain' -d '{}' "$origin/api/live/start")" 400 'a form of another page is not understood'
is "$(status "${b[@]}" "${o[@]}" "${json[@]}" "$origin/api/live/start")" 409 'with all of it: no sitting is open'

# ---- Methods, paths, bodies ----
is "$(status "${b[@]}" "${o[@]}" -X DELETE "$origin/api/recordings")" 405 'a method that is not there'
is "$(status "${b[@]}" "${o[@]}" -X PUT -d x "$origin/")" 405 'PUT'
is "$(status "${b[@]}" "${o[@]}" -X OPTIONS "$origin/api/recordings")" 405 'OPTIONS'
for path in /../../../../etc/passwd /%2e%2e/%2e%2e/etc/passwd /..%2f..%2fetc%2fpasswd //etc/passwd /api/recordings/../../etc/passwd \
    /api/recordings/-1/sound /api/recordings/99999/sound /api/recordings/1%00/sound /api/recordings/99999999999999999999/sound \
    /report/row/../../x; do
    got=$(status "${b[@]}" --path-as-is "$origin$path")
    [ "$got" = 404 ] || bad "$path: $got"
    grep -q root: "$work/body" && bad "$path reads a file"
done
echo 'ok: paths'
head -c 200000 /dev/zero | tr '\0' ' ' >"$work/big"
is "$(status "${b[@]}" "${o[@]}" -H 'Content-Type: application/json' --data-binary "@$work/big" "$origin/api/live/tap")" 413 'a body that is too large'
is "$(status "${b[@]}" "${o[@]}" -H 'Content-Type: application/json' -H 'Transfer-Encoding: chunked' --data-binary "@$work/big" "$origin/api/live/tap")" 413 'the same without a length'
is "$(status "${b[@]}" "${o[@]}" -H 'Content-Length: 999999999' --data-binary x "$origin/api/recordings")" 413 'an upload of a gigabyte, as it says'
is "$(status "${b[@]}" "${o[@]}" -H 'Content-Type: application/json' -d '[1]' "$origin/api/live/tap")" 400 'JSON that is no object'
is "$(status "${b[@]}" "${o[@]}" -H 'Content-Type: application/json' -d '{"a":1,"a":2}' "$origin/api/live/tap")" 400 'a member twice'
is "$(status "${b[@]}" "${o[@]}" -H 'Content-Type: application/json' -d '{"input":"file:/etc/passwd"}' "$origin/api/live/open")" 400 'no path for an input'

# ---- Uploads ----
head -c 100000 /dev/urandom >"$work/noise"
is "$(status "${b[@]}" "${o[@]}" --data-binary "@$work/noise" "$origin/api/recordings?name=x.wav")" 422 'noise is no sound file'
head -c 3000 "$2/recordings/steady-072.flac" >"$work/cut.flac"
got=$(status "${b[@]}" "${o[@]}" --data-binary "@$work/cut.flac" "$origin/api/recordings?name=cut.flac")
case $got in 422 | 200) echo "ok: a cut file ($got)" ;; *) bad "a cut file: $got" ;; esac
is "$(status "${b[@]}" "${o[@]}" --data-binary '' -X POST "$origin/api/recordings?name=x")" 400 'an empty file'
is "$(status "${b[@]}" "${o[@]}" --data-binary "@$2/recordings/steady-072.flac" "$origin/api/recordings?name=../../x%0a.flac")" 200 'a sound file'
number=$(sed -n 's/.*"number": *\([0-9]*\).*/\1/p' "$work/body")
is "$(status "${b[@]}" "$origin/api/recordings/$number/marks")" 200 'and it is counted'
grep -q '"beats":72' "$work/body" && echo 'ok: 72 beats' || bad 'not 72 beats'
is "$(status "${b[@]}" "$origin/api/recordings/$number/sound")" 200 'and heard'
is "$(head -c 4 "$work/body")" RIFF 'as a WAV file'

# ---- Only this computer ----
other=$(hostname -I 2>/dev/null | cut -d' ' -f1)
if [ -n "$other" ]; then
    is "$(status --max-time 2 "http://$other:$port/")" 000 'no answer on the network'
fi
is "$(status "${b[@]}" "${o[@]}" "${json[@]}" "$origin/api/shared/open")" 403 'no shared minute without --share'

# ---- The end ----
kill -INT "$pid"
wait "$pid"
is $? 130 'Ctrl-C'
pid=
[ -z "$(find "$work" -maxdepth 1 -name 'fullminute-*')" ] && echo 'ok: nothing is left behind' || bad 'a folder is left behind'

# ---- Wrong usage ----
"$program" page --port 0 >/dev/null 2>"$work/err"
is $? 2 'a port that is none'
"$program" page --address 1.2.3.4 >/dev/null 2>"$work/err"
is $? 2 '--address without --share'
"$program" page --recordings "$work/none" --no-open >/dev/null 2>"$work/err"
is $? 3 'a folder that is not there'
[ "$failed" -eq 0 ] || exit 1
