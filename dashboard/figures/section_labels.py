"""The words on a section, each in a box of its own; placed so that none overlaps another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from dashboard import theme
from dashboard.figures.drawing import Label
from dashboard.figures.lettering import (
    LINE_HEIGHT,
    Box,
    free_place,
    spread,
    text_box,
    text_width,
    wrapped,
)
from dashboard.figures.profile import profile_boxes, surveys_shown
from dashboard.figures.sheet import TRIANGLE_HALF_PX, TRIANGLE_HIGH_PX, Sheet
from tracker.statements.shapes import StageProgress, ZoneProgress

PAPER_PX = 4  # paper around the words of a breach
REACH_PX = 160  # how far a label may stand from what it names


# --- the right-hand side -------------------------------------------------------------------------
def right_labels(sheet: Sheet, zones: Sequence[ZoneProgress]) -> list[Label]:
    """Ground, each design dig level that most zones share, and formation, with their supports."""
    rows = [("Ground", zones[-1].ground_level_m, _ground_range(zones))]
    rows += [
        (
            "Formation" if last else f"Stage {stage.stage}",
            stage.design_level_m,
            f"then {stage.support}" if stage.support else "",
        )
        for stage, last in _shared_stages(zones)
    ]
    texts = [_right_text(sheet, *row) for row in rows]
    size = 11 if sheet.narrow else 12
    high = max(len(lines) for lines in texts) * size * LINE_HEIGHT
    wanted = [sheet.y_px(row[1]) for row in rows]
    bottom = sheet.top_px + sheet.plot_height_px - high / 2
    places = spread(wanted, high + 3, sheet.top_px - 8, bottom + 8)
    wall = sheet.x_px(sheet.end_m)
    labels = []
    for lines, want, place in zip(texts, wanted, places, strict=True):
        wide = max(text_width(line, size) for line in lines)
        box = Box(wall + 16, place - high / 2, wall + 16 + wide, place + high / 2)
        text = "<br>".join((f"<b>{lines[0]}</b>", *lines[1:]))
        leader = ((wall + 2, want), (wall + 13, place))
        labels.append(Label(text, box, size, theme.INK, "left", leader=leader))
    return labels


def _ground_range(zones: Sequence[ZoneProgress]) -> str:
    """From which to which level the ground lies, if not level."""
    low, high = (f(z.ground_level_m for z in zones) for f in (min, max))
    return "" if low == high else f"{theme.level(low)} to {theme.level(high)} by zone"


def _right_text(sheet: Sheet, name: str, level_m: float, support: str) -> list[str]:
    if sheet.narrow:
        return [name, theme.level(level_m)]
    return [
        f"{name}  {theme.level(level_m, 'm')}",
        *wrapped(support, 12, sheet.right_px - 20)[:2],
    ]


def _shared_stages(zones: Sequence[ZoneProgress]) -> list[tuple[StageProgress, bool]]:
    """Of each stage number the level most zones have, with whether it is the last of its zone."""
    found: dict[int, list[tuple[StageProgress, bool]]] = {}
    for zone in zones:
        for stage in zone.stages:
            found.setdefault(stage.stage, []).append((stage, stage is zone.stages[-1]))
    shared = []
    for stages in found.values():
        level = Counter(s.design_level_m for s, _ in stages).most_common(1)[0][0]
        shared.append(next(pair for pair in stages if pair[0].design_level_m == level))
    return sorted(shared, key=lambda pair: -pair[0].design_level_m)


# --- in the zones --------------------------------------------------------------------------------
def zone_labels(sheet: Sheet, zones: Sequence[ZoneProgress], kind: str) -> list[Label]:
    """Names and permitted levels above each zone; lowest levels and odd design levels inside.

    Breaches are placed first. A label for which there is no room is left out: its number stands in
    the rows below, and beside the pointer.
    """
    labels = [label for zone in zones for label in _heading(sheet, zone)]
    taken = [box for zone in zones for box in obstacles(sheet, zone, kind)]
    for zone in sorted(zones, key=lambda z: not z.in_breach):
        _keep(_lowest(sheet, zone, taken), labels, taken)
    shared = {(s.stage, s.design_level_m) for s, _ in _shared_stages(zones)}
    for zone in zones:
        for stage in zone.stages:
            if (stage.stage, stage.design_level_m) not in shared:
                _keep(_odd_level(sheet, zone, stage, taken), labels, taken)
    return labels


def _keep(label: Label | None, labels: list[Label], taken: list[Box]) -> None:
    if label is not None:
        labels.append(label)
        taken.append(label.box)


def _heading(sheet: Sheet, zone: ZoneProgress) -> list[Label]:
    """The name of a zone over its permitted level, as much of both as its width holds."""
    left, right = sheet.x_px(zone.along_from_m), sheet.x_px(zone.along_to_m)
    room = right - left - 2
    level = theme.level(zone.permitted_level_m)
    names = [(zone.name, 13), (zone.zone, 13), (zone.zone, 10)]
    levels = [(f"permitted {level}", 12), (level, 12), (level, 10)]
    labels = []
    for words, y, colour in ((names, 14, theme.INK), (levels, 33, theme.PLANNED)):
        fitting = [(text, size) for text, size in words if text_width(text, size) <= room]
        for text, size in fitting[:1]:
            box = text_box([text], size, (left + right) / 2, y)
            bold = f"<b>{text}</b>" if colour == theme.INK else text
            labels.append(Label(bold, box, size, colour))
    return labels


def _lowest(sheet: Sheet, zone: ZoneProgress, taken: list[Box]) -> Label | None:
    """The lowest level above its triangle; in a breach below it, with words and a leader."""
    if zone.lowest_level_m is None:
        return None
    x = (sheet.x_px(zone.along_from_m) + sheet.x_px(zone.along_to_m)) / 2
    apex = sheet.y_px(zone.lowest_level_m)
    size = 11 if sheet.narrow else 13
    around = PAPER_PX if zone.in_breach else 0
    for lines in _lowest_words(zone, zone.lowest_level_m):
        half = text_box(lines, size, x, 0, around).bottom
        ways = (text_box(lines, size, x, y, around) for y in _heights(zone, apex, half))
        box = free_place(ways, taken, _inside(sheet))
        if box is not None:
            text = "<br>".join((f"<b>{lines[0]}</b>", *lines[1:]))
            leader = ((x, apex), (x, box.top)) if zone.in_breach and box.top > apex else None
            colour = theme.BREACH_TEXT if zone.in_breach else theme.INK
            return Label(text, box, size, colour, on_paper=zone.in_breach, leader=leader)
    return None


def _heights(zone: ZoneProgress, apex: float, half: float) -> list[float]:
    """Where the middle of the label may stand, best first."""
    above, below = apex - TRIANGLE_HIGH_PX - half, apex + 4 + half
    upwards = [above - n for n in range(0, REACH_PX, 3)]
    downwards = [below + n for n in range(0, REACH_PX, 3)]
    return [*downwards, *upwards] if zone.in_breach else [*upwards, *downwards]


def _lowest_words(zone: ZoneProgress, lowest_m: float) -> list[list[str]]:
    """The lines of the label, from the fullest to the shortest."""
    level = theme.level(lowest_m)
    if not zone.in_breach:
        return [[level]]
    below = theme.level(zone.permitted_level_m - lowest_m, "m")
    first = f"{zone.zone}: {level}"
    return [
        [first, f"{below} below permitted"],
        [first, f"{below} below", "permitted"],
        [first, f"{below} below"],
        [level, "below"],
        [level],
    ]


def _odd_level(
    sheet: Sheet, zone: ZoneProgress, stage: StageProgress, taken: list[Box]
) -> Label | None:
    """A design dig level that is this zone's own, named inside it."""
    text = f"{stage.stage}: {theme.level(stage.design_level_m)}"
    x = sheet.x_px(zone.along_from_m) + 5 + text_width(text, 11) / 2
    line = sheet.y_px(stage.design_level_m)
    ways = [line + sign * (9 + n) for n in range(0, 45, 3) for sign in (1, -1)]
    box = free_place((text_box([text], 11, x, y) for y in ways), taken, _inside(sheet))
    return None if box is None else Label(text, box, 11, theme.GREY)


