import numpy as np
import pytest

from tests.domain.reconcile.seasons import Drawn
from tracker.domain.reconcile.equations import Row
from tracker.domain.reconcile.season_equations import season_equations
from tracker.domain.reconcile.stated import (
    AssumedGround,
    Bank,
    Carried,
    Loose,
    Mass,
    Season,
    Stated,
    SurveyedVoid,
)


def everything() -> Season:
    """Two streams with every kind of statement, some missing."""
    grounds = [
        AssumedGround("clay", 2.0, 0.02, 0.02, opening_stock=Loose(65.0, 5.0)),
        AssumedGround("made ground", 1.8, 0.03, 0.03),
    ]
    belt = Carried("belt", "quarry", Mass(1200.0, 6.0, 5.0), Mass(1210.0, 5.0, 4.0))
    lorries = Carried("lorries", "farm", None, Mass(400.0, 3.0, 2.0))
    survey = SurveyedVoid(Bank(800.0, 12.0, 1.0), 2400.0, 0.008, Bank(40.0, 10.0))
    return Season(
        ["w1", "w2", "w3"],
        grounds,
        [
            Stated("w1", "clay", survey, Loose(1050.0, 60.0, 30.0), (belt, lorries)),
            Stated("w2", "clay", None, Mass(1500.0, 60.0), (belt,), Bank(20.0, 2.0)),
            Stated("w3", "clay", survey, Bank(800.0, 60.0), (belt, lorries), Loose(9.0, 1.0)),
            Stated("w1", "made ground", survey, None, (lorries,), None, Mass(30.0, 4.0)),
            Stated("w3", "made ground", survey, None, (lorries, belt), Mass(5.0, 1.0)),
        ],
    )


def test_the_derivatives_are_those_found_by_differences():
    equations = season_equations(everything())
    model = equations.model
    at = np.array(equations.start) + np.random.default_rng(2).uniform(
        0.1, 1.0, len(equations.start)
    )
    _, jacobian = model(at)
    for k in range(len(at)):
        step = np.zeros(len(at))
        step[k] = 1e-5 * max(1.0, abs(at[k]))
        differences = (model(at + step)[0] - model(at - step)[0]) / (2.0 * step[k])
        assert jacobian[:, [k]].toarray().ravel() == pytest.approx(differences, rel=1e-6, abs=1e-6)


def test_what_happened_satisfies_every_equation_when_nobody_errs():
    drawn = Drawn(1, periods=6)
    truth, equations = drawn.truth, season_equations(drawn.season)
    happened = {
        "density": truth.density_t_per_m3,
        "bulking": truth.loose_per_bank,
        "belt": truth.belt_t,
        "lorries": truth.lorries_t,
        "stock": truth.stock_t,
        "dug after": drawn.dug_after_m3,
    }
    unknowns = []
    for name in equations.names:
        kind = next((one for one in happened if one in name and "error" not in name), None)
        unknowns.append(happened[kind][int(name.split("week ")[-1]) - 1] if kind else 0.0)
    predicted, _ = equations.model(np.array(unknowns))
    shift = np.concatenate([[0.0], drawn.dug_after_m3[:-1]]) - drawn.dug_after_m3
    expected = {
        "survey": truth.bank_m3 + shift,
        "returns": truth.bank_m3,
        "belt": truth.belt_t,
        "receipts farm": truth.lorries_t,
        "stock": truth.stock_t * truth.loose_per_bank / truth.density_t_per_m3,
    }
    for source, values in expected.items():
        rows = [k for k, row in enumerate(equations.rows) if row.source == source]
        assert predicted[rows] == pytest.approx(values, rel=1e-12), source


def test_each_source_has_one_common_error_and_each_survey_one_level():
    names = season_equations(everything()).names
    assert names.count("the common error of belt") == 1
    assert names.count("the common error of receipts farm") == 1
    levels = [name for name in names if name.startswith("the level error of the survey")]
    assert [level.split()[-1] for level in levels] == ["w1", "before", "w3"]


def test_rows_keep_what_was_stated_in_its_own_unit():
    rows = season_equations(everything()).rows
    assert Row("stock", 0, "clay", "loose m³", 65.0, 5.0) in rows
    assert Row("receipts farm", 0, "clay", "t", 400.0, 3.0, 2.0) in rows
    assert Row("re-use", 1, "clay", "bank m³", 20.0, 2.0) in rows
    assert Row("survey", 2, "clay", "bank m³", 800.0, 12.0, 1.0, 2400.0, 0.008) in rows
