"""Usual standard uncertainties of what each party states, where nobody states better ones.

Common practice, no source, but for what two passes over a weighbridge may be off by, as `balance`
has it. Shares are of a typical amount (see `stated`). Nothing here is a limit that must be kept.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from tracker.domain.balance import LOAD_U_T, PAYLOAD_U, STOCK_U, WEIGHBRIDGE_U
from tracker.domain.survey_check import RETURN_U

U_NET_T = LOAD_U_T  # of one load, independent
U_WEIGHBRIDGE_SPAN = WEIGHBRIDGE_U  # shared by all loads over one weighbridge
U_ESTIMATED = RETURN_U["estimated"]  # shared by all loads of estimated weight
U_NO_WEIGHT = PAYLOAD_U  # shared by all loads at the usual payload of their lorry
U_PAYLOAD_T = 1.0  # of one load that was not weighed, independent
U_PAPERS = 0.005  # of a sum of tickets or receipts: mislaid, mistyped, or booked a day off
U_BELT_RUN = 0.01  # of the run between two readings, independent
U_BELT_SPAN = 0.005  # shared by all runs of one weigher
U_LEVEL_M = 0.01  # of the level of one survey
U_TYPED_LEVEL_M = 0.01  # of one zone more, where its volume was typed in without a surface
U_WALL_LINE = 0.001  # of every surveyed void, shared
U_BAND_LEVEL_M = 0.05  # of the level at which one stream of ground gives way to the next
FLOOR_RELIEF_M = 0.3  # standard deviation of a floor about its mean level
U_STOCK = STOCK_U  # of a typical heap, by how it was counted
U_STOCK_LEAST_M3 = 5.0
U_DUG_AFTER = 0.10  # of what the returns say between a survey and the count of the heaps
U_REUSED = 0.05
U_DENSITY_OF_PERIOD = 0.01  # how far one period scatters about the mean of its stream
U_BULKING_OF_PERIOD = 0.02
U_FACTOR_WITHOUT_RANGE = 0.03  # of a factor whose range the set-up does not state

SENTENCES = (
    f"Standard uncertainties used (common practice, no source): belt run {100 * U_BELT_RUN:g} %"
    f" each and {100 * U_BELT_SPAN:g} % shared; tickets and receipts of a period"
    f" {100 * U_PAPERS:g} %, weighbridge {100 * U_WEIGHBRIDGE_SPAN:g} % shared,"
    f" beside {1000 * U_NET_T:.1f} kg a load (SI 1995/1907); loads of estimated weight"
    f" {100 * U_ESTIMATED:g} %, without weight {100 * U_NO_WEIGHT:g} %, both shared, and"
    f" {U_PAYLOAD_T:g} t a load; re-use {100 * U_REUSED:g} %.",
    f"Of surveys (common practice, no source): level {1000 * U_LEVEL_M:g} mm or as the survey"
    f" states, {1000 * U_TYPED_LEVEL_M:g} mm more in each zone that was typed in, wall line"
    f" {100 * U_WALL_LINE:g} % shared, level between two streams {1000 * U_BAND_LEVEL_M:g} mm. Of a"
    " typical heap: "
    + ", ".join(f"{method} {100 * u:g} %" for method, u in U_STOCK.items())
    + f", {U_STOCK_LEAST_M3:g} m³ at least.",
    "Of returns (common practice, no source), each period's own and once more shared: "
    + ", ".join(f"{basis} {100 * u:g} %" for basis, u in RETURN_U.items())
    + f". One period scatters about the mean of its stream by {100 * U_DENSITY_OF_PERIOD:g} % in"
    f" density and {100 * U_BULKING_OF_PERIOD:g} % in bulking; the means as far as the set-up's"
    f" ranges allow, {100 * U_FACTOR_WITHOUT_RANGE:g} % where it states none.",
)


def mean_u_of_returns(by_basis_m3: Mapping[str, float]) -> float:
    """Relative standard uncertainty of returns from their parts by basis [-].

    One habit errs alike in all returns of a basis, so that the parts of one basis add up in full.
    """
    whole = sum(by_basis_m3.values())
    if whole <= 0.0:
        return max(RETURN_U.values())
    return math.hypot(*(RETURN_U[basis] * part for basis, part in by_basis_m3.items())) / whole


def u_of_level_floor_m3(area_m2: float, distance_m: float) -> float:
    """What a floor taken as level may put into the wrong stream [m³].

    area * relief * (density(z) - z * (1 - distribution(z))), z = distance / relief: how much of a
    floor with normal heights lies beyond a level at a distance from its mean.
    """
    z = abs(distance_m) / FLOOR_RELIEF_M
    if z > 10.0:
        return 0.0
    beyond = 0.5 * math.erfc(z / math.sqrt(2.0))
    return area_m2 * FLOOR_RELIEF_M * (math.exp(-z * z / 2.0) / math.sqrt(math.tau) - z * beyond)
