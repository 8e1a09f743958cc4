#!/usr/bin/env python3
"""Every command with its Nth write, sync, rename, read, allocation or fork failing, for every N.

usage: nth.py NTH_CALL.so FULLMINUTE SOURCE_DIR [--quick MOST] [--only COMMAND[/KIND]] [--n N] [--jobs J]

Of each run:
  - no crash of ours and no hang; a crash inside a library is listed by its name;
  - the exit status of success is given only where all that was to be stored and said is there, byte
    for byte as without a failure (moments aside);
  - else a sentence is on standard error, and each file that the command makes is absent, or whole, or
    as it was before;
  - the same command once more, with nothing failing, does what it should.

Without --quick every N up to the last call: an hour. With it, so many of each command and kind at
most: the first, the last, and a spread between. --n runs one and shows it.

A batch is a success although a file could not be read: its row says so, and the next run does it
again. What a learner entered stays in the logbook although the second count failed after it.
"""
import argparse
import concurrent.futures
import hashlib
import http.client
import json
import os
import re
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import threading

KINDS = ('write', 'fsync', 'rename', 'read', 'memory', 'fork')
PAGE = struct.Struct('QQ128s128s')
HANG_S = 120
UNREADABLE = 3
PAGE_MOST = 1500  # of its 35 000 allocations
UTC = re.compile(r'\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?Z?')


class Failing:
    """One run with a failure: what the preloaded library is told, and what it says."""

    def __init__(self, library, kind, n, folder):
        self.library, self.kind, self.n = library, kind, n
        self.path = folder + '.page'
        with open(self.path, 'wb') as f:
            f.write(bytes(PAGE.size))

    def environment(self):
        return {'LD_PRELOAD': self.library, 'NTH_PAGE': self.path, 'NTH_KIND': self.kind, 'NTH_N': str(self.n)}

    def read(self):
        with open(self.path, 'rb') as f:
            calls, failed, who, crash = PAGE.unpack(f.read())
        return calls, failed, who.split(b'\0')[0].decode(), crash.split(b'\0')[0].decode()

    def close(self):
        os.unlink(self.path)


def plain(text):
    """Without moments, which differ from run to run."""
    return UTC.sub('WHEN', text)


class Command:
    """A command in a folder of its own, and what it makes there."""

    def __init__(self, name, arguments, outputs=(), force=None, prepare=None, folders=(), rows=False, compare=plain, done=0):
        self.name, self.arguments, self.outputs, self.folders = name, arguments, outputs, folders
        self.force, self.prepare, self.rows, self.compare, self.done = force, prepare, rows, compare, done
        self.template, self.lock = None, threading.Lock()

    def call(self, program, folder, failing=None, again=False):
        environment = {'HOME': folder, 'LC_ALL': 'C', 'PATH': '/nonexistent', 'TMPDIR': folder}
        if failing:
            environment.update(failing.environment())
        more = [self.force] if again and self.force else []
        run = subprocess.run([program, *self.arguments, *more], cwd=folder, env=environment, stdin=subprocess.DEVNULL,
                             capture_output=True, timeout=HANG_S, check=False)
        return run.returncode, run.stdout.decode(errors='replace'), run.stderr.decode(errors='replace')

    def made(self, program, folder):
        """What is there now, by name: digests of files, and the logbook's rows."""
        found = {}
        names = [n for n in self.outputs if os.path.exists(os.path.join(folder, n))]
        for top in self.folders:
            for at, _, files in os.walk(os.path.join(folder, top)):
                names += [os.path.relpath(os.path.join(at, f), folder) for f in files]
        for name in names:
            with open(os.path.join(folder, name), 'rb') as f:
                data = f.read()
            if name.endswith('.sealed'):  # other bytes each time: what it opens to
                data = self.opened(program, folder, name)
            if name.endswith('.part'):
                continue  # what a killed worker left; the next run writes over it
            text = plain(data.decode('latin1')) if not name.endswith(('.wav', '.flac')) else data.decode('latin1')
            found[name] = hashlib.sha256(text.encode()).hexdigest()
        if self.rows:
            found['rows'] = self.logbook(program, folder)
        return found

    @staticmethod
    def opened(program, folder, name):
        run = subprocess.run([program, 'worksheet', 'open', name, '--phrase-file', 'phrase', '--json'], cwd=folder,
                             env={'HOME': folder, 'LC_ALL': 'C'}, capture_output=True, check=False)
        return run.stdout + run.stderr

    def logbook(self, program, folder):
        run = subprocess.run([program, 'logbook', 'list', '--json', '--logbook', 'l.sqlite'], cwd=folder,
                             env={'HOME': folder, 'LC_ALL': 'C'}, capture_output=True, check=False)
        if run.returncode != 0:
            return run.stderr.decode()
        rows = json.loads(run.stdout.replace(os.fsencode(folder), b'HERE'))['sessions']
        return [{k: v for k, v in r.items() if not k.endswith('_utc') and k not in ('offset_min',)} for r in rows]


