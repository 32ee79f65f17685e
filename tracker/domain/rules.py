"""The names of the rules that records can break: one list for recording, closing and stating.

An exception is known by its rule and the entry, day or hour that broke it.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

BREACH_RULE = "below_permitted_level"
CAP_RULE = "over_movement_cap"
SURVEY_RULE = "survey_disagrees"  # the returns differ from it by more than the red limit
# Rules of a load, flagged when it is recorded under the set-up of its day.
OVER_PLATE, OVERRIDE, SHORT_CYCLE = "over_plate", "override", "short_cycle"
OUTSIDE_WINDOW, UNKNOWN_AUTHORISATION = "outside_window", "unknown_authorisation"
# Rules of papers, receipts and tickets, found when asked: what is missing may still come.
NO_NOTE, NOTE_NOT_RECORDED = "no_transfer_note", "note_not_recorded"
NOTE_DOES_NOT_COVER, NOTE_USED_TWICE = "note_does_not_cover", "note_used_twice"
NO_RECEIPT, TICKETS_MISSING = "no_receipt", "tickets_missing"
NO_DECLARATION = "no_declaration"
REUSE_80, REUSE_90, REUSE_100 = "reuse_at_80_percent", "reuse_at_90_percent", "reuse_used_up"
AUTHORISATION_ENDS = "authorisation_ends"
# Rules of heaps and of the belt.
OVER_SURCHARGE, BELT_CHECK = "over_surcharge_limit", "belt_check_failed"
BELT_JUMP = "belt_reading_jumps"
# Rules of holds and of formation.
HOLD_LATE, FORMATION_EXPOSED = "hold_late", "formation_exposed"
FORMATION_LATE = "formation_recorded_late"  # long after its level stood there
FASTEST_BELT_T_PER_H = 1000.0  # faster than that, a digit slipped: common practice, no source

_TWC, _HAULAGE = "temporary works coordinator", "haulage coordinator"
_WASTE, _ENGINEER = "environmental manager", "site engineer"
# Who usually closes what (common practice, no source); the site's own plan may say otherwise.
CLOSED_BY: Mapping[str, str] = MappingProxyType(
    {
        BREACH_RULE: _TWC,
        CAP_RULE: _HAULAGE,
        SURVEY_RULE: _ENGINEER,
        OVER_PLATE: _HAULAGE,
        OVERRIDE: _WASTE,
        SHORT_CYCLE: _HAULAGE,
        OUTSIDE_WINDOW: _HAULAGE,
        UNKNOWN_AUTHORISATION: _WASTE,
        NO_NOTE: _WASTE,
        NOTE_NOT_RECORDED: _WASTE,
        NOTE_DOES_NOT_COVER: _WASTE,
        NOTE_USED_TWICE: _WASTE,
        NO_RECEIPT: _HAULAGE,
        TICKETS_MISSING: _HAULAGE,
        NO_DECLARATION: _WASTE,
        REUSE_80: _WASTE,
        REUSE_90: _WASTE,
        REUSE_100: _WASTE,
        AUTHORISATION_ENDS: _WASTE,
        OVER_SURCHARGE: _TWC,
        BELT_CHECK: "belt operator",
        BELT_JUMP: "belt operator",
        HOLD_LATE: _TWC,
        FORMATION_EXPOSED: _TWC,
        FORMATION_LATE: _TWC,
    }
)
RULES = tuple(CLOSED_BY)
# Beyond a limit that protects somebody, or without the papers to move at all.
SERIOUS = frozenset(
    {
        CAP_RULE,
        OVER_PLATE,
        OVER_SURCHARGE,
        BELT_JUMP,
        NO_NOTE,
        NOTE_DOES_NOT_COVER,
        NOTE_USED_TWICE,
        NO_DECLARATION,
        REUSE_100,
        FORMATION_EXPOSED,
    }
)
REUSE_RULES: Mapping[int, str] = MappingProxyType({80: REUSE_80, 90: REUSE_90, 100: REUSE_100})
# What an exception may be about, by its first word, where no single entry raised it.
NOT_ENTRIES = ("day ", "hour ", "carrier ", "destination ", "note ", "stream ")
