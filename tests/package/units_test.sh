#!/usr/bin/env bash
# The units' exposure as `systemd-analyze security` rates it: at most 1.2 for the system unit, 5.1 for the user's. It says
# itself what it found. Usage: units_test.sh UNITS_FOLDER
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
# Bounds on what a fault may take of the machine (systemd.resource-control(5)).
for unit in "$1"/*.service; do
  for bound in MemoryMax TasksMax; do
    grep -Eq "^$bound=[0-9]+[MG]?$" "$unit" || { echo "$unit: no $bound"; exit 1; }
  done
done
