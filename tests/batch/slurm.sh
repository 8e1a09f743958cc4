#!/usr/bin/env bash
# A real Slurm on this machine runs src/batch/array.sbatch as it stands, 8 shards; one of
# them is cancelled on the way and run again; merged they are what one run writes, byte for
# byte. Needs root and Debian's munge and slurm-wlm; exits 77 (skipped) without.
# usage: slurm.sh PROGRAM SOURCE_DIR [FILES]
# shellcheck source=tests/batch/support.sh
. "$(dirname "$0")/support.sh"
pids=()
finish()
{
    local pid
    for pid in "${pids[@]}"; do
        kill "$pid" 2>/dev/null
    done
    wait
    rm -rf "$work"
}
trap finish EXIT
files=${3:-400}
for need in munged slurmctld slurmd sbatch; do
    [ -x "/usr/sbin/$need" ] || command -v "$need" >/dev/null || {
        echo "skipped: no $need (Debian: apt-get install munge slurm-wlm)"
        exit 77
    }
done
[ "$(id -u)" -eq 0 ] || { echo 'skipped: Slurm is started by root'; exit 77; }
make_sounds 8
make_links d "$files"

# One key, two nodes on this machine, no accounting.
mkdir -p spool/ctld spool/n1 spool/n2 log /run/munge
cat >slurm.conf <<CONF
ClusterName=batch
SlurmctldHost=localhost(127.0.0.1)
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
CredType=cred/munge
SlurmctldPort=16817
StateSaveLocation=$work/spool/ctld
SlurmdSpoolDir=$work/spool/%n
SlurmctldPidFile=$work/ctld.pid
SlurmdPidFile=$work/slurmd-%n.pid
SlurmctldLogFile=$work/log/ctld.log
SlurmdLogFile=$work/log/slurmd-%n.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
SelectType=select/cons_tres
SelectTypeParameters=CR_Core
SchedulerType=sched/backfill
SchedulerParameters=batch_sched_delay=0,sched_interval=1,sched_min_interval=0
MpiDefault=none
SwitchType=switch/none
ReturnToService=2
SlurmdParameters=config_overrides
MailProg=/bin/true
NodeName=n1 NodeHostname=localhost NodeAddr=127.0.0.1 Port=17011 CPUs=2 State=UNKNOWN
NodeName=n2 NodeHostname=localhost NodeAddr=127.0.0.1 Port=17012 CPUs=2 State=UNKNOWN
PartitionName=batch Nodes=n1,n2 Default=YES MaxTime=INFINITE State=UP OverSubscribe=NO
CommunicationParameters=NoCtldInAddrAny,NoInAddrAny
CONF
export SLURM_CONF=$work/slurm.conf
if ! munge -n 2>/dev/null | unmunge >/dev/null 2>&1; then
    chown munge:munge /run/munge
    setpriv --reuid=munge --regid=munge --clear-groups /usr/sbin/munged -F >munged.log 2>&1 &
    pids+=($!)
    sleep 1
fi
slurmctld -D >ctld.out 2>&1 &
pids+=($!)
sleep 1
for node in n1 n2; do
    slurmd -N $node -D >$node.out 2>&1 &
    pids+=($!)
done
for ((i = 0; i < 60; i++)); do
    [ "$(sinfo -h -t idle -o %D 2>/dev/null)" = 2 ] && break
    sleep 0.5
done
[ "$(sinfo -h -t idle -o %D)" = 2 ] || { fail "Slurm does not come up: $(tail -n 3 ctld.out)"; exit 1; }

export FULLMINUTE=$program
"$program" batch d --out single.csv 2>single.err || fail "single: $(cat single.err)"
array=$source_dir/src/batch/array.sbatch
SECONDS=0
job=$(sbatch --parsable --array=1-8 "$array" 8 results d) || fail 'sbatch'
sleep 2
scancel --signal=KILL "${job}_1" 2>/dev/null # it may be done already
scancel "${job}_2" 2>/dev/null
while [ -n "$(squeue -h -j "$job" 2>/dev/null)" ] && ((SECONDS < 300)); do
    sleep 1
done
echo "array of 8 with two tasks cancelled: $SECONDS s; $(ls results/*.csv | wc -l) shards there"
if "$program" merge results/part-*.csv --out merged.csv 2>merge.err; then
    echo 'both tasks were done before they were cancelled'
else
    cat merge.err
fi
# Run again, all of them: what is done is not done twice.
SECONDS=0
sbatch --wait --array=1-8 "$array" 8 results d >/dev/null || fail "the array failed: $(tail -n 2 fullminute-*.log)"
echo "the same array again: $SECONDS s"
"$program" merge results/part-*.csv --out merged.csv --force 2>merge.err || fail "merge: $(cat merge.err)"
cat merge.err
cmp merged.csv single.csv || fail 'the merged rows differ from those of one run'
cmp merged.csv.batch.json single.csv.batch.json || fail 'the documents beside them differ'
[ "$failures" -eq 0 ] && echo 'slurm: 8 shards merged are one run, byte for byte'
exit $((failures > 0))
