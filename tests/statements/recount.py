"""The demonstration season counted a second time, from its CSV files with plain pandas.

Nothing of the tracker is used here, so that an error in it cannot agree with itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import pandas as pd

FOLDER = Path(__file__).parents[2] / "data_demo"
ZONE = "Europe/London"


def table(name: str) -> pd.DataFrame:
    return pd.read_csv(FOLDER / name, dtype={"stage": "Int64", "hold": str, "ticket_number": str})


def on_site(written: pd.Series) -> pd.Series:
    """Moments as written, local or with offset, as local moments; the first of two equal hours."""
    offset = written.str.contains(r"[+-]\d\d:\d\d$")
    moments = pd.Series(index=written.index, dtype=f"datetime64[us, {ZONE}]")
    moments[offset] = pd.to_datetime(written[offset], utc=True).dt.tz_convert(ZONE)
    local = pd.to_datetime(written[~offset])
    moments[~offset] = local.dt.tz_localize(ZONE, ambiguous=[True] * len(local))
    return moments


@dataclass
class Season:
    """The records as tables, of which a test may take rows away or change some."""

    returns: pd.DataFrame
    loads: pd.DataFrame
    belt: pd.DataFrame
    holds: pd.DataFrame
    surveys: pd.DataFrame

    @property
    def streams(self) -> pd.DataFrame:
        return table("setup/streams.csv").set_index("stream")


def season() -> Season:
    """What the files hold, without the rows that must be refused."""
    early, late = table("records/loads.csv"), table("records/loads_late.csv")
    known = set(early.ticket_issuer + early.ticket_number)
    came, left = pd.to_datetime(late.gate_in_at), pd.to_datetime(late.gate_out_at)
    bad = (
        (late.ticket_issuer + late.ticket_number).isin(known)
        | (late.tare_t > late.gross_t)
        | (left < came)
        | (left < pd.Timestamp("2026-03-02"))
        | (late.gross_t > 100)
    )
    assert bad.sum() == 6
    return Season(
        table("records/returns.csv"),
        pd.concat([early, late[~bad]], ignore_index=True),
        table("records/belt.csv"),
        table("records/holds.csv"),
        table("records/surveys.csv"),
    )


# --- dug -----------------------------------------------------------------------------------------
def dug(s: Season) -> pd.DataFrame:
    """The returns that dug, with bank volume and tonnes [m3, t]."""
    found = s.returns[s.returns.nil_reason.isna()].copy()
    loose = found["count"] * found.capacity_m3 / found.stream.map(s.streams.loose_per_bank)
    weighed = found.mass_t / found.stream.map(s.streams.bank_density)
    found["dug_m3"] = found.bank_m3.fillna(loose).fillna(weighed)
    found["dug_t"] = found.dug_m3 * found.stream.map(s.streams.bank_density)
    return found


def lowest_m(s: Season) -> pd.Series:
    """The deepest point of each zone by return or survey [m above site datum]."""
    both = pd.concat([s.returns, s.surveys])
    return both.groupby("zone").lowest_level_m.min()


def permitted_m(s: Season) -> dict[str, float]:
    """The level of the deepest stage released without a gap [m above site datum]."""
    stages = table("setup/stages.csv")
    levels = dict(table("setup/zones.csv").set_index("zone").ground_level_m)
    latest = s.holds.sort_values("decided_at").groupby(["zone", "hold"]).status.last()
    for zone, mine in stages.groupby("zone"):
        for row in mine.sort_values("stage").itertuples():
            if latest.get((zone, str(row.stage))) != "released":
                break
            levels[zone] = row.design_level_m
    return levels


def slots(s: Season, until: date) -> tuple[int, int, int]:
    """Returns expected by the calendar until the end of a day, received, and nil."""
    weekdays = {"day": range(5), "night": range(5), "weekend": [5]}
    closed = set(table("setup/closures.csv").day)
    expected = set()
    for zone in table("setup/zones.csv").itertuples():
        day = date.fromisoformat(zone.opens)
        while day <= until:
            for shift, on in weekdays.items():
                over = shift == "day" or day < until  # night shifts end on the day after
                if day.weekday() in on and str(day) not in closed and over:
                    expected.add((str(day), shift, zone.zone))
            day += timedelta(days=1)

    def of(rows: pd.DataFrame) -> int:
        return len(expected & set(zip(rows.work_date, rows["shift"], rows.zone, strict=True)))

    return len(expected), of(s.returns), of(s.returns[s.returns.nil_reason.notna()])


# --- spoil ---------------------------------------------------------------------------------------
def belt_runs(s: Season) -> pd.DataFrame:
    """The readings with what the belt carried since the one before [t]; nothing over a reset."""
    found = s.belt.assign(at=on_site(s.belt.read_at)).sort_values(["belt", "at"])
    risen = found.groupby("belt").totaliser_t.diff()
    found["run_t"] = risen.where(found.event == "reading", 0.0).fillna(0.0)
    return found


def carried(s: Season) -> pd.DataFrame:
    """The loads with the tonnes they delivered, weighed or not [t], and whether they are a load."""
    found = s.loads.copy()
    usual_t = (12.5 * 1.08 / s.streams.loose_per_bank * s.streams.bank_density).clip(upper=20)
    net_t = found.net_t.fillna(found.gross_t - found.tare_t)
    found["is_load"] = found.reconsigned_from.isna()
    found["is_weighed"] = (
        net_t.notna()
        & (found.outcome != "rejected")
        & (found.weight_basis.fillna("weighed") == "weighed")
    )
    found["t"] = net_t.fillna(found.stream.map(usual_t)).where(found.outcome != "rejected", 0.0)
    found["left"], found["came"] = on_site(found.gate_out_at), on_site(found.gate_in_at)
    return found


def movements_by_day(s: Season) -> pd.Series:
    """Passages of the gate by local date; a load sent on does not pass it again."""
    moved = carried(s)
    moved = moved[moved.is_load]
    passed = pd.concat([moved.came, moved.left])
    return passed.dt.date.value_counts().sort_index()


def passages_by_hour(s: Season) -> pd.Series:
    """Passages of the gate by local hour, such as 2026-10-14T09: spoil, concrete and all else."""
    moved = carried(s)
    moved = moved[moved.is_load]
    traffic = table("records/traffic.csv")
    hours = traffic.passed_at.str[:13]
    other = (traffic.vehicles * traffic.direction.map({"in": 1, "out": 1, "both": 2})).groupby(
        hours
    )
    spoil = pd.concat([moved.came, moved.left]).dt.strftime("%Y-%m-%dT%H").value_counts()
    return spoil.add(other.sum(), fill_value=0).astype(int).sort_index()
