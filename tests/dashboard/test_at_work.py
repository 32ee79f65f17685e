import logging
import threading
import time

import pytest

from dashboard import sentences
from dashboard.at_work import DONE, REFUSED, WAITING, FilesAtWork
from tracker.errors import InputError


def until(work, *states):
    deadline = time.monotonic() + 10
    while work.state not in states:
        assert time.monotonic() < deadline, work.state
        time.sleep(0.005)


def handed(works, text="1 2 3"):
    work = works.opened()
    work.place("points", "a.csv").write_text(text)
    return work


def test_two_tabs_are_given_tokens_and_files_of_their_own():
    works = FilesAtWork()
    one, other = handed(works, "one"), handed(works, "other")
    assert one.token != other.token
    assert works.found(one.token).files["points"].read_text() == "one"
    assert works.found(other.token).files["points"].read_text() == "other"
    assert works.found("guessed") is None
    assert works.opened("guessed").token != "guessed"


def test_a_second_file_of_a_kind_takes_the_place_of_the_first():
    works = FilesAtWork()
    work = handed(works)
    first = work.files["points"]
    work.place("points", "b.csv").write_text("new")
    assert not first.exists()
    assert work.files["points"].read_text() == "new"


def test_a_file_name_leads_nowhere_but_into_its_folder():
    works = FilesAtWork()
    work = works.opened()
    for name in ("../../etc/passwd", "..", "/abs/x.csv", "C:\\a\\b.las", "", "\x00a;b"):
        path = work.place("points", name)
        assert path.resolve().is_relative_to(work.folder.resolve())
        assert path.name not in ("", ".", "..")


def test_only_so_many_are_kept_and_the_files_of_the_oldest_go():
    works = FilesAtWork(most_kept=2)
    first, second = handed(works), handed(works)
    third = handed(works)
    assert works.found(first.token) is None
    assert not first.folder.exists()
    assert {works.found(w.token) for w in (second, third)} == {second, third}


def test_a_survey_under_way_is_not_dropped_for_a_new_one():
    works, go = FilesAtWork(most_kept=1), threading.Event()
    work = handed(works)
    works.start(work, lambda _progress: go.wait(10) and "found")
    with pytest.raises(InputError, match="being examined already"):
        works.opened()
    go.set()
    until(work, DONE)
    assert works.opened().token != work.token


def test_progress_and_what_was_found_can_be_looked_up_meanwhile_and_after():
    works, go = FilesAtWork(), threading.Event()
    work = handed(works)

    def examine(progress):
        progress(3, 10)
        go.wait(10)
        return "found"

    works.start(work, examine)
    deadline = time.monotonic() + 10
    while work.of != 10:
        assert time.monotonic() < deadline
    assert (work.done, work.is_under_way) == (3, True)
    go.set()
    until(work, DONE)
    assert work.examined == "found"


def test_one_is_examined_at_a_time_and_the_next_waits():
    works, go = FilesAtWork(), threading.Event()
    first, second = handed(works), handed(works)
    works.start(first, lambda _progress: go.wait(10) and "first")
    works.start(second, lambda _progress: "second")
    time.sleep(0.05)
    assert second.state == WAITING
    go.set()
    until(second, DONE)
    assert (first.examined, second.examined) == ("first", "second")


def test_a_new_look_gives_up_the_one_under_way():
    works, begun = FilesAtWork(), threading.Event()
    work = handed(works)

    def endless(progress):
        begun.set()
        while True:
            progress(1, 2)

    works.start(work, endless)
    assert begun.wait(10)
    works.start(work, lambda _progress: "second")
    until(work, DONE)
    assert work.examined == "second"


def test_a_refused_file_keeps_the_sentence_of_the_reader():
    works = FilesAtWork()
    work = handed(works)

    def examine(_progress):
        raise InputError("a.csv has no points.")

    works.start(work, examine)
    until(work, REFUSED)
    assert (work.refusal, work.examined) == ("a.csv has no points.", None)


def test_a_fault_of_ours_is_told_as_a_number_never_as_its_inside(caplog):
    works = FilesAtWork()
    work = handed(works)

    def examine(_progress):
        raise ZeroDivisionError("inside")

    with caplog.at_level(logging.ERROR, logger=sentences.LOG.name):
        works.start(work, examine)
        until(work, REFUSED)
    assert "inside" not in work.refusal
    number = work.refusal.split("error ")[1].split(")")[0]
    assert number in caplog.text


def test_what_is_on_record_leaves_no_file():
    works = FilesAtWork()
    work = handed(works)
    work.let_go()
    work.let_go()
    assert not work.folder.exists()
    assert work.files == {}
