"""A small invented site: two zones of 10 m x 10 m, two stages, one belt. Nothing in it is real."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime

import pytest

from tracker.domain.site import Site
from tracker.domain.site_tables import site_from_tables
from tracker.ledger.store import Ledger, open_ledger
from tracker.recording.columns import KINDS
from tracker.recording.entry import record
from tracker.recording.fields import Fields, Sheet
from tracker.recording.rows import read_row
from tracker.recording.setup import adopt_setup
from tracker.recording.setups import Setups

Tables = dict[str, list[dict[str, str]]]


def rows(heading: str, *lines: str) -> list[dict[str, str]]:
    """Rows written as lines with | between the values."""
    names = [name.strip() for name in heading.split("|")]
    return [dict(zip(names, (v.strip() for v in line.split("|")), strict=True)) for line in lines]


SMALL: Tables = {
    "site": rows(
        "name|nation|governing_law|time_zone|first_date|datum_name|national_datum|datum_offset_m",
        "Small pit|England|law of England, invented site|Europe/London|2026-03-01|site|ODN|-100",
    ),
    "excavations": rows("excavation|name|kind|target_formation", "BOX|The box|box|2026-12-01"),
    "zones": rows(
        "zone|excavation|name|ground_level_m|opens|outline",
        "A|BOX|West|104|2026-03-02|0 0; 10 0; 10 10; 0 10",
        "B|BOX|East|104|2026-03-02|10 0; 20 0; 20 10; 10 10",
    ),
    "stages": rows(
        "zone|stage|design_level_m|support|hold_days|planned_start|planned_finish",
        "A|1|100|upper props|7|2026-03-02|2026-03-20",
        "A|2|96|base slab|14|2026-04-01|2026-04-20",
        "B|1|100|upper props|7|2026-03-02|2026-03-20",
        "B|2|96|base slab|14|2026-04-01|2026-04-20",
    ),
    "streams": rows(
        "stream|name|loose_per_bank_low|loose_per_bank|loose_per_bank_high|bank_density_low"
        "|bank_density|bank_density_high|compacted_per_bank|factor_source|regime|waste_code"
        "|classified_by|classification_reference",
        "clay|Stiff clay|1.2|1.3|1.4|1.9|2.0|2.1|0.9|site tests, invented|non-hazardous waste"
        "|17 05 04|consultant|REP-1",
        "made|Made ground|1.1|1.2|1.3|1.6|1.7|1.8||site tests, invented||||",
    ),
    "ground": rows(
        "zone|upper_level_m|lower_level_m|stream",
        "A|104|102|made",
        "A|102|95|clay",
        "B|104|95|clay",
    ),
    "vehicles": rows(
        "vehicle|name|carbon_class|plated_gross_t|plated_payload_t|body_m3|fill|min_cycle_min",
        "rigid|Four-axle rigid|rigid_over_17t|32|20|14|1|60",
    ),
    "carriers": rows(
        "carrier|name|registration|valid_from|valid_to",
        "haul|Invented haulage|CBDU-INVENTED|2026-01-01|2026-12-31",
        "new|Invented newcomer|CBDU-NONE||",
    ),
    "destinations": rows(
        "destination|name|kind|authorisation|valid_from|valid_to|waste_codes",
        "quarry|Invented quarry|recovery|EPR-INVENTED|2026-01-01|2026-08-31|17 05 04",
        "tip|Invented tip|landfill|EPR-TIP|2026-01-01|2026-12-31|17 05 03*",
        "field|Invented field|re-use||||",
    ),
    "routes": rows(
        "route|name|destination",
        "R-BELT|Belt and barge|quarry",
        "R-ROAD|Road|quarry",
        "R-TIP|Road to the tip|tip",
        "R-FIELD|Road to the field|field",
    ),
    "legs": rows(
        "route|leg|mode|from_place|to_place|distance_km|vehicle|belt|kwh_per_t|kgco2e_per_tkm"
        "|factor_source",
        "R-BELT|1|belt|site|wharf|0.6||belt-1|0.4||",
        "R-BELT|2|barge|wharf|quarry|38|||| 0.03|invented for the tests",
        "R-ROAD|1|lorry|site|quarry|46|rigid||||",
        "R-TIP|1|lorry|site|tip|20|rigid||||",
        "R-FIELD|1|lorry|site|field|10|rigid||||",
    ),
    "shifts": rows(
        "shift|name|starts|ends|weekdays",
        "day|Day|07:00|19:00|Mon Tue Wed Thu Fri Sat",
        "night|Night|22:00|06:00|Mon Tue Wed Thu Fri Sat Sun",
    ),
    "closures": rows("day|reason", "2026-04-03|Good Friday"),
    "caps": rows("per|movements|reference", "day|120|invented condition 1"),
    "windows": rows("weekdays|opens|closes", "Mon-Fri|07:30|18:30", "Sat|08:00|13:00"),
    "causes": rows("cause|name|owner", "belt_down|Belt down|belt crew", "rain|Rain|nobody"),
}


@pytest.fixture
def tables() -> Tables:
    """The tables of the small site, to be changed at will."""
    return copy.deepcopy(SMALL)


@pytest.fixture
def site() -> Site:
    """The small site."""
    built, _ = site_from_tables(SMALL)
    assert built is not None
    return built


NOTE = {
    "note_number": "N-1", "form": "season", "made_out_at": "2026-03-30 08:00",
    "valid_from": "2026-03-30", "valid_to": "2027-03-29", "stream": "clay",
    "waste_code": "17 05 04", "description": "stiff clay", "container": "loose",
    "place": "site gate", "transferor": "invented contractor", "transferor_status": "producer",
    "carrier": "haul", "destination": "quarry", "industry_code": "43.12",
    "hierarchy_confirmed": "yes", "signed_out_by": "A. Invented", "signed_in_by": "B. Invented",
}  # fmt: skip
NOW = datetime(2026, 11, 2, 12, 0, tzinfo=UTC)


@pytest.fixture
def now() -> datetime:
    """A moment after everything that the tests record."""
    return NOW


@pytest.fixture
def sheet(site: Site) -> Callable[..., Sheet]:
    """Makes what rows of a kind are read against."""

    def make(kind: str, **changes: object) -> Sheet:
        setups = Setups([(date(2026, 3, 1), site)])
        return Sheet(KINDS[kind], **{"setups": setups, "now": NOW, "file": "f.csv", **changes})

    return make


@pytest.fixture
def read(sheet: Callable[..., Sheet]) -> Callable[..., Fields]:
    """Reads one row of a kind."""

    def read_one(kind: str, fields: dict[str, object], **changes: object) -> Fields:
        return read_row(sheet(kind, **changes), fields, 2)

    return read_one


@pytest.fixture
def book(new_sqlite: Callable[..., str]) -> Iterator[Ledger]:
    """A ledger with the small site adopted, and a season note N-1 for its clay."""
    ledger = open_ledger(new_sqlite(), clock=lambda: NOW)
    adopted = adopt_setup(ledger, SMALL, title="small", by="tests", now=NOW)
    assert adopted.revision
    record(ledger, "notes", NOTE, by="tests", now=NOW)
    yield ledger
    ledger.close()
