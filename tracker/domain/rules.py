"""The names of the rules that records can break: one list for recording, closing and stating.

An exception is known by its rule and the entry, day or hour that broke it.
"""

from __future__ import annotations

BREACH_RULE = "below_permitted_level"
CAP_RULE = "over_movement_cap"
SURVEY_RULE = "survey_disagrees"  # the returns differ from it by more than the red limit
# Rules of a load, flagged when it is recorded under the set-up of its day.
OVER_PLATE, OVERRIDE, SHORT_CYCLE = "over_plate", "override", "short_cycle"
OUTSIDE_WINDOW, UNKNOWN_AUTHORISATION = "outside_window", "unknown_authorisation"

RULES = (
    BREACH_RULE,
    CAP_RULE,
    SURVEY_RULE,
    OVER_PLATE,
    OVERRIDE,
    SHORT_CYCLE,
    OUTSIDE_WINDOW,
    UNKNOWN_AUTHORISATION,
)
