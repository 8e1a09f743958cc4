#!/usr/bin/env python3
"""One phone on the network does not shut a class out of a shared minute.

usage: outside_crowd.py PROGRAM SOURCE_DIR

What one address may try, and whether phones at other addresses still sit down, listen and enter: slow
connections, requests without the code, requests with it, every seat, every seat with a stream, a
hundred streams on one seat. Each trial has a page of its own.
"""
import json
import re
import socket
import sys
import threading
import time

from served import LIMIT_S, Events, Served, ask, check, finish, until

ROGUE = '127.0.2.1'
CLASS = 40


class Door:
    """The seats' listener as phones see it."""

    def __init__(self, url):
        self.host, port, self.path = re.match(r'http://([\d.]+):(\d+)(/\w+/)', url).groups()
        self.port = int(port)

    def post(self, what, body, from_host, timeout_s=LIMIT_S):
        return ask(self.host, self.port, 'POST', self.path + what, json.dumps(body), {
            'Content-Type': 'application/json', 'Origin': f'http://{self.host}:{self.port}'}, timeout_s, from_host)

    def sit(self, from_host, secret=''):
        """(status, the answer's document)."""
        answer = self.post('api/seat', {'secret': secret}, from_host)
        return answer.status, json.loads(answer.body)

    def listen(self, secret, from_host):
        return Events(self.host, self.port, f'{self.path}api/events?secret={secret}', from_host=from_host)

    def connect(self, from_host):
        return socket.create_connection((self.host, self.port), 5, (from_host, 0))


class Class:
    """Phones at addresses of their own, which sit down, listen, and tell whether they could."""

    def __init__(self, listener, n, first=1):
        self.listener = listener
        self.hosts = [f'127.0.3.{i}' for i in range(first, first + n)]
        self.events = []
        self.refused = []

    def sit(self):
        for host in self.hosts:
            if len(self.refused) > 1:
                break  # it is shut out
            try:
                status, seat = self.listener.sit(host)
                if status != 200:
                    self.refused.append(f'{status} {seat}')
                    continue
                self.events.append(self.listener.listen(seat['secret'], host))
            except OSError as e:
                self.refused.append(str(e))
        return not self.refused

    def hear(self, what):
        check(self.sit(), f'{len(self.hosts)} phones sit down {what} {self.refused[:2]}')
        until(lambda: all(e.seen or e.over for e in self.events), 'they are told how far it is')
        told = sum(bool(e.seen) for e in self.events)
        check(told == len(self.hosts), f'and {told} are told how far it is')

    def leave(self):
        for e in self.events:
            e.drop()


class Shared:
    """A shared minute on a page."""

    def __init__(self, program, source):
        self.s = Served(program, ['--recordings', source + '/recordings', '--share', '--address', '127.0.0.1'])
        self.room = Events(self.s.host, self.s.port, '/api/shared/events', {'Cookie': self.s.cookie})
        self.number = self.s.number_of('steady-084')

    def open(self):
        check(self.s.post('/api/shared/open', {'recording': self.number, 'seconds': 15}).status == 200, 'it opens')
        until(lambda: self.room.last.get('phase') == 'gathering', 'it gathers')
        return Door(self.room.last['url'])

    def end(self):
        self.s.clear()


# ---- What one address tries ----

def slow_connections(listener):
    """Hundreds of connections that send a letter now and then."""
    lines, going = [], [True]
    for _ in range(700):
        try:
            line = listener.connect(ROGUE)
            line.sendall(b'GET /')
            lines.append(line)
        except OSError:
            break

    def trickle():
        while going[0]:
            for line in lines:
                try:
                    line.sendall(b'x')
                except OSError:
                    pass
            time.sleep(1)

    thread = threading.Thread(target=trickle, daemon=True)
    thread.start()
    Class(listener, CLASS).hear('beside slow connections')
    going[0] = False
    thread.join()
    for line in lines:
        line.close()


