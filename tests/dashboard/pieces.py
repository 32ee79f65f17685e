"""Taking pages apart: their texts, ids and components."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import dash_mantine_components as dmc
from dash.development.base_component import Component


def parts_of(part: Any) -> Iterator[Component]:
    """A component and every component inside it."""
    if isinstance(part, Component):
        yield part
        for name in ("children", "label", "description", "title"):
            yield from parts_of(getattr(part, name, None))
    elif isinstance(part, list | tuple):
        for each in part:
            yield from parts_of(each)


def texts_of(part: Any) -> str:
    """Every word in a component, joined."""
    if isinstance(part, dmc.Table):
        return texts_of([part.data["caption"], part.data["head"], part.data["body"]])
    if isinstance(part, Component):
        return texts_of(getattr(part, "children", None))
    if isinstance(part, list | tuple):
        return " ".join(text for text in (texts_of(each) for each in part) if text)
    return "" if part is None else str(part).strip()


def ids_of(part: Any) -> list[Any]:
    """Every id in a component."""
    return [each.id for each in parts_of(part) if getattr(each, "id", None) is not None]
