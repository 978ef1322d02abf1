#!/usr/bin/env bash
# The drill of the clustered broker, on one machine: three MQTT servers of one
# cluster, wetside with two of them in one URL, simulated units on the third (they know
# one address only). The server that wetside is on is killed with kill -9, again and
# again, and started anew. In the end every message from 1 to the last that a unit has sent must
# be in wetside's export, once: a unit goes on to the next only when the broker has
# acknowledged the one before.
#
#   go build -o nats-server github.com/nats-io/nats-server/v2
#   deploy/broker-cluster/drill.sh WETSIDE NATS-SERVER TRIES
#   deploy/broker-cluster/drill.sh WETSIDE NATS-SERVER 1 alone   # the counter-proof: one copy only, on a
#                                                                # disk that is lost: nothing goes on
#
# It works in a folder of its own, ends what it started by process id, and exits 1
# where a message was lost or doubled.
set -euo pipefail

wetside=$(realpath "${1:?give the wetside program}")
server=$(realpath "${2:?give the nats-server program}")
tries=${3:-4}
mode=${4:-cluster}
here=$(dirname "$(realpath "$0")")
work=$(mktemp -d "${TMPDIR:-/tmp}/wetside-cluster.XXXXXX")
chmod 755 "$work"
board=18620
url="mqtt://127.0.0.1:54621,127.0.0.1:54622"
pids=()
servers=(0 0 0 0)

now() { date +%s.%N; }
since() { awk -v a="$1" -v b="$(now)" 'BEGIN { printf "%.1f", b - a }'; }
end() {
  for p in "${pids[@]}" "${servers[@]}"; do [ "$p" = 0 ] || kill "$p" 2>/dev/null || true; done
  for p in "${pids[@]}" "${servers[@]}"; do [ "$p" = 0 ] || wait "$p" 2>/dev/null || true; done
  rm -rf "$work"
}
trap end EXIT

until_true() {
  local deadline=$((SECONDS + $1)) what=$2
  shift 2
  until "$@" >/dev/null 2>&1; do
    [ $SECONDS -lt $deadline ] || { echo "not within its time: $what" >&2; tail -n 5 "$work"/*.log >&2; exit 1; }
    sleep 0.1
  done
}

start_server() {
  "$server" -c "$work/s$1.conf" >>"$work/s$1.log" 2>&1 &
  servers[$1]=$!
}
listens() { (exec 3<>"/dev/tcp/127.0.0.1/$1") 2>/dev/null; }
export_keys() {
  "$wetside" export --data "$work/lab" 2>/dev/null | awk '{
    if (!match($0, /"topic":"wetside\/v1\/[^\/"]*\/[^\/"]*/)) next
    t = substr($0, RSTART + 20, RLENGTH - 20)
    if (!match($0, /"boot":"[^"]*"/)) next
    b = substr($0, RSTART + 8, RLENGTH - 9)
    if (!match($0, /"seq":[0-9]+/)) next
    print t, b, substr($0, RSTART + 6, RLENGTH - 6)
  }' | sort
}
grows() { [ "$(export_keys | wc -l)" -gt "$1" ]; }

for i in 1 2 3; do
  sed -e "s#NAME#s$i#; s#HOST:CLIENT#127.0.0.1:5460$i#; s#STORE#$work/s$i#; s#HOST:ROUTE#127.0.0.1:5461$i#; s#HOST:MQTT#127.0.0.1:5462$i#" \
    -e "s#SELF#127.0.0.1:54611#; s#PEER1#127.0.0.1:54612#; s#PEER2#127.0.0.1:54613#" "$here/server.conf" >"$work/s$i.conf"
  [ "$mode" = cluster ] || sed -i 's/_replicas: 3/_replicas: 1/g' "$work/s$i.conf"
  start_server $i
done
for i in 1 2 3; do until_true 30 "server $i" listens 5462$i; done

"$wetside" serve --broker "$url" --listen 127.0.0.1:$board --data "$work/lab" >"$work/wetside.log" 2>&1 &
monitor=$!
pids+=($monitor)
until_true 90 "wetside is ready" curl -fs "http://127.0.0.1:$board/readyz"
"$wetside" simulate --broker mqtt://127.0.0.1:54623 --units 24 --seed 7 >"$work/units.log" 2>&1 &
units=$!
pids+=($units)
until_true 90 "telemetry" grows 100

worst=0
for try in $(seq "$tries"); do
  before=$(export_keys | wc -l)
  until_true 60 "more telemetry" grows $((before + 100))
  ss -tnHp state established >"$work/sockets"
  victim=$(awk -v p="pid=$monitor," 'index($0, p) && match($0, /127\.0\.0\.1:5462[12] /) { print substr($0, RSTART + 14, 1); exit }' "$work/sockets")
  kill -9 "${servers[${victim:?wetside is on no server}]}"
  wait "${servers[$victim]}" 2>/dev/null || true
  killed=$(now)
  [ "$mode" = cluster ] || rm -rf "$work/s$victim" # its disk is gone with it
  had=$(export_keys | wc -l)
  until_true 90 "telemetry goes on" grows "$had"
  took=$(since "$killed")
  echo "try $try: killed server $victim, which wetside was on; the next message in the store after $took s"
  worst=$(awk -v a="$worst" -v b="$took" 'BEGIN { print (b > a) ? b : a }')
  start_server "$victim"
  until_true 60 "server $victim again" listens 5462$victim
done

kill "$units" && wait "$units" 2>/dev/null || true
last=-1
for _ in $(seq 30); do # until nothing more comes
  export_keys >"$work/stored"
  n=$(wc -l <"$work/stored")
  [ "$n" = "$last" ] && break
  last=$n
  sleep 3
done
lost=$(uniq "$work/stored" | awk '{ k = $1 " " $2; n[k]++; if ($3 > m[k]) m[k] = $3 } END { for (k in n) l += m[k] - n[k]; print l + 0 }')
doubled=$(uniq -d "$work/stored" | wc -l)
echo "$mode: $tries tries, $n messages of 24 units stored, $lost lost, $doubled doubled, at most $worst s until the next one"
grep 'level=\(WARN\|ERROR\)' "$work/wetside.log" | grep -v "password yet" | sed 's/^time=[^ ]* //' | cut -c1-160 | sort | uniq -c | sort -rn | head -6 || true
[ "$lost" = 0 ] && [ "$doubled" = 0 ]
