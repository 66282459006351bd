"""The cautions: every hazard has some, each says where it is from, and the facts of issue 4 are in them."""

from __future__ import annotations

import json
from datetime import date

import pytest

from tintmix.resin import HAZARDS, Part, Resin, resin_from_table, resin_to_table
from tintmix.sheet.cautions import (
    COMMON_PRACTICE,
    Caution,
    cautions,
    cautions_for,
    cautions_in,
    cautions_table,
    hazards_unsaid,
    in_short,
    sources_of,
    told_again_at,
)

HARMFUL = [hazard for hazard in HAZARDS if hazard != "none"]


def resin(*hazards: str | None) -> Resin:
    parts = tuple(Part(f"P{i}", 1.0, hazard) for i, hazard in enumerate(hazards))
    return Resin(parts=parts, takes_pigment="P0")


@pytest.mark.parametrize("hazard", [*HARMFUL, "all"])
def test_every_hazard_has_a_sentence(hazard: str) -> None:
    assert any(one.hazard == hazard for one in cautions())


def test_each_says_where_it_is_from_and_when_that_was_read() -> None:
    for one in cautions():
        assert one.source
        assert one.sentence.endswith(".")
        if one.source == COMMON_PRACTICE:
            assert one.checked == ""
        else:
            # The sources are of 1996 to 2026, read when this was written.
            assert date(2026, 11, 1) <= date.fromisoformat(one.checked)


# The facts that issues 4 and 9 ask for, hazard by hazard.
FACTS = {
    "isocyanate": [
        "asthma", "died", "skin", "see a doctor", "wheeze", "rash", "Never heat cured urethane", "hot without extraction",
        "Never seal a can", "moisture",
    ],
    "epoxy resin": ["skin allergy", "cured epoxy", "goggles"],
    "amine hardener": ["allergic", "left over", "overheats"],
    "styrene": ["fire", "eyes"],
    "peroxide": ["eye", "Never bring peroxide and accelerator together"],
    "all": [
        "dust", "hot mould", "oven", "never used for food", "implode", "pressure pot only within its rating", "lighting",
        "safety", "food", "children", "local rules", "licensed", "data sheet is right",
        "dry pigment powder", "class P2 or N95 or better, as the data sheet says",
        "cure before they are thrown away", "down the drain",
        "gauge stands at zero",
    ],
}  # fmt: skip


@pytest.mark.parametrize("hazard", FACTS)
def test_the_facts_are_in_them(hazard: str) -> None:
    told = " ".join(one.sentence for one in cautions() if one.hazard == hazard).lower()
    assert [fact for fact in FACTS[hazard] if fact.lower() not in told] == []


def test_the_public_sources_that_were_read_are_cited() -> None:
    told = " ".join(one.source for one in cautions())
    for source in ("NIOSH Alert 96-111", "HSE RR1199", "HSE RR079", "EU Regulation 2020/1149", "EU-OSHA"):
        assert source in told


@pytest.mark.parametrize("hazard", HARMFUL)
def test_a_resin_gets_its_own_and_those_for_all(hazard: str) -> None:
    found = cautions_for(resin(hazard, "none"))
    assert {one.hazard for one in found} == {hazard, "all"}
    assert len(found) == sum(one.hazard in (hazard, "all") for one in cautions())


def test_several_hazards_add_up() -> None:
    found = [one.hazard for one in cautions_for(resin("peroxide", "styrene"))]
    assert set(found) == {"styrene", "peroxide", "all"}
    assert found[-1] == "all"


@pytest.mark.parametrize("hazard", [*HARMFUL, "none"])
def test_the_data_sheet_stands_first_and_then_what_kills_or_maims(hazard: str) -> None:
    found = cautions_for(resin(hazard))
    assert "data sheet is right" in found[0].sentence
    assert not found[0].grave
    grave = [one.grave for one in found[1:]]
    assert grave == sorted(grave, reverse=True)
    assert any(grave)


@pytest.mark.parametrize(
    ("hazard", "facts"),
    [
        ("isocyanate", ("can give you asthma, and people have died", "on the skin can make the lungs allergic")),
        ("epoxy resin", ("cause of skin allergy",)),
        ("amine hardener", ("can make you allergic",)),
        ("none", ("it can smoke, crack or burn",)),
    ],
)
def test_the_three_that_kill_or_maim_are_marked(hazard: str, facts: tuple[str, ...]) -> None:
    """Isocyanate that is breathed, skin that is sensitised, heat that runs away: issue 9, fault 5."""
    grave = " ".join(one.sentence for one in cautions_for(resin(hazard)) if one.grave)
    assert [fact for fact in facts if fact not in grave] == []


