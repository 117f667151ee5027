#!/usr/bin/python3
"""Prints line coverage a room from gcovr's summary; fails below the least allowed percentage."""
import collections
import json
import sys

summary = json.load(open(sys.argv[1]))
least = float(sys.argv[2])
rooms = collections.defaultdict(lambda: [0, 0])
for entry in summary["files"]:
    parts = entry["filename"].split("/")
    room = "/".join(parts[:2]) if len(parts) > 2 else parts[0]
    for key in (room, "all"):
        rooms[key][0] += entry["line_covered"]
        rooms[key][1] += entry["line_total"]
for room in sorted(rooms, key=lambda name: (name == "all", name)):
    covered, total = rooms[room]
    print(f"  {room:20} {100 * covered / max(total, 1):5.1f}  ({covered} of {total} lines)")
covered, total = rooms["all"]
if total == 0 or 100 * covered / total < least:
    print(f"line coverage is below {least:.0f} percent", file=sys.stderr)
    sys.exit(1)
