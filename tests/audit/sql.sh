#!/usr/bin/env bash
# Four of the audit's figures once more, by SQL over its exported lines. By hand:
#   tests/audit/sql.sh EVENFIRE SHOP
# Needs sqlite3 and python3; a missing one fails by name.
set -euo pipefail
evenfire="$1" shop="$2"
for tool in sqlite3 python3; do
    command -v "$tool" >/dev/null || { echo "missing tool: $tool" >&2; exit 127; }
done
work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT

audit() { # an audit's status tells what it found, 2 alone that it could not be done
    local status=0
    "$evenfire" audit --shop "$shop" --no-memory "$@" || status=$?
    [ "$status" -ne 2 ]
}
audit --format csv >"$work/jobs.csv"
audit --format ndjson >"$work/jobs.ndjson"
audit --format json >"$work/audit.json"

sqlite3 "$work/jobs.db" >/dev/null <<SQL
.mode csv
.import '$work/jobs.csv' jobs
SQL
ask() { sqlite3 "$work/jobs.db" "$1"; }
figure() { python3 -c "
import json, sys
f = json.load(open('$work/audit.json'))['figures']
print(eval('(' + sys.argv[1] + ')'))" "$1"; }
same() {
    echo "$1: by SQL $2, by the audit $3"
    [ "$2" = "$3" ] || { echo "they differ" >&2; exit 1; }
}

same "low verdicts that leak-down confirmed, of those tested" \
    "$(ask "select sum(leak_down_against_verdict = 'confirmed') || ' of ' || count(*) from jobs
            where leak_down_against_verdict in ('confirmed', 'held_air') and status <> 'unsound' and done_again_by = ''")" \
    "$(figure "str(f['leak_down_against_verdict'].get('confirmed', 0)) + ' of ' +
        str(sum(f['leak_down_against_verdict'].get(k, 0) for k in ('confirmed', 'held_air')))")"
same "vehicles that came more than once" \
    "$(ask "select count(*) from (select 1 from jobs where vehicle_key <> '' and status <> 'unsound' and done_again_by = '' group by vehicle_key having count(*) > 1)")" \
    "$(figure "len(f['repeat_visits'])")"
same "jobs that await a lead's decision" \
    "$(ask "select count(*) from jobs where ' ' || findings || ' ' like '% not_countersigned %'
            and ' ' || findings || ' ' not like '% not_signed %' and status <> 'unsound' and done_again_by = ''")" \
    "$(figure "len(f['open_countersignatures'])")"

# `decision` is the one that stands: empty where what was added to a returned job awaits one
same "jobs that were returned and stand so" \
    "$(ask "select count(*) from jobs where decision = 'returned' and status <> 'unsound' and done_again_by = ''")" \
    "$(figure "len(f['returned'])")"

# the same lines as JSON, one row each
rows="$(sqlite3 :memory: "select count(*) from (select value from json_each('[' ||
    replace(trim(cast(readfile('$work/jobs.ndjson') as text), char(10)), char(10), ',') || ']'))")"
same "lines" "$rows" "$(figure "len(json.load(open('$work/audit.json'))['jobs'])")"
echo "all agree"
