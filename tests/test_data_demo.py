"""The invented site: its files come out of the generator, and they agree with one another."""

from __future__ import annotations

import csv
from collections import Counter, defaultdict
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

import data_demo
from data_demo.generate import main
from tracker.domain.calendar import gate_is_open, shift_minutes, shifts_on
from tracker.domain.levels import breach, design_volume, latest_status, permitted_level, plan_area
from tracker.domain.site import Site
from tracker.domain.site_tables import site_from_tables
from tracker.recording.columns import KINDS
from tracker.recording.setup_columns import SETUP

DEMO = Path(data_demo.__file__).parent
LONDON = ZoneInfo("Europe/London")
LAST_DAY = date(2026, 10, 27)
Rows = list[dict[str, str]]


def rows_of(name: str, folder: str = "records") -> Rows:
    with (DEMO / folder / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.fixture(scope="module")
def site() -> Site:
    built, problems = site_from_tables({name: rows_of(name, "setup") for name in setup_names()})
    assert not problems
    assert built is not None
    return built


def setup_names() -> list[str]:
    return sorted(path.stem for path in (DEMO / "setup").glob("*.csv"))


def dug_rows() -> Rows:
    return [row for row in rows_of("returns") if not row["nil_reason"]]


def all_tickets() -> Rows:
    late = [row for row in rows_of("loads_late") if row["note"] == "ticket found late"]
    return rows_of("loads") + late


def bank_m3_of(row: dict[str, str], site: Site) -> float:
    stream = site.stream(row["stream"])
    if row["bank_m3"]:
        return float(row["bank_m3"])
    if row["mass_t"]:
        return float(row["mass_t"]) / stream.bank_density_t_per_m3.value
    return int(row["count"]) * float(row["capacity_m3"]) / stream.loose_per_bank.value


def moment(text: str) -> datetime:
    stamp = datetime.fromisoformat(text)
    return stamp if stamp.tzinfo else stamp.replace(tzinfo=LONDON)


# The files


def test_the_generator_reproduces_every_committed_file_byte_for_byte(tmp_path: Path) -> None:
    main(["--out", str(tmp_path)])
    made = {p.relative_to(tmp_path): p.read_bytes() for p in tmp_path.rglob("*.csv")}
    kept = {p.relative_to(DEMO): p.read_bytes() for p in DEMO.rglob("*.csv")}
    assert made.keys() == kept.keys()
    assert [str(name) for name in made if made[name] != kept[name]] == []


def test_every_file_has_known_columns_and_fills_the_required_ones() -> None:
    tables = [(rows_of(name, "setup"), SETUP[name]) for name in setup_names()]
    for path in (DEMO / "records").glob("*.csv"):
        tables.append((rows_of(path.stem), KINDS[path.stem.removesuffix("_late")].columns))
    for rows, columns in tables:
        assert set(rows[0]) <= {c.name for c in columns}
        for column in columns:
            if column.required:
                assert all(row[column.name] for row in rows), column.name


def test_the_files_are_plain_text_and_small() -> None:
    files = [path.read_bytes() for path in DEMO.rglob("*.csv")]
    assert not any(b"\r" in text or text.startswith(b"\xef\xbb\xbf") for text in files)
    assert sum(map(len, files)) < 2_000_000


# The digging


def test_the_bands_of_ground_reach_a_metre_below_formation_without_a_gap(site: Site) -> None:
    for zone in site.zones:
        ground = site.ground_of(zone.zone)
        assert ground[0].upper_level_m == zone.ground_level_m
        for upper, lower in pairwise(ground):
            assert upper.lower_level_m == lower.upper_level_m
        assert ground[-1].lower_level_m <= site.formation_level_m(zone.zone) - 1.0


def test_a_zone_a_shift_and_a_stream_have_one_return(site: Site) -> None:
    keys = Counter(
        tuple(row[k] for k in ("work_date", "shift", "zone", "stage", "stream"))
        for row in rows_of("returns")
    )
    assert keys.most_common(1)[0][1] == 1


def test_a_shift_is_either_nil_or_dug_and_stands_in_the_calendar(site: Site) -> None:
    dug_or_nil = defaultdict(set)
    for row in rows_of("returns"):
        day = date.fromisoformat(row["work_date"])
        assert site.zone(row["zone"]).opens <= day <= LAST_DAY
        assert row["shift"] in {s.shift for s in shifts_on(site, day)}
        dug_or_nil[row["work_date"], row["shift"], row["zone"]].add(bool(row["nil_reason"]))
    assert all(len(kinds) == 1 for kinds in dug_or_nil.values())


def test_about_one_return_in_sixty_is_missing(site: Site) -> None:
    days = [date.fromordinal(n) for n in range(date(2026, 4, 7).toordinal(), LAST_DAY.toordinal())]
    expected = sum(
        len(shifts_on(site, day)) for z in site.zones for day in days if day >= z.opens
    ) + len(site.zones)  # the day shift of the last day
    received = {(r["work_date"], r["shift"], r["zone"]) for r in rows_of("returns")}
    assert 0.008 < 1.0 - len(received) / expected < 0.025


def test_levels_go_down_and_each_shift_starts_where_the_one_before_ended(site: Site) -> None:
    for zone in site.zones:
        rows = [row for row in dug_rows() if row["zone"] == zone.zone]
        level_m, broken = zone.ground_level_m, 0
        for row in rows:
            assert (
                float(row["lowest_level_m"])
                <= float(row["to_level_m"])
                < float(row["from_level_m"])
                <= level_m
            )
            broken += float(row["from_level_m"]) != level_m
            level_m = float(row["to_level_m"])
        assert broken <= 3, "only a missing return breaks the chain"


def test_volumes_agree_with_the_levels_and_the_plan_area(site: Site) -> None:
    by_levels, returned = 0.0, 0.0
    for row in dug_rows():
        thickness_m = float(row["from_level_m"]) - float(row["to_level_m"])
        level_m3 = plan_area(site.zone(row["zone"]), float(row["to_level_m"])) * thickness_m
        bank_m3 = bank_m3_of(row, site)
        assert bank_m3 == pytest.approx(level_m3, rel=0.09)
        by_levels, returned = by_levels + level_m3, returned + bank_m3
    assert returned == pytest.approx(by_levels, rel=0.01)


def test_every_slice_lies_in_the_band_of_its_stream_and_in_its_stage(site: Site) -> None:
    for row in dug_rows():
        upper, lower = float(row["from_level_m"]), float(row["to_level_m"])
        band = next(g for g in site.ground_of(row["zone"]) if g.stream == row["stream"])
        assert band.lower_level_m <= lower < upper <= band.upper_level_m
        assert site.stage(row["zone"], int(row["stage"])).design_level_m <= lower


def test_about_three_quarters_of_the_box_are_dug_and_zone_a_alone_is_at_formation(
    site: Site,
) -> None:
    box = site.zones_of("box")
    lowest = {
        z.zone: min(float(r["to_level_m"]) for r in dug_rows() if r["zone"] == z.zone) for z in box
    }
    dug = sum(design_volume(z, z.ground_level_m, lowest[z.zone]) for z in box)
    whole = sum(design_volume(z, z.ground_level_m, site.formation_level_m(z.zone)) for z in box)
    assert 0.7 < dug / whole < 0.8
    assert [z.zone for z in box if lowest[z.zone] == site.formation_level_m(z.zone)] == ["A"]


def test_a_shift_digs_at_a_believable_rate(site: Site) -> None:
    worked: dict[tuple[str, str], float] = defaultdict(float)
    for row in dug_rows():
        worked[row["work_date"], row["shift"]] += bank_m3_of(row, site)
    assert max(worked.values()) < 700.0
    assert 150.0 < sum(worked.values()) / len(worked) < 300.0


def test_delays_have_known_causes_and_fit_into_the_shift(site: Site) -> None:
    for row in rows_of("returns"):
        minutes = 0
        for part in filter(None, row["delays"].split("; ")):
            cause, lost = part.split(":")
            site.cause(cause)
            minutes += int(lost)
        day = date.fromisoformat(row["work_date"])
        assert minutes <= shift_minutes(site.shift(row["shift"]), day, site.time_zone)


def test_only_the_closed_and_the_open_breach_go_below_the_permitted_level(site: Site) -> None:
    breaches = []
    for row in dug_rows():
        decisions = [
            (h["hold"], h["status"])
            for h in rows_of("holds")
            if h["zone"] == row["zone"] and h["decided_at"][:10] < row["work_date"]
        ]
        zone = site.zone(row["zone"])
        permitted = permitted_level(zone, site.stages_of(zone.zone), latest_status(decisions))
        found = breach(zone.zone, float(row["lowest_level_m"]), permitted)
        if found:
            breaches.append((row["work_date"], zone.zone, round(found.depth_m, 2), row["entry_id"]))
    closed = rows_of("closures")[0]
    assert closed["rule"] == "below_permitted_level"
    assert breaches == [
        ("2026-06-19", "B", 0.25, closed["about"]),
        ("2026-10-27", "D", 0.19, ""),
    ]


# The spoil


def test_tickets_are_unique_and_net_is_gross_minus_tare() -> None:
    tickets = all_tickets()
    assert len({(t["ticket_issuer"], t["ticket_number"]) for t in tickets}) == len(tickets)
    assert 2000 < len(tickets) < 2600
    for ticket in tickets:
        if ticket["gross_t"]:
            net_t = float(ticket["gross_t"]) - float(ticket["tare_t"])
            assert float(ticket["net_t"]) == pytest.approx(net_t, abs=1e-9)


def test_lorries_pass_the_gate_in_its_windows_and_need_time_for_the_round_trip(site: Site) -> None:
    leaves = defaultdict(list)
    for ticket in all_tickets():
        came, left = moment(ticket["gate_in_at"]), moment(ticket["gate_out_at"])
        assert came < left
        assert gate_is_open(site, came)
        assert gate_is_open(site, left)
        leaves[ticket["registration"]].append(left)
    for times in leaves.values():
        times.sort()
        gaps = [(b - a).total_seconds() / 60 for a, b in pairwise(times)]
        assert min(gaps, default=999.0) >= 60.0


def test_two_days_are_above_the_cap_and_no_hour_is() -> None:
    by_day: Counter[str] = Counter()
    by_hour: Counter[str] = Counter()
    for ticket in all_tickets():
        for stamp in (ticket["gate_in_at"], ticket["gate_out_at"]):
            by_day[stamp[:10]] += 1
            by_hour[stamp[:13]] += 1
    above = {day: moved for day, moved in by_day.items() if moved > 120}
    assert above == {"2026-07-22": 124, "2026-08-26": 122}
    assert max(by_hour.values()) <= 16


def test_two_loads_are_above_the_plate_and_the_mean_load_is_about_nineteen_tonnes() -> None:
    weighed = [t for t in all_tickets() if t["gross_t"] and t["vehicle"] == "rigid_32"]
    assert sum(float(t["gross_t"]) > 32.0 for t in weighed) == 2
    nets = [float(t["net_t"]) for t in weighed]
    assert sum(nets) / len(nets) == pytest.approx(19.2, abs=0.15)


def test_each_rejected_load_is_sent_on_once_with_its_weight() -> None:
    rejected = {
        t["ticket_number"]: t["net_t"] for t in rows_of("loads") if t["outcome"] == "rejected"
    }
    sent_on = {t["reconsigned_from"]: t["net_t"] for t in rows_of("loads") if t["reconsigned_from"]}
    assert len(rejected) == 3
    assert sent_on == rejected


def test_the_late_file_holds_forty_good_tickets_and_six_that_must_be_refused() -> None:
    late = rows_of("loads_late")
    known = {t["ticket_number"] for t in rows_of("loads")}
    duplicate = [t for t in late if t["ticket_number"] in known]
    tare_above = [t for t in late if float(t["tare_t"] or 0) > float(t["gross_t"] or 0)]
    backwards = [t for t in late if t["gate_out_at"] < t["gate_in_at"]]
    reset = [t for t in late if t["gate_out_at"] < "2026"]
    kilograms = [t for t in late if float(t["net_t"] or 0) > 100.0]
    assert [len(x) for x in (duplicate, tare_above, backwards, reset, kilograms)] == [2, 1, 1, 1, 1]
    assert sum(t["note"] == "ticket found late" for t in late) == len(late) - 6 == 40


def test_the_totaliser_rises_in_time_but_for_one_recorded_reset() -> None:
    rows = rows_of("belt")
    moments = [moment(row["read_at"]).timestamp() for row in rows]
    assert moments == sorted(set(moments))
    falls = [
        later["event"]
        for earlier, later in pairwise(rows)
        if float(later["totaliser_t"]) < float(earlier["totaliser_t"])
    ]
    assert falls == ["reset"]


def belt_mass_t() -> dict[str, float]:
    mass_t: dict[str, float] = defaultdict(float)
    rows = rows_of("belt")
    for earlier, later in pairwise(rows):
        if later["event"] == "reading":
            mass_t[later["stream"]] += float(later["totaliser_t"]) - float(earlier["totaliser_t"])
    return mass_t


def test_dug_mass_of_each_stream_left_by_belt_or_lorry_or_lies_in_a_heap(site: Site) -> None:
    belt_t = belt_mass_t()
    for stream in site.streams:
        factor = stream.bank_density_t_per_m3.value
        dug_t = factor * sum(
            bank_m3_of(row, site) for row in dug_rows() if row["stream"] == stream.stream
        )
        lorries_t = sum(
            float(t["net_t"] or 19.2)
            for t in all_tickets()
            if t["stream"] == stream.stream and t["outcome"] == "accepted"
        )
        heaps_t = sum(
            float(row["loose_m3"]) * factor / stream.loose_per_bank.value
            for row in rows_of("stock")
            if row["stream"] == stream.stream and row["counted_at"].startswith(str(LAST_DAY))
        )
        placed_t = sum(
            float(
                r["mass_t"] or float(r["compacted_m3"]) / stream.compacted_per_bank.value * factor
            )
            for r in rows_of("reuse")
            if r["stream"] == stream.stream and stream.compacted_per_bank
        )
        gone_t = belt_t[stream.stream] + lorries_t + placed_t
        assert gone_t + heaps_t == pytest.approx(dug_t, rel=0.035)


def test_nothing_goes_by_belt_while_it_is_broken_down() -> None:
    days = {row["work_date"] for row in rows_of("belt")}
    out = [f"2026-07-{n}" for n in range(20, 25)] + [f"2026-08-{n}" for n in range(24, 29)]
    assert not days & set(out)


def test_the_belt_is_read_in_both_hours_when_the_clocks_go_back() -> None:
    read_at = [r["read_at"] for r in rows_of("belt") if r["work_date"] == "2026-10-24"]
    assert read_at[0].endswith("+01:00")
    assert [text[-6:] for text in read_at[1:]] == ["+00:00", "+00:00"]
    assert read_at[1][:16] < read_at[0][:16], "the second reading shows the earlier clock time"


def test_the_heap_beside_the_wall_stays_below_its_surcharge_limit() -> None:
    beside_wall = [row for row in rows_of("stock") if row["surcharge_limit_m3"]]
    assert beside_wall
    assert all(float(r["loose_m3"]) < float(r["surcharge_limit_m3"]) for r in beside_wall)


def test_receipts_answer_known_tickets_within_five_days_and_agree_on_the_mass() -> None:
    tickets = {(t["ticket_issuer"], t["ticket_number"]): t for t in all_tickets()}
    receipts = rows_of("receipts")
    numbers = {(r["destination"], r["receipt_number"]) for r in receipts}
    assert len(numbers) == len(receipts)
    assert 0.94 < len(receipts) / len(tickets) < 0.98
    for receipt in receipts:
        ticket = tickets[receipt["ticket_issuer"], receipt["ticket_number"]]
        left = date.fromisoformat(ticket["gate_out_at"][:10])
        assert 0 <= (date.fromisoformat(receipt["receipt_date"]) - left).days <= 5
        assert receipt["receipt_date"] <= str(LAST_DAY)
        if ticket["gross_t"] and ticket["outcome"] == "accepted":
            assert float(receipt["accepted_t"]) == pytest.approx(float(ticket["net_t"]), rel=0.005)


def test_no_record_is_dated_after_the_last_day() -> None:
    moments = ("gate_out_at", "counted_at", "decided_at", "surveyed_at", "placed_at", "checked_at")
    dated = ("work_date", "receipt_date", "made_out_at", "passed_at", *moments)
    for path in (DEMO / "records").glob("*.csv"):
        for row in rows_of(path.stem):
            assert all(row[name][:10] <= str(LAST_DAY) for name in dated if name in row)
