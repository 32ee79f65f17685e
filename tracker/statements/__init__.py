"""The only way out: frozen answers with their basis."""

from tracker.statements.backtest import backtest_statement
from tracker.statements.balance import balance_statement
from tracker.statements.capacity import capacity_statement
from tracker.statements.carbon import carbon_statement
from tracker.statements.day import day_statement
from tracker.statements.delays import delays_statement
from tracker.statements.exceptions import exceptions_statement
from tracker.statements.forecast import forecast_statement
from tracker.statements.gate import gate_statement
from tracker.statements.holds import holds_statement
from tracker.statements.movements import movements_statement
from tracker.statements.progress import progress_statement
from tracker.statements.reconciliation import reconciliation_statement
from tracker.statements.records import (
    entry_words,
    history_statement,
    records_statement,
    site_in_force,
)
from tracker.statements.spoil_out import spoil_statement
from tracker.statements.survey import survey_list, survey_statement
from tracker.statements.survey_picture import survey_picture
from tracker.statements.what_if import what_if_of, what_if_statement

__all__ = [
    "backtest_statement",
    "balance_statement",
    "capacity_statement",
    "carbon_statement",
    "day_statement",
    "delays_statement",
    "entry_words",
    "exceptions_statement",
    "forecast_statement",
    "gate_statement",
    "history_statement",
    "holds_statement",
    "movements_statement",
    "progress_statement",
    "reconciliation_statement",
    "records_statement",
    "site_in_force",
    "spoil_statement",
    "survey_list",
    "survey_picture",
    "survey_statement",
    "what_if_of",
    "what_if_statement",
]
