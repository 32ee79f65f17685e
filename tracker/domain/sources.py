"""Where every published number comes from, and how well that was confirmed.

`confirmed` is one of: read (seen in the source or in a page that reproduces it), second-hand (seen
quoted elsewhere), secondary copy (a copy of the table by somebody else), inputs read, answer
computed (published inputs, answer worked out here), computed, from memory (not opened: a check
only, never a default), common practice (no source).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """One source: its key, title, edition, the place in it, and how it was confirmed."""

    key: str
    title: str
    edition: str
    where: str
    confirmed: str


def _ghg(year: int, ministry: str, confirmed: str) -> Source:
    title = f"UK Government GHG Conversion Factors for Company Reporting {year}"
    where = f"{ministry}, Open Government Licence v3.0"
    return Source(f"ghg_{year}", title, str(year), where, confirmed)


_ROWS = (
    # Standards and law
    Source(
        "jcgm100", "Evaluation of measurement data: guide to the expression of uncertainty",
        "JCGM 100:2008", "4.3.7, 4.3.8; 5.1.2 equation 10; 5.2.2 equation 13", "second-hand",
    ),
    Source(
        "si_brochure", "The International System of Units: standard gravity 9.80665 m/s²",
        "9th edition", "definition by convention", "from memory",
    ),
    Source(
        "iso14083", "Greenhouse gases: emissions arising from transport chain operations",
        "ISO 14083:2023", "operation and energy provision; empty running", "second-hand",
    ),
    Source(
        "en1991_1_1", "Eurocode 1: densities, self-weight, imposed loads", "EN 1991-1-1:2002",
        "annex A, table A.7", "read",
    ),
    Source(
        "ec7", "Eurocode 7: geotechnical design", "EN 1997-1:2004", "9.3.2.2",
        "clause read, numbers second-hand",
    ),
    Source(
        "si1995_1907", "The Non-automatic Weighing Instruments (EEC Requirements) Regulations",
        "SI 1995/1907", "schedule 2, 4.1 table 3 and 4.2", "read",
    ),
    Source(
        "si2011_988", "The Waste (England and Wales) Regulations", "SI 2011/988",
        "regulation 35: transfer notes, kept two years", "second-hand",
    ),
    Source(
        "si2005_894", "The Hazardous Waste (England and Wales) Regulations", "SI 2005/894",
        "consignment notes, kept three years", "second-hand",
    ),
    Source(
        "si2000_932", "The Weighing Equipment (Non-automatic Weighing Machines) Regulations",
        "SI 2000/932", "schedule 3", "inputs read, answer computed",
    ),
    Source(
        "list_of_waste", "List of Waste", "Commission Decision 2000/532/EC as amended",
        "chapter 17 05 and 17 09, as reproduced in public waste lists", "second-hand",
    ),
    Source(
        "tzdata", "IANA time zone database", "as installed", "Europe/London", "computed",
    ),
    # Ground and earthwork
    Source(
        "jp_public_works", "Japanese public works cost-estimating standard", "",
        "tables 2-19 and 2-20 (L and C ratios)", "read",
    ),
    Source(
        "jp_examination", "Japanese civil works examination", "", "question on L and C ratios",
        "read",
    ),
    Source(
        "bgs_bulking", "British Geological Survey style bulking classes", "",
        "class 1 (5-20 %) and class 2 (20-40 %)", "second-hand",
    ),
    Source(
        "peurifoy", "Peurifoy, Construction Planning, Equipment and Methods", "", "table 4-1",
        "second-hand",
    ),
    Source("fm5_434", "US Army FM 5-434", "2000", "table 1-1", "from memory"),
    Source(
        "nunnally", "Nunnally, Construction Methods and Management", "", "table 2-5", "read",
    ),
    Source(
        "nunnally_2_3", "Nunnally, Construction Methods and Management", "", "example 2-3",
        "second-hand",
    ),
    Source(
        "cripps_taylor",
        "Cripps and Taylor 1981, as tabulated in Geol. Soc. Eng. Geol. Spec. Publ. 21", "2006",
        "appendix B", "from memory",
    ),
    Source(
        "das_pge", "Das, Principles of Geotechnical Engineering", "",
        "chapter 3, examples 2 and 4 (companion output)", "read",
    ),
    Source("das_pfe", "Das, Principles of Foundation Engineering", "", "example 1.1", "read"),
    Source(
        "dagostino", "Dagostino and Peterson, Estimating in Building Construction", "",
        "chapter 9, examples 9-3 and 9-5", "read",
    ),
    Source("basalt_example", "A worked example on basalt, on several pages", "", "", "second-hand"),
    Source(
        "swell_table", "Earthmoving handbook table swell - voids - load factors", "", "",
        "second-hand",
    ),
    Source(
        "basak", "N. N. Basak, Surveying and Levelling", "1994",
        "pages 244 to 248, problems 3, 4, 5 and 8 (answers of an open companion)", "read",
    ),
    Source(
        "wikibooks_earthwork", "Wikibooks, Fundamentals of Transportation", "",
        "Earthwork, solution", "read",
    ),
    Source("stockpile_table", "Published stockpile table", "", "conical, 37 degrees", "read"),
    Source("earthwork_notes", "Earthwork course notes", "", "haul cycle example", "read"),
    Source(
        "army_slides", "US Army course slides on hauling", "", "5-ton lorry, clay",
        "inputs read, answer computed",
    ),
    Source(
        "peak_district", "Peak District National Park Authority, planning decision",
        "NP/DDD/0214/0210", "condition 10", "read",
    ),
    # Belts and fleets
    Source(
        "iso5048", "Continuous mechanical handling equipment: belt conveyors with carrying idlers:"
        " calculation of operating power and tensile forces", "ISO 5048:1989",
        "clauses 4 to 6, as reproduced in an open package; the effect of a slope and the usable"
        " width above 2 m from memory", "second-hand",
    ),
    Source(
        "iso5048_worked", "A worked flat conveyor after ISO 5048:1989", "",
        "as reproduced in an open package's test data and notebook", "read",
    ),
    Source(
        "conveyor_table", "Published table of belt capacities, three equal rollers, surcharge 15°",
        "form of DIN 22101:1982", "8 rows, recomputed within 0.5 m³/h", "secondary copy",
    ),
    Source(
        "lift_course", "University materials-handling course sheet", "",
        "lift power, 1000 t/h raised 17.9 m", "read",
    ),
    Source(
        "anderson", "Anderson and others, An Introduction to Management Science", "",
        "chapter 11, page 478: finite calling population", "read",
    ),
    Source(
        "burt_caccetta",
        "Burt and Caccetta, Match factor for heterogeneous truck and loader fleets",
        "International Journal of Mining, Reclamation and Environment 21(4), 2007",
        "page 262, abstract; equations and corrigendum", "abstract read, the rest from memory",
    ),
    # Statements that disagree
    Source(
        "narasimhan_jordache",
        "Narasimhan and Jordache, Data Reconciliation and Gross Error Detection", "2000",
        "chapters 3 and 4; heat exchanger with bypass", "from memory",
    ),
    Source(
        "bilinear_course", "Basic Concepts in Data Reconciliation",
        "North Carolina State University and University of Ottawa, 2003", "table 4.1",
        "inputs read, answer computed",
    ),
    Source(
        "baarda", "Baarda, A Testing Procedure for Use in Geodetic Networks",
        "Netherlands Geodetic Commission, new series 2(5), 1968", "data snooping", "second-hand",
    ),
    Source(
        "york_2004", "York and others, Unified equations for the slope, intercept, and standard"
        " errors of the best straight line",
        "American Journal of Physics 72, 2004", "equation 13; table II (data of Pearson 1901,"
        " weights of York 1966), as reproduced in the tests of several open libraries",
        "second-hand",
    ),
    Source(
        "page_1954", "Page, Continuous inspection schemes", "Biometrika 41, 1954", "page 100",
        "from memory",
    ),
    Source(
        "nist_cusum", "NIST/SEMATECH e-Handbook of Statistical Methods", "", "6.3.2.3",
        "from memory",
    ),
    Source(
        "montgomery_runger",
        "Montgomery and Runger, Applied Statistics and Probability for Engineers", "",
        "table 16-7", "read",
    ),
    Source(
        "montgomery_sqc", "Montgomery, Introduction to Statistical Quality Control", "",
        "table of run lengths of the cumulative sum, allowance 1/2", "from memory",
    ),
    # Time
    Source(
        "lipke_es", "Lipke, Earned Schedule Concept",
        "two pages, undated, as reproduced on a document-sharing site",
        "page 1: ES, SV(t), SPI(t); a sketch with 7 months gone and 5 whole ones earned, without"
        " amounts", "read",
    ),
    Source(
        "hksm_es", "HKSM, glossary of project management: earned schedule", "undated",
        "examples at weeks 20 and 24: the ratios, not the interpolation", "read",
    ),
    Source(
        "holidays_library", "holidays, a Python library of public holidays by nation",
        "0.90 or later; the release is named in each row that it gave", "country_holidays",
        "the England dates of 2026 agree with those of the demonstration site",
    ),
    # Factors that change by the year
    _ghg(2021, "BEIS/Defra", "secondary copy, 2 decimals only"),
    _ghg(2022, "BEIS/Defra", "secondary copy"),
    _ghg(2023, "DESNZ/Defra", "secondary copy"),
    _ghg(2024, "DESNZ/Defra", "secondary copy"),
    _ghg(2025, "DESNZ/Defra", "two secondary copies agree"),
    _ghg(2026, "DESNZ/Defra", "secondary copy"),
    Source(
        "landfill_tax_uk", "HMRC landfill tax rates", "2021 to 2026", "rates before April 2025",
        "second-hand and from memory, as each row says",
    ),
    Source(
        "landfill_tax_uk_2026", "HMRC landfill tax rates for 2026 to 2027",
        "published 26 November 2025", "rates from April 2025 and April 2026", "read",
    ),
    Source("landfill_tax_wales", "Welsh landfill disposals tax rates", "2025 to 2027", "",
           "second-hand"),
    Source("landfill_tax_scotland", "Scottish landfill tax rates", "2025 to 2026", "",
           "second-hand"),
)  # fmt: skip

SOURCES: dict[str, Source] = {source.key: source for source in _ROWS}
