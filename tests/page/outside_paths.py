#!/usr/bin/env python3
"""Folders whose names are no UTF-8: the page tells them escaped, and works as with any other.

usage: outside_paths.py PROGRAM SOURCE_DIR
"""
import json
import os
import shutil
import sys
import tempfile

from served import Events, Served, check, finish, until

ODD = b'caf\xe9 100%'
SHOWN = 'caf%E9 100%25'


def ask(answer):
    """(status, document) of an answer."""
    return answer.status, json.loads(answer.body)


def what_went_wrong(program, odd):
    """What goes wrong at such a path is told with the path in it, not as 'out of memory'."""
    s = Served(program, ['--recordings', os.path.join(odd, b'found'), '--logbook', os.path.join(odd, b'data')],
               {'XDG_DATA_HOME': os.path.join(odd, b'data')})
    _, begun = ask(s.post('/api/practice/begin', {'number': 1, 'seconds': 15, 'learner': 'AB'}))
    entered = {'practice': begun.get('practice'), 'entered': 18}
    status, shown = ask(s.post('/api/practice/enter', entered))
    check(SHOWN in (shown.get('note') or shown.get('error') or ''), f"no logbook to write to: {status} "
          f"{shown.get('note') or shown.get('error')}")
    found = os.path.join(odd, b'found')
    shutil.move(found, found + b'-away')
    status, shown = ask(s.get('/api/recordings/1/marks'))
    check(status == 422 and SHOWN in shown['error'], f'a recording that is gone: {status} {shown}')
    s.clear()


def main():
    program, source = sys.argv[1:3]
    home = tempfile.mkdtemp(prefix='fullminute-test-').encode()
    odd = os.path.join(home, ODD)
    for folder in ('data', 'found'):
        os.makedirs(os.path.join(odd, folder.encode()))
    shutil.copy(source.encode() + b'/recordings/steady-072.flac', os.path.join(odd, b'found', b'g\xe9n.flac'))
    s = Served(program, ['--recordings', os.path.join(odd, b'found'), '--logbook', os.path.join(odd, b'own.sqlite')],
               {'XDG_DATA_HOME': os.path.join(odd, b'data')})

    status, about = ask(s.get('/api/about'))
    check(status == 200 and about.get('recordings', '').endswith(f'{SHOWN}/found'), f'about: {status} {about}')
    status, book = ask(s.get('/api/logbook'))
    check(status == 200 and book.get('path', '').endswith(f'{SHOWN}/own.sqlite'), f'an empty logbook: {status} {book}')

    status, begun = ask(s.post('/api/practice/begin', {'number': 1, 'seconds': 15, 'learner': 'AB'}))
    entered = {'practice': begun.get('practice'), 'entered': 18}
    status, shown = ask(s.post('/api/practice/enter', entered))
    check(status == 200 and shown.get('row') == 1, f"a practice: {status} {shown.get('error') or shown.get('note')}")
    check(shown.get('name') == 'g%E9n.flac', f"its recording's name: {shown.get('name')}")
    status, book = ask(s.get('/api/logbook'))
    check(status == 200 and len(book.get('rows', [])) == 1, f'one row in the logbook: {status}')
    check(s.get('/report/row/1').status == 200, 'with its report')

    listed = json.loads(s.get('/api/recordings').body)['recordings']
    status, marks = ask(s.get(f"/api/recordings/{listed[0]['number']}/marks"))
    check(status == 200 and marks.get('beats') == 72, f'its marks: {status}')

    status, _ = ask(s.post('/api/live/open', {'recording': 1, 'seconds': 15, 'breath': False}))
    check(status == 200, f'a sitting is open: {status}')
    e = Events(s.host, s.port, '/api/live/events', {'Cookie': s.cookie})
    until(lambda: e.last.get('can_start'), 'it may start')
    status, stopped = ask(s.post('/api/live/stop'))
    check(status == 200 and SHOWN in stopped.get('path', ''), f'broken off, the recording named: {status} {stopped}')
    e.drop()
    s.clear()
    what_went_wrong(program, odd)
    shutil.rmtree(home)
    finish()


main()