class Flood:
    """Threads that send one request over and over from one address."""

    def __init__(self, listener, request, n=8):
        self.listener, self.request = listener, request.encode()
        self.sent, self.going = 0, True
        self.threads = [threading.Thread(target=self.run, daemon=True) for _ in range(n)]
        for t in self.threads:
            t.start()
        until(lambda: self.sent > 1500, 'a flood')  # more than any allowance for the first moment

    def run(self):
        while self.going:
            try:
                with self.listener.connect(ROGUE) as c:
                    c.sendall(self.request)
                    while c.recv(4096):
                        c.sendall(self.request)
                        self.sent += 1
            except OSError:
                pass
            self.sent += 1

    def stop(self):
        self.going = False
        for t in self.threads:
            t.join()


def floods(listener, path, what):
    f = Flood(listener, f'GET {path} HTTP/1.1\r\nHost: {listener.host}:{listener.port}\r\n\r\n')
    before = f.sent
    Class(listener, CLASS).hear(what)
    check(f.sent > before, f'while {f.sent} requests came')
    f.stop()


def floods_of_seats(listener):
    body = '{"secret":""}'
    f = Flood(listener, f'POST {listener.path}api/seat HTTP/1.1\r\nHost: {listener.host}:{listener.port}\r\nOrigin: '
                    f'http://{listener.host}:{listener.port}\r\nContent-Type: application/json\r\n'
                    f'Content-Length: {len(body)}\r\n\r\n{body}')
    Class(listener, CLASS).hear('while one asks for seats without a pause')
    f.stop()


def every_seat(listener, listen):
    """As many seats as one address is given; with a stream each they are held."""
    got = []
    for _ in range(120):
        status, seat = listener.sit(ROGUE)
        if status == 200:
            got.append(seat)
    streams = [listener.listen(seat['secret'], ROGUE) for seat in got] if listen else []
    Class(listener, CLASS).hear(f'though one address took {len(got)} seats' + (' and holds them' if listen else ''))
    check(len(got) < 50, 'one address is not given half of them')
    for e in streams:
        e.drop()


def seats_come_back(listener):
    """All seats are taken by a few addresses, without a stream: those who come get them in time."""
    secrets = []
    for k in range(4):
        secrets += [listener.sit(f'127.0.4.{k + 1}') for _ in range(33)]
    taken = [seat for status, seat in secrets if status == 200]
    check(len(taken) == 99, f'{len(taken)} seats are taken, none with a stream')
    late = Class(listener, CLASS)

    def all_sit():
        late.refused = []
        for host in list(late.hosts):
            status, seat = listener.sit(host)
            if status != 200:
                return False
            late.events.append(listener.listen(seat['secret'], host))
            late.hosts.remove(host)
        return True

    until(all_sit, 'seats without a stream come back')
    check(True, f'{CLASS} phones sit down all the same')
    until(lambda: all(e.seen for e in late.events), 'they are told')
    late.leave()


def many_streams_on_one_seat(listener):
    seat = listener.sit(ROGUE)[1]
    streams = []
    for _ in range(200):
        try:
            streams.append(listener.listen(seat['secret'], ROGUE))
        except OSError:
            break
    Class(listener, CLASS).hear('though one seat has opened 200 streams')
    until(lambda: sum(not e.over for e in streams) <= 4, 'of which a few stay')
    check(True, 'of which a few stay')
    for e in streams:
        e.drop()


def main():
    program, source = sys.argv[1:3]
    trials = [slow_connections,
              lambda d: floods(d, '/', 'beside a flood without the code'),
              lambda d: floods(d, f'{d.path}api/clock', 'beside a flood with the code'),
              floods_of_seats,
              lambda d: every_seat(d, False),
              lambda d: every_seat(d, True),
              seats_come_back,
              many_streams_on_one_seat]
    for trial in trials:
        shared = Shared(program, source)
        trial(shared.open())
        shared.end()
    finish()


main()
