#!/usr/bin/python3
"""Telephone numbers against the Python port of libphonenumber (Debian: python3-phonenumbers).

First the table of numbers as people type them, then valid numbers of each country at random in
several ways of writing. The seed is printed; BL_SEED sets it. What a calling code, a trunk prefix
and an exit code cannot express is listed in CANNOT with the reason.
"""
import collections
import os
import random
import subprocess
import sys

try:
    import phonenumbers as pn
except ImportError:
    print("skipped: the Debian package python3-phonenumbers is not installed")
    sys.exit(77)

Home = collections.namedtuple("Home", "code trunk kept exit")
HOMES = {
    "AT": Home("43", "0", False, "00"), "AU": Home("61", "0", False, "0011"),
    "BE": Home("32", "0", False, "00"), "BR": Home("55", "0", False, "00"),
    "CH": Home("41", "0", False, "00"), "CZ": Home("420", "", False, "00"),
    "DE": Home("49", "0", False, "00"), "DK": Home("45", "", False, "00"),
    "ES": Home("34", "", False, "00"), "FR": Home("33", "0", False, "00"),
    "GB": Home("44", "0", False, "00"), "GR": Home("30", "", False, "00"),
    "HU": Home("36", "06", False, "00"), "IE": Home("353", "0", False, "00"),
    "IN": Home("91", "0", False, "00"), "IT": Home("39", "0", True, "00"),
    "JP": Home("81", "0", False, "010"), "LT": Home("370", "8", False, "00"),
    "MX": Home("52", "", False, "00"), "NL": Home("31", "0", False, "00"),
    "NO": Home("47", "", False, "00"), "NZ": Home("64", "0", False, "00"),
    "PL": Home("48", "", False, "00"), "PT": Home("351", "", False, "00"),
    "RO": Home("40", "0", False, "00"), "RU": Home("7", "8", False, "810"),
    "SE": Home("46", "0", False, "00"), "SK": Home("421", "0", False, "00"),
    "SM": Home("378", "", True, "00"), "TR": Home("90", "0", False, "00"),
    "UA": Home("380", "0", False, "00"), "US": Home("1", "1", False, "011"),
    "ZA": Home("27", "0", False, "00"),
}
LT_NEW = Home("370", "0", False, "00")

TABLE = [
    ("GB", "07700 900123"), ("GB", "020 7946 0018"), ("GB", "+44 (0)20 7946 0018"),
    ("GB", "0044 7700 900123"), ("IT", "06 12345678"), ("IT", "347 1234567"),
    ("SM", "0549 886377"), ("US", "(201) 555-0123"), ("US", "1 201 555 0123"),
    ("US", "011 36 20 123 4567"), ("HU", "06 20 123 4567"), ("HU", "20 123 4567"),
    ("HU", "0036 20 123 4567"), ("RU", "8 912 345-67-89"), ("LT", "8 612 34567"),
    ("ES", "612 34 56 78"), ("PL", "512 345 678"), ("DK", "32 12 34 56"),
    ("GR", "691 234 5678"), ("MX", "55 1234 5678"), ("BR", "(11) 96123-4567"),
    ("DE", "01512 3456789"), ("FR", "06 12 34 56 78"), ("CH", "078 123 45 67"),
    ("SE", "070 123 45 67"), ("UA", "050 123 4567"), ("AU", "0412 345 678"),
    ("NZ", "021 123 4567"), ("JP", "090-1234-5678"),
    # Beyond the table: what else is typed.
    ("GB", "+44 020 7946 0018"), ("GB", "(020) 7946 0018"), ("GB", "(0)20 7946 0018"),
    ("GB", "0044 (0) 7700 900 123"), ("GB", "07700/900-123"), ("GB", "+39 (0)6 12345678"),
    ("GB", "+378 (0)549 886377"), ("IT", "+39 (0)6 12345678"), ("IT", "+44 (0)20 7946 0018"),
    ("RU", "812 345 67 89"), ("RU", "8 812 345 67 89"), ("RU", "+7 812 345 67 89"),
    ("RU", "810 44 20 7946 0018"), ("JP", "010 1 201 555 0123"), ("AU", "0011 1 201 555 0123"),
    ("HU", "(06 20) 123-4567"), ("HU", "+36 06 20 123 4567"), ("US", "+1 (201) 555-0123"),
    ("US", "1-201-555-0123"), ("DE", "+49 (0) 1512 3456789"),
]

CANNOT = [
    ("AR", "011 15-2345-6789", "mobile numbers drop a 15 in the middle and gain a 9 in front"),
    ("MX", "044 55 1234 5678", "until 2020 mobiles had prefixes of their own in place of a trunk"),
    ("BR", "0 15 11 96123-4567", "a carrier is chosen between the trunk and the number"),
    ("LT", "0 612 34567", "two trunks at once: a shop sets the one it types (checked apart)"),
    ("GB", "447700900123", "may begin with the country's code: refused, and the text says so"),
]


