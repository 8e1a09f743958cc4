#!/usr/bin/env python3
"""The logbook under hard use. Takes minutes, so it is no part of ctest.

usage: trials.py FULLMINUTE kills [N]    N (200) SIGKILLs while rows are written
       trials.py FULLMINUTE crowd        eight programs writing at once
       trials.py FULLMINUTE full         on a full disk (a small tmpfs; needs root)
       trials.py FULLMINUTE checks [N]   N (60) checks on disks that have ever so little room (the same)
       trials.py FULLMINUTE speed        10 000 rows: every view, and the size

Checked: no row that was said to be stored is lost, the file opens, SQLite's own integrity
check holds, and a sentence says what is wrong.
"""
import contextlib
import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time

VIEW_S = 0.100
YEAR_BYTES = 20e6


def run(program, *words, **more):
    return subprocess.run([program, *words], capture_output=True, text=True, check=False, **more)


def stored(text):
    """Row numbers that were said to be stored."""
    return [int(w.rstrip('.')) for line in text.splitlines()
            if line.startswith('In the logbook as row') for w in [line.split()[-1]]]


def rows_of(book):
    with contextlib.closing(sqlite3.connect(book)) as db:
        assert db.execute('PRAGMA integrity_check').fetchone()[0] == 'ok'
        assert db.execute('PRAGMA foreign_key_check').fetchall() == []
        return {n for n, in db.execute('SELECT number FROM session')}


def kills(program, folder, n=200):
    book = f'{folder}/l.sqlite'
    run(program, 'logbook', 'new', '--logbook', book)
    said = f'{folder}/said'
    many = f'{folder}/many.csv'
    with open(many, 'w', encoding='utf-8') as f:
        f.write('learner,beats,seconds\n' + 'K,72,60\n' * 300)
    loop = ('while :; do "$0" logbook enter beats=70 --learner K --logbook "$1" >>"$2"; '
            '"$0" logbook import "$3" --logbook "$1" >>"$2.many"; done')
    random.seed(1)
    lost = imported = 0
    for _ in range(n):
        p = subprocess.Popen(['bash', '-c', loop, program, book, said, many],
                             start_new_session=True, stderr=subprocess.DEVNULL)
        time.sleep(random.uniform(0.02, 0.25))
        os.killpg(p.pid, signal.SIGKILL)
        p.wait()
        there = rows_of(book)
        text = open(said, encoding='utf-8').read()
        lost += len([r for r in stored(text[:text.rfind('\n') + 1]) if r not in there])
    if os.path.exists(said + '.many'):
        imported = open(said + '.many', encoding='utf-8').read().count('300 rows')
    there = rows_of(book)
    singles = stored(open(said, encoding='utf-8').read())
    with contextlib.closing(sqlite3.connect(book)) as db:
        csv_rows = db.execute('SELECT count(*) FROM session WHERE beats = 72').fetchone()[0]
    print(f'{n} kills: {len(there)} rows, {len(singles)} single ones said to be stored, {lost} lost; '
          f'{imported} files said to be taken, rows of {csv_rows / 300:g} are there')
    assert lost == 0 and csv_rows % 300 == 0 and csv_rows // 300 >= imported
    assert len(singles) > n / 4
    listed = run(program, 'logbook', 'list', '--logbook', book)
    assert listed.returncode == 0 and 'damaged' not in listed.stderr


def crowd(program, folder):
    book = f'{folder}/l.sqlite'
    run(program, 'logbook', 'new', '--logbook', book)
    loop = ('for i in $(seq 50); do "$0" logbook enter beats=70 --learner "$2" --logbook "$1" '
            '|| exit 1; done')
    all_of = [subprocess.Popen(['bash', '-c', loop, program, book, f'P{i}'], text=True,
                               stdout=subprocess.PIPE) for i in range(8)]
    said = [r for p in all_of for r in stored(p.communicate()[0])]
    assert all(p.returncode == 0 for p in all_of)
    assert sorted(said) == sorted(rows_of(book)) and len(said) == 400
    print(f'8 programs at once: {len(said)} rows said to be stored, all there')


