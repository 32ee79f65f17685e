"""Statements kept for as long as nothing was written: callbacks of a page ask for the same one."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from threading import Lock
from typing import Any

MOST = 32


class Kept:
    """The last answers, each made once although several threads ask for it at the same time."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._answers: OrderedDict[Hashable, Future[Any]] = OrderedDict()

    def answer(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """The answer to a question, made if it is not kept. An error is raised and not kept."""
        with self._lock:
            found = self._answers.get(key)
            if found is not None:
                self._answers.move_to_end(key)
            else:
                mine = self._answers[key] = Future()
                while len(self._answers) > MOST:
                    self._answers.popitem(last=False)
        if found is not None:
            return found.result()
        try:
            mine.set_result(make())
        except BaseException as error:
            mine.set_exception(error)
            with self._lock:
                self._answers.pop(key, None)
        return mine.result()
