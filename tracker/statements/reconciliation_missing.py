"""What a reconciliation lacks: surveys, counts of heaps, weights, receipts; with where to look."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from tracker.statements.frame import Frame
from tracker.statements.reconciliation_inputs import Load, Recorded
from tracker.statements.reconciliation_season import Cells
from tracker.statements.reconciliation_shapes import MissingLine, Unmatched
from tracker.statements.survey_cuts import PassedOver
from tracker.statements.words import date_words

MOST_LISTED = 200


def missing_lines(
    frame: Frame,
    data: Recorded,
    loads: Sequence[Load],
    found: Cells,
    passed: Sequence[PassedOver],
) -> list[MissingLine]:
    """Everything that is missing, the most serious first."""
    names = {stream.stream: stream.name.lower() for stream in frame.site.streams}
    return [
        *_no_survey(found),
        *_surveys(passed),
        *_heaps(found, names),
        *_weights(loads, names),
        *_receipts(frame, loads),
        *_unclaimed(data),
    ]


def _line(
    what: str,
    sentence: str,
    count: int,
    *,
    kind: str = "",
    period: str = "",
    stream: str = "",
    mass_t: float | None = None,
    days: tuple[date | None, date | None] = (None, None),
    text: str = "",
) -> MissingLine:
    return MissingLine(what, period, stream, count, mass_t, sentence, kind, *days, text)


def _no_survey(found: Cells) -> Iterable[MissingLine]:
    if not found.cuts:
        yield _line(
            "surveys",
            "No survey of every zone that was dug: nothing to hold the other figures against.",
            1,
            kind="survey_levels",
        )


def _surveys(passed: Sequence[PassedOver]) -> Iterable[MissingLine]:
    for one in passed:
        zones = ", ".join(one.missing)
        yield _line(
            "zones not surveyed",
            f"{', '.join(one.names)} of {date_words(one.work_date)} does not cover zone {zones},"
            " which had been dug: the period goes on to the next survey of all of them.",
            len(one.missing),
            kind="survey_levels",
            days=(one.work_date, one.work_date),
        )


def _heaps(found: Cells, names: Mapping[str, str]) -> Iterable[MissingLine]:
    for stream in sorted(found.keeps_heaps):
        for place, cut in enumerate(found.cuts):
            flow = found.flows.get((stream, place))
            if flow is None or flow.heaps is not None or not flow.moved:
                continue
            yield _line(
                "heaps not counted",
                f"No whole count of the heaps of {names[stream]} within three days of the survey of"
                f" {date_words(cut.work_date)}: what lay on site then is not known.",
                1,
                kind="stock_counts",
                period=cut.work_date.isoformat(),
                stream=stream,
                days=(cut.work_date, None),
                text=f"stream {stream}",
            )


def _weights(loads: Iterable[Load], names: Mapping[str, str]) -> Iterable[MissingLine]:
    groups: dict[tuple[str, str], list[Load]] = defaultdict(list)
    for load in loads:
        if load.basis in ("estimated", "none"):
            groups[load.stream, load.basis].append(load)
    for (stream, basis), some in sorted(groups.items()):
        mass_t = sum(load.mass_t for load in some)
        how = "of estimated weight" if basis == "estimated" else "without weight"
        yield _line(
            f"loads {how}",
            f"{len(some)} loads of {names.get(stream, stream)} {how}, taken as {mass_t:,.0f} t.",
            len(some),
            kind="lorry_loads",
            stream=stream,
            mass_t=mass_t,
            days=(some[0].gate_date, some[-1].gate_date),
            text=f"stream {stream} weight_basis {basis}",
        )


def _receipts(frame: Frame, loads: Iterable[Load]) -> Iterable[MissingLine]:
    groups: dict[str, list[Load]] = defaultdict(list)
    for load in loads:
        if load.accepted_t is None:
            groups[load.destination].append(load)
    for destination, some in sorted(groups.items()):
        mass_t = sum(load.mass_t for load in some)
        name = frame.destination(destination).name
        yield _line(
            "loads without receipt",
            f"{len(some)} loads, {mass_t:,.0f} t, without a receipt of {name}.",
            len(some),
            kind="lorry_loads",
            mass_t=mass_t,
            days=(some[0].gate_date, some[-1].gate_date),
            text=f"destination {destination}",
        )


def _unclaimed(data: Recorded) -> Iterable[MissingLine]:
    if data.unclaimed.receipts:
        yield _line(
            "receipts without load",
            f"{data.unclaimed.receipts} receipts, {data.unclaimed.mass_t:,.0f} t, name a ticket"
            " that is none of the loads: find the ticket, or the slip in its number.",
            data.unclaimed.receipts,
            kind="receipts",
            mass_t=data.unclaimed.mass_t,
        )


def unmatched(
    loads: Sequence[Load], destinations: Mapping[str, str]
) -> tuple[list[Unmatched], int, float]:
    """The newest loads without a receipt, how many there are, and their mass [t]."""
    every = [load for load in loads if load.accepted_t is None]
    listed = [
        Unmatched(
            load.entry_id,
            load.ticket,
            load.gate_date,
            load.stream,
            destinations.get(load.destination, load.destination),
            load.mass_t,
            load.basis,
        )
        for load in every[: -MOST_LISTED - 1 : -1]
    ]
    return listed, len(every), sum(load.mass_t for load in every)
