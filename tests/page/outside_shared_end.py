#!/usr/bin/env python3
"""A shared minute ends: every phone is told, those too that were just coming back; then the listener closes.

usage: outside_shared_end.py PROGRAM SOURCE_DIR [ROUNDS]

Each round: twenty phones sit down and listen, each from an address of its own, four of them go and come
back while it ends, as a browser does a second after it has lost a stream. Twenty rounds by hand:
`python3 tests/page/outside_shared_end.py PROGRAM . 20`.
"""
import json
import re
import socket
import sys
import threading
import time

from served import Events, Served, ask, check, finish, until

PHONES = 20
BACK = 4
RETRY_S = 1.0  # the stream's own `retry:`


class Phone:
    def __init__(self, url, i):
        _, self.host, port, self.path = re.match(r'(http)://([\d.]+):(\d+)(/\w+/)', url).groups()
        self.port = int(port)
        self.from_host = f'127.0.1.{i + 1}'

    def post(self, what, body):
        return ask(self.host, self.port, 'POST', self.path + what, json.dumps(body), {
            'Content-Type': 'application/json', 'Origin': f'http://{self.host}:{self.port}'}, from_host=self.from_host)

    def sit(self):
        answer = self.post('api/seat', {'secret': ''})
        self.seat = json.loads(answer.body)
        self.listen()

    def listen(self):
        self.events = Events(self.host, self.port, f"{self.path}api/events?secret={self.seat['secret']}",
                             from_host=self.from_host)

    def come_back(self):
        """Whether it is told, by the stream that it opens a second after it lost the last one."""
        time.sleep(RETRY_S)
        try:
            self.listen()
        except OSError:
            return
        until(lambda: self.events.over, 'the stream of one that comes back ends')


def is_open(host, port):
    try:
        socket.create_connection((host, port), 5).close()
        return True
    except OSError:
        return False


def one_round(s, room, number, i):
    opened = s.post('/api/shared/open', {'recording': number, 'seconds': 15})
    check(opened.status == 200, f'{i}: it opens: {opened.status}')
    until(lambda: room.last.get('phase') == 'gathering', 'the room gathers')
    phones = [Phone(room.last['url'], k) for k in range(PHONES)]
    for p in phones:
        p.sit()
    until(lambda: all(p.events.last.get('phase') == 'gathering' for p in phones), 'every phone sits')
    back = phones[:BACK]
    for p in back:
        p.events.drop()
    threads = [threading.Thread(target=p.come_back) for p in back]
    for t in threads:
        t.start()
    for k in range(i % 4):  # so that the phones are being told of something
        Phone(room.last['url'], PHONES + k).post('api/seat', {'secret': ''})
    check(s.post('/api/shared/end').status == 200, f'{i}: it ends')
    check(s.post('/api/shared/end').status == 409, f'{i}: once')
    for t in threads:
        t.join()
    until(lambda: all(p.events.over for p in phones), 'every stream ends')
    told = sum(p.events.last.get('phase') == 'over' for p in phones)
    check(told == PHONES, f'{i}: {told} of {PHONES} phones are told')
    until(lambda: not is_open(phones[0].host, phones[0].port), 'the listener to the network closes')
    until(lambda: room.last.get('phase') == 'none', 'the room is told that it is over')


def other_requests(s, room, number):
    """What a phone that asks while it ends is answered; and no second one meanwhile."""
    s.post('/api/shared/open', {'recording': number, 'seconds': 15})
    until(lambda: room.last.get('phase') == 'gathering', 'the room gathers')
    p = Phone(room.last['url'], 0)
    p.sit()
    s.post('/api/shared/end')
    check(json.loads(p.post('api/seat', {'secret': ''}).body).get('phase') == 'over', 'a seat is no longer given')
    check(p.post('api/enter', {'secret': p.seat['secret'], 'count': 20}).status == 410, 'no entry is taken')
    check(p.post('api/taps', {'secret': p.seat['secret'], 'taps_s': [1]}).status == 410, 'and no taps')
    again = s.post('/api/shared/open', {'recording': number, 'seconds': 15})
    check(again.status == 409, f'the next one waits until they are told: {again.status}')
    until(lambda: room.last.get('phase') == 'none', 'it has ended')


def ended_by_interrupt(s, room, number):
    s.post('/api/shared/open', {'recording': number, 'seconds': 15})
    until(lambda: room.last.get('phase') == 'gathering', 'the room gathers')
    phones = [Phone(room.last['url'], k) for k in range(PHONES)]
    for p in phones:
        p.sit()
    until(lambda: all(p.events.seen for p in phones), 'every phone listens')
    s.interrupt()
    check(s.ended() == 130, 'Ctrl-C in a shared minute: exit 130')
    until(lambda: all(p.events.over for p in phones), 'every stream ends')
    told = sum(p.events.last.get('phase') == 'over' for p in phones)
    check(told == PHONES, f'{told} of {PHONES} phones are told')


def main():
    program, source = sys.argv[1:3]
    rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 2
    s = Served(program, ['--recordings', source + '/recordings', '--share', '--address', '127.0.0.1'])
    room = Events(s.host, s.port, '/api/shared/events', {'Cookie': s.cookie})
    number = s.number_of('steady-084')
    for i in range(1, rounds + 1):
        one_round(s, room, number, i)
    other_requests(s, room, number)
    ended_by_interrupt(s, room, number)
    s.clear()
    finish()


main()
