#!/bin/bash
# A speaker and a microphone without a sound card: a private sound server with two null sinks.
# usage: rig.sh COMMAND [ARGUMENT...]     runs COMMAND with them; its exit code is passed on
#
# For COMMAND: what it plays can be recorded from the source speaker.monitor (parec), and what is
# played into the sink mic (paplay) is what its microphone hears. RIG is a folder that goes away
# afterwards, RIG_SERVER the process of the server. Exit 98: a program is missing; 99: the server
# did not start. Several rigs run side by side.
set -u

for program in pulseaudio pactl; do
    command -v "$program" >/dev/null || { echo "rig: $program is missing" >&2; exit 98; }
done

RIG=$(mktemp -d "${TMPDIR:-/tmp}/rig.XXXXXX") || exit 99
chmod 700 "$RIG"
export RIG
address="unix:$RIG/socket"

# Without norewinds a new sink is filled two seconds ahead, and a stream begins that much later.
sink='module-null-sink rate=48000 channels=1 channel_map=mono format=s16le norewinds=1'
cat >"$RIG/server.pa" <<END
load-module module-native-protocol-unix auth-anonymous=1 socket=$RIG/socket
load-module $sink sink_name=speaker
load-module $sink sink_name=mic
set-default-sink speaker
set-default-source mic.monitor
END
cat >"$RIG/asound.conf" <<END
pcm.!default { type pulse server "$address" }
ctl.!default { type pulse server "$address" }
END

env -u DISPLAY -u DBUS_SESSION_BUS_ADDRESS -u PULSE_SERVER \
    HOME="$RIG" XDG_RUNTIME_DIR="$RIG" PULSE_RUNTIME_PATH="$RIG" PULSE_STATE_PATH="$RIG" \
    pulseaudio -n -F "$RIG/server.pa" --daemonize=no --exit-idle-time=-1 --use-pid-file=no \
    --disable-shm=yes --realtime=no --high-priority=no --log-target=stderr 2>"$RIG/server.log" &
RIG_SERVER=$!
command_id=

clear_away() {
    for id in $command_id $RIG_SERVER; do
        kill "$id" 2>/dev/null
        kill -CONT "$id" 2>/dev/null
    done
    wait $RIG_SERVER 2>/dev/null
    rm -rf "$RIG"
}
trap clear_away EXIT
trap 'exit 143' TERM INT HUP

export RIG_SERVER PULSE_SERVER="$address" PULSE_COOKIE="$RIG/cookie" PULSE_RUNTIME_PATH="$RIG"
export ALSA_CONFIG_PATH="$RIG/asound.conf"

tries=0
until pactl info >/dev/null 2>&1; do
    tries=$((tries + 1))
    if [ $tries -gt 200 ] || ! kill -0 $RIG_SERVER 2>/dev/null; then
        cat "$RIG/server.log" >&2
        exit 99
    fi
    sleep 0.05
done

"$@" <&0 &
command_id=$!
wait $command_id