def _inside(sheet: Sheet) -> Box:
    """The drawing between its walls."""
    return Box(
        sheet.x_px(sheet.first_m) + 2,
        sheet.top_px,
        sheet.x_px(sheet.last_m) - 2,
        sheet.top_px + sheet.plot_height_px,
    )


def obstacles(sheet: Sheet, zone: ZoneProgress, kind: str) -> list[Box]:
    """What no label may cover in a zone: supports, lines, the triangle."""
    left, right = sheet.x_px(zone.along_from_m), sheet.x_px(zone.along_to_m)

    def strip(level_m: float, half_px: float) -> Box:
        y = sheet.y_px(level_m)
        return Box(left, y - half_px, right, y + half_px)

    levels = [stage.design_level_m for stage in zone.stages[:-1]]
    boxes = [box for level in levels for box in sheet.supports(zone, level, kind)]
    boxes += [strip(level, 1) for level in (*levels, zone.formation_level_m)]
    boxes += [strip(zone.permitted_level_m, 3), strip(zone.general_level_m, 1)]
    boxes += profile_boxes(sheet, zone)
    if zone.lowest_level_m is not None:
        x, apex = (left + right) / 2, sheet.y_px(zone.lowest_level_m)
        boxes.append(Box(x - TRIANGLE_HALF_PX, apex - TRIANGLE_HIGH_PX, x + TRIANGLE_HALF_PX, apex))
    return boxes


# --- the key -------------------------------------------------------------------------------------
def key_rows(
    zones: Sequence[ZoneProgress], names: dict[str, str], kind: str, width_px: int
) -> list[list[tuple[str, str]]]:
    """(mark, words) in rows that fit the width."""
    support = "Lining ring" if kind == "shaft" else "Prop"
    used = {g.stream for z in zones for g in z.ground if g.lower_level_m < z.general_level_m}
    surveyed = surveys_shown(zones)
    entries = [
        *(("surveyed", f"Surveyed {name}, {theme.short_day(on)}") for name, on in surveyed),
        *([("general", "General level")] if surveyed else []),
        ("permitted", "Permitted level"),
        ("lowest", "Lowest point"),
        ("in", f"{support} in and released"),
        ("to come", f"{support} to come"),
        *((f"stream {s}", name) for s, name in names.items() if s in used),
    ]
    rows: list[list[tuple[str, str]]] = [[]]
    room = width_px - (0 if width_px < theme.PHONE_PX else 56)
    x = 0.0
    for mark, words in entries:
        wide = 18 + text_width(words, 12) + 16
        if rows[-1] and x + wide > room:
            rows.append([])
            x = 0.0
        rows[-1].append((mark, words))
        x += wide
    return rows
