#!/usr/bin/env python3
"""An entry that cannot be stored is said to be so, whatever is shown by then.

usage: outside_not_stored.py PROGRAM SOURCE_DIR

PROGRAM is fullminute_stepped, whose clock this steps, or fullminute at its own speed. A checked sitting of 15 s is at its entry when the disk is full (a file-size limit set on the running
program, which every write then meets). The entry is refused as not stored, also where the recording
noticed first and the sitting is broken; the recording and its document stay; nothing is counted.
"""
import glob
import json
import resource
import sys
import tempfile
import threading

from served import Events, Served, check, finish, until


ran = []


def limit_files(s, most):
    _, hard = resource.prlimit(s.child.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(s.child.pid, resource.RLIMIT_FSIZE, (most, hard))


def at_entry(program, source, *more):
    s = Served(program, ['--recordings', source + '/recordings', *more])
    s.post('/api/live/open', {'recording': s.number_of('steady-084'), 'seconds': 15, 'breath': False, 'learner': 'AB'})
    e = Events(s.host, s.port, '/api/live/events', {'Cookie': s.cookie})
    s.go(5)
    until(lambda: e.last.get('can_start'), 'it may start')
    s.post('/api/live/start')
    s.go(30)
    until(lambda: e.last.get('phase') == 'entry', 'the minute is over')
    s.stand()  # else its recording would meet the full disk first, by chance
    return s, e


def enter(s, count):
    answer = s.post('/api/live/enter', {'entered': count})
    return answer.status, json.loads(answer.body).get('error', '')


def full_disk(program, source):
    s, e = at_entry(program, source)
    limit_files(s, 0)
    status, said = enter(s, 21)
    check(status >= 400 and said.startswith('Not stored: ') and len(said) > 20, f'on a full disk: {status} {said}')
    check(s.get('/api/live/reveal').status == 409, 'nothing is counted')
    limit_files(s, resource.RLIM_INFINITY)
    status, _ = enter(s, 21)
    check(status == 200, 'with room again it is taken')
    s.post('/api/live/stop')
    s.interrupt()
    check(s.ended() == 130, 'it ends as it should')
    found = glob.glob(s.home + '/data/**/*.sitting.json', recursive=True)
    with open(found[0], encoding='utf-8') as f:
        d = json.load(f)
    check(not d['sealed'] and d['manual']['pulse']['entered'] == 21, 'the document holds the entry')
    check(len(d['windows']) == 1 and not d['windows'][0].get('set_aside'), 'and keeps the minute')
    s.clear()
    ran.append('full_disk')


def never_entered(program, source):
    """What was said to be not stored is in no document written later."""
    s, _ = at_entry(program, source)
    limit_files(s, 0)
    status, _ = enter(s, 21)
    check(status >= 400, 'not stored')
    limit_files(s, resource.RLIM_INFINITY)
    s.interrupt()
    check(s.ended() == 130, 'it ends as it should')
    found = glob.glob(s.home + '/data/**/*.sitting.json', recursive=True)
    with open(found[0], encoding='utf-8') as f:
        d = json.load(f)
    check(d['sealed'] and not (d.get('manual') or {}).get('pulse'), 'and is nowhere afterwards')
    s.clear()
    ran.append('never_entered')


def no_entry_wanted(program, source):
    """Before the minute is over, and once nothing is open."""
    s = Served(program, ['--recordings', source + '/recordings'])
    status, said = enter(s, 21)
    check(status == 409, f'no sitting: {status} {said}')
    s.post('/api/live/open', {'recording': s.number_of('steady-084'), 'seconds': 15, 'breath': False})
    status, said = enter(s, 21)
    check(status == 409 and said.startswith('Not stored: '), f'before its minute: {status} {said}')
    s.clear()


def taken(s):
    return [r['number'] for r in json.loads(s.get('/api/recordings').body)['recordings'] if r['kind'] == 'taken']


def entered_twice(program, source):
    s, _ = at_entry(program, source)
    check(not taken(s), 'what was recorded cannot be heard while it is sealed')
    got = []
    threads = [threading.Thread(target=lambda: got.append(enter(s, 21))) for _ in range(2)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    check(sorted(status for status, _ in got) == [200, 409], f'sent twice, it is stored once: {got}')
    s.go(60)
    until(lambda: s.get('/api/live/reveal').status == 200, 'and counted')
    number = json.loads(s.get('/api/live/reveal').body)['recording']
    check(taken(s) == [number] and s.get(f'/api/recordings/{number}/sound').body[:4] == b'RIFF', 'and then it is heard')
    s.clear()
    ran.append('entered_twice')


def the_logbook_is_another_s(program, source):
    """The entry is in the sitting's document, the count is shown, and why there is no row is said."""
    with tempfile.TemporaryDirectory(prefix='fullminute-test-') as folder:
        words = 'a text of another program, no database\n' * 40
        path = folder + '/l.sqlite'
        with open(path, 'w', encoding='utf-8') as f:
            f.write(words)
        s, _ = at_entry(program, source, '--logbook', path)
        status, _ = enter(s, 21)
        check(status == 200, 'a logbook is not needed for an entry')
        s.go(60)
        until(lambda: s.get('/api/live/reveal').status == 200, 'it is counted')
        shown = json.loads(s.get('/api/live/reveal').body)
        check(shown['row'] == 0 and shown['note'].startswith('not stored in the logbook: ')
              and 'another program' in shown['note'], f'no row, and why: {shown["note"]}')
        s.post('/api/live/stop')
        s.interrupt()
        check(s.ended() == 130, 'it ends as it should')
        with open(path, encoding='utf-8') as f:
            check(f.read() == words, 'and the file is as it was')
        s.clear()
    ran.append('the_logbook_is_another_s')


def main():
    program, source = sys.argv[1:3]
    no_entry_wanted(program, source)
    # Side by side: at its own speed each takes a minute of 15 s.
    threads = [threading.Thread(target=t, args=(program, source))
               for t in (full_disk, never_entered, entered_twice, the_logbook_is_another_s)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    check(sorted(ran) == ['entered_twice', 'full_disk', 'never_entered', 'the_logbook_is_another_s'], f'all ran to their end: {ran}')
    finish()


main()
