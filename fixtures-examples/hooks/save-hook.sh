#!/bin/sh
# For an editor that can run a program after a save: inspects the file and shows the verdict.
#
#   save-hook.sh RUN.svg
#
# Where the desktop can show a message (notify-send), it shows one; the findings go to standard
# output. Exit status as of `jigwarden inspect`.
set -u

status=0
report=$("${JIGWARDEN:-jigwarden}" inspect -- "$1" 2>&1) || status=$?
printf '%s\n' "$report"
if command -v notify-send >/dev/null 2>&1; then
  case $status in
    0) urgency=low ;;
    *) urgency=critical ;;
  esac
  notify-send --urgency="$urgency" "$(printf '%s\n' "$report" | head -n 1)" || true
fi
exit "$status"