class Page(Command):
    """The page's server: a practice from its begin to its row, a report, a minute by bars; then Ctrl-C.

    What it makes are rows, and what it says are the statuses of its answers: 'enter 200' is the success
    that is held to the logbook; any other answer may be an error, or none where a connection was lost."""

    def __init__(self, name, prepare):
        super().__init__(name, ['page', '--no-open', '--recordings', 'rec', '--logbook', 'l.sqlite'], prepare=prepare, rows=True)

    def call(self, program, folder, failing=None, again=False):
        environment = {'HOME': folder, 'LC_ALL': 'C', 'PATH': '/nonexistent', 'TMPDIR': folder}
        if failing:
            environment.update(failing.environment())
        with open(folder + '.err', 'w+b') as errors, subprocess.Popen(
                [program, *self.arguments], cwd=folder, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                stderr=errors) as run:
            late = threading.Timer(HANG_S, run.kill)
            late.start()
            line = run.stdout.readline().decode()
            found = re.match(r'http://([\d.]+):(\d+)/open\?token=(\w+)', line)
            said = self.ask(*found.groups()) if found else 'no address'
            ended = run.poll() is not None
            run.send_signal(signal.SIGINT)
            status = run.wait()
            hangs = not late.is_alive()
            late.cancel()
            errors.seek(0)
            words = errors.read().decode(errors='replace')
        if hangs:
            raise subprocess.TimeoutExpired(self.arguments, HANG_S)
        if found and ended:
            words += 'ENDED BY ITSELF'
        return status, said, words

    @staticmethod
    def ask(host, port, token):
        said = []
        state = {}

        def one(name, method, path, body=None):
            c = http.client.HTTPConnection(host, int(port), timeout=HANG_S)
            try:
                headers = {'Cookie': state.get('cookie', ''), 'Origin': f'http://{host}:{port}', 'Content-Type': 'application/json'}
                c.request(method, path, json.dumps(body) if body is not None else None, headers)
                answer = c.getresponse()
                data = answer.read()
                if answer.getheader('Set-Cookie'):
                    state['cookie'] = answer.getheader('Set-Cookie').split(';')[0]
                said.append(f'{name} {answer.status}')
                return data
            except (OSError, http.client.HTTPException) as e:
                said.append(f'{name} {type(e).__name__}')
                return b''
            finally:
                c.close()

        one('open', 'GET', f'/open?token={token}')
        one('page', 'GET', '/')
        one('recordings', 'GET', '/api/recordings')
        begun = one('begin', 'POST', '/api/practice/begin', {'number': 1, 'seconds': 15, 'learner': 'AB'})
        try:
            practice = json.loads(begun)['practice']
        except (ValueError, KeyError):
            practice = ''
        one('sound', 'GET', f'/api/practice/sound?practice={practice}')
        one('enter', 'POST', '/api/practice/enter', {'practice': practice, 'kind': 'pulse', 'entered': 18, 'taps_s': []})
        one('logbook', 'GET', '/api/logbook')
        one('report', 'GET', '/report/row/1')
        one('compose', 'POST', '/api/compose', {'intervals_s': [0.8] * 10, 'seconds': 8})
        return ' '.join(said)


# ---- What is run ----

