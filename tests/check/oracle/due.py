"""What wants doing between which dates."""
import dataclasses
from typing import Any

from . import civil

DAY = civil.DAY


@dataclasses.dataclass
class Due:
    kind: str
    subject: int
    ordinal: int
    start: Any  # its `from`
    best_by: Any
    not_after: Any
    early: Any = None
    likely: Any = None
    late: Any = None
    lately: bool = False  # held: told of its surface lately

    @property
    def key(self):
        return (self.kind, self.subject, self.ordinal)
