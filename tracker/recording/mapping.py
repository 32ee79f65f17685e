"""Other people's columns in place of ours: a mapping file says which is which."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from tracker.errors import InputError, UnknownName
from tracker.recording.columns import Kind
from tracker.recording.fields import Given, text_of


@dataclass(frozen=True, slots=True)
class ColumnMapping:
    """Our column -> theirs (several are joined by a space), values that no column holds, and
    columns of ours that must be filled beyond those that always must.
    """

    columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    constants: Mapping[str, str] = field(default_factory=dict)
    required: tuple[str, ...] = ()

    def apply(self, theirs: Mapping[str, Given]) -> dict[str, Given]:
        """A row under our names. Columns that are not mapped and bear one of our names stay."""
        ours: dict[str, Given] = dict(theirs)
        ours.update(self.constants)
        for name, sources in self.columns.items():
            if len(sources) == 1:
                ours[name] = theirs.get(sources[0])
            else:
                ours[name] = " ".join(text_of(theirs.get(s)).strip() for s in sources).strip()
        return ours

    @property
    def sources(self) -> set[str]:
        """Their headings that the mapping uses."""
        return {source for sources in self.columns.values() for source in sources}


def read_mapping(path: str | Path, kind: Kind) -> ColumnMapping:
    """A mapping from its TOML file.

    Tables `[columns]` (our = "theirs" or ["date", "time"]) and `[constants]` (our = "value"), and
    the list `required`. Raises InputError for anything else.
    """
    path = Path(path)
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError:
        raise InputError(f"There is no mapping file at {path}. Check its name.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(f"{path.name} is not a TOML file: {error}.") from None
    return mapping_of(content, kind)


def mapping_of(content: Mapping[str, object], kind: Kind) -> ColumnMapping:
    """A mapping from what its file holds. Raises InputError for what it does not know."""
    for section in content:
        if section not in ("columns", "constants", "required"):
            known = ("columns", "constants", "required")
            raise UnknownName("section of the mapping", section, known)
    columns, constants = content.get("columns", {}), content.get("constants", {})
    required = content.get("required", [])
    if not isinstance(columns, dict) or not isinstance(constants, dict):
        raise InputError('columns and constants are tables: write [columns], then our = "theirs".')
    if not isinstance(required, list):
        raise InputError('required is a list of our columns: required = ["note"].')
    names = {c.name for c in kind.columns}
    for ours in (*columns, *constants, *required):
        if ours not in names:
            raise UnknownName(f"column of {kind.name}", str(ours), names)
    return ColumnMapping(
        {ours: _sources(ours, theirs) for ours, theirs in columns.items()},
        {ours: text_of(value) for ours, value in constants.items()},
        tuple(required),
    )


def _sources(ours: str, theirs: object) -> tuple[str, ...]:
    names = theirs if isinstance(theirs, list) else [theirs]
    if not names or not all(isinstance(name, str) for name in names):
        raise InputError(f'{ours} is mapped to {theirs!r}. Write {ours} = "their heading".')
    return tuple(names)