def short_recording(bench, folder, name='it.wav', seconds='12', bpm='72'):
    bench.clean(['compose', name, '--seconds', seconds, '--bpm', bpm, '--force'], folder)


def with_recording(bench, folder):
    short_recording(bench, folder)


def with_flac(bench, folder):
    short_recording(bench, folder, 'it.flac')


def with_two(bench, folder):
    os.mkdir(folder + '/rec')
    short_recording(bench, folder, 'rec/a.wav')
    short_recording(bench, folder, 'rec/b.wav', bpm='90')


def with_logbook(bench, folder):
    short_recording(bench, folder)
    bench.clean(['check', 'it.wav', '--manual', '18', '--seconds', '15', '--learner', 'AB', '--logbook', 'l.sqlite'],
                folder, {0, 2, 4})
    bench.clean(['logbook', 'enter', 'beats=72', 'seconds=60', '--learner', 'AB', '--logbook', 'l.sqlite'], folder)


def with_row(bench, folder):
    short_recording(bench, folder, seconds='20')
    bench.clean(['check', 'it.wav', '--manual', '18', '--seconds', '15', '--learner', 'AB', '--logbook', 'l.sqlite'], folder)


def with_export(bench, folder):
    with_logbook(bench, folder)
    bench.clean(['logbook', 'export', '--logbook', 'l.sqlite', '--out', 'in.csv'], folder)
    for name in os.listdir(folder):
        if name.startswith('l.sqlite'):
            os.unlink(os.path.join(folder, name))
    bench.clean(['logbook', 'new', '--logbook', 'l.sqlite'], folder)


def with_lesson(bench, folder):
    os.mkdir(folder + '/rec')
    for i, bpm in enumerate(('60', '72', '84')):
        short_recording(bench, folder, f'rec/{i}.wav', '62', bpm)
    with open(folder + '/phrase', 'w', encoding='utf-8') as f:
        f.write('four quiet words here\n')


def with_sheet(bench, folder):
    with_lesson(bench, folder)
    bench.clean(['worksheet', 'make', 'rec', 'sheet', '--items', '2', '--phrase-file', 'phrase'], folder)
    with open(folder + '/answers.csv', 'w', encoding='utf-8') as f:
        f.write('student,item,manual_beats,seconds\n')
        for i, name in enumerate(n for n in sorted(os.listdir(folder + '/sheet')) if n.endswith('.wav')):
            f.write(f'{"AB"[i]},{name[:-4]},7{i},60\n')


def with_one_minute(bench, folder):
    os.mkdir(folder + '/rec')
    short_recording(bench, folder, 'rec/a.wav', '62')


def key_of(bench, folder):
    return next(n for n in sorted(os.listdir(os.path.join(folder, 'sheet'))) if 'key' in n)


COMMANDS = [
    Command('count', ['count', 'it.wav', '--json', '--picture', 'it.svg'], ['it.svg'], '--force', with_recording),
    Command('count-flac', ['count', 'it.flac', '--json'], prepare=with_flac),
    Command('compose', ['compose', 'out.wav', '--seconds', '8'], ['out.wav', 'out.truth.json'], '--force'),
    Command('check', ['check', 'it.wav', '--manual', '18', '--seconds', '15', '--learner', 'AB', '--logbook', 'l.sqlite',
                      '--json'], prepare=with_row, rows=True),
    Command('logbook-enter', ['logbook', 'enter', 'beats=70', 'seconds=60', '--learner', 'AB', '--logbook', 'l.sqlite'],
            prepare=with_logbook, rows=True),
    Command('logbook-export', ['logbook', 'export', '--logbook', 'l.sqlite', '--out', 'rows.csv'], ['rows.csv'], '--force',
            with_logbook),
    Command('logbook-import', ['logbook', 'import', 'in.csv', '--logbook', 'l.sqlite'], prepare=with_export, rows=True),
    Command('logbook-goal', ['logbook', 'goal', '--in-a-row', '3', '--within', '4', '--learner', 'AB', '--logbook', 'l.sqlite'],
            prepare=with_logbook, rows=True),
    Command('logbook-forget', ['logbook', 'forget', '--learner', 'AB', '--yes', '--logbook', 'l.sqlite'],
            prepare=with_logbook, rows=True),
    Command('batch', ['batch', 'rec', '--out', 'rows.csv', '--jobs', '1', '--marks', 'marks', '--documents', 'docs'],
            ['rows.csv', 'rows.csv.batch.json'], '--force', with_two, ('marks', 'docs')),
    Command('worksheet-make', ['worksheet', 'make', 'rec', 'sheet', '--items', '2', '--phrase-file', 'phrase'],
            prepare=with_lesson, folders=('sheet',)),
    Command('worksheet-score', ['worksheet', 'score', 'sheet/KEY', 'answers.csv', '--phrase-file', 'phrase'],
            prepare=with_sheet),
    Command('report', ['report', '--row', '1', '--logbook', 'l.sqlite', '--out', 'r.html'], ['r.html'], '--force', with_row),
    Page('page', with_one_minute),
]


