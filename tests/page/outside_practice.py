#!/usr/bin/env python3
"""Two tabs practise at once: each entry lands in its own row, and in no other.

usage: outside_practice.py PROGRAM SOURCE_DIR

A begins (learner AA, 15 s), then B (learner BB, 60 s, with respirations); then A enters, then B. What
an entry without a practice, a second one, one that cannot be a count and one that fails do is here too.
"""
import json
import os
import shutil
import sys
import tempfile

from served import Served, check, finish


def begin(s, **plan):
    return json.loads(s.post('/api/practice/begin', plan).body)


def enter(s, begun, count, **more):
    answer = s.post('/api/practice/enter', {'practice': begun.get('practice'), 'entered': count, **more})
    return answer.status, json.loads(answer.body)


def sound(s, begun):
    return s.get(f"/api/practice/sound?practice={begun.get('practice')}")


def rows(s):
    """{learner: row} of the logbook, and how many rows there are."""
    listed = json.loads(s.get('/api/logbook').body)['rows']
    return {r['learner']: r for r in listed}, len(listed)


def two_tabs(s):
    a = begin(s, learner='AA', number=1, seconds=15, breath=False)
    heard = sound(s, a).body
    b = begin(s, learner='BB', number=2, seconds=60, breath=True)
    check(a.get('practice') and a['practice'] != b.get('practice'), 'each has an identity of its own')
    check(sound(s, a).body == heard, 'A still hears its own recording')
    check(sound(s, b).body != heard, 'B another one')
    status, answer = enter(s, a, 18, rhythm='regular')
    check(status == 200, f'A enters: {status} {answer.get("error")}')
    check(answer.get('check', {}).get('manual', {}).get('seconds') == 15, "over A's 15 seconds")
    name_a = answer.get('name')
    check(enter(s, b, 70, kind='pulse')[1] == {'next': 'breath'}, 'B enters the pulse')
    check(enter(s, b, 70, kind='pulse')[0] == 409, 'and sent once more it is not taken for respirations')
    status, answer = enter(s, b, 14, method='listened')
    check(status == 200 and answer.get('name') != name_a, 'and the respirations, of another recording')
    by_learner, n = rows(s)
    check(n == 2 and sorted(by_learner) == ['AA', 'BB'], f'one row each: {sorted(by_learner)}, {n}')
    check(by_learner.get('AA', {}).get('own') == 72.0, "AA's row holds AA's count, four times 18")
    check(by_learner.get('BB', {}).get('own') == 70.0, "BB's holds BB's")
    check(enter(s, a, 18)[0] == 409, 'no second entry for the same minute')


def asked_back(s):
    """By the entry alone: word for word the same whatever is heard, and nothing is stored by it."""
    before = rows(s)[1]
    said = set()
    for number in (1, 2, 3):
        a = begin(s, learner='EE', number=number, seconds=60, breath=False)
        answer = s.post('/api/practice/enter', {'practice': a['practice'], 'entered': 7})
        check(answer.status == 409 and json.loads(answer.body).get('ask') == 'improbable', f'7 is asked back: {answer.status}')
        said.add(answer.body)
        check(enter(s, a, 7)[0] == 409, 'as often as it comes unconfirmed')
    check(len(said) == 1, f'alike for every recording: {said}')
    check(rows(s)[1] == before, 'nothing of it is in the logbook')
    check(enter(s, a, 7, rhythm='sideways', confirmed=True)[0] == 400, 'a word that is none is refused')
    check(enter(s, a, 7, running=[9, 3, None], confirmed=True)[0] == 400, 'and counts that go down')
    status, answer = enter(s, a, 7, confirmed=True, rhythm='regular', running=[2, None, 6])
    check(status == 200, f'confirmed, it is taken: {status}')
    manual = answer.get('check', {}).get('manual', {})
    check(manual.get('entered') == 7 and manual.get('rhythm') == 'regular' and manual.get('running') == [2, None, 6],
          f'with what was said beside it: {manual}')
    a = begin(s, learner='FF', number=1, seconds=60, breath=True)
    status, answer = enter(s, a, None, kind='pulse', could_not=True)
    check((status, answer) == (200, {'next': 'breath'}), f'could not count is an answer: {status} {answer}')
    status, answer = enter(s, a, None, kind='breath', could_not=True, breath_rhythm='with pauses', breath_depth='shallow')
    check(status == 200, f'of respirations too: {status}')
    manual = answer['check']['manual']
    check(manual['entered'] is None and answer['check']['could_not'], f'and never 0: {manual}')
    breaths = answer['check']['breath_check']['manual']
    check(breaths['could_not'] and breaths['rhythm'] == 'with pauses' and breaths['depth'] == 'shallow', f'{breaths}')
    check(rows(s)[1] == before + 2, 'each is a row')


