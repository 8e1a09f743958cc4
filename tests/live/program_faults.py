#!/usr/bin/env python3
"""`count --live` on a terminal while its sound server is killed or frozen, or its input replaced.

usage: program_faults.py FULLMINUTE WORK FAULT SERVER_PID
       program_faults.py FULLMINUTE WORK replaced STATUS ASOUND

FAULT is killed or frozen; replaced: the server moves the stream to another source, which goes on
without a gap, and STATUS, the kernel's word on the card, says that it is closed (ASOUND is loaded
into the program so that it looks there). In mid minute the fault is made; then
  - a sentence about it is on the screen within 2 s (replaced: at all);
  - nothing else is: no library's words between ours;
  - Ctrl-C ends the program within 3 s, and the recording opens and holds what had come.
"""
import os
import pty
import select
import signal
import subprocess
import sys
import time

from scipy.io import wavfile

NOTICED_S = 2.0
ENDED_S = 3.0
BEFORE_S = 5.0
WORDS = {'killed': b'The input is gone', 'replaced': b'The input is gone', 'frozen': b'No sound is coming from the input'}
# What sound libraries print by themselves.
CHATTER = (b'Expression', b'ALSA lib', b'PaAlsa', b'assert', b'Connection')


class Terminal:
    def __init__(self, command, preload):
        self.child, self.fd = pty.fork()
        if self.child == 0:
            if preload:
                os.environ['LD_PRELOAD'] = preload
            os.execv(command[0], command)
        self.seen = b''

    def read(self, seconds):
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            if select.select([self.fd], [], [], 0.02)[0]:
                try:
                    self.seen += os.read(self.fd, 65536)
                except OSError:
                    return False
        return True

    def until(self, words, limit_s):
        """Seconds until `words` came, or None."""
        begun = time.monotonic()
        while words not in self.seen:
            if time.monotonic() - begun > limit_s or not self.read(0.02):
                return None if words not in self.seen else time.monotonic() - begun
        return time.monotonic() - begun


def replace(status):
    """The stream of the program goes on with the other source, and the card stops."""
    ours = subprocess.run(['pactl', 'list', 'short', 'source-outputs'], capture_output=True, text=True, check=True)
    number = ours.stdout.split()[0]
    subprocess.run(['pactl', 'move-source-output', number, 'steth1.monitor'], check=True)
    with open(status, 'w', encoding='ascii') as file:
        file.write('closed\n')


def main():
    program, work, fault, server = sys.argv[1:5]
    replaced = fault == 'replaced'
    recording = f'{work}/{fault}.wav'
    t = Terminal([program, 'count', '--live', '--no-ticks', '--recording', recording],
                 sys.argv[5] if replaced else None)
    wrong = []
    if t.until(b'start:', 20) is None:
        print(t.seen.decode(errors='replace'))
        print(f'FAIL {fault}: never ready')
        return 1
    os.write(t.fd, b'\r')
    if t.until(b' s of 60', 20) is None:
        wrong.append('the minute never began')
    t.read(BEFORE_S)
    t.seen = b''
    if replaced:
        replace(server)
    else:
        os.kill(int(server), {'killed': signal.SIGKILL, 'frozen': signal.SIGSTOP}[fault])
    noticed_s = t.until(WORDS[fault], 30 if replaced else 6)
    if noticed_s is None or (noticed_s > NOTICED_S and not replaced):
        wrong.append(f'said after {noticed_s} s: {t.seen[-1500:].decode(errors="replace")}')
    t.read(2.0)
    begun = time.monotonic()
    os.write(t.fd, b'\x03')
    while t.read(0.1) and time.monotonic() - begun < 10:
        pass
    ended_s = time.monotonic() - begun
    if ended_s > ENDED_S:
        wrong.append(f'ended after {ended_s:.2f} s')
        os.kill(t.child, signal.SIGKILL)
    status = os.waitstatus_to_exitcode(os.waitpid(t.child, 0)[1])
    wrong += [f'the terminal shows {c.decode()}: {t.seen.decode(errors="replace")[-3000:]}'
              for c in CHATTER if c in t.seen]
    rate, sound = wavfile.read(recording)
    if len(sound) < rate * BEFORE_S:
        wrong.append(f'the recording holds only {len(sound) / rate:.2f} s')
    print(f'{fault}: said after {noticed_s or -1:.2f} s, ended {ended_s:.2f} s after Ctrl-C with '
          f'exit {status}, {len(sound) / rate:.1f} s kept')
    for w in wrong:
        print(f'FAIL {fault}: {w}')
    return len(wrong) > 0


if __name__ == '__main__':
    sys.exit(main())