def test_what_acts_at_a_step_is_told_there_again() -> None:
    assert "implode" in " ".join(told_again_at("vacuum", resin("none")))
    leftovers = " ".join(told_again_at("leftovers", resin("amine hardener")))
    assert [fact for fact in ("in a heap", "overheats", "nothing goes down the drain") if fact not in leftovers] == []
    assert "overheats" not in " ".join(told_again_at("leftovers", resin("isocyanate")))
    cure = " ".join(told_again_at("cure", None))
    assert [fact for fact in ("never used for food", "gauge stands at zero") if fact not in cure] == []


def test_sources_are_listed_once_with_the_numbers_of_their_sentences() -> None:
    told = cautions()
    numbers = [int(number) for found, _ in sources_of(told) for number in found.split(", ")]
    assert sorted(numbers) == list(range(1, len(told) + 1))
    for found, source in sources_of(told):
        assert all(told[int(number) - 1].cited == source for number in found.split(", "))
    assert not any(one.source in one.sentence for one in told)


def test_an_answer_in_json_gives_the_cautions_back() -> None:
    table = cautions_table(cautions())
    assert json.loads(json.dumps(table)) == table
    back = cautions_in(table)
    assert [(one.sentence, one.cited, one.grave) for one in back] == [
        (one.sentence, one.cited, one.grave) for one in cautions()
    ]


def test_a_resin_without_hazards_still_gets_those_for_all() -> None:
    assert {one.hazard for one in cautions_for(resin("none"))} == {"all"}


@pytest.mark.parametrize("unknown", [None, Resin()])
def test_where_no_part_is_told_everything_is(unknown: Resin | None) -> None:
    assert cautions_for(unknown) == cautions()


@pytest.mark.parametrize("hazard", [*HARMFUL, "none"])
def test_in_short_no_hazard_is_lost(hazard: str) -> None:
    """What to do, the resin's own hazard, heat, dust and the oven, and that the data sheet is right; none of another resin's."""
    told = in_short(cautions_for(resin(hazard)))
    assert [fact for fact in ("gloves and goggles", "respirator", "heats itself", "Dust mask", "data sheet says otherwise")
            if fact not in " ".join(told)] == []  # fmt: skip
    names = {
        "isocyanate": "Isocyanate",
        "epoxy resin": "Epoxy",
        "amine hardener": "Amine",
        "styrene": "Styrene",
        "peroxide": "Peroxide",
    }
    assert {name for name in names.values() if any(said.startswith(name) for said in told)} == {
        names[one] for one in {hazard} & set(names)
    }
    assert 0 < len(told) <= 5
    assert len(in_short(cautions())) == len(names) + 3
    assert in_short(()) == ()


@pytest.mark.parametrize(
    ("hazards", "why"),
    [
        ((None, None), "the resin's file does not say what its parts hold: all cautions are told."),
        (("isocyanate", None), "the resin's file does not say what part P1 holds: all cautions are told."),
    ],
)
def test_a_hazard_that_is_not_said_is_not_none(hazards: tuple[str | None, ...], why: str) -> None:
    own = resin(*hazards)
    assert cautions_for(own) == cautions()
    assert hazards_unsaid(own) == (why,)
    assert resin_from_table(resin_to_table(own), "resin.toml") == own
    assert hazards_unsaid(resin("none", "isocyanate")) == ()


@pytest.mark.parametrize(
    "broken",
    [
        {"hazard": "dragons", "sentence": "Run.", "source": COMMON_PRACTICE},
        {"hazard": "none", "sentence": "Run.", "source": COMMON_PRACTICE},
        {"hazard": "all", "sentence": " ", "source": COMMON_PRACTICE},
        {"hazard": "all", "sentence": "Run.", "source": ""},
        {"hazard": "all", "sentence": "Run.", "source": "a report"},
        {"hazard": "all", "sentence": "Run.", "source": COMMON_PRACTICE, "acts": "sleep"},
        {"hazard": "all", "sentence": "Run.", "source": "a report", "checked": "yesterday"},
    ],
)
def test_a_caution_checks_itself(broken: dict[str, str]) -> None:
    with pytest.raises(ValueError, match=r"."):
        Caution(**broken)
