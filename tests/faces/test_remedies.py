"""Each face has words for every remedy, and words that fit its facts."""

from __future__ import annotations

import re

import pytest

from tintmix.errors import Note, Remedy, TintmixError
from tintmix.faces.remedies import told_in_shell, told_on_page, told_on_paper, words

NOT_IN_THE_SHELL = [Remedy.LOAD_AGAIN, Remedy.GO_ON_FROM_A_STEP, Remedy.SAY_AS_THICK]
NOT_ON_THE_PAGE = [
    Remedy.CORRECT_THE_MAP,
    Remedy.PLACES_OR_WINDOWS,
    Remedy.USE_THE_CURVE,
    Remedy.NOT_WITH_A_STACK,
    Remedy.NAME_THE_STACK_PLACES,
    Remedy.REPLACE_OR_ANOTHER_FILE,
    Remedy.SAY_INTO_HOW_MUCH,
    Remedy.KEEP_PART_OR_BATCH,
    Remedy.LEAVE_OUT_LIGHT_OR_SET,
    Remedy.NAME_SAMPLE,
    Remedy.LEAVE_OUT_THE_WASTE,
    Remedy.LEAVE_OUT_THE_REVISION,
    Remedy.SAY_WHAT_CHANGES,
    Remedy.WORK_OUT_THE_LOT,
    Remedy.ANOTHER_FOLDER_FOR_THE_TOUR,
    Remedy.WEIGH_IT_ANEW,
    Remedy.CHOOSE_ANOTHER_PORT,
]
"""What a face cannot do, and so never tells of."""


@pytest.mark.parametrize(("face", "never_told"), [("shell", NOT_IN_THE_SHELL), ("page", NOT_ON_THE_PAGE)])
def test_every_remedy_has_words_in_every_face_that_tells_of_it(face: str, never_told: list[Remedy]) -> None:
    lacking = [remedy for remedy in Remedy if not {face, "all"} & set(words()[remedy])]
    assert sorted(lacking) == sorted(never_told)


def test_no_words_are_left_of_a_remedy_that_is_gone_or_for_a_face_that_is_none() -> None:
    assert set(words()) == set(Remedy)
    assert {face for of_faces in words().values() for face in of_faces} == {"all", "shell", "page", "paper"}


def test_words_are_sentences_and_the_page_names_no_option() -> None:
    for remedy, of_faces in words().items():
        for face, said in of_faces.items():
            assert said.rstrip()[-1] in ".?!:)", remedy
            assert face == "shell" or not re.search(r"(?<![\w-])--[a-z]", said), said


def test_facts_fill_the_words() -> None:
    error = TintmixError(where="port 8421", what="cannot be used", remedy=Remedy.CHOOSE_ANOTHER_PORT, other=8422)
    assert "--port 8422" in told_in_shell(error)
    assert told_on_page(error) == "port 8421: cannot be used."
    assert told_on_page(Note(says="So it is.")) == "So it is."


def test_what_to_do_is_told_in_the_words_of_each_face() -> None:
    note = Note(says="Do not mix it.", remedy=Remedy.TOP_UP_WHAT_IS_LEFT, facts={"tinted": "part B"})
    ways = [told_in_shell(note), told_on_page(note), told_on_paper(note)]
    assert all(way.startswith("Do not mix it. ") and way.endswith("to add to part B that is left.") for way in ways)
    assert ["`tintmix adjust`" in way for way in ways] == [True, False, False]
    assert "Trial chip" in ways[1]