class Bench:
    def __init__(self, library, program, source, jobs):
        self.library, self.program, self.source = (os.path.abspath(p) for p in (library, program, source))
        self.work = tempfile.mkdtemp(prefix='fullminute-nth-')
        self.lock = threading.Lock()
        self.n_folders = 0
        self.jobs = jobs
        self.table = {}
        self.wrong = []
        self.inside = {}

    def clean(self, arguments, folder, statuses=frozenset({0})):
        run = subprocess.run([self.program, *arguments], cwd=folder, capture_output=True, check=False,
                             env={'HOME': folder, 'LC_ALL': 'C', 'PATH': '/nonexistent'})
        if run.returncode not in statuses:
            raise RuntimeError(f'{arguments}: {run.returncode} {run.stderr.decode()}')

    def folder(self, template=None):
        with self.lock:
            self.n_folders += 1
            at = f'{self.work}/{self.n_folders}'
        if template:
            shutil.copytree(template, at)
        else:
            os.mkdir(at)
        return at

    def where(self, said):
        """'object offset symbol' with our own functions by their name."""
        parts = said.split(' ')
        if len(parts) == 3 and parts[0] == os.path.basename(self.program):
            found = subprocess.run(['addr2line', '-f', '-e', self.program, '0x' + parts[1]], capture_output=True, text=True,
                                   check=False).stdout.split('\n')[0]
            return f'{parts[0]} {found or parts[2]}'
        return f'{parts[0]} {parts[-1]}'


