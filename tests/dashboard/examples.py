"""Small invented statements for the figure tests: a box of five zones and a shaft. No real site."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from tracker.domain.surface.picture import Picture
from tracker.statements.basis import Basis
from tracker.statements.gate_shapes import HourLine
from tracker.statements.shapes import (
    BandLine,
    BaselineView,
    CarbonStatement,
    CurvePoint,
    ExcavationProgress,
    GroundLine,
    LegLine,
    MovementsStatement,
    OptionLine,
    PeriodLine,
    ProfilePoint,
    ProgressStatement,
    RouteLine,
    StageProgress,
    ZoneProgress,
)

AS_OF = date(2026, 10, 27)
CAUTION = "Levels are as reported. The permit on site governs, not this drawing."

BASIS = Basis(
    site="Invented Quay",
    as_of=AS_OF,
    known_at=None,
    revision="first set-up",
    revision_from=date(2026, 4, 1),
    datum="Levels in metres above the site datum; national datum = site level − 100.000 m.",
    returns_expected=40,
    returns_received=38,
    returns_nil=5,
    quality=("2 returns missing.",),
    cautions=(CAUTION,),
)

LEVELS = (101.6, 96.4, 90.6, 84.8)
SUPPORTS = ("top props", "waler and middle props", "lower props", "base slab")
GROUND = (
    GroundLine(104.2, 101.8, "made"),
    GroundLine(101.8, 97.6, "gravel"),
    GroundLine(97.6, 80.0, "clay"),
)


def _stages(zone, levels, released, reached, excavation="BOX", supports=SUPPORTS):
    tops = (104.2, *levels)
    return tuple(
        StageProgress(
            excavation=excavation,
            zone=zone,
            stage=n + 1,
            top_level_m=tops[n],
            design_level_m=levels[n],
            support=supports[n],
            hold_days=9,
            status="released" if n < released else "not released",
            decided_on=AS_OF - timedelta(days=30) if n < released else None,
            reached=n < reached,
            reached_on=AS_OF - timedelta(days=20) if n < reached else None,
            support_released=n + 1 < released,
            planned_start=date(2026, 4, 1) + timedelta(days=40 * n),
            planned_finish=date(2026, 5, 1) + timedelta(days=40 * n),
            design_bank_m3=(tops[n] - levels[n]) * 720.0,
            dug_bank_m3=(tops[n] - levels[n]) * 720.0 if n < reached else 0.0,
        )
        for n in range(len(levels))
    )


UNSURVEYED = {"survey": "", "surveyed_on": None, "since_survey_m3": None, "profile": ()}


def zone(name, start, end, *, general, lowest, released, levels=LEVELS, **more):
    """One zone of the box, with the stages above its general level reached; not surveyed yet."""
    permitted = 104.2 if not released else levels[released - 1]
    reached = sum(general <= level + 0.05 for level in levels)
    return ZoneProgress(
        excavation="BOX",
        zone=name,
        name=f"Zone {name}",
        along_from_m=start,
        along_to_m=end,
        area_m2=(end - start) * 30.0,
        ground_level_m=104.2,
        formation_level_m=levels[-1],
        permitted_level_m=permitted,
        general_level_m=general,
        general_basis="reported",
        lowest_level_m=lowest,
        lowest_on=None if lowest is None else AS_OF,
        in_breach=lowest is not None and lowest < permitted,
        design_bank_m3=(104.2 - levels[-1]) * (end - start) * 30.0,
        dug_net_m3=(104.2 - general) * (end - start) * 30.0,
        u_dug_m3=40.0,
        overdig_m3=0.0,
        accepted_m2=0.0,
        ground=GROUND,
        stages=_stages(name, levels, released, reached),
        waits_for=f"Zone {name} waits for stage {released + 1} to be released.",
        **(UNSURVEYED | more),
    )


def profile(start, end, mean, half=0.3):
    """A surveyed profile of even level across, one point a metre."""
    return tuple(
        ProfilePoint(start + n + 0.5, mean, mean - half, mean + half) for n in range(end - start)
    )


def surveyed(zone, mean, survey="SV9", on=date(2026, 10, 23), since_m3=240.0):
    """The zone again as a survey found it some days ago."""
    points = profile(int(zone.along_from_m), int(zone.along_to_m), mean)
    return replace(zone, survey=survey, surveyed_on=on, since_survey_m3=since_m3, profile=points)


BOX_ZONES = (
    zone("A", 0, 24, general=90.9, lowest=90.7, released=3),
    zone("B", 24, 50, general=91.3, lowest=90.9, released=3),
    zone("C", 50, 74, general=94.1, lowest=93.8, released=3),
    zone("D", 74, 98, general=96.5, lowest=96.1, released=2),
    zone("E", 98, 120, general=97.6, lowest=97.2, released=2),
)
SHAFT_LEVELS = (100.0, 95.0, 90.0, 85.0, 79.5)
RINGS = ("lining ring 1", "lining ring 2", "lining ring 3", "lining ring 4", "base slab")
SHAFT_ZONE = replace(
    zone("S", 0, 18, general=90.2, lowest=90.05, released=3, levels=SHAFT_LEVELS[:4]),
    excavation="SHAFT",
    name="Shaft",
    formation_level_m=79.5,
    permitted_level_m=90.0,
    stages=_stages("S", SHAFT_LEVELS, 3, 3, "SHAFT", RINGS),
    ground=(*GROUND[:2], GroundLine(97.6, 76.0, "clay")),
)


def _excavation(name, words, kind, zones):
    return ExcavationProgress(
        excavation=name,
        name=words,
        kind=kind,
        target_formation=date(2026, 12, 11),
        design_bank_m3=sum(z.design_bank_m3 for z in zones),
        dug_net_m3=sum(z.dug_net_m3 for z in zones),
        u_dug_m3=120.0,
        overdig_m3=12.0,
        stages_total=sum(len(z.stages) for z in zones),
        stages_released=sum(s.status == "released" for z in zones for s in z.stages),
        stages_reached=sum(s.reached for z in zones for s in z.stages),
        formation_m2=sum(z.area_m2 for z in zones),
        accepted_m2=0.0,
        headline=f"{words}. No zone is below its permitted level.",
    )


def _bands(zones):
    return tuple(
        BandLine(
            z.excavation,
            z.zone,
            s.top_level_m,
            s.design_level_m,
            s.design_bank_m3,
            s.dug_bank_m3,
        )
        for z in zones
        for s in z.stages
    )


def _curve(excavation, total):
    days = [date(2026, 4, 1) + timedelta(days=n) for n in range(0, 260, 4)]
    return tuple(
        CurvePoint(
            excavation,
            d,
            total * min(1.0, n / 50),
            total * min(1.0, n / 58) if d <= AS_OF else None,
        )
        for n, d in enumerate(days)
    )


def progress(zones=BOX_ZONES, shaft=(SHAFT_ZONE,)):
    """A progress statement; zone D of the box is below its permitted level."""
    excavations = (
        _excavation("BOX", "Station box", "box", zones),
        *((_excavation("SHAFT", "Shaft", "shaft", shaft),) if shaft else ()),
    )
    return ProgressStatement(
        basis=BASIS,
        headline="Zone D is 0.30 m below its permitted level. Stop and ask.",
        excavations=excavations,
        zones=(*zones, *shaft),
        bands=_bands((*zones, *shaft)),
        curve=(*_curve("BOX", 60000.0), *_curve("SHAFT", 6000.0)),
        stream_names=(("made", "Made ground"), ("gravel", "Gravel"), ("clay", "Stiff clay")),
    )


EMPTY_PROGRESS = ProgressStatement(BASIS, "Nothing set up yet.", (), (), (), (), ())


def period(label, starts, ends, belt_t, loads):
    """A period line in which one load avoided is two movements."""
    lorry_t = loads * 19.2
    baseline_loads = (belt_t + lorry_t) / 19.0
    avoided = baseline_loads - loads
    return PeriodLine(
        label=label,
        starts=starts,
        ends=ends,
        spoil_t=belt_t + lorry_t,
        belt_t=belt_t,
        lorry_t=lorry_t,
        weighed_lorry_t=lorry_t * 0.97,
        loads=loads,
        movements=2 * loads,
        baseline_loads=baseline_loads,
        baseline_movements=2 * baseline_loads,
        avoided_loads=avoided,
        avoided_movements=2 * avoided,
        avoided_movements_low=2 * avoided * 0.95,
        avoided_movements_high=2 * avoided * 1.06,
    )


PERIODS = (
    period("Aug 2026", date(2026, 8, 1), date(2026, 8, 31), 12400.0, 310),
    period("Sep 2026", date(2026, 9, 1), date(2026, 9, 30), 14100.0, 120),
    period("Oct 2026", date(2026, 10, 1), AS_OF, 0.0, 400),
)
BASELINE = BaselineView(
    "all by road",
    date(2026, 3, 2),
    "four-axle rigid",
    18.0,
    19.0,
    20.0,
    46.0,
    "restoration site",
    True,
    "invented baseline note",
)


def movements(lines=PERIODS):
    """A movements statement over the given periods."""
    return MovementsStatement(
        basis=BASIS,
        since=date(2026, 8, 1),
        until=AS_OF,
        grain="month",
        baseline=BASELINE,
        lines=lines,
        total=period("Total", date(2026, 8, 1), AS_OF, 26500.0, 830),
        routes=(
            RouteLine(
                "R-BELT",
                "Belt to wharf, barge",
                "belt",
                "restoration site",
                "recovery",
                26500.0,
                0,
                1.2,
                "",
            ),
        ),
        observed_payload_t=19.2,
        observed_payload_loads=810,
        weighed_percent=98.0,
        conveyor_movements=3400.0,
        onward_loads=1380.0,
        avoided_lorry_km=128000.0,
        claim="About 2,790 lorry movements avoided, on the basis stated.",
    )


def _leg(option, leg, mode, start, end, km, mass_t, kg, split=True):
    return LegLine(
        option,
        "R-BELT",
        leg,
        mode,
        start,
        end,
        km,
        mass_t,
        km * mass_t,
        kg * 0.8 if split else None,
        kg * 0.2 if split else None,
        kg,
        kg / mass_t,
        "invented factor",
    )


def carbon():
    """Carbon of a belt, barge and lorry chain beside the lorry-only baseline."""
    return CarbonStatement(
        basis=BASIS,
        since=date(2026, 8, 1),
        until=AS_OF,
        legs=(
            _leg("as moved", 1, "belt", "box", "wharf", 0.6, 26500.0, 5200.0),
            _leg("as moved", 2, "barge", "wharf", "jetty", 38.0, 26500.0, 31000.0, split=False),
            _leg("as moved", 3, "lorry", "jetty", "restoration site", 1.2, 26500.0, 4100.0),
            _leg("baseline", 1, "lorry", "site", "restoration site", 46.0, 42436.0, 221000.0),
        ),
        options=(
            OptionLine("as moved", 42436.0, 60000.0, 15000.0, 35000.0, 110000.0, 2.59),
            OptionLine("baseline", 42436.0, 176800.0, 44200.0, 0.0, 221000.0, 5.21),
        ),
        routes=(OptionLine("R-BELT", 26500.0, 7440.0, 1860.0, 31000.0, 40300.0, 1.52),),
        saved_kgco2e=111000.0,
        saved_low_kgco2e=101000.0,
        saved_high_kgco2e=122000.0,
        saved_by_belt_kgco2e=100000.0,
        fixed_kgco2e=None,
        break_even_t=None,
        editions=("2025 edition",),
        attribution="Contains public sector information licensed under the OGL v3.0.",
        headline="About half the carbon of the baseline.",
    )


HOURS = tuple(HourLine(h, 6 if h == 9 else 3, 12 if h == 9 else 4) for h in range(7, 19))


# --- surveyed ground -----------------------------------------------------------------------------
def picture(zones=("A", "B"), wide_m=20, deep_m=10, left_out_m=None, level_of=None):
    """Zones side by side, each of right triangles with legs of a metre.

    Their level is `level_of(zone, easting, northing)`; by default each lies 2 m above the last.
    """
    level_of = level_of or (lambda zone, _e, _n: 84.0 + 2.0 * zone)
    xyz, triangles, zone_of = [], [], []
    for n in range(len(zones)):
        first, across = len(xyz), wide_m + 1
        for north in range(deep_m + 1):
            for east in range(across):
                e, north_m = 500.0 + n * wide_m + east, 200.0 + north
                xyz.append((e, north_m, level_of(n, e, north_m)))
        for north in range(deep_m):
            for east in range(wide_m):
                a = first + north * across + east
                triangles += [(a, a + 1, a + across), (a + 1, a + across + 1, a + across)]
        zone_of += [n] * (2 * wide_m * deep_m)
    left_out = {why: np.array(points, float) for why, points in (left_out_m or {}).items()}
    return Picture(
        tuple(zones),
        np.array(xyz, float),
        np.array(triangles, np.int64),
        np.array(zone_of, np.int64),
        left_out,
    )
