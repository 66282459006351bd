"""recipe.json: what is written is read, canonical, and nothing is half written."""

import json
import os

import pytest

from tests.recipes.shelf import known_problem
from tintmix.errors import CannotWrite, FileProblem, TintmixError
from tintmix.files.canonical import canonical_json
from tintmix.recipes.recipe_file import make_recipe, read_recipe, recipe_from_table, recipe_to_table, write_recipe
from tintmix.recipes.solve import solve
from tintmix.recipes.target_file import target_to_table


@pytest.fixture(scope="module")
def kept():
    problem = known_problem(2, pigments=4, draws=10)
    answer = solve(problem.model, problem.target)
    return problem, make_recipe(problem.model, problem.target, answer.proposals[0], "sea green", "model.json")


def test_written_and_read_it_is_the_same(kept, tmp_path):
    _, recipe = kept
    write_recipe(recipe, tmp_path / "recipe.json")
    again = read_recipe(tmp_path / "recipe.json")
    assert recipe_to_table(again) == json.loads(canonical_json(recipe_to_table(recipe)))
    assert again.digest() == recipe.digest()
    assert again.made_at == recipe.made_at
    text = (tmp_path / "recipe.json").read_text(encoding="utf-8")
    assert text == canonical_json(json.loads(text))
    assert os.listdir(tmp_path) == ["recipe.json"]


def test_it_holds_what_the_contract_names(kept):
    problem, recipe = kept
    table = recipe_to_table(recipe)
    assert {
        "format", "name", "doses_phr", "resin", "target", "sections", "limits", "lots", "model", "chips", "model_file",
        "made_by", "made_at",
    } <= set(table)  # fmt: skip
    assert table["target"] == target_to_table(problem.target)
    assert table["model"] == problem.model.digest()
    assert table["chips"] == problem.model.chips_digest
    assert table["limits"] == {"pigments": 3}
    assert {"name", "thickness_mm", "lab", "lab_covariance", "target_lab"} <= set(table["sections"][0])
    assert recipe.total_phr == pytest.approx(sum(recipe.doses_phr.values()))


def test_source_date_epoch_is_honoured(kept, monkeypatch):
    problem, recipe = kept
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    proposal = solve(problem.model, problem.target).proposals[0]
    made = make_recipe(problem.model, problem.target, proposal, "sea green", "model.json")
    assert made.made_at == "2023-11-14T22:13:20Z"
    assert made.digest() == recipe.digest()


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        ({"format": 2}, FileProblem, "format 2"),
        ({"format": True}, FileProblem, "no format"),
        ({"format": None}, FileProblem, "no format"),
        ({"doses_phr": {"azure": -1.0}}, FileProblem, "azure is"),
        ({"doses_phr": {"azure": "much"}}, FileProblem, "azure is"),
        ({"doses_phr": []}, FileProblem, "doses_phr"),
        ({"sections": [3]}, FileProblem, "it must be a list of tables"),
        ({"sections": [{"thickness_mm": 8.0, "lab": [1, 2, 3]}]}, FileProblem, "section 1 has no name"),
        ({"sections": [{"name": "rim", "thickness_mm": "8", "lab": [1, 2, 3]}]}, FileProblem, "thickness_mm"),
        (
            {"sections": [{"name": "rim", "thickness_mm": 8, "lab": [1, 2]}]},
            FileProblem,
            "it must hold 3 numbers",
        ),
        (
            {"sections": [{"name": "rim", "thickness_mm": 8, "lab": [1, 2, 3], "target_lab": [10**400, 2, 3]}]},
            FileProblem,
            "target_lab",
        ),
        (
            {"sections": [{"name": "rim", "thickness_mm": 8, "lab": [1, 2, 3], "tolerance": "2"}]},
            FileProblem,
            'tolerance = "2", which is not a finite number',
        ),
        ({"target": {"observer": "ten"}}, FileProblem, "observer"),
        ({"doses_phr": {"azure": 10**400}}, FileProblem, "azure is"),
        ({"name": 3}, FileProblem, "name"),
        ({"lots": {"azure": 3}}, FileProblem, "lot"),
        ({"resin": {"refractive_index": 9}}, FileProblem, "resin"),
        ({"resin": 3}, FileProblem, "resin"),
        ({"glass": 3}, FileProblem, "glass"),
    ],
)
def test_what_is_no_recipe_is_refused(kept, change, error, words):
    table = json.loads(canonical_json(recipe_to_table(kept[1])))
    with pytest.raises(error, match=words) as caught:
        recipe_from_table({**table, **change}, "recipe.json")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b"\xff\xfe", b"[" * 100_000, b'{"format": NaN}', b"1e999"])
def test_files_that_are_no_recipe(tmp_path, content):
    path = tmp_path / "recipe.json"
    path.write_bytes(content)
    with pytest.raises(TintmixError, match=r"recipe\.json"):
        read_recipe(path)


def test_a_path_that_cannot_be_written(kept, tmp_path):
    with pytest.raises(CannotWrite, match="cannot be written"):
        write_recipe(kept[1], tmp_path / "no" / "such" / "recipe.json")
    with pytest.raises(CannotWrite):
        write_recipe(kept[1], tmp_path)
    assert os.listdir(tmp_path) == []
