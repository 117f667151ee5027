"""The facts of one customer and his shop, field by field as in include/beadline/facts.h, rule.h and
shop.h. None stands for what is absent. A surface is its word, an instant seconds since 1970."""
import dataclasses
from dataclasses import field
from typing import Any, List, Optional

SURFACES = ("paint", "windscreen", "glass", "wheels", "tyres", "trim", "leather", "fabric",
            "soft top")
ROLES = ("base", "film", "topper", "dressing")
SHOP, NEXT_BOOKING, CUSTOMER = "shop", "next booking", "customer"
EXPOSURES = ("stored outdoors", "brush wash", "strong pre-wash", "winter salt", "strong sun",
             "sea air", "gravel roads")
STRIPPERS = ("wheel cleaner", "strong pre-wash", "brush wash", "clay", "polish", "solvent",
             "fallout remover", "degreaser", "steam")


@dataclasses.dataclass
class Cure:
    drive_h: float = 0.0
    dry_h: float = 0.0
    rinse_days: Optional[float] = None
    wash_days: tuple = (0.0, 0.0)
    wiper_h: float = 0.0
    reference_c: float = 10.0
    ea_ev: float = 0.531
    stall_c: Optional[float] = None
    longest_days: float = 0.0


@dataclasses.dataclass
class Wear:
    life_days: Optional[tuple] = None
    share: float = 0.0
    km_a_year: float = 12000.0
    limits: tuple = (0.6, 2.0)
    max_km: Optional[float] = None
    lead_days: Optional[float] = None


@dataclasses.dataclass
class Care:
    interval_days: Optional[float] = None
    grace_days: float = 0.0
    extends: float = 1.0
    on_calendar: bool = False
    by_customer: bool = False


@dataclasses.dataclass
class Rule:
    id: int
    product: str
    surface: str
    role: str
    again: str
    cure: Cure = field(default_factory=Cure)
    wear: Wear = field(default_factory=Wear)
    care: Care = field(default_factory=Care)
    look_over_months: int = 0
    exposures: dict = field(default_factory=dict)  # name -> factor
    stripped_by: tuple = ()


@dataclasses.dataclass
class Reading:
    id: int
    at: int
    km: float
    instrument: int = 0


@dataclasses.dataclass
class Event:
    id: int
    at: int
    happening: str
    treatment: int = 0
    surface: Optional[str] = None
    part: Optional[str] = None
    with_: Optional[str] = None
    temp_c: Optional[float] = None
    hours: Optional[float] = None


@dataclasses.dataclass
class Job:
    id: int
    at: int
    customer: int
    told_from: int
    temp_c: Optional[float] = None
    wash_from: Any = None  # datetime.date
    cured_indoors: bool = False


@dataclasses.dataclass
class Treatment:
    id: int
    job: int
    rule: Rule
    surface: str
    part: str
    last_coat_at: int
    coats: int = 1
    again: Optional[str] = None


@dataclasses.dataclass
class Car:
    id: int
    km_a_year: Optional[float]
    since: int
    gone_at: Optional[int]
    exposures: tuple
    offers_held: bool = False  # after a complaint
    readings: List[Reading] = field(default_factory=list)
    jobs: List[Job] = field(default_factory=list)
    treatments: List[Treatment] = field(default_factory=list)
    events: List[Event] = field(default_factory=list)


@dataclasses.dataclass
class Shop:
    zone: Any
    hours: Any  # gather.Hours
    climate_c: Optional[list]
    salt_months: tuple  # 1..12; none: all the year
    km_a_year: float
    lead_days: int
    restraint: tuple = (1, 42, 6)


@dataclasses.dataclass
class Told:
    message: int
    at: int
    kind: str
    state: str


@dataclasses.dataclass
class Ended:
    kind: str
    subject: int
    ordinal: int
    early: int = 0
    at: int = 0


@dataclasses.dataclass
class Facts:
    customer: int
    shop: Shop
    route: str
    consent: tuple  # of (service, tips, offers)
    wish: str
    silenced: bool
    rules: List[Rule]
    cars: List[Car]
    told: List[Told]
    ended: List[Ended]
    now: int
