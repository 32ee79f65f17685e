"""The form of an option: each change a switch, off at first, over typed fields beside sliders."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import dash_mantine_components as dmc
from dash import html

from dashboard.components import choice, date_field, decimal_field, text_field
from dashboard.ids import WhatIf
from tracker.statements.options import AS_SET_UP, FIELDS, Comparison, Option, option_values

SIDES = ("a", "b")
WORDS = {field.key: field.words for field in FIELDS}
UNITS = {field.key: field.unit for field in FIELDS}


@dataclass(frozen=True, slots=True)
class Slide:
    """Where a slider goes from and to, and by which steps."""

    low: float
    high: float
    step: float = 1.0
    now: float | None = None  # as set up: where it opens


@dataclass(frozen=True, slots=True)
class Part:
    """One change: its keys by control, and what the set-up says of it now."""

    part: str
    words: str
    as_set_up: str
    texts: tuple[str, ...] = ()
    dates: tuple[str, ...] = ()
    choices: Mapping[str, tuple[str, ...]] | None = None
    numbers: Mapping[str, Slide] | None = None
    missing: str = ""  # why this cannot be changed on this site

    @property
    def keys(self) -> tuple[str, ...]:
        """Every key of it."""
        return (*(self.choices or {}), *self.texts, *self.dates, *(self.numbers or {}))


# --- what can be changed on a site ---------------------------------------------------------------
def parts_of(site: Any) -> tuple[Part, ...]:
    """The changes that a site offers, with what is set up now."""
    return (_shift(site), _belt_out(site), *_caps(site), _payload(site), _zones(site),
            _fleet(site), _belt(site))  # fmt: skip


def _shift(site: Any) -> Part:
    days = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    now = "; ".join(
        f"{s.name} {' '.join(days[d] for d in s.weekdays)} {s.starts:%H:%M} to {s.ends:%H:%M}"
        for s in site.shifts
    )
    keys = ("name", "weekdays", "starts", "ends")
    return Part(
        "added_shift",
        "Add a shift",
        f"As set up: {now}.",
        texts=tuple(f"added_shift.{key}" for key in keys),
        dates=("added_shift.from",),
    )


def belts_on(site: Any) -> tuple[str, ...]:
    """The belts that ground leaves by."""
    return tuple(dict.fromkeys(leg.belt for r in site.routes for leg in r.legs if leg.belt))


def _belt_out(site: Any) -> Part:
    stops = [s for s in site.stops if s.kind == "belt"]
    now = f"As set up: {len(stops)} planned stops." if stops else "As set up: no planned stop."
    belts = belts_on(site)
    return Part(
        "belt_out",
        "Belt out for days",
        now,
        dates=("belt_out.from",),
        choices={"belt_out.belt": belts},
        numbers={"belt_out.days": Slide(1, 30, now=5)},
        missing="" if belts else "No route begins with a belt.",
    )


def _caps(site: Any) -> tuple[Part, ...]:
    parts = []
    for per, words in (("day", "Movement cap a day"), ("hour", "Movement cap an hour")):
        now = [c.movements for c in site.caps if c.per == per and c.direction == "both"]
        said = f"As set up: {now[0]} movements." if now else "As set up: no cap."
        most = 2 * now[0] if now and now[0] else 200 if per == "day" else 40
        key = f"cap_{per}"
        slide = Slide(0, most, now=now[0] if now else None)
        parts.append(Part(key, words, said, numbers={key: slide}))
    return tuple(parts)


def _payload(site: Any) -> Part:
    names = {r.legs[0].vehicle for r in site.routes if r.legs[0].mode == "lorry"}
    lorries = [v for v in site.vehicles if v.vehicle in names]
    plates = "; ".join(f"{v.name} {v.plated_payload_t:g} t" for v in lorries)
    most = min((v.plated_payload_t for v in lorries), default=20.0)
    return Part(
        "payload_t",
        "Payload of the lorries",
        f"As set up: as observed. By plate: {plates}.",
        numbers={"payload_t": Slide(5, most, 0.1, most)},
        missing="" if lorries else "No route begins with a lorry.",
    )


def _zones(site: Any) -> Part:
    now = site.zones_at_once
    said = f"As set up: {now}." if now else "As set up: as many as the record shows."
    slide = Slide(1, max(len(site.zones), 2), now=now)
    return Part("zones_at_once", "Zones dug at once", said, numbers={"zones_at_once": slide})


def _fleet(site: Any) -> Part:
    now = "; ".join(f"{f.fleet}: {f.lorries} lorries, {f.loaders} loaders" for f in site.fleets)
    most = max((f.lorries for f in site.fleets), default=1)
    only = site.fleets[0] if len(site.fleets) == 1 else None
    return Part(
        "fleet",
        "Lorries and loaders of a fleet",
        f"As set up: {now}.",
        choices={"fleet.fleet": tuple(f.fleet for f in site.fleets)},
        numbers={
            "fleet.lorries": Slide(1, 2 * most, now=only and only.lorries),
            "fleet.loaders": Slide(1, 8, now=only and only.loaders),
        },
        missing="" if site.fleets else "No fleet is set up: fill fleets.csv.",
    )


def _belt(site: Any) -> Part:
    def of(belt: Any) -> str:
        if belt.width_m is None or belt.speed_m_per_s is None:
            return f"{belt.belt}: no geometry in belts.csv"
        return f"{belt.belt}: {belt.width_m:g} m wide at {belt.speed_m_per_s:g} m/s"

    only = site.belts[0] if len(site.belts) == 1 else None
    return Part(
        "belt",
        "Belt width and speed",
        f"As set up: {'; '.join(of(b) for b in site.belts)}.",
        choices={"belt.belt": tuple(b.belt for b in site.belts)},
        numbers={
            "belt.width_m": Slide(0.5, 1.6, 0.05, only and only.width_m),
            "belt.speed_m_per_s": Slide(0.5, 5.0, 0.05, only and only.speed_m_per_s),
        },
        missing="" if site.belts else "No belt is described: fill belts.csv.",
    )


# --- the controls --------------------------------------------------------------------------------
def form(site: Any, comparison: Comparison | None = None) -> list[html.Section]:
    """Both options side by side, filled as a link says, or else as set up."""
    options = (comparison.a, comparison.b) if comparison else (AS_SET_UP, AS_SET_UP)
    parts = parts_of(site)
    return [_side(side, option, parts) for side, option in zip(SIDES, options, strict=True)]


def _side(side: str, option: Option, parts: tuple[Part, ...]) -> html.Section:
    values = shown_values(option)
    name = text_field(field_id(WhatIf.FIELD, side, "name"), f"Name of option {side.upper()}")
    name.value = values.get("name", "")
    return html.Section(
        [html.H2(f"Option {side.upper()}"), name, *(_part(side, p, values) for p in parts)],
        className="option-side",
        **{"aria-label": f"Option {side.upper()}"},
    )


def shown_values(option: Option) -> dict[str, str]:
    """An option as the form shows it: days without a belt are counted."""
    values = option_values(option)
    if option.belt_out:
        out = option.belt_out
        values["belt_out.days"] = str((out.last_day - out.first_day).days + 1)
        del values["belt_out.to"]
    return values


def field_id(type: WhatIf, side: str, key: str) -> dict[str, str]:
    """The id of a control; ids take no point."""
    return {"type": type, "side": side, "key": key.replace(".", "-")}


def _part(side: str, part: Part, values: Mapping[str, str]) -> html.Div:
    if part.missing:
        words = html.P(part.missing, className="beside")
        return html.Div(
            [html.P(part.words, className="group-label"), words], className="option-part"
        )
    on = any(values.get(key) for key in part.keys)
    switch = dmc.Switch(
        id={"type": WhatIf.PART, "side": side, "part": part.part}, label=part.words, checked=on
    )
    place = html.Div(
        [html.P(part.as_set_up, className="field-help"), *_controls(side, part, values)],
        id={"type": WhatIf.PLACE, "side": side, "part": part.part},
        hidden=not on,
        className="option-place",
    )
    return html.Div([switch, place], className="option-part")


def _controls(side: str, part: Part, values: Mapping[str, str]) -> list[Any]:
    on = any(values.get(key) for key in part.keys)
    held = values if on else {**_FIRST, **values}

    def placed(make: Callable[..., Any], key: str, label: str, empty: Any = "", **more: Any) -> Any:
        made = make(field_id(WhatIf.FIELD, side, key), label, **more)
        made.value = held.get(key) or empty
        return made

    parts: list[Any] = []
    for key, names in (part.choices or {}).items():
        first = names[0] if len(names) == 1 else None
        data = [{"value": name, "label": name} for name in names]
        parts.append(placed(choice, key, WORDS[key], first, data=data))
    for key in part.texts:
        parts.append(placed(text_field, key, _label(key), help=_HELPS.get(key, "")))
    for key in part.dates:
        parts.append(placed(date_field, key, _DATES[key], None, clearable=key in _MAY_BE_LEFT_OUT))
    for key, slide in (part.numbers or {}).items():
        now = "" if on or slide.now is None else f"{slide.now:g}"
        parts.append(_number(side, key, slide, held.get(key, now)))
    return parts


# What stands in a change before it is switched on: to be changed, and common practice only.
_FIRST = {
    "added_shift.name": "Saturday",
    "added_shift.weekdays": "Sat",
    "added_shift.starts": "08:00",
    "added_shift.ends": "16:00",
}
_HELPS = {
    "added_shift.weekdays": "Such as Sat, or Mon-Fri",
    "added_shift.starts": "Local time, such as 08:00",
    "added_shift.ends": "Local time, such as 16:00",
}
_DATES = {
    "added_shift.from": "First day (tomorrow, if left out)",
    "belt_out.from": "First day without the belt",
}
_MAY_BE_LEFT_OUT = ("added_shift.from",)


def _label(key: str) -> str:
    unit = UNITS[key]
    plain = unit in ("", "date", "local time")
    return WORDS[key] if plain else f"{WORDS[key]}, {unit}"


def _number(side: str, key: str, slide: Slide, value: str) -> html.Div:
    """A typed number beside a slider that follows it, and leads it."""
    typed = decimal_field(field_id(WhatIf.NUMBER, side, key), _label(key))
    typed.value = value
    at = min(max(float(value or slide.low), slide.low), slide.high)
    slider = dmc.Slider(
        id=field_id(WhatIf.SLIDER, side, key),
        value=at,
        min=slide.low,
        max=slide.high,
        step=slide.step,
        label=None,
        thumbLabel=f"{WORDS[key]} of option {side.upper()}",
        updatemode="drag",
        size="sm",
        className="option-slider",
    )
    return html.Div([typed, slider], className="option-number")
