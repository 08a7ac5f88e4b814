#!/usr/bin/env bash
# The units' exposure as `systemd-analyze security` rates it: at most 1.2 for the system unit, 5.1 for the user's. It says
# itself what it found. Usage: units_test.sh UNITS_FOLDER DROP_INS_FOLDER
set -euo pipefail
command -v systemd-analyze >/dev/null || { echo "skipped: systemd-analyze is not installed"; exit 77; }
XDG_RUNTIME_DIR=$(mktemp -d)
export XDG_RUNTIME_DIR
trap 'rm -rf "$XDG_RUNTIME_DIR"' EXIT
systemd-analyze security --offline=true --threshold=12 "$1/brimwatch-system.service" | tail -n 1
systemd-analyze security --offline=true --threshold=51 --user "$1/brimwatch.service" | tail -n 1
# A threshold that is never missed shows nothing: a bare unit must fail it.
bare=$XDG_RUNTIME_DIR/bare.service
printf '[Service]\nExecStart=/bin/true\n' >"$bare"
if systemd-analyze security --offline=true --threshold=12 "$bare" >/dev/null 2>&1; then
  echo "a bare unit passed as well"
  exit 1
fi
# They are well formed, alone and with the sample drop-ins (systemd-analyze verify: a program that is not there is a note).
places=$XDG_RUNTIME_DIR/places
for kind in system:brimwatch-system user:brimwatch; do
  unit=$places/${kind%%:*}/brimwatch.service
  mkdir -p "$unit.d"
  sed 's|/usr/bin/brimwatch|/bin/true|' "$1/${kind##*:}.service" >"$unit"
  for drop in none "$2"/*.conf; do
    rm -f "$unit.d"/*.conf
    [ "$drop" = none ] || cp "$drop" "$unit.d/"
    said=$(systemd-analyze "--${kind%%:*}" --man=no verify "$unit" 2>&1) || { echo "$unit with $drop: $said"; exit 1; }
    if grep -i brimwatch <<<"$said"; then
      echo "in $unit with $drop"
      exit 1
    fi
  done
done
# Nothing that is in another package than systemd's own (/bin/kill is in procps), and no endless starts beside a daemon that
# holds the journal (exit code 6) or on a bad configuration (3).
for unit in "$1"/*.service; do
  if grep -E '^Exec' "$unit" | grep -v '=/usr/bin/brimwatch '; then
    echo "$unit runs another program"
    exit 1
  fi
  grep -qx 'RestartPreventExitStatus=3 6' "$unit" || { echo "$unit is started again whatever it ended with"; exit 1; }
done
# Bounds on what a fault may take of the machine (systemd.resource-control(5)).
for unit in "$1"/*.service; do
  for bound in MemoryMax TasksMax; do
    grep -Eq "^$bound=[0-9]+[MG]?$" "$unit" || { echo "$unit: no $bound"; exit 1; }
  done
done
