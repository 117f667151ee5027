"""SMS counts against an independent counter.

Which characters are in the alphabet, and at how many septets, comes from Perl's Encode::GSM0338
(in Debian's package perl); parts are cut here on the units themselves, not on the characters as
ours does: at the limit, or one unit before it where the cut would fall behind an escape or inside
a surrogate pair (3GPP TS 23.040 9.2.3.24.1). What typography is comes from Unicode's categories.
"""
import os
import pathlib
import random
import struct
import subprocess
import sys
import unicodedata

TOOL = pathlib.Path(os.environ["BL_BUILD"]) / "tests" / "sms_tool"
ESCAPE = 0x1B
PERL = r"""
use strict; use warnings; use Encode qw(FB_CROAK);
my $e = Encode::find_encoding('gsm0338') or die;
for my $c (1 .. 0xD7FF, 0xE000 .. 0xFFFD) {
    my $t = chr $c;
    my $o = eval { $e->encode($t, FB_CROAK) };
    printf "%d %s\n", $c, unpack('H*', $o) if defined $o;
}
"""


def perl_table():
    """Character -> its septets, or None where Perl or its Encode is missing."""
    try:
        done = subprocess.run(["perl", "-e", PERL], stdout=subprocess.PIPE, text=True,
                              stderr=subprocess.DEVNULL, check=True)
    except (OSError, subprocess.CalledProcessError):
        return None
    pairs = (line.split() for line in done.stdout.splitlines())
    return {chr(int(code)): bytes.fromhex(septets) for code, septets in pairs}


def cut(units, alone, joined, splits_after):
    if len(units) <= alone:
        return 1 if units else 0
    parts = at = 0
    while at < len(units):
        end = min(at + joined, len(units))
        if end < len(units) and splits_after(units[end - 1]):
            end -= 1
        at, parts = end, parts + 1
    return parts


def high_surrogate(unit):
    return 0xD800 <= unit <= 0xDBFF


def expected(text, table):
    if all(char in table for char in text):
        units = b"".join(table[char] for char in text)
        return "gsm", len(units), cut(units, 160, 153, lambda septet: septet == ESCAPE)
    data = text.encode("utf-16-be")
    units = struct.unpack(f">{len(data) // 2}H", data)
    return "ucs2", len(units), cut(units, 70, 67, high_surrogate)


def measure_all(texts):
    """(alphabet, units, parts, the text made plain) of each."""
    lines = "".join(text.encode().hex() + "\n" for text in texts)
    done = subprocess.run([TOOL], input=lines, text=True, check=True, stdout=subprocess.PIPE)
    answers = [line.split(" ") for line in done.stdout.splitlines()]
    assert len(answers) == len(texts), f"{len(answers)} answers to {len(texts)} texts"
    return [(a, int(u), int(p), bytes.fromhex(h).decode()) for a, u, p, h in answers]


def compare(what, texts, table):
    wrong = 0
    for text, got in zip(texts, measure_all(texts)):
        want = expected(text, table)
        if got[:3] != want:
            wrong += 1
            if wrong <= 5:
                print(f"{what}: {text!r}: ours {got[:3]}, independent {want}")
    print(f"{what}: {len(texts) - wrong} of {len(texts)} alike")
    return wrong


def all_characters():
    codes = [*range(1, 0xD800), *range(0xE000, 0xFFFE), *range(0x1F300, 0x1F700)]
    return [chr(code) for code in codes]


def random_text(chance, alphabets):
    """Mostly of one alphabet, often near a limit, sometimes with a stranger in it."""
    limit = chance.choice([0, 67, 70, 134, 153, 160, 201, 306, 459])
    wanted = max(0, limit + chance.randrange(-4, 5)) if limit else chance.randrange(500)
    mixed = chance.sample(alphabets, chance.randrange(1, 4))
    text = [chance.choice(chance.choice(mixed)) for _ in range(wanted)]
    if text and chance.random() < 0.3:
        text[chance.randrange(len(text))] = chance.choice(chance.choice(alphabets))
    return "".join(text)


def random_texts(table, count):
    seed = int(os.environ.get("BL_SEED", random.randrange(1 << 32)))
    print(f"BL_SEED={seed}")
    chance = random.Random(seed)
    basic = [char for char, septets in table.items() if len(septets) == 1]
    extension = [char for char, septets in table.items() if len(septets) == 2]
    alphabets = [basic, basic + extension, extension, list("abc €"), list("őűçÁ`´\t\u00a0"),
                 list("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ"), list("ΔΦΓΛΩ"), list("😀🚗🧽"), list("a😀"),
                 list("“”‘’–—…•"), list("車はきれい")]
    return [random_text(chance, alphabets) for _ in range(count)]


def check_plain(table):
    """Quotes, dashes and spaces of General Punctuation and Latin-1 become plain; letters stay."""
    made = {"\u2212", "´", "`", "\u02bc", "\u2219", "◦", "▪", "●"}  # also stand for a plain sign
    chars = all_characters()
    wrong = 0
    for char, (_, _, _, plain) in zip(chars, measure_all(chars)):
        category = unicodedata.category(char)
        typographic = (category in ("Pd", "Pi", "Pf", "Zs") and char not in " -"
                       and (ord(char) <= 0xFF or 0x2000 <= ord(char) <= 0x206F)) or char in "‚„…•"
        kept = category[0] in "LNS" and char not in made
        if typographic and not (plain and plain != char and all(c in table for c in plain)):
            wrong += 1
            print(f"plain: U+{ord(char):04X} became {plain!r}")
        if kept and plain != char:
            wrong += 1
            print(f"plain: U+{ord(char):04X} did not stay: {plain!r}")
    print(f"plain: {len(chars)} characters, {wrong} wrong")
    return wrong


def main():
    table = perl_table()
    if not table:
        print("skipped: perl with Encode::GSM0338 is missing (apt-get install perl)")
        return 77
    single = sum(len(septets) == 1 for septets in table.values())
    print(f"Perl's table: {single} characters of one septet, {len(table) - single} of two")
    assert (single, len(table) - single) == (127, 10), "not the table of TS 23.038"
    wrong = compare("every character", all_characters(), table)
    wrong += compare("random texts", random_texts(table, 24000), table)
    wrong += check_plain(table)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
