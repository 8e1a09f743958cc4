# shellcheck shell=bash
# A private PulseAudio without any sound card, for tests: read it with `.`, then
#   live_server_start DIR [N]   N null sinks steth0..stethN-1 of RATE (48000) Hz
#   live_server_stop            ends it, thawing it first
# Nothing of the person's own sound server or home is touched. A stream of silence is kept
# open on each sink, else an idle one renders blocks of up to two seconds.

live_server_start()
{
    local dir=$1 n=${2:-1} rate=${RATE:-48000} i
    mkdir -p "$dir/home"
    mkdir -m 700 "$dir/run"
    export XDG_RUNTIME_DIR=$dir/run HOME=$dir/home PULSE_RUNTIME_PATH=$dir/run/pulse
    export PULSE_COOKIE=$dir/run/cookie PULSE_SERVER=unix:$dir/run/native
    export ALSA_CONFIG_PATH=/usr/share/alsa/alsa.conf JACK_NO_START_SERVER=1
    export PULSE_LATENCY_MSEC=20
    {
        echo "load-module module-native-protocol-unix socket=$dir/run/native auth-anonymous=1"
        for ((i = 0; i < n; i++)); do
            echo "load-module module-null-sink sink_name=steth$i rate=$rate channels=1 format=s16le"
        done
        echo 'set-default-sink steth0'
        echo 'set-default-source steth0.monitor'
    } >"$dir/server.pa"
    pulseaudio -n -F "$dir/server.pa" --daemonize=no --exit-idle-time=-1 \
        --use-pid-file=no --disable-shm=yes --log-target=stderr >"$dir/server.log" 2>&1 &
    live_server=$!
    live_silences=()
    for ((i = 0; i < 100; i++)); do
        pactl info >/dev/null 2>&1 && break
        sleep 0.05
    done
    pactl info >/dev/null 2>&1 || { cat "$dir/server.log" >&2; return 1; }
    for ((i = 0; i < n; i++)); do
        pacat --raw --device="steth$i" --latency-msec=20 --rate="$rate" --channels=1 \
            --format=s16le /dev/zero >/dev/null 2>&1 &
        live_silences+=($!)
    done
    for ((i = 0; i < 100; i++)); do
        [ "$(pactl list short sink-inputs 2>/dev/null | wc -l)" -ge "$n" ] && break
        sleep 0.05
    done
}

live_server_stop()
{
    [ -n "${live_server:-}" ] || return 0
    kill -CONT "$live_server" 2>/dev/null
    kill "${live_silences[@]}" 2>/dev/null
    kill "$live_server" 2>/dev/null
    wait "${live_silences[@]}" "$live_server" 2>/dev/null
    live_server=
}
