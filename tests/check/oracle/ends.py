"""What takes a protection off before its life is over."""

ON_TOP = ("base", "topper")  # what polishing takes off


def same_place(event, treatment):
    """Whether an event reaches the treatment: by its number, or by surface and part. An event
    about a part reaches only what was put on that part; one about the whole reaches its parts."""
    if event.treatment:
        return event.treatment == treatment.id
    if event.surface is not None and event.surface != treatment.surface:
        return False
    return event.part is None or event.part == treatment.part


def takes_off(event, treatment):
    """Whether this event ends the treatment that was on by then. One that names no place means
    the paint where something was polished or resprayed, and what its means strips where
    something was washed or stripped off; a part replaced has to be named."""
    if event.at <= treatment.last_coat_at or not same_place(event, treatment):
        return False
    named = bool(event.treatment) or event.surface is not None or event.part is not None
    strips = event.with_ in treatment.rule.stripped_by
    if event.happening == "harsh wash":
        return strips
    if event.happening == "stripped":
        return named or strips or event.with_ is None
    if not named and (treatment.surface != "paint" or event.happening == "part replaced"):
        return False
    if event.happening == "polished":
        return treatment.rule.role in ON_TOP
    return event.happening in ("part replaced", "resprayed")


def supersedes(newer, older):
    """Whether putting `newer` on ends `older`: in another job, later, on the same place or on the
    whole of it, in the same role, or as the base under a topper."""
    if newer.job == older.job:
        return False
    if (newer.last_coat_at, newer.id) < (older.last_coat_at, older.id):
        return False
    if newer.surface != older.surface or newer.part not in ("", older.part):
        return False
    roles = (newer.rule.role, older.rule.role)
    return roles[0] == roles[1] or roles == ("base", "topper")


def ended_at(car, treatment):
    """The earliest instant it was taken off, or None while it is on."""
    found = [other.last_coat_at for other in car.treatments if supersedes(other, treatment)]
    found += [event.at for event in car.events if takes_off(event, treatment)]
    return min(found, default=None)


def cares(car, treatment):
    """The instants of the cares recorded for it, after it went on and while it is on."""
    end = ended_at(car, treatment)
    return sorted({event.at for event in car.events
                   if event.happening == "care" and event.at > treatment.last_coat_at
                   and same_place(event, treatment) and (end is None or event.at < end)})
