#!/bin/sh
# An invented shop, from its first job to the messages that went out. Builds Beadline into build/,
# makes everything through the command itself in a fresh folder, lets the real service run at fixed
# times, and leaves nothing running. Names, numbers and addresses are invented and reserved for that.
set -eu
top=$(CDPATH= cd -- "$(dirname -- "$0")/.." && pwd)
. "$top/tests/need.sh"
need $BUILD_PACKAGES

build=$top/build
mkdir -p "$build"
echo "Building Beadline ..."
# A build that is there already keeps its generator and its options.
set --
[ -e "$build/CMakeCache.txt" ] || set -- -G Ninja
{ cmake -S "$top" -B "$build" "$@" &&
    cmake --build "$build" --target beadline beadlined; } >"$build/demo.log" 2>&1 ||
    { cat "$build/demo.log" >&2; exit 1; }

folder=$build/demo
shop=$folder/shop
rm -rf "$folder"
mkdir -p "$folder"
BEADLINE_SETTINGS=$shop/beadline.conf
export BEADLINE_SETTINGS
now=

# --- how the story is told ------------------------------------------------------------------------

heading() {
    printf '\n\n%s\n' "$1"
    printf '%s\n' "$1" | sed 's/./=/g'
}
say() { printf '\n%s\n' "$1"; }
beadline() { "$build/bin/beadline" --now "$now" "$@"; }

# A command as it is typed, and its answer.
type_in() {
    printf '\n$ beadline'
    for word in "$@"; do
        case $word in
        *[!A-Za-z0-9@/:.,=_+-]*) printf ' "%s"' "$word" ;;
        *) printf ' %s' "$word" ;;
        esac
    done
    printf '\n'
    beadline "$@"
}
quietly() { beadline "$@" >>"$folder/quiet.log"; }

# The service does all that is due at that time, and ends.
service() {
    "$build/bin/beadlined" --settings "$BEADLINE_SETTINGS" --until-idle --now "$1" \
        2>>"$folder/service.log" || { cat "$folder/service.log" >&2; exit 1; }
}

# Number and key of the first message of a kind and way: among those that went, those that wait.
first_of() {
    python3 -c '
import json, sys
kind, channel = sys.argv[1:]
rows = [json.loads(line) for line in sys.stdin]
first = min((row["message"], row["key"]) for row in rows
            if (row["kind"], row["channel"]) == (kind, channel))
print(*first)' "$1" "$2"
}
gone() { beadline --json sent --days 60 | first_of "$1" "$2"; }
waiting() { beadline --json queue | first_of "$1" "$2" | cut -d' ' -f1; }

# --- the story ------------------------------------------------------------------------------------

heading "A van, a hose and a diary"
say "Robin washes and coats cars on other people's driveways around Pebble Bay, alone. Everything
lives in one folder: settings, catalogue, texts and the database. (Times in this story are
fixed, and nothing leaves the machine: messages become files.)"
now="2026-03-02 08:00"
quietly init "$shop"
cat >"$BEADLINE_SETTINGS" <<'SETTINGS'
shop = { name = "Pebble Bay Detailing"; owner = "Robin"; phone = "07700 900100";
         zone = "Europe/London"; mail = "robin@pebblebay.example"; };
phone = { calling_code = "44"; };
units = "miles";
hours = { saturday = "09:00-13:00"; };
gateways = ( { name = "outbox"; kind = "folder"; folder = "outbox"; } );
carry = { sms = "outbox"; mail = "outbox"; };
SETTINGS
sed 's/^/    /' "$BEADLINE_SETTINGS"
printf '\n$ beadline check\n'
beadline check

heading "The customers, and what they agreed to"
type_in add customer "Ada Marsh" --phone "07700 900111" --mail ada@marsh.example \
    --tips yes --offers yes --how "asked on the driveway" --words "yes, do remind me"
quietly add customer "Ben Quill" --mail ben@quill.example --offers yes --how "by mail"
quietly add customer "Clara Dune" --note "no mobile, rings on Sundays"
quietly add customer "Erik Sand" --mail erik@sand.example --language de --tips yes --offers yes \
    --how "at the garden fence"
quietly add customer "Oven & Salt bakery" --phone "07700 900122" --offers yes \
    --how "on the phone, Mo"