def ask(tool, questions):
    lines = ["|".join((h.code, h.trunk, "kept" if h.kept else "dropped", h.exit, typed))
             for h, typed in questions]
    run = subprocess.run([tool], input="\n".join(lines) + "\n", capture_output=True, text=True,
                         check=True)
    answers = run.stdout.splitlines()
    assert len(answers) == len(questions), (len(answers), len(questions))
    return answers


def oracle(region, typed):
    return pn.format_number(pn.parse(typed, region), pn.PhoneNumberFormat.E164)


def compare(tool, cases, title):
    """cases: (home, region, typed, expected). Prints what differs; the number of differences."""
    wrong = 0
    answers = ask(tool, [(home, typed) for home, _, typed, _ in cases])
    for (_, region, typed, wanted), got in zip(cases, answers):
        if got != wanted:
            wrong += 1
            if wrong <= 20:
                print(f"  {region} \"{typed}\": expected {wanted}, got {got}")
    print(f"{title}: {len(cases)} compared, {wrong} differ")
    return wrong


def cannot(tool):
    """Each of these must stay different; one that works belongs in the table. None may come out
    as somebody else's valid number."""
    wrong = 0
    for region, typed, reason in CANNOT:
        home = HOMES.get(region, Home("54", "0", False, "00"))
        got, wanted = ask(tool, [(home, typed)])[0], oracle(region, typed)
        reached = pn.parse(got) if got.startswith("+") else None
        stolen = (reached and pn.is_valid_number(reached)
                  and pn.format_number(reached, pn.PhoneNumberFormat.E164) != wanted)
        if got == wanted or stolen:
            print(f"  {region} \"{typed}\" gave {got}")
            wrong += 1
        print(f"cannot be expressed: {region} \"{typed}\" ({reason})")
    return wrong


def random_number(rng, region):
    """A valid number of the region: the library's example with its last digits drawn anew."""
    kinds = [pn.PhoneNumberType.MOBILE, pn.PhoneNumberType.FIXED_LINE,
             pn.PhoneNumberType.FIXED_LINE_OR_MOBILE]
    while True:
        example = pn.example_number_for_type(region, rng.choice(kinds))
        if not example:
            continue
        national = pn.national_significant_number(example)
        drawn = rng.randint(2, max(2, len(national) - 2))
        digits = national[:-drawn] + "".join(rng.choice("0123456789") for _ in range(drawn))
        number = pn.parse("+" + str(example.country_code) + digits)
        if pn.is_valid_number_for_region(number, region):
            return number


def separated(rng, text):
    """The text with its separators exchanged for others that people use."""
    marks = [" ", "-", ".", "/", "\u00a0", " - ", "\u2011", ""]
    return "".join(rng.choice(marks) if c in " -" else c for c in text)


def ways(rng, region, number):
    """The number as it may be typed in its own country and abroad."""
    home, form = HOMES[region], pn.PhoneNumberFormat
    abroad = rng.choice([r for r in HOMES if HOMES[r].code != home.code])
    national = pn.format_number(number, form.NATIONAL)
    full = pn.format_number(number, form.INTERNATIONAL)
    e164 = pn.format_number(number, form.E164)
    yield region, separated(rng, national)
    for where in (region, abroad):
        yield where, separated(rng, full)
        yield where, e164
        yield where, HOMES[where].exit + " " + e164[1:]
        yield where, "(+" + str(number.country_code) + ") " + separated(rng, full.split(" ", 1)[1])
        if home.trunk == "0" and not home.kept:
            yield where, full.replace(" ", " (0)", 1)
    if home.trunk == "0" and not home.kept:
        yield region, full.replace(" ", " 0", 1)


def main():
    tool = os.path.join(os.environ["BL_BUILD"], "tests", "phone_tool")
    seed = int(os.environ.get("BL_SEED", random.SystemRandom().randrange(1 << 32)))
    print(f"seed {seed} (BL_SEED={seed} repeats this run)")
    rng = random.Random(seed)
    table = [(HOMES[r], r, typed, oracle(r, typed)) for r, typed in TABLE]
    table.append((LT_NEW, "LT", "0 612 34567", oracle("LT", "0 612 34567")))
    wrong = compare(tool, table, "numbers as people type them")
    wrong += cannot(tool)
    for region in sorted(HOMES):
        cases = []
        for _ in range(200):
            number = random_number(rng, region)
            wanted = pn.format_number(number, pn.PhoneNumberFormat.E164)
            for where, typed in ways(rng, region, number):
                cases.append((HOMES[where], where, typed, wanted))
        wrong += compare(tool, cases, f"random numbers of {region}")
    return 1 if wrong else 0


sys.exit(main())
