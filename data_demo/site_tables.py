"""The set-up tables of the invented site. Every name, reference and number of a permit is made up.

Factors come from published tables where `factor_source` says so; the rest are invented.
"""

from __future__ import annotations

import math

from data_demo.season import HOLIDAYS, SHUTDOWN

Row = dict[str, str]

MADE_GROUND, GRAVEL, CLAY = "made_ground", "gravel", "stiff_clay"
BOX_ZONES = ("A", "B", "C", "D", "E")
ZONES = (*BOX_ZONES, "S")
OPENS = {
    "A": "2026-04-07",
    "B": "2026-04-20",
    "C": "2026-05-05",
    "D": "2026-05-18",
    "E": "2026-06-01",
    "S": "2026-07-06",
}
GROUND_LEVEL_M = {"A": 104.2, "B": 104.2, "C": 104.15, "D": 104.1, "E": 104.05, "S": 103.9}
MADE_GROUND_BASE_M = {"A": 101.8, "B": 101.7, "C": 101.5, "D": 101.4, "E": 101.3, "S": 101.0}
GRAVEL_BASE_M = {"A": 97.7, "B": 97.5, "C": 97.4, "D": 97.6, "E": 97.9, "S": 97.2}
CLAY_BASE_M = {zone: 74.0 if zone == "S" else 80.0 for zone in ZONES}

BOX_WIDTH_M = 30.0
BOX_LENGTHS_M = {"A": 24.0, "B": 26.0, "C": 26.0, "D": 26.0, "E": 18.0}
BOX_CORNER_M = (500.0, 200.0)
SHAFT_CENTRE_M, SHAFT_RADIUS_M, SHAFT_SIDES = (645.0, 215.0), 9.0, 24

BOX_STAGES = (
    (101.6, "top props", 14),
    (96.4, "waler and middle props", 18),
    (90.6, "lower props", 21),
    (84.8, "blinding and base slab", 6),
)
SHAFT_STAGES = (
    (101.4, "collar and lining ring 1", 6),
    (95.4, "lining ring 2", 9),
    (89.4, "lining ring 3", 9),
    (83.4, "lining ring 4", 9),
    (78.4, "blinding and base plug", 5),
)
PLANNED = {  # zone -> planned first and last dig date of each stage, month-day of 2026
    "A": ("04-07 04-15", "04-30 05-20", "06-15 07-10", "08-03 09-11"),
    "B": ("04-16 04-27", "05-21 06-11", "07-13 08-14", "09-14 10-23"),
    "C": ("04-28 05-08", "06-08 06-26", "08-10 09-16", "10-19 11-20"),
    "D": ("05-11 05-21", "06-29 07-23", "09-14 10-23", "11-16 12-09"),
    "E": ("05-26 06-01", "07-27 08-11", "10-14 11-02", "11-26 12-14"),
    "S": ("07-01 07-06", "07-13 07-27", "08-06 08-24", "09-07 09-24", "10-05 10-19"),
}
HOLD_CONDITIONS = {  # support -> what must be in place before what is below may be dug
    "top props": "every prop of the zone bolted and preloaded; loads read once",
    "waler and middle props": "waler grouted, every prop preloaded; loads read for two shifts",
    "lower props": "waler grouted, every prop preloaded; loads of three levels below amber",
    "blinding and base slab": "formation inspected bay by bay and blinded within its limit",
    "blinding and base plug": "formation inspected and blinded within its limit; pumps proved",
}
RING_CONDITION = "ring closed, its concrete at 15 N/mm2 by two cubes"
EXPOSURE_LIMIT_H = {"box": 48, "shaft": 36}  # of formation in clay, from the trim to the blinding
VEHICLE = "rigid_32"


def outline(zone: str) -> list[tuple[float, float]]:
    """Corner points of a zone in the site grid [m]."""
    if zone == "S":
        (x, y), turn = SHAFT_CENTRE_M, 2.0 * math.pi / SHAFT_SIDES
        return [
            (
                round(x + SHAFT_RADIUS_M * math.cos(i * turn), 3),
                round(y + SHAFT_RADIUS_M * math.sin(i * turn), 3),
            )
            for i in range(SHAFT_SIDES)
        ]
    left, low = BOX_CORNER_M
    for name, length in BOX_LENGTHS_M.items():
        if name == zone:
            break
        left += length
    right, high = left + BOX_LENGTHS_M[zone], low + BOX_WIDTH_M
    return [(left, low), (right, low), (right, high), (left, high)]


def plan_area(zone: str) -> float:
    """Plan area within a zone's outline by the shoelace sum [m2]."""
    points = outline(zone)
    pairs = zip(points, points[1:] + points[:1], strict=True)
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2.0


