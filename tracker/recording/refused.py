"""What is raised where a single entry is refused: one error with every problem."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.errors import InputError, Problem

_SAID = 6  # problems that its sentences name


class RowRefused(InputError):
    """Refused for the reasons in `problems`; its sentences name the first few of them."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        said = [f"{p.field}: {p.message}" if p.field else p.message for p in problems]
        more = [f"And {len(said) - _SAID} more."] if len(said) > _SAID else []
        super().__init__(" ".join(said[:_SAID] + more), field=problems[0].field)
        self.problems = tuple(problems)
