"""A survey held against the returns to its moment, zone by zone and stage by stage."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from tracker.domain.rules import SURVEY_RULE
from tracker.domain.surface.net import Net
from tracker.domain.surface.reduced import ReducedSurvey
from tracker.domain.surface.site_survey import dug_by_stage
from tracker.domain.survey_check import CheckLine, returned_u_m3
from tracker.ledger.entries import SurveyCheck
from tracker.ledger.surveys import Taken, ground_before, levels_of, survey_checks
from tracker.statements.dug import DugSum, dug, ended_after
from tracker.statements.frame import Frame
from tracker.statements.shapes import OpenException


@dataclass(frozen=True, slots=True)
class Compared:
    """What a survey says was dug, by zone and stage, and what the returns say of the same."""

    survey: Taken
    since: Taken | None
    before: Mapping[str, ReducedSurvey]  # of the zones compared
    nets: Mapping[str, Mapping[int, Net]]
    lines: tuple[CheckLine, ...]  # zone by zone: the whole zone, then its stages
    total: CheckLine
    check: SurveyCheck | None

    @property
    def net(self) -> Net:
        """The whole volume with its uncertainty."""
        return sum((net for stages in self.nets.values() for net in stages.values()), Net())

    def severity(self, line: CheckLine) -> str:
        """amber or red by the limits of the check; empty if none stands."""
        if self.check is None:
            return ""
        return line.severity(self.check.amber_permille, self.check.red_permille)


def compared(
    frame: Frame, taken: Sequence[Taken], survey: Taken, since: Taken | None = None
) -> Compared:
    """Hold a survey against the returns, from the ground before or since an earlier survey.

    Only zones that it covers whole, and the earlier one too, are compared.
    """
    entry = survey.entry
    others = [other for other in taken if other is not survey]
    before = ground_before(frame.site, entry.excavation, others, entry.surveyed_at)
    if since is not None:
        before = dict.fromkeys(since.whole, since.reduced)
    zones = [zone for zone in survey.whole if zone in before]
    nets = {zone: dug_by_stage(frame.site, zone, before[zone], survey.reduced) for zone in zones}
    returned = _returned(frame, survey, since)
    lines = [line for zone in zones for line in _lines(zone, nets[zone], returned)]
    checks = survey_checks(frame.ledger, frame.as_of, frame.known_at)
    return Compared(
        survey,
        since,
        {zone: before[zone] for zone in zones},
        nets,
        tuple(lines),
        _total(nets, zones, returned),
        checks.get((entry.excavation, entry.survey)),
    )


def _returned(frame: Frame, survey: Taken, since: Taken | None) -> dict[tuple[str, int], DugSum]:
    """What returns say by zone and stage to the moment of a survey, from that of another."""
    entry = survey.entry
    first, also = None, []
    if since is not None:
        first = since.entry.work_date + timedelta(days=1)
        also = ended_after(frame, since.entry.surveyed_at, since.entry.work_date)
    return dict(
        dug(
            frame,
            ("zone", "stage"),
            since=first,
            until=entry.work_date,
            also=also,
            without=ended_after(frame, entry.surveyed_at, entry.work_date),
        )
    )


def _lines(
    zone: str, nets: Mapping[int, Net], returned: Mapping[tuple[str, int], DugSum]
) -> list[CheckLine]:
    stages = {**dict.fromkeys(nets), **{n: None for name, n in returned if name == zone}}
    of_zone = [part for (name, _), part in returned.items() if name == zone]
    lines = [_line(zone, None, sum(nets.values(), Net()), _joined(of_zone))]
    for stage in stages:
        said = returned.get((zone, stage), DugSum())
        net = nets.get(stage, Net())
        if abs(net.net_m3) > 0.05 or abs(said.bank_m3) > 0.05:
            lines.append(_line(zone, stage, net, said))
    return lines


def _total(
    nets: Mapping[str, Mapping[int, Net]],
    zones: Sequence[str],
    returned: Mapping[tuple[str, int], DugSum],
) -> CheckLine:
    net = sum((net for zone in zones for net in nets[zone].values()), Net())
    said = _joined([part for (zone, _), part in returned.items() if zone in zones])
    return _line("", None, net, said)


def _joined(parts: Sequence[DugSum]) -> DugSum:
    total = DugSum()
    for part in parts:
        total.include(part)
    return total


def _line(zone: str, stage: int | None, net: Net, said: DugSum) -> CheckLine:
    return CheckLine(
        zone,
        stage,
        net.net_m3,
        net.uncertainty.combined_m3,
        said.bank_m3,
        returned_u_m3(said.by_basis_m3, said.u_bank_m3),
    )


def claimed_otherwise(found: Compared) -> list[str]:
    """Where what a survey says from the ground differs from what it said when it was recorded."""
    if found.check is None or found.since is not None:
        return []
    claimed: dict[str, float] = defaultdict(float)
    for zone, _stage, bank_l, _u in json.loads(found.check.lines):
        claimed[zone] += bank_l / 1000.0
    now = {zone: sum(net.net_m3 for net in nets.values()) for zone, nets in found.nets.items()}
    return [
        f"Zone {zone}: {now[zone]:,.0f} m³ by the set-up in force, {then:,.0f} m³ when the survey"
        " was recorded: the ground before, or the zone, was described otherwise then."
        for zone, then in claimed.items()
        if zone in now and abs(now[zone] - then) > 0.5
    ]


def open_disagreements(
    frame: Frame, taken: Sequence[Taken], closed: set[tuple[str, str]]
) -> list[OpenException]:
    """Zones in which the last survey and the returns differ by more than the red limit."""
    latest: dict[str, Taken] = {}
    for survey in taken:
        if not survey.entry.original_ground:
            latest |= dict.fromkeys(survey.whole, survey)
    found = []
    for survey in dict.fromkeys(latest.values()):
        result = compared(frame, taken, survey)
        red = [
            line
            for line in result.lines
            if line.stage is None
            and latest.get(line.zone) is survey
            and result.severity(line) == "red"
        ]
        levels = levels_of(frame.ledger, survey.entry, frame.known_at) if red else {}
        found += [
            _disagreement(survey, line, levels[line.zone])
            for line in red
            if (SURVEY_RULE, levels[line.zone]) not in closed
        ]
    return found


def _disagreement(survey: Taken, line: CheckLine, about: str) -> OpenException:
    day: date = survey.entry.work_date
    percent = "" if line.percent is None else f" ({line.percent:+.1f} %)"
    return OpenException(
        rule=SURVEY_RULE,
        about=about,
        kind="survey_levels",
        work_date=day,
        zone=line.zone,
        sentence=f"Zone {line.zone}: {line.verdict}, {line.returned_m3:,.0f} m³ against"
        f" {line.surveyed_m3:,.0f} m³ of survey {survey.entry.survey}{percent}. Find the shifts"
        " that misjudged, or the ground that the survey did not see.",
    )