def bands(zone: str) -> list[tuple[float, float, str]]:
    """Ground of a zone from the top down: upper level, lower level [m], stream."""
    made, gravel = MADE_GROUND_BASE_M[zone], GRAVEL_BASE_M[zone]
    return [
        (GROUND_LEVEL_M[zone], made, MADE_GROUND),
        (made, gravel, GRAVEL),
        (gravel, CLAY_BASE_M[zone], CLAY),
    ]


def design_stages(zone: str) -> tuple[tuple[float, str, int], ...]:
    """Design dig level [m], support that follows and hold days of each stage of a zone."""
    return SHAFT_STAGES if zone == "S" else BOX_STAGES


def table_rows(headings: str, *lines: str) -> list[Row]:
    """Rows from headings and lines that are written with a bar between the columns."""
    names = headings.split("|")
    return [dict(zip(names, line.split("|"), strict=True)) for line in lines]


def _zones() -> list[Row]:
    return [
        {
            "zone": zone,
            "excavation": "shaft" if zone == "S" else "box",
            "name": "Shaft" if zone == "S" else f"Box zone {zone}",
            "ground_level_m": f"{GROUND_LEVEL_M[zone]:.2f}",
            "opens": OPENS[zone],
            "outline": "; ".join(f"{x:g} {y:g}" for x, y in outline(zone)),
            "exposure_limit_h": str(EXPOSURE_LIMIT_H["shaft" if zone == "S" else "box"]),
        }
        for zone in ZONES
    ]


def _stages() -> list[Row]:
    rows = []
    for zone in ZONES:
        designed = zip(design_stages(zone), PLANNED[zone], strict=True)
        for number, ((level_m, support, hold_days), planned) in enumerate(designed, start=1):
            start, finish = planned.split()
            rows.append(
                {
                    "zone": zone,
                    "stage": str(number),
                    "design_level_m": f"{level_m:.2f}",
                    "support": support,
                    "hold_days": str(hold_days),
                    "planned_start": f"2026-{start}",
                    "planned_finish": f"2026-{finish}",
                    "hold_condition": HOLD_CONDITIONS.get(support, RING_CONDITION),
                }
            )
    return rows


def _ground() -> list[Row]:
    return [
        {
            "zone": zone,
            "upper_level_m": f"{upper:.2f}",
            "lower_level_m": f"{lower:.2f}",
            "stream": stream,
        }
        for zone in ZONES
        for upper, lower, stream in bands(zone)
    ]


def _streams() -> list[Row]:
    return table_rows(
        "stream|name|loose_per_bank_low|loose_per_bank|loose_per_bank_high|bank_density_low"
        "|bank_density|bank_density_high|compacted_per_bank|factor_source|regime|waste_code"
        "|classified_by|classification_reference",
        f"{MADE_GROUND}|Made ground|1.20|1.25|1.45|1.70|1.84|1.95||"
        "Nunnally table 2-5 (1.25; 1.84 t/m3) and Peurifoy table 4-1 (20-45 %), common earth as a"
        " stand-in; density range from the invented site's own tests|"
        "non-hazardous waste|17 05 04|invented consultant|INV-GI-01 made ground (invented)",
        f"{GRAVEL}|Sand and gravel|1.05|1.12|1.20|1.82|1.90|1.98|0.88|"
        "Nunnally table 2-5 (1.12; 0.88; 1.90 t/m3) and British Geological Survey style bulking"
        " class 1 (5-20 %); density range from the invented site's own tests|"
        "declared re-use elsewhere||invented consultant|INV-MMP-02 re-use declaration (invented)",
        f"{CLAY}|Stiff clay|1.25|1.30|1.30|1.95|2.03|2.08|0.90|"
        "Japanese public works standard tables 2-19 and 2-20 (bulking); Das ch. 3 (2.03 t/m3,"
        " saturated clay); density range from the invented site's own tests|"
        "non-hazardous waste|17 05 04|invented consultant|INV-GI-03 stiff clay (invented)",
    )


def _who_and_where() -> dict[str, list[Row]]:
    return {
        "vehicles": table_rows(
            "vehicle|name|carbon_class|plated_gross_t|plated_payload_t|body_m3|fill|min_cycle_min",
            f"{VEHICLE}|Four-axle rigid tipper|rigid_over_17t|32|20|12.5|1.08|60",
            "artic_44|Six-axle articulated tipper|artic_over_33t|44|28|20|0.95|75",
        ),
        "carriers": table_rows(
            "carrier|name|registration|valid_from|valid_to",
            "carrier_1|First invented haulier|DEMO-CARRIER-001|2024-11-04|2027-11-03",
            "carrier_2|Second invented haulier|DEMO-CARRIER-002|2023-11-10|2026-11-09",
        ),
        "destinations": table_rows(
            "destination|name|kind|authorisation|valid_from|valid_to|waste_codes",
            "restoration|Invented clay pit restoration|recovery|DEMO-PERMIT-11|2025-01-06"
            "|2030-12-31|17 05 04",
            "treatment|Invented soil recovery yard|recovery|DEMO-PERMIT-12|2024-03-01"
            "|2029-02-28|17 05 04; 17 05 06",
            "landfill|Invented landfill|landfill|DEMO-PERMIT-13|2022-06-01|2032-05-31|17 05 04",
            "haul_road|Invented haul road embankment|re-use|DEMO-DECLARATION-21|2026-03-30"
            "|2027-03-29|",
        ),
    }


