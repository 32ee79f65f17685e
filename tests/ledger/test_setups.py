import json

import pytest

from tests.ledger.samples import site_tables
from tracker.errors import SchemaMismatch
from tracker.ledger.setups import site_of


def test_the_tables_of_a_revision_are_a_site_read_once():
    text = json.dumps(site_tables())
    site = site_of(text)
    assert site.zones
    assert site_of(text) is site


def test_tables_that_this_program_cannot_read_say_what_is_wrong():
    tables = site_tables()
    tables["zones"][0]["excavation"] = "NONE"
    with pytest.raises(SchemaMismatch, match=r"recorded set-up cannot be read: .*NONE"):
        site_of(json.dumps(tables))
