"""Small invented statements of what is ahead, for the box of `examples`. No real site."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from tests.dashboard import examples
from tests.dashboard.examples import AS_OF, BASIS, BOX_ZONES
from tracker.domain.programme.governing import WORDS
from tracker.statements.capacity_shapes import (
    CapacityStatement,
    DelayLine,
    DelayOwnerLine,
    DelayRow,
    DelayStatement,
    FormationTimer,
    GovernedDay,
    GovernedShare,
    HoldLine,
    HoldStatement,
    LimitLine,
    MeasuredLine,
)
from tracker.statements.forecast_shapes import (
    AssumedLine,
    DateLine,
    EarnedLine,
    FanPoint,
    ForecastStatement,
    GovernsLine,
    NeededLine,
    PlanPoint,
    PlanVersion,
    RateLine,
)

TARGET = date(2027, 5, 12)
TOTAL_M3, DUG_M3 = 60000.0, 33600.0
REFUSED = (
    "Zone E has worked 3 shifts since its rate changed, and a forecast needs five. Record the"
    " missing returns, or wait for two more worked shifts."
)


def progress():
    """The box of `examples`, a good half dug and wanted in May."""
    usual = examples.progress()
    box, shaft = usual.excavations
    curve = tuple(
        replace(p, dug_bank_m3=None if p.dug_bank_m3 is None else p.dug_bank_m3 * DUG_M3 / 53793.0)
        if p.excavation == "BOX"
        else p
        for p in usual.curve
    )
    return replace(usual, excavations=(replace(box, target_formation=TARGET), shaft), curve=curve)


# --- the plan ------------------------------------------------------------------------------------
def plan(name, frozen_on, finishes, current, reference="minutes 12"):
    """A frozen plan of the box."""
    starts = date(2026, 4, 1)
    return PlanVersion(name, frozen_on, reference, current, "BOX", starts, finishes, "")


PLANS = (
    plan("P1", date(2026, 3, 20), date(2026, 12, 4), False),
    plan("P2", date(2026, 9, 14), date(2027, 4, 16), True),
)


def planned(version):
    """Its curve: even digging, with a hold of three weeks in the middle."""
    days = (version.finishes - version.starts).days
    held = range(days // 2, days // 2 + 21)
    each = TOTAL_M3 / (days - len(held))
    points, dug = [], 0.0
    for n in range(days + 1):
        dug = min(TOTAL_M3, dug + (0.0 if n in held else each))
        day = version.starts + timedelta(n)
        points.append(PlanPoint(version.plan, "BOX", day, dug))
    return tuple(points)


def earned(zone, name, ahead_days, *, current=True, sentence=""):
    """Where a zone stands in the time of the current plan, or of the earlier one."""
    actual = 148
    return EarnedLine(
        plan="P2" if current else "P1",
        current=current,
        excavation="BOX",
        zone=zone,
        name=name,
        day=AS_OF,
        earned_bank_m3=9000.0,
        planned_bank_m3=9500.0,
        design_bank_m3=14000.0,
        earned_days=actual + ahead_days,
        actual_days=actual,
        ahead_days=ahead_days,
        spi_t=(actual + ahead_days) / actual,
        sentence=sentence or f"{name} is {ahead_days:+.1f} working days from its plan.",
    )


EARNED = (
    earned("", "Station box", -6.2, sentence="The station box is 6.2 working days behind P2."),
    earned("A", "Zone A", 2.4),
    earned("B", "Zone B", 0.0),
    earned("C", "Zone C", -3.5),
    earned("D", "Zone D", -6.0),
    earned("E", "Zone E", -11.5),
    earned("", "Station box", -31.0, current=False),
)


# --- the forecast --------------------------------------------------------------------------------
def dated(zone, name, stage, p20, p50, p80, **more):
    """When a stage or formation is reached."""
    usual = {
        "design_level_m": 84.8 if stage in (None, 4) else 90.6,
        "remaining_bank_m3": 3600.0,
        "planned_finish": date(2027, 4, 16),
        "target": None,
        "chance_of_plan": 0.31,
        "chance_of_target": None,
        "governs": "hold",
        "sentence": f"{name} by {p80} at four chances in five." if p80 else f"{name} not in time.",
    }
    return DateLine("BOX", zone, name, stage, p20=p20, p50=p50, p80=p80, **(usual | more))


def _of_zone(zone, days_later):
    def day(year, month, on):
        return date(year, month, on) + timedelta(days_later)

    name = f"Zone {zone}"
    stage_3 = (day(2026, 11, 24), day(2026, 12, 1), day(2026, 12, 9))
    last = (day(2027, 3, 30), day(2027, 4, 9), day(2027, 4, 24))
    plan_3, plan_4 = date(2026, 11, 27), date(2027, 4, 2) + timedelta(days_later)
    return (
        dated(zone, name, 3, *stage_3, planned_finish=plan_3, governs="dig"),
        dated(zone, name, 4, *last, planned_finish=plan_4),
        dated(zone, name, None, *last, planned_finish=plan_4),
    )


WHOLE = dated(
    "",
    "Station box",
    None,
    date(2027, 4, 20),
    date(2027, 4, 30),
    date(2027, 5, 14),
    target=TARGET,
    chance_of_plan=0.12,
    chance_of_target=0.76,
    sentence="Formation of the station box by 14 May 2027 at four chances in five; the hold point"
    " above governs.",
)
DATES = (
    *(line for n, zone in enumerate("BCDE") for line in _of_zone(zone, 5 * n)),
    WHOLE,
)


def assumed(zone, stage, needed, *, overdue=False, condition="cube strength 28 N/mm²"):
    """A hold that nobody has released yet."""
    days = (needed - timedelta(6), needed, needed + timedelta(9))
    words = f"Stage {stage} of zone {zone} is taken as released by {needed:%-d %b %Y}."
    return AssumedLine("BOX", zone, stage, "lower props", condition, *days, overdue, words)


RELEASES = (
    assumed("D", 3, date(2026, 10, 26), overdue=True, condition=""),
    assumed("E", 4, date(2027, 1, 18)),
)
GOVERNS = tuple(
    GovernsLine("BOX", zone, cause, WORDS[cause], share)
    for zone, shares in (
        ("", {"hold": 0.46, "dig": 0.31, "lorries": 0.14, "calendar": 0.09}),
        ("D", {"hold": 0.52, "dig": 0.39, "lorries": 0.09}),
        ("E", {"hold": 0.61, "dig": 0.2, "lorries": 0.19}),
    )
    for cause, share in shares.items()
)


def fan():
    """From what is dug to all of it: soonest, middle, latest."""
    days = (WHOLE.p80 - AS_OF).days
    left = TOTAL_M3 - DUG_M3

    def dug(n, p):
        share = min(1.0, n / (p - AS_OF).days)  # a hold in the middle: flat from 0.4 to 0.6
        return DUG_M3 + left * (min(share, 0.4) + max(0.0, share - 0.6)) / 0.8

    return tuple(
        FanPoint(
            "BOX", AS_OF + timedelta(n), *(dug(n, p) for p in (WHOLE.p80, WHOLE.p50, WHOLE.p20))
        )
        for n in range(1, days + 1)
    )


def forecast(**changed):
    """When formation is reached, by hand."""
    made = ForecastStatement(
        basis=BASIS,
        headline=WHOLE.sentence,
        refused="",
        plans=PLANS,
        planned=tuple(point for version in PLANS for point in planned(version)),
        earned=EARNED,
        dates=DATES,
        releases=RELEASES,
        fan=fan(),
        governs=GOVERNS,
        rates=(RateLine("box stage 4", 61, 142.0, False),),
        needed=(
            NeededLine("BOX", TARGET, 1.08, 153.0, "153 m³ a shift, 1.08 of the rate so far."),
        ),
        left_out=(),
        walks=2000,
    )
    return replace(made, **changed)


def refused():
    """The same plan without a forecast."""
    return forecast(refused=REFUSED, dates=(), releases=(), fan=(), governs=(), needed=(), rates=())


# --- what governs --------------------------------------------------------------------------------
def governed(day, governs, dug=None):
    """What governed the box on a day, or is expected to."""
    expected = day > AS_OF
    return GovernedDay(
        excavation="BOX",
        work_date=day,
        expected=expected,
        hours=0.0 if governs == "calendar" else 17.0,
        dug_bank_m3=None if expected else (dug if dug is not None else 240.0),
        dig_bank_m3=410.0,
        governs=governs,
        words=WORDS[governs],
        least_bank_m3=380.0,
        sentence=f"{day:%a %-d %b}: {WORDS[governs]}.",
    )


def _cause(n, day):
    if day.weekday() == 6:
        return "calendar"
    return ("dig", "hold", "lorries", "dig", "belt", "receiver", "turn")[n // 6 % 7]


def capacity():
    """The four weeks before the as-of date and the four after it."""
    first = AS_OF - timedelta(27)
    days = [first + timedelta(n) for n in range(56)]
    return CapacityStatement(
        basis=BASIS,
        since=first,
        until=days[-1],
        headline="The hold above governed 6 of the last 24 working days.",
        days=tuple(governed(day, _cause(n, day)) for n, day in enumerate(days)),
        limits=(LimitLine(AS_OF, "belt", "BELT1", 14.5, 620.0, "14.5 h at 43 m³ an hour"),),
        measured=(
            MeasuredLine(
                "cycle_min", "artic_44", 96.0, "min", 212, 88.0, 107.0, 91.0, "plan", "measured",
                "96 min a round in 212 rounds; the plan said 91.",
            ),
        ),
    )  # fmt: skip


# --- delays --------------------------------------------------------------------------------------
def _delay_lines():
    out, before = [], 0.0
    for cause, name, owner, shifts, minutes, lost in (
        ("props", "Prop installation", "steelwork contractor", 31, 6120, 1480.0),
        ("lorries", "No lorries at the gate", "haulier", 44, 4015, 910.0),
        ("belt", "Belt stopped", "conveyor operator", 19, 2210, 540.0),
        ("plant", "Plant breakdown", "site team", 12, 940, 205.0),
        ("weather", "Weather", "nobody", 4, 310, 65.0),
    ):
        share = lost / 3200.0
        before += share
        out.append(
            DelayLine(cause, name, owner, shifts, minutes, lost, share, before, cause == "props")
        )
    return tuple(out)


DELAY_LINES = _delay_lines()
DELAY_ROWS = tuple(
    DelayRow(f"{n:032x}", AS_OF - timedelta(n), "night", "E", 3, cause, 90, 600, 14.0, 21.0, "zone")
    for n, cause in enumerate(("props", "props", "lorries", "belt"))
)


def delays(lines=DELAY_LINES, rows=DELAY_ROWS):
    """Lost ground by cause."""
    return DelayStatement(
        basis=BASIS,
        since=AS_OF - timedelta(27),
        until=AS_OF,
        headline="Prop installation took 1,480 m³, 46 % of the ground lost.",
        lines=lines,
        owners=tuple(
            DelayOwnerLine(line.owner, line.minutes, line.lost_bank_m3, line.share)
            for line in lines
        ),
        governed=(
            GovernedShare("", "props", "Prop installation", 31, 0.28),
            GovernedShare("", "dig", WORDS["dig"], 52, 0.47),
        ),
        rows=rows,
    )


# --- holds ---------------------------------------------------------------------------------------
def hold(zone, name, status, **more):
    """One hold point."""
    usual = {
        "above": "lower props",
        "condition": "props stressed",
        "standing": status,
        "decided_on": date(2026, 9, 2) if status == "released" else None,
        "decided_at": "2026-09-02 06:00" if status == "released" else "",
        "permit": "PTD-031" if status == "released" else "",
        "given_condition": "",
        "decided_by": "temporary works coordinator" if status == "released" else "",
        "dug_out_on": None,
        "planned_days": 9,
        "days": None,
        "running": False,
        "late_days": 0.0,
        "sentence": f"Hold {name} of zone {zone} is {status}.",
    }
    return HoldLine(excavation="BOX", zone=zone, hold=name, status=status, **(usual | more))


HOLDS = (
    hold("A", "3", "released", days=8.0, dug_out_on=date(2026, 8, 25)),
    hold("D", "3", "not released", running=True, days=14.0, late_days=5.0,
         dug_out_on=date(2026, 10, 13)),
    hold("E", "3", "suspended", running=True, days=4.0, dug_out_on=date(2026, 10, 23)),
    hold("E", "4", "not released"),
)  # fmt: skip


def timer(zone, **more):
    """The formation of one zone."""
    usual = {
        "formation_m2": 720.0,
        "reached_at": "",
        "level_at": "",
        "trimmed_at": "",
        "inspected_m2": 0.0,
        "inspected_at": "",
        "blinded_m2": 0.0,
        "blinded_at": "",
        "exposed_m2": 0.0,
        "exposed_h": None,
        "limit_h": 24.0,
        "blind_by": "",
        "over": False,
        "sentence": f"Formation of zone {zone} is not reached.",
    }
    return FormationTimer(excavation="BOX", zone=zone, name=f"Zone {zone}", **(usual | more))


TIMERS = (
    timer("A", reached_at="2026-10-20 14:00", level_at="2026-09-24 06:00",
          trimmed_at="2026-10-20 14:00", inspected_m2=720.0, inspected_at="2026-10-20 16:00",
          blinded_m2=720.0, blinded_at="2026-10-21 11:00", sentence="Zone A is blinded."),
    timer("B", reached_at="2026-10-26 06:00", level_at="2026-10-26 06:00",
          blind_by="2026-10-27 06:00", inspected_m2=300.0, inspected_at="2026-10-26 15:00",
          blinded_m2=100.0, blinded_at="2026-10-27 09:00", exposed_m2=420.0, exposed_h=31.5,
          over=True, sentence="420 m² of zone B have lain open for 31.5 h; the limit is 24 h."),
    *(timer(zone.zone) for zone in BOX_ZONES[2:]),
)  # fmt: skip


def holds(lines=HOLDS, formation=TIMERS):
    """Hold points and formation of the box."""
    return HoldStatement(BASIS, "Stage 3 of zone D is 5 days late.", lines, formation)
