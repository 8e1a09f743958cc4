#!/usr/bin/env bash
# A folder of 200 hostile files: cut, with bytes changed, of wrong kinds, unreadable, empty,
# vanishing and growing while they are read, pipes, sockets, devices' links, loops of links.
# Every one has its row, the run ends with 0, and the same again with the ledger.
# usage: hostile.sh PROGRAM SOURCE_DIR [SEED]
# shellcheck source=tests/batch/support.sh
. "$(dirname "$0")/support.sh"
chmod_back() { chmod -R u+rwx "$work" 2>/dev/null; rm -rf "$work"; }
trap chmod_back EXIT
seed=${3:-1}
make_sounds 4
python3 - "$seed" "$source_dir/recordings" <<'PY' || fail 'the hostile files'
import os, random, shutil, socket, sys
random.seed(int(sys.argv[1]))
sound = [open("sounds/1.wav", "rb").read(), open(sys.argv[2] + "/murmur.flac", "rb").read()]
os.makedirs("h/deep")
os.chdir("h")
def put(name, data):
    with open(name, "wb") as f:
        f.write(data)
for i in range(50):                                        # 50 cut
    s = sound[i % 2]
    put("cut%02d" % i, s[:random.randrange(len(s) if i % 5 else 100)])
for i in range(70):                                        # 70 with bytes changed
    s = bytearray(sound[i % 2])
    for _ in range(1 + random.randrange(40)):
        at = random.randrange(len(s) if i % 2 else 200)
        s[at] = random.randrange(256)
    put("fuzz%02d.wav" % i, s)
kinds = [b"", b"\0", b"RIFF", b"fLaC", b"OggS", b"ID3\x03", b"%PDF-1.4\n", b"\x89PNG\r\n\x1a\n",
         b"PK\x03\x04", b"{}", b"\x7fELF", b"#!/bin/sh\n", b"\xff\xfb\x90\x64" * 300, b"FORM\0\0\0\4AIFF",
         b"RIFF\xff\xff\xff\xffWAVEfmt \x10\0\0\0\1\0\1\0\0\0\0\0\0\0\0\0\0\0\0\0data\xff\xff\xff\xff",
         bytes(range(256)) * 40, b"caff\0\1\0\0", b".snd" + b"\xff" * 40, b"\0" * 100000, b"\n" * 5000]
for i in range(44):                                        # 44 of wrong kinds
    put("kind%02d.flac" % i, kinds[i % len(kinds)] + os.urandom(0 if i < 20 else 2000))
for i in range(6):                                         # 6 of hard names
    shutil.copy("../sounds/2.wav", os.fsencode(["new\nline.wav", "quo\"te,.wav", "tab\t.wav",
        "=1+1.wav", "-n.wav", " .wav"][i]))
shutil.copy("../sounds/2.wav", b"latin\xe9.wav")           # 2 that are no UTF-8, 1 long
shutil.copy("../sounds/2.wav", b"\xff\xfe.wav")
shutil.copy("../sounds/2.wav", "x" * 251 + ".wav")
for i in range(5):                                         # 5 pipes
    os.mkfifo("pipe%d.wav" % i)
for i in range(4):                                         # 4 sockets
    socket.socket(socket.AF_UNIX).bind("socket%d.wav" % i)
os.symlink("loop.wav", "loop.wav")                         # 3 in loops
os.symlink("loop3.wav", "loop2.wav")
os.symlink("loop2.wav", "loop3.wav")
os.symlink("..", "deep/up")                                # 4 links
os.symlink("/dev/zero", "zero.wav")
os.symlink("/nowhere", "nowhere.wav")
os.symlink("../sounds/3.wav", "good.wav")
for i in range(3):                                         # 3 unreadable
    shutil.copy("../sounds/2.wav", "secret%d.wav" % i)
    os.chmod("secret%d.wav" % i, 0)
for i in range(8):                                         # 8 that vanish or grow
    shutil.copy("../sounds/2.wav", "deep/restless%d.wav" % i)
PY
n=$(find h ! -type d -printf x | wc -c)
echo "$n hostile files"
[ "$n" -eq 200 ] || fail "$n files, not 200"

