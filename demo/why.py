"""Says in plain sentences why a wheel spray wears as fast as it does.

Reads the JSON lines of `list products` and of `show car` for two cars: the one asked about, and
one to compare it with. The sum is done here again, so it also checks what the command says.
"""
import datetime
import json
import sys
import textwrap

KM_A_MILE = 1.609344
YEAR_DAYS = 365.25
PRODUCT = "wheel-spray"


def spray_of(car):
    return [row for row in car["treatments"] if row["product"] == PRODUCT][0]


def instant(text):
    return datetime.datetime.fromisoformat(text)


def day(at):
    return f"{at.day} {at:%B}"


def miles(km_a_year):
    return f"{round(km_a_year / KM_A_MILE, -2):,.0f}".replace(",", " ")


rows = [json.loads(line) for line in sys.stdin]
rule = [row for row in rows if row.get("product") == PRODUCT][0]
car, other = [row for row in rows if "plate" in row]
spray, usual = spray_of(car), spray_of(other)

low, high = rule["life_days"]
share = rule["share"]
most = rule["limits"][1]
a_year = spray["km_a_day"] * YEAR_DAYS
ratio = a_year / rule["km_a_year"]
plain = 1 - share + share * ratio
speed = min(max(plain, rule["limits"][0]), most)
applied = instant(spray["last_coat_at"])
early = applied + datetime.timedelta(days=low / speed)
late = applied + datetime.timedelta(days=high / speed)

paragraphs = (
    f"By its readings and its owner's word the {car['name']} is driven {miles(a_year)} miles a "
    f"year, {ratio:.1f} times the {miles(rule['km_a_year'])} that the label's {low:.0f} to "
    f"{high:.0f} days are meant for.",
    f"Driving does {share:.0%} of a wheel spray's wear, time the rest: {1 - share:.1f} + "
    f"{share:.1f} x {ratio:.1f} = {plain:.2f} times as fast, and the rule never counts more than "
    f"{most:.1f}. So it lasts {low / speed:.0f} to {high / speed:.0f} days: put on on "
    f"{day(applied)}, it is gone between {day(early)} and {day(late)}. Two to three weeks, not "
    f"four to six.",
    f"The {other['name']} is driven {miles(usual['km_a_day'] * YEAR_DAYS)} miles a year: its spray "
    f"lasts until {day(instant(usual['early']))} at the least, {day(instant(usual['late']))} at "
    f"the most. No van is booked for a spray, and no message goes: it stands on the list for the "
    f"next booking.",
)
for paragraph in paragraphs:
    print("\n" + textwrap.fill(paragraph, 92))

for mine, told in ((early, spray["early"]), (late, spray["late"])):
    if abs((mine - instant(told)).total_seconds()) > 1:
        sys.exit(f"the sum says {mine}, the command {told}")
