#!/usr/bin/env bash
# Backs up wetside's database into one compressed file, while it runs, and the
# sealing key with its last checkpoint beside it. Keep both from others.
#
#   backup.sh FOLDER                        the private database of /var/lib/wetside
#   backup.sh FOLDER --data DIR             that of another --data folder
#   backup.sh FOLDER --database URL         a server of your own
#
# Keeps the last WETSIDE_BACKUPS files (14). Run it daily, to another disk.
#
# To restore, with wetside stopped, into an empty database:
#   pg_restore --clean --if-exists --no-owner --exit-on-error -d URL FILE
# For the private one: start "wetside serve --data DIR" once on a fresh
# folder, stop it, start its database with
#   postgres -D DIR/postgres/data -c listen_addresses= -c unix_socket_directories=DIR/postgres/run
# as the user who owns DIR/postgres/data, restore to
#   "postgres:///wetside?host=DIR/postgres/run&user=wetside", and stop it again.
# The embedded broker's folder DIR/broker holds only what wetside has not
# taken yet; keep it where it is. A backup that was never restored is none:
# try it on another machine.
set -euo pipefail

usage() { sed -n '2,9p' "$0" | sed 's/^# \{0,1\}//' >&2; exit 2; }

[ $# -ge 1 ] || usage
folder=$1; shift
data=/var/lib/wetside
url=
while [ $# -gt 0 ]; do
	case $1 in
	--data) [ $# -ge 2 ] || usage; data=$2; shift 2 ;;
	--database) [ $# -ge 2 ] || usage; url=$2; shift 2 ;;
	*) usage ;;
	esac
done
if [ -z "$url" ]; then
	[ -S "$data/postgres/run/.s.PGSQL.5432" ] || { echo "backup: no private database runs in $data; start wetside, or name a server with --database" >&2; exit 1; }
	url="postgres:///wetside?host=$data/postgres/run&port=5432&user=wetside"
fi
mkdir -p "$folder"
umask 077
file="$folder/wetside-$(date -u +%Y-%m-%dT%H%M%SZ).dump"
trap 'rm -f "$file.part"' EXIT
pg_dump --format=custom --file="$file.part" "$url"
pg_restore --list "$file.part" >/dev/null # it can be read
mv "$file.part" "$file"
if [ -d "$data/seal" ]; then
	tar -C "$data" -cf "${file%.dump}.seal.tar" seal
fi
find "$folder" -maxdepth 1 -name 'wetside-*.dump' -printf '%f\n' | sort -r | tail -n +$((${WETSIDE_BACKUPS:-14} + 1)) |
	while read -r old; do rm -f "$folder/$old" "$folder/${old%.dump}.seal.tar"; done
echo "$file"
