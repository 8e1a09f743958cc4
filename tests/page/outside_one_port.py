#!/usr/bin/env python3
"""A port has one page: a second one says that it is taken, and the first gets all its requests.

usage: outside_one_port.py PROGRAM SOURCE_DIR
"""
import os
import signal
import subprocess
import sys

from served import LIMIT_S, Served, check, finish


# ---- One port, one page ----

def two_pages(program, source):
    first = Served(program, ['--recordings', source + '/recordings'])
    # A page that shares the port would serve on: it is ended as soon as it has said its address.
    second = subprocess.Popen([program, 'page', '--no-open', '--port', str(first.port), '--recordings',
                               source + '/recordings'], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              text=True, stdin=subprocess.DEVNULL, env={**os.environ, 'HOME': first.home})
    line = second.stdout.readline()
    if line:
        second.send_signal(signal.SIGINT)
    said = second.communicate(timeout=LIMIT_S)[1]
    check(not line and second.returncode == 1, f'a second page on that port: exit {second.returncode}')
    check(f'port {first.port}' in said and '--port' in said, f'and what to do: {said.strip()}')
    check(all(first.get('/api/recordings').status == 200 for _ in range(20)), 'the first gets all its requests')
    first.interrupt()
    first.ended()
    again = Served(program, ['--recordings', source + '/recordings', '--port', str(first.port)])
    check(again.port == first.port, 'once it has ended, its port is free at once')
    again.clear()
    first.clear()


if __name__ == '__main__':
    two_pages(*sys.argv[1:3])
    finish()