quietly add car ada "PB12 ADA" --name "blue estate" --exposed stored-outdoors --distance-a-year 7500 \
    --place home --place-note "tap behind the gate"
quietly add car ben "PB21 BEN" --name "silver hatchback" --distance-a-year 30000
quietly add car clara "PB03 CLA" --name "old roadster" --distance-a-year 1500
quietly add car erik "PB66 ERK" --name "Kastenwagen"
quietly add car bakery "PB70 VAN" --name "bread van"
quietly add car bakery "PB71 VAN" --name "cake van"
quietly add car ada "PB19 SON" --name "red hatchback"
quietly add mileage "PB21 BEN" 41200 --at 2025-11-03 --how "service book"
quietly add mileage "PB21 BEN" 49500 --at 2026-02-02 --how "by phone"
type_in list cars

heading "Thursday 12 March, 15:40: the last towel goes in the van"
now="2026-03-09 16:30"
quietly add job "bread van" spray-sealant wheel-spray --at 16:15 --mileage 31250 --temp 9
service "2026-03-09 16:35"
now="2026-03-10 15:00"
quietly add job clara soft-top-protection wheels-and-glass --at 14:30 --mileage 60210 --temp 11
now="2026-03-11 17:00"
quietly add job "PB21 BEN" full-1y --at 16:50 --mileage 52900 --temp 12
service "2026-03-11 17:05"
now="2026-03-12 15:45"
say "Wet hands, a phone, one breath: the car, what went on, the mileage, the temperature. The
package is a name for the six things that usually go together; the wheels got something quick
as well, and the trim a second coat."
type_in add job "PB12 ADA" full-3y wheel-spray trim-coating:2 --at 15:40 --mileage 29957 --temp 8 \
    --leaving-ok
service "2026-03-12 15:50"
now="2026-03-12 18:00"
quietly add job erik coating-1y glass-coating tyre-dressing --at 17:45 --mileage 51000 --temp 8
service "2026-03-12 18:05"

heading "A slip of the thumb"
say "A mileage that goes back is refused with both readings named, and nothing is written:"
now="2026-03-12 18:10"
type_in add job "blue estate" wheel-spray --at 18:00 --mileage 29597 2>&1 || true
say "So is a word nobody knows:"
type_in add job "blue estate" whel-spray --dry 2>&1 || true

heading "The next morning"
now="2026-03-13 08:45"
type_in
say "Clara has no mobile and no mail. Robin drops the printed sheet (beadline sheet clara) into her
letter box, rings her, and says so:"
type_in told "$(waiting handover "by hand")" --why "rang her, sheet in the letter box"
say "What is going to be sent:"
type_in queue --days 45

heading "Wednesday 25 March: the front page"
for day in 13 16 18 20 23; do
    service "2026-03-$day 09:05"
done
now="2026-03-25 08:45"
type_in
quietly told "$(waiting wash "by hand")" --why "rang her"

heading "Three weeks later, without anyone remembering"
for day in 25 26 27 30; do
    service "2026-03-$day 09:05"
done
for day in 01 02 03 04 07 08; do
    service "2026-04-$day 09:05"
done
now="2026-04-08 12:00"
type_in sent --days 31

heading "One text message, whole"
type_in preview "$(gone wash sms | cut -d' ' -f1)"

heading "One mail, whole"
set -- $(gone handover mail)
type_in preview "$1"
say "It left as text and as HTML in one mail. How its bytes in the outbox begin:"
tr -d '\r' <"$shop/outbox/$2.eml" | sed '/^$/q' | sed 's/^/    /'

heading "Why that date?"
say "The silver hatchback got the same wheel spray as the blue estate, one day earlier:"
type_in show car "silver hatchback"
say "The whole sum, for a pocket calculator (here how far it is driven, and the wheel spray):"
printf '\n$ beadline explain "silver hatchback"\n'
beadline explain "silver hatchback" |
    sed -n '1,/^$/p; /^How far it is driven/,/^$/p; /^wheel spray/,/^$/p'
say "The same in plain sentences:"
{
    beadline --json list products
    beadline --json show car "silver hatchback"
    beadline --json show car "blue estate"
} | python3 "$top/demo/why.py"

heading "Yours"
say "The folder of this story is build/demo/shop. Look around in it:
    export BEADLINE_SETTINGS=$BEADLINE_SETTINGS
    $build/bin/beadline --now \"$now\" --help"
