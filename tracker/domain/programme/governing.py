"""The words for what governs a shift: one list for the walk, the past and the screens."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

HOLD, CALENDAR, TURN, DIG = "hold", "calendar", "turn", "dig"
STOP, HOIST, BELT, LORRIES = "stop", "hoist", "belt", "lorries"
GATE, RECEIVER = "gate", "receiver"

WORDS: Mapping[str, str] = MappingProxyType(
    {
        HOLD: "the hold point above",
        CALENDAR: "the calendar",
        TURN: "crews at work in other zones",
        DIG: "the rate of digging",
        STOP: "a stop or possession",
        HOIST: "the hoist",
        BELT: "the belt",
        LORRIES: "the lorries and their round",
        GATE: "gate windows and movement caps",
        RECEIVER: "what the receiver takes",
    }
)
