#!/usr/bin/env python3
"""The page's listener: which request is let in with which body, and what the others are told.

usage: outside_listener.py PROGRAM SOURCE_DIR

Each row of CASES is one request on a socket of its own and the status that its answer has.
"""
import json
import re
import socket
import sys

from served import LIMIT_S, Served, check, finish

JSON = 'Content-Type: application/json\r\n'
MIB = 1 << 20


def send(s, request, body=b''):
    with socket.create_connection((s.host, s.port), LIMIT_S) as c:
        c.settimeout(LIMIT_S)
        head = request.replace('OURS', f'Host: {s.host}:{s.port}\r\nCookie: {s.cookie}\r\nOrigin: {s.origin}\r\n'
                                       'Connection: close\r\n')
        c.sendall(head.encode() + b'\r\n' + body)
        got = b''
        while True:
            try:
                part = c.recv(65536)
            except ConnectionResetError:
                return got  # what came before it stands
            if not part:
                return got
            got += part


def post(path, body, more=JSON, length=True):
    head = f'POST {path} HTTP/1.1\r\nOURS{more}'
    return head + (f'Content-Length: {len(body)}\r\n' if length else ''), body


def chunked(path, parts):
    body = b''.join(f'{len(p):x}\r\n'.encode() + p + b'\r\n' for p in parts) + b'0\r\n\r\n'
    return f'POST {path} HTTP/1.1\r\nOURS{JSON}Transfer-Encoding: chunked\r\n', body


CASES = [
    ('a question', ('GET /api/clock HTTP/1.1\r\nOURS', b''), 200),
    ('an asset', ('GET /app.js HTTP/1.1\r\nOURS', b''), 200),
    ('nothing of that name', ('GET /none HTTP/1.1\r\nOURS', b''), 404),
    ('no folder of the disk', ('GET /../../etc/passwd HTTP/1.1\r\nOURS', b''), 404),
    ('a change by a question', ('GET /api/live/open HTTP/1.1\r\nOURS', b''), 405),
    ('a question by a change', post('/api/clock', b'{}'), 405),
    ('another method', ('DELETE /api/clock HTTP/1.1\r\nOURS', b''), 405),
    ('no JSON said', post('/api/live/stop', b'{}', 'Content-Type: text/plain\r\n'), 400),
    ('no kind said', post('/api/live/stop', b'{}', ''), 400),
    ('no body', post('/api/live/stop', b''), 400),
    ('a list', post('/api/live/stop', b'[]'), 400),
    ('a number', post('/api/live/stop', b'7'), 400),
    ('not closed', post('/api/live/stop', b'{"a":1'), 400),
    ('something behind it', post('/api/live/stop', b'{} {}'), 400),
    ('a member twice', post('/api/live/stop', b'{"a":1,"a":2}'), 400),
    ('an object, nothing open', post('/api/live/stop', b'{}'), 409),
    ('in chunks', chunked('/api/live/stop', [b'{', b'}']), 409),
    ('more than is taken, said before', (f'POST /api/live/stop HTTP/1.1\r\nOURS{JSON}Content-Length: {MIB}\r\n', b''), 413),
    ('more than is taken, not said', chunked('/api/live/stop', [b' ' * 60000] * 10), 413),
    ('a body where none is taken', ('GET /api/clock HTTP/1.1\r\nOURSContent-Length: 5\r\n', b'hello'), 413),
]


def main():
    program, source = sys.argv[1:3]
    s = Served(program, ['--recordings', source + '/recordings'])
    for what, (head, body), wanted in CASES:
        answer = send(s, head, body)
        found = re.match(rb'HTTP/1\.1 (\d{3})', answer)
        status = int(found[1]) if found else None
        check(status == wanted, f'{what}: {status}, {wanted} is right')
        if status and status >= 400:
            said = answer.partition(b'\r\n\r\n')[2]
            check(len(json.loads(said).get('error', '')) > 5, f'with a sentence: {said[:80]!r}')
    s.clear()
    finish()


main()