# In the background files come, go and grow; each of the eight is there when listed.
(
    sleep 0.1
    end=$((SECONDS + 20))
    while [ ! -e stop ] && ((SECONDS < end)); do
        for i in 0 1 2 3; do
            rm -f h/deep/restless$i.wav
            cp sounds/2.wav h/deep/restless$i.wav
        done
        for i in 4 5 6 7; do
            echo x >>h/deep/restless$i.wav
        done
    done
) &
restless=$!
run=("$program" batch h --jobs 4 --time-limit 20 --documents doc --pictures pic --marks mark)
# Root may read everything: without it where that can be had.
if [ "$(id -u)" -eq 0 ] && command -v setpriv >/dev/null; then
    chown -R 65534:65534 "$work"
    run=(setpriv --reuid=65534 --regid=65534 --clear-groups "${run[@]}")
fi
SECONDS=0
"${run[@]}" --out rows.csv 2>err </dev/null
status=$?
: >stop
wait $restless
echo "$SECONDS s; $(grep " rows in " err)"
[ $status -eq 0 ] || fail "exit $status: $(tail -n 1 err)"

cat >check.py <<'PY'
import csv, os, sys
found = []
for folder, folders, files in os.walk(b"h"):
    found += [os.path.join(folder, f) for f in files]
    found += [os.path.join(folder, f) for f in folders if os.path.islink(os.path.join(folder, f))]
def name(b):
    try:
        return b.decode()
    except UnicodeDecodeError:
        return "".join("%%%02X" % c if c >= 0x80 or c == 0x25 else chr(c) for c in b)
rows = list(csv.DictReader(open(sys.argv[1], newline="", encoding="utf-8")))
names = [r["file"] for r in rows]
steady = lambda l: sorted(x for x in l if "restless" not in x)
assert steady(names) == steady(map(name, found)), set(map(name, found)) ^ set(names)
assert names == sorted(names, key=lambda x: x.encode())
codes = {}
for r in rows:
    assert r["status"] in ("counted", "caution", "refused", "error"), r
    assert r["status"] == "counted" or r["reason"], r
    codes[r["status"] + " " + r["reason_code"]] = codes.get(r["status"] + " " + r["reason_code"], 0) + 1
by = {r["file"]: r for r in rows}
for i in range(5):
    assert by["h/pipe%d.wav" % i]["reason_code"] == "not_a_file"
for i in range(4):
    assert by["h/socket%d.wav" % i]["reason_code"] == "not_a_file"
for f in ("h/loop.wav", "h/loop2.wav", "h/nowhere.wav"):
    assert by[f]["reason_code"] == "unreadable", by[f]
assert by["h/deep/up"]["reason_code"] == "not_a_file" and by["h/zero.wav"]["reason_code"] == "not_a_file"
for f in ("h/good.wav", "h/new\nline.wav", "h/latin%E9.wav", "h/=1+1.wav"):
    assert by[f]["status"] == "counted", by[f]
print(", ".join("%s: %d" % c for c in sorted(codes.items())))
PY
python3 check.py rows.csv || fail 'rows'
[ "$(id -u)" -ne 0 ] || [ "${run[0]}" != setpriv ] ||
    [ "$(grep -c '^h/secret[0-2].wav,error,unreadable,' rows.csv)" -eq 3 ] || fail 'unreadable files'
! find doc pic mark -name '*.part' | grep . || fail 'temporary files are left'

# Once everything is at rest: twice the same bytes, once with and once without the ledger.
rm -f h/deep/restless*
"${run[@]}" --out rest.csv 2>err </dev/null || fail "at rest: $(tail -n 1 err)"
cp rest.csv first.csv
"${run[@]}" --out rest.csv --force 2>err </dev/null || fail "again: $(tail -n 1 err)"
cmp rest.csv first.csv || fail 'the same files give other rows'
"${run[@]}" --out strict.csv --strict 2>err </dev/null
[ $? -eq 3 ] || fail '--strict does not exit 3'
[ "$failures" -eq 0 ] && echo "hostile: every one of $n files has its row"
exit $((failures > 0))
