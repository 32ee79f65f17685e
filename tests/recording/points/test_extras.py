import pytest

from tracker.errors import InputError
from tracker.recording.points.extras import survey_library


def test_a_library_that_is_not_installed_is_asked_for_by_its_extra():
    with pytest.raises(InputError, match=r"pip install 'spoil-ledger\[survey\]'"):
        survey_library("no_such_library_of_surveys", "LAS")


def test_a_library_that_is_installed_is_given():
    assert survey_library("lxml.etree", "LandXML").XMLParser