def full(program, folder):
    small = f'{folder}/small'
    os.mkdir(small)
    subprocess.run(['mount', '-t', 'tmpfs', '-o', 'size=600k', 'none', small], check=True)
    try:
        book = f'{small}/l.sqlite'
        assert run(program, 'logbook', 'new', '--logbook', book).returncode == 0
        many = f'{folder}/many.csv'
        with open(many, 'w', encoding='utf-8') as f:
            f.write('learner,beats,seconds,context\n' + f'K,72,60,{"x" * 30}\n' * 500)
        took = 0
        for _ in range(50):
            r = run(program, 'logbook', 'import', many, '--logbook', book)
            if r.returncode != 0:
                break
            took += 500
        assert r.returncode == 1 and 'disk is full' in r.stderr, r.stderr
        there = rows_of(book)
        assert len(there) == took and took > 0, (len(there), took)
        print(f'full disk: {took} rows stored and still there; said: {r.stderr.strip()}')
    finally:
        subprocess.run(['umount', small], check=False)


def checks(program, folder, n=60):
    sound = os.path.join(os.path.dirname(os.path.abspath(__file__)), '..', '..', 'recordings',
                         'steady-072.flac')
    small = f'{folder}/small'
    os.mkdir(small)
    outcomes = {}
    for i in range(n):
        subprocess.run(['mount', '-t', 'tmpfs', '-o', 'size=400k', 'none', small], check=True)
        try:
            book = f'{small}/l.sqlite'
            assert run(program, 'logbook', 'enter', 'beats=70', '--learner', 'K', '--logbook',
                       book).returncode == 0
            room = os.statvfs(small)
            left = 4096 * (i % 30)
            with open(f'{small}/fill', 'wb') as f:
                f.write(bytes(max(0, room.f_bavail * room.f_frsize - left)))
            r = run(program, 'check', sound, '--manual', '71', '--learner', 'K', '--logbook', book)
            os.unlink(f'{small}/fill')
            there = rows_of(book)
            said = stored(r.stderr)
            assert set(said) <= there, (left, said, there, r.stderr)
            assert (r.returncode == 0) == bool(r.stdout), (left, r)
            assert not r.stdout or len(there) == 2, (left, r)
            assert r.returncode == 0 or 'stays sealed' in r.stderr, r
            what = 'shown' if r.stdout else 'row, sealed' if len(there) == 2 else 'no row, sealed'
            outcomes[what] = outcomes.get(what, 0) + 1
        finally:
            subprocess.run(['umount', small], check=True)
    print(f'{n} full disks: {outcomes}; never in the logbook without its row')


def speed(program, folder):
    book = f'{folder}/l.sqlite'
    rows = f'{folder}/rows.csv'
    random.seed(3)
    with open(rows, 'w', encoding='utf-8') as f:
        f.write('learner,entered_utc,offset_min,site,beats,seconds,rhythm,posture,context,breaths,'
                'breath_seconds,recording,counted_utc,engine,device_status,device_beats,'
                'device_per_min,device_rhythm,quality,judged_against,reference_per_min,'
                'difference_per_min,verdict\n')
        for i in range(10000):
            rate = random.randint(50, 120)
            off = random.randint(-6, 6)
            utc = time.strftime('%Y-%m-%dT%H:%M:%SZ', time.gmtime(1767600000 + 1800 * i))
            f.write(f'L{i % 5},{utc},60,apical,{rate + off},60,regular,sitting,at rest,16,60,'
                    f'/home/learner/recordings/sitting-{i:05d}.wav,{utc},0.1.0,counted,{rate},'
                    f'{rate},regular,0.97,device,{rate},{off},agrees\n')
    run(program, 'logbook', 'import', rows, '--logbook', book)
    slow = []
    views = [['logbook', 'list', '--last', '50'], ['logbook', 'list'], ['logbook', 'progress'],
             ['logbook', 'progress', '--learner', 'L1'], ['logbook', 'show', '9000'],
             ['logbook', 'chart', '--last', '20'], ['report', '--learner', 'L1', '--out', '-'],
             ['report', '--out', '-']]
    for view in views:
        times = []
        for _ in range(5):
            begun = time.monotonic()
            r = run(program, *view, '--logbook', book)
            times.append(time.monotonic() - begun)
            assert r.returncode == 0, r.stderr
        middle = sorted(times)[2]
        print(f'{1000 * middle:6.0f} ms  {" ".join(view)}')
        slow += [view] if middle > VIEW_S else []
    size = os.path.getsize(book)
    print(f'{size / 1e6:.1f} MB for 10 000 rows')
    assert size < YEAR_BYTES
    assert not slow, slow


def main():
    program, trial, *rest = sys.argv[1:]
    with tempfile.TemporaryDirectory() as folder:
        os.environ.update(HOME=folder, XDG_DATA_HOME='', XDG_CONFIG_HOME='')
        {'kills': kills, 'crowd': crowd, 'full': full, 'checks': checks, 'speed': speed}[trial](
            os.path.abspath(program), folder, *map(int, rest))


if __name__ == '__main__':
    main()