def wrong_ones(s):
    a = begin(s, learner='CC', number=1, seconds=15, breath=False)
    for begun, what in (({}, 'none'), ({'practice': ''}, 'an empty one'), ({'practice': '0' * 32}, 'a wrong one')):
        status, answer = enter(s, begun, 18)
        check(status == 409 and 'Not stored' in answer['error'], f'an entry with {what} is refused: {status}')
        check(sound(s, begun).status == 409, 'and hears nothing')
    for count in (0, -1, 17.5, 100000, None, 'x'):
        check(enter(s, a, count)[0] == 400, f'{count} is no count')
    check(rows(s)[1] == 2, 'nothing of it is in the logbook')
    check(enter(s, a, 18)[0] == 200, 'and it can still be entered')
    asked_back(s)
    old = [begin(s, number=1, seconds=15) for _ in range(20)]
    check(enter(s, old[0], 18)[0] == 409, 'what was begun long ago is gone, and says so')
    check(enter(s, old[-1], 18)[0] == 200, 'the last is there')


def failing(s, folder):
    """The recording goes before it is counted: told, and entered again once it is back."""
    a = begin(s, learner='DD', number=1, seconds=15, breath=False)
    for name in os.listdir(folder):
        os.rename(os.path.join(folder, name), os.path.join(folder, name + '.away'))
    before = rows(s)[1]
    status, answer = enter(s, a, 18)
    check(status >= 400 and answer.get('error'), f'told: {status} {answer.get("error")}')
    after = rows(s)[1]
    said = answer['error']
    check(('Not stored' in said) == (after == before), f'{after - before} rows came of it, as it says')
    for name in os.listdir(folder):
        os.rename(os.path.join(folder, name), os.path.join(folder, name.removesuffix('.away')))
    again = enter(s, a, 18)[0]
    check(again == (200 if after == before else 409), f'entered again where it was not stored: {again}')
    check(rows(s)[1] == before + 1, 'one row of it in the end')


def alike(s, source):
    """A practice on a recording of a kind: chosen by what is known of it, and told only at the end."""
    for like, is_so in (('slow', lambda t: sum(b < 60 for b in t['s1_s']) < 60), ('irregular', lambda t: 'irregular' in t['pattern'])):
        names = set()
        number = 0
        for _ in range(3):
            a = begin(s, number=number, like=like, seconds=15, breath=False)
            number = a.get('number', 0)
            check(sorted(a) == ['number', 'practice', 'seconds'], f'{like}: nothing else is told before the entry')
            status, answer = enter(s, a, 18)
            name = answer.get('name', '')
            with open(f'{source}/recordings/{name.removesuffix(".flac")}.truth.json', encoding='utf-8') as f:
                check(status == 200 and is_so(json.load(f)), f'{name} is {like}')
            names.add(name)
        check(len(names) > 1 or like == 'slow', f'another one each time: {sorted(names)}')
    check(begin(s, number=3, like='unknown', seconds=15).get('number') == 3, 'where there is none of a kind it is the one that was asked for')


def main():
    program, source = sys.argv[1:3]
    s = Served(program, ['--recordings', source + '/recordings'])
    two_tabs(s)
    wrong_ones(s)
    alike(s, source)
    s.clear()
    folder = tempfile.mkdtemp(prefix='fullminute-test-')
    shutil.copy(source + '/recordings/steady-072.flac', folder)
    few = Served(program, ['--recordings', folder])
    failing(few, folder)
    few.clear()
    shutil.rmtree(folder)
    finish()


main()