class Trial:
    """All runs of one command with one kind of call."""

    def __init__(self, bench, command, kind):
        self.bench, self.command, self.kind = bench, command, kind
        self.calls = 0

    def prepare(self):
        b, c = self.bench, self.command
        with c.lock:
            if c.template is None:
                c.template = b.folder()
                if c.prepare:
                    c.prepare(b, c.template)
                c.arguments = ['sheet/' + key_of(b, c.template) if a == 'sheet/KEY' else a for a in c.arguments]
                at = b.folder(c.template)
                c.before = c.made(b.program, at)
                shutil.rmtree(at)
        self.template, self.before = c.template, c.before
        at = b.folder(self.template)
        f = Failing(b.library, self.kind, 0, at)
        self.status, self.out, err = c.call(b.program, at, f)
        self.calls = f.read()[0]
        f.close()
        self.after = c.made(b.program, at)
        shutil.rmtree(at)
        if self.status not in (0, 4, 130):
            raise RuntimeError(f'{c.name} without a failure: {self.status} {err}')

    def complain(self, n, who, what):
        with self.bench.lock:
            self.bench.wrong.append((self.command.name, self.kind, n, who, what))

    def whole_or_absent(self, made):
        for name, digest in made.items():
            if name != 'rows' and digest not in (self.after.get(name), self.before.get(name)):
                return f'{name} is neither whole nor as it was'
        return None

    def rows_well(self, made):
        """None of the old rows is lost or changed, and a new one is whole or sealed."""
        if not self.command.rows or self.command.name == 'logbook-forget':
            return None
        rows, old, new = made['rows'], self.before['rows'], self.after['rows']
        if not isinstance(rows, list):
            return f'the logbook cannot be read: {rows}' if isinstance(old, list) else None
        old = old if isinstance(old, list) else []  # none yet
        if old != rows[:len(old)] or len(rows) > len(new):
            return f'rows are lost or changed: {rows}'
        return None

    def one(self, n, show=False):
        b, c = self.bench, self.command
        at = b.folder(self.template)
        f = Failing(b.library, self.kind, n, at)
        try:
            status, out, err = c.call(b.program, at, f)
        except subprocess.TimeoutExpired:
            status, out, err = None, '', ''
        _, failed, who, crash = f.read()
        f.close()
        who = b.where(who) if who else '?'
        made = c.made(b.program, at)
        if show:
            print(f'{c.name} {self.kind} {n}: status {status}, failed in {who}, crash {crash}\n{out[-500:]}\n{err}')
        self.judge(n, who, crash, status, out, err, made, failed)
        if status is not None:
            self.again(n, who, at, made)
        shutil.rmtree(at, ignore_errors=True)
        return bool(failed)

    def judge_page(self, n, who, status, out, err, made):
        rows = made['rows']
        whole = isinstance(rows, list) and len(rows) == 1 and rows[0].get('engine') is not None
        if 'ENDED BY ITSELF' in err:
            self.complain(n, who, f'it ended by itself: {status} {err[-200:]}')
        elif 'enter 200' in out and rows != self.after['rows']:
            self.complain(n, who, f'stored, it says, and is not as it should be: {difference_of(self.after, made)}')
        elif 'enter 200' not in out and whole and 'enter 500' not in out and 'enter' in out and self.kind not in ('write', 'read'):
            self.complain(n, who, f'{out}: and yet it is stored')
        elif status not in (130, 1):
            self.complain(n, who, f'exit {status}: {err[-200:]}')
        elif status == 1 and 'fullminute page' not in err and self.kind != 'write':
            self.complain(n, who, f'exit 1 without a word: {err[-200:]}')

    def judge(self, n, who, crash, status, out, err, made, failed):
        c = self.command
        if isinstance(c, Page) and status is not None and status >= 0:
            return self.judge_page(n, who, status, out, err, made)
        if status is None:
            self.complain(n, who, 'it hangs')
        elif status < 0:
            where = self.bench.where(crash) if crash else f'signal {-status}'
            if not crash or crash.startswith(os.path.basename(self.bench.program) + ' '):
                self.complain(n, who, f'crash in {where}')
            else:
                with self.bench.lock:
                    key = (c.name, self.kind, where)
                    self.bench.inside[key] = self.bench.inside.get(key, 0) + 1
        elif status == self.status and c.name == 'batch' and made != self.after and re.search(r'[1-9]\d* errors?\.', err):
            return  # the row of the file says so; again() holds that it is then done
        elif status == self.status:
            if c.compare(out) != c.compare(self.out):
                self.complain(n, who, f'success, and other words: {difference(c.compare(self.out), c.compare(out))}')
            if made != self.after:
                self.complain(n, who, f'success, and not all is stored: {difference_of(self.after, made)} {err[-300:]}')
        elif not err.strip() and self.kind != 'write':
            self.complain(n, who, f'exit {status} without a word')
        elif self.kind == 'memory' and status == UNREADABLE and 'memory' not in err:
            self.complain(n, who, f'it blames the file: {err[-300:]}')
        for wrong in (self.whole_or_absent(made), self.rows_well(made)):
            if wrong and not (status == self.status and made == self.after):
                self.complain(n, who, f'exit {status}: {wrong}')

    def again(self, n, who, at, made):
        c = self.command
        status, out, err = c.call(self.bench.program, at, again=True)
        now = c.made(self.bench.program, at)
        if status != self.status:
            if self.may_refuse(status, made):
                return
            self.complain(n, who, f'and then, once more: exit {status} {err[-200:]}')
        elif isinstance(c, Page) and out != self.out:
            self.complain(n, who, f'and then, once more: {out}')
        elif not c.rows and now != self.after:
            self.complain(n, who, f'and then, once more: {difference_of(self.after, now)}')

    def may_refuse(self, status, made):
        """What was made the first time is whole: it is not made over it without being told to."""
        return status == 2 and made == self.after