def _routes() -> list[Row]:
    return table_rows(
        "route|name|destination",
        "R-BELT|Clay by belt and barge to the restoration|restoration",
        "R-BELT-GRAVEL|Gravel by belt and barge to the embankment|haul_road",
        "R-LORRY-CLAY|Clay by road to the restoration while the belt is out|restoration",
        "R-LORRY-MG|Made ground by road to the recovery yard|treatment",
        "R-LORRY-LANDFILL|Made ground by road to the landfill|landfill",
        "R-LORRY-GRAVEL|Gravel by road to the embankment|haul_road",
    )


def _legs() -> list[Row]:
    barge = "0.03|invented for the demo"
    return table_rows(
        "route|leg|mode|from_place|to_place|distance_km|vehicle|belt|kwh_per_t|kgco2e_per_tkm"
        "|factor_source",
        "R-BELT|1|belt|site|wharf|0.6||BELT1|0.42||",
        f"R-BELT|2|barge|wharf|pit jetty|38||||{barge}",
        f"R-BELT|3|lorry|pit jetty|restoration|1.2|{VEHICLE}||||",
        "R-BELT-GRAVEL|1|belt|site|wharf|0.6||BELT1|0.42||",
        f"R-BELT-GRAVEL|2|barge|wharf|embankment quay|22||||{barge}",
        f"R-BELT-GRAVEL|3|lorry|embankment quay|embankment|0.8|{VEHICLE}||||",
        f"R-LORRY-CLAY|1|lorry|site|restoration|46|{VEHICLE}||||",
        f"R-LORRY-MG|1|lorry|site|recovery yard|24|{VEHICLE}||||",
        f"R-LORRY-LANDFILL|1|lorry|site|landfill|31|{VEHICLE}||||",
        f"R-LORRY-GRAVEL|1|lorry|site|embankment|17|{VEHICLE}||||",
    )


def _rules() -> dict[str, list[Row]]:
    return {
        "shifts": table_rows(
            "shift|name|starts|ends|weekdays",
            "day|Day|07:00|19:00|Mon Tue Wed Thu Fri",
            "night|Night|19:00|07:00|Mon Tue Wed Thu Fri",
            "weekend|Weekend night, maintenance or catch-up|22:00|06:00|Sat",
        ),
        "closures": [
            {"day": str(day), "reason": why} for day, why in (HOLIDAYS | SHUTDOWN).items()
        ],
        "caps": table_rows(
            "per|movements|reference",
            "day|120|planning condition 14 (invented)",
            "hour|16|planning condition 15 (invented)",
        ),
        "windows": table_rows(
            "weekdays|opens|closes", "Mon Tue Wed Thu Fri|07:30|18:30", "Sat|08:00|13:00"
        ),
        "gate_permissions": table_rows(
            "reference|valid_from|valid_to|opens|closes|per|movements",
            "letter INV-PERM-02, pour of 29 October (invented)|2026-10-29|2026-10-29|18:30|20:00||",
            "letter INV-PERM-02, pour of 29 October (invented)|2026-10-29|2026-10-29|||day|150",
        ),
        "causes": table_rows(
            "cause|name|owner",
            "support_late|support later than its planned hold|temporary works",
            "plant_down|excavator or dumper down|plant manager",
            "belt_down|belt or barge loading stopped|belt operator",
            "lorry_wait|waiting for lorries or gate|haulage coordinator",
            "obstruction|obstruction or probing in the ground|site engineer",
            "weather|wind or heavy rain|nobody",
            "permit|permit to dig awaited or suspended|temporary works coordinator",
        ),
    }


def setup_tables() -> dict[str, list[Row]]:
    """Every table of the set-up, by name."""
    return {
        "site": table_rows(
            "name|nation|governing_law|time_zone|first_date|datum_name|national_datum|datum_offset_m"
            "|factor_year|public_holidays|zones_at_once",
            "Invented Box and Shaft|England|SI 2011/988 and SI 2005/894|Europe/London|2026-03-02"
            "|Invented site datum|Ordnance Datum Newlyn|-100|2025|yes|",
        ),
        "excavations": table_rows(
            "excavation|name|kind|target_formation",
            "box|Walled box in five zones|box|2026-12-14",
            "shaft|Lined shaft|shaft|2026-11-13",
        ),
        "zones": _zones(),
        "stages": _stages(),
        "streams": _streams(),
        "ground": _ground(),
        **_who_and_where(),
        "routes": _routes(),
        "legs": _legs(),
        **_rules(),
    }
