"""Rows about papers: transfer and consignment notes, re-use declarations."""

from __future__ import annotations

from datetime import date, timedelta

from tracker.domain.papers import (
    CONSIGNMENT,
    DECLARED_REUSE,
    FORMS,
    HAZARDOUS,
    LONGEST_SEASON_DAYS,
    SEASON,
    is_waste,
)
from tracker.domain.site import Stream
from tracker.ledger.entries import Entry, ReuseDeclaration, TransferNote
from tracker.recording.fields import Fields
from tracker.recording.rows_spoil import read_code

_TEXTS = (
    "note_number",
    "description",
    "container",
    "place",
    "transferor",
    "transferor_status",
    "industry_code",
    "signed_out_by",
    "signed_in_by",
)


def read_note(row: Fields) -> Entry | None:
    """A transfer or consignment note, or None with the reasons kept in the row."""
    made_out = row.moment("made_out_at")
    form = row.choice("form", FORMS)
    texts = {name: row.text(name) for name in _TEXTS}
    stream = row.named("stream", row.setup.streams)
    carrier = row.named("carrier", row.setup.carriers)
    destination = row.named("destination", row.setup.destinations)
    code = read_code(row)
    quantity_kg = row.thousandths("quantity_t")
    quantity_basis = row.choice("quantity_basis", ("weighed", "estimated"))
    confirmed = row.yes_no("hierarchy_confirmed")
    starts, ends = _validity(row, form, made_out.local.date() if made_out else None)
    if stream:
        _check_stream(row, stream, form, code)
    if form == CONSIGNMENT and quantity_kg is None:
        row.wrong("quantity_t", "A consignment note states its quantity. Give it in tonnes.")
    if confirmed is False:
        row.warn(
            "hierarchy_confirmed",
            "A note confirms that the waste hierarchy was applied. Ask who signed it.",
        )
    if row.failed or not (made_out and stream and carrier and destination and starts and ends):
        return None
    return row.made(
        TransferNote,
        **texts,
        form=form,
        made_out_at=made_out.utc,
        work_date=made_out.local.date(),
        valid_from=starts,
        valid_to=ends,
        stream=stream.stream,
        waste_code=code,
        carrier=carrier.carrier,
        destination=destination.destination,
        hierarchy_confirmed=bool(confirmed),
        quantity_kg=quantity_kg,
        quantity_basis=quantity_basis,
    )


def _validity(row: Fields, form: str, made_out: date | None) -> tuple[date | None, date | None]:
    """First and last date of a load under the note."""
    starts = row.day("valid_from", to_come=True) or made_out
    if form == SEASON and row.value("valid_to") is None:
        row.wrong("valid_to", "A season note says to which date it is valid. Give it.")
    ends = row.day("valid_to", to_come=True) or starts
    if starts and ends and starts > ends:
        row.wrong("valid_to", f"The note ends on {ends}, before it begins on {starts}.")
    elif starts and ends and ends - starts > timedelta(days=LONGEST_SEASON_DAYS):
        row.warn("valid_to", "A season note is usually for a year at most. Check the dates.")
    return starts, ends


def _check_stream(row: Fields, stream: Stream, form: str, code: str) -> None:
    if not is_waste(stream.regime):
        row.warn("stream", f"Stream {stream.stream} is not set up as waste ({stream.regime}).")
    if code and stream.waste_code and code != stream.waste_code:
        row.wrong(
            "waste_code",
            f"The note says {code}; {stream.stream} was classified {stream.waste_code} by"
            f" {stream.classified_by} ({stream.classification_reference}). The tracker classifies"
            " nothing: ask which is right.",
        )
    if stream.regime == HAZARDOUS and form in FORMS and form != CONSIGNMENT:
        row.wrong("form", "Hazardous waste moves under a consignment note, one for each movement.")


def read_declaration(row: Fields) -> Entry | None:
    """A re-use declaration, or None with the reasons kept in the row."""
    received_on = row.day("received_on", before_the_site=True)
    declaration = row.text("declaration")
    stream = row.named("stream", row.setup.streams)
    destination = row.named("destination", row.setup.destinations)
    declared_l, declared_kg = row.thousandths("declared_m3"), row.thousandths("declared_t")
    if bool(declared_l) == bool(declared_kg):
        row.wrong(
            "declared_m3", "Give the quantity declared once: in m³ bank, or in t. More than 0."
        )
    if stream and stream.regime != DECLARED_REUSE:
        row.warn(
            "stream",
            f"Stream {stream.stream} is set up as {stream.regime or 'undecided'}, not as"
            f" {DECLARED_REUSE}.",
        )
    if row.failed or not (received_on and stream and destination):
        return None
    return row.made(
        ReuseDeclaration,
        declaration=declaration,
        received_on=received_on,
        stream=stream.stream,
        destination=destination.destination,
        declared_l=declared_l,
        declared_kg=declared_kg,
    )