def difference(a, b):
    for x, y in zip(a.split('\n'), b.split('\n')):
        if x != y:
            i = next((i for i, (p, q) in enumerate(zip(x, y)) if p != q), min(len(x), len(y)))
            return f'...{x[max(0, i - 40):i + 60]!r} is ...{y[max(0, i - 40):i + 60]!r}'
    return f'{len(a)} bytes are {len(b)}'


def difference_of(a, b):
    rows = a.get('rows'), b.get('rows')
    if all(isinstance(r, list) for r in rows) and len(rows[0]) == len(rows[1]) and rows[0] != rows[1]:
        a, b = ({f'row {i} {k}': v for i, row in enumerate(r) for k, v in row.items()} for r in rows)
    return ', '.join(f'{k}: {str(a.get(k))[:60]} is {str(b.get(k))[:160]}' for k in sorted({*a, *b}) if a.get(k) != b.get(k))


def spread(calls, n):
    """At most n of 1..calls: the ends and evenly between; one alone from the later half."""
    if calls <= n:
        return list(range(1, calls + 1))
    return sorted({1 + round(i * (calls - 1) / (n - 1)) for i in range(n)}) if n > 1 else [1 + 2 * (calls - 1) // 3]


def main():
    p = argparse.ArgumentParser()
    p.add_argument('library')
    p.add_argument('program')
    p.add_argument('source')
    p.add_argument('--quick', type=int, default=0, help='at most so many N of each command and kind')
    p.add_argument('--only', default='')
    p.add_argument('--n', type=int, default=0)
    p.add_argument('--jobs', type=int, default=os.cpu_count() or 1)
    o = p.parse_args()
    b = Bench(o.library, o.program, o.source, o.jobs)
    name, _, kind = o.only.partition('/')
    trials = [Trial(b, c, k) for c in COMMANDS for k in KINDS if name in ('', c.name) and kind in ('', k)]
    try:
        with concurrent.futures.ThreadPoolExecutor(o.jobs) as pool:
            list(pool.map(Trial.prepare, trials))
            if o.n:
                trials[0].one(o.n, show=True)
            else:
                # A key costs a quarter of a gigabyte and half a second: of these few.
                # And of the page's every hour-long thousand a spread.
                most = o.quick or PAGE_MOST
                work = [(t, n) for t in trials
                        for n in (spread(t.calls, most) if o.quick or isinstance(t.command, Page) else range(1, t.calls + 1))
                        if o.quick != 1 or not t.command.name.startswith('worksheet') or t.kind == 'write']
                list(pool.map(lambda w: w[0].one(w[1]), work))
        report(b, trials, o)
    finally:
        shutil.rmtree(b.work, ignore_errors=True)
    return len(b.wrong) > 0


def report(b, trials, o):
    print('command           ' + ''.join(f'{k:>9}' for k in KINDS))
    for name in dict.fromkeys(t.command.name for t in trials):
        of = {t.kind: t for t in trials if t.command.name == name}
        print(f'{name:18}' + ''.join(f'{of[k].calls if k in of else "":>9}' for k in KINDS))
    print('calls of each kind; ' + (f'of which at most {o.quick} each were made to fail' if o.quick else
                                   f'each was made to fail, of the page at most {PAGE_MOST} of a kind'))
    for (name, kind, where), n in sorted(b.inside.items()):
        print(f'inside a library: {name} {kind}: {where}, {n} times')
    kinds = {}
    for name, kind, n, who, what in b.wrong:
        kinds.setdefault((name, kind, who, re.sub(r'\d+', '0', what)[:60]), []).append((n, what))
    for (name, kind, who, _), found in sorted(kinds.items()):
        print(f'FAILED: {name} {kind} N={",".join(str(n) for n, _ in found[:8])} ({len(found)}) in {who}: {found[0][1][:600]}')
    print(f'{len(b.wrong)} findings')


if __name__ == '__main__':
    sys.exit(main())
