"""What is raised where a single entry, or a set-up, is refused: one error with every problem."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.errors import InputError, Problem


class RowRefused(InputError):
    """Refused for the reasons in `problems`; its sentence names the first of them."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        first = problems[0]
        more = f" And {len(problems) - 1} more." if len(problems) > 1 else ""
        named = f"{first.field}: " if first.field else ""
        super().__init__(f"{named}{first.message}{more}", field=first.field)
        self.problems = tuple(problems)
