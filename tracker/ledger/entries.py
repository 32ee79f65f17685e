"""One frozen dataclass a kind of entry. Whole millimetres, litres, kilograms; UTC; local dates.

An entry states one fact, has an id its author made, and never changes: a correction is another
entry that supersedes it. What the ledger adds (when, by whom, in place of what) is in `Stored`.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any, ClassVar

from tracker.ledger.base import Delay as Delay
from tracker.ledger.base import Entry as Entry
from tracker.ledger.base import is_generated as is_generated
from tracker.ledger.base import new_id as new_id
from tracker.ledger.programme_entries import FormationStep as FormationStep
from tracker.ledger.programme_entries import PlannedStage as PlannedStage
from tracker.ledger.spoil_entries import BeltCheck as BeltCheck
from tracker.ledger.spoil_entries import BeltReading as BeltReading
from tracker.ledger.spoil_entries import GateBooking as GateBooking
from tracker.ledger.spoil_entries import GateTraffic as GateTraffic
from tracker.ledger.spoil_entries import LorryLoad as LorryLoad
from tracker.ledger.spoil_entries import Receipt as Receipt
from tracker.ledger.spoil_entries import ReuseDeclaration as ReuseDeclaration
from tracker.ledger.spoil_entries import SiteReuse as SiteReuse
from tracker.ledger.spoil_entries import StockCount as StockCount
from tracker.ledger.spoil_entries import TransferNote as TransferNote


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupRevision(Entry):
    """The whole set-up as its tables (JSON text), in force from a work date on."""

    KIND: ClassVar[str] = "setup_revisions"
    UNIQUE: ClassVar[tuple[str, ...]] = ("digest", "effective_date")
    LARGE: ClassVar[tuple[str, ...]] = ("tables",)

    effective_date: date
    title: str
    tables: str
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DigReturn(Entry):
    """What one shift in one zone says it dug, from one stage and stream; or why nothing.

    Basis `measured` and `estimated` carry bank_l, `counted` carries count and capacity_l (loose),
    `weighed` carries mass_kg; a nil return carries nil_reason and none of them.
    """

    KIND: ClassVar[str] = "dig_returns"
    UNIQUE: ClassVar[tuple[str, ...]] = ("work_date", "shift", "zone", "stage", "stream")

    work_date: date
    shift: str
    zone: str
    stage: int
    stream: str = ""  # empty on a nil return
    basis: str = ""  # measured | counted | weighed | estimated; empty on a nil return
    bank_l: int | None = None
    count: int | None = None
    capacity_l: int | None = None
    mass_kg: int | None = None
    from_level_mm: int | None = None
    to_level_mm: int | None = None
    lowest_level_mm: int | None = None
    nil_reason: str = ""
    delays: tuple[Delay, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldRelease(Entry):
    """A hold point released, suspended or withdrawn for a zone.

    `hold` is the number of the stage that may be dug, as text, or `formation` (reached, inspected,
    accepted: then with the accepted area in square decimetres).
    """

    KIND: ClassVar[str] = "hold_releases"
    UNIQUE: ClassVar[tuple[str, ...]] = ("zone", "hold", "decided_at")
    LATER: ClassVar[tuple[str, ...]] = ("condition",)

    decided_at: datetime
    work_date: date
    zone: str
    hold: str
    status: str  # released | suspended | not released
    permit: str
    decided_by: str
    accepted_area_dm2: int | None = None  # area accepted [dm²]
    condition: str | None = None  # on which it was released


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyLevel(Entry):
    """What a survey found in one zone: deepest point and, if computed, bank volume to date."""

    KIND: ClassVar[str] = "survey_levels"
    UNIQUE: ClassVar[tuple[str, ...]] = ("survey", "zone")

    survey: str
    surveyed_at: datetime
    work_date: date
    zone: str
    lowest_level_mm: int
    dug_bank_l: int | None = None
    method: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveySurface(Entry):
    """A surveyed surface of an excavation, reduced to void by zone and level.

    `source` is the name of its file. `void_table`, `earlier_table` and `picture` are text as
    `domain.surface` reads it, `report` is JSON: coverage, second method, findings, notes. A partial
    survey that was laid over an earlier one names it in `laid_over`, with that one's table inside
    the same boundary. Its deepest points are entries of their own (SurveyLevel), zone by zone.
    """

    KIND: ClassVar[str] = "survey_surfaces"
    UNIQUE: ClassVar[tuple[str, ...]] = ("excavation", "survey")
    LARGE: ClassVar[tuple[str, ...]] = ("void_table", "earlier_table", "report", "picture")

    survey: str
    excavation: str
    surveyed_at: datetime
    work_date: date
    sha256: str
    column_order: str
    unit: str
    datum_shift_mm: int
    method: str
    points_in: int
    points_used: int
    void_table: str
    report: str
    picture: str
    original_ground: bool = False  # the ground before digging, from which volumes are counted
    filtered: bool = False  # people, plant and stray echoes were taken out
    thin_mm: int | None = None
    laid_over: str = ""
    earlier_table: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyCheck(Entry):
    """What a survey says was dug to its moment: the returns to then are held against it.

    `lines` is JSON text: [[zone, stage, bank volume, its standard uncertainty], ...] in litres;
    stage 0 is the ground below formation. Limits are in thousandths of the surveyed volume.
    """

    KIND: ClassVar[str] = "survey_checks"
    UNIQUE: ClassVar[tuple[str, ...]] = ("excavation", "survey")
    LARGE: ClassVar[tuple[str, ...]] = ("lines",)

    survey: str
    excavation: str
    surveyed_at: datetime
    work_date: date
    amber_permille: int
    red_permille: int
    lines: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Baseline(Entry):
    """The lorry-only case that avoided movements are counted against; frozen on a date."""

    KIND: ClassVar[str] = "baselines"
    UNIQUE: ClassVar[tuple[str, ...]] = ("baseline", "frozen_on")

    baseline: str
    frozen_on: date
    vehicle: str
    payload_kg: int
    payload_low_kg: int
    payload_high_kg: int
    distance_m: int  # one way, by road
    destination: str
    empty_return: bool
    reference: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedException(Entry):
    """An open exception closed by a person, with the reason."""

    KIND: ClassVar[str] = "closed_exceptions"
    UNIQUE: ClassVar[tuple[str, ...]] = ("rule", "about")

    rule: str
    about: str  # the entry id that raised it
    reason: str
    closed_by: str


KINDS: dict[str, type[Entry]] = {
    cls.KIND: cls
    for cls in (
        SetupRevision,
        DigReturn,
        BeltReading,
        LorryLoad,
        BeltCheck,
        StockCount,
        SiteReuse,
        TransferNote,
        ReuseDeclaration,
        GateTraffic,
        GateBooking,
        HoldRelease,
        FormationStep,
        PlannedStage,
        SurveyLevel,
        SurveySurface,
        SurveyCheck,
        Receipt,
        Baseline,
        ClosedException,
    )
}


@dataclass(frozen=True, slots=True)
class Stored:
    """An entry as the ledger holds it. `entry` is None on a withdrawal."""

    kind: str
    entry_id: str
    action: str  # recorded | amended | withdrawn
    recorded_at: datetime
    recorded_by: str
    supersedes: str | None
    superseded_by: str | None
    reason: str
    entry: Entry | None


_FIELD_NAMES = {cls: tuple(f.name for f in fields(cls)) for cls in KINDS.values()}


def field_names(cls: type[Entry]) -> tuple[str, ...]:
    """The columns of a kind of entry, id first."""
    return _FIELD_NAMES[cls]


def as_row(entry: Entry) -> dict[str, Any]:
    """The entry as column -> value."""
    return {name: getattr(entry, name) for name in field_names(type(entry))}
