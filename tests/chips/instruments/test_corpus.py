"""Every file of the corpus comes out as what it is."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from tests.chips.instruments.corpus import CASES
from tests.chips.instruments.corpus_made import STEM, Case, share
from tintmix.chips.instruments.dispatch import parse_samples
from tintmix.chips.instruments.sample import Sample
from tintmix.errors import TintmixError

READ = [case for case in CASES if case.expected]


def as_share(sample: Sample) -> np.ndarray:
    values = np.array(sample.values)
    return 10.0**-values if sample.quantity == "absorbance" else values / (100 if sample.unit == "percent" else 1)


@pytest.mark.parametrize("case", READ, ids=[case.what for case in READ])
def test_a_file_is_read_as_what_it_is(case: Case) -> None:
    found = parse_samples(case.data, "file", STEM).samples
    assert [sample.name for sample in found] == [one[0] for one in case.expected]
    for sample, (_, meant, *told) in zip(found, case.expected, strict=True):
        if sample.kind == "colour":
            assert sample.values == pytest.approx(meant)
            said = {"space": "Lab", **told[0]}
            assert {key: getattr(sample, key) for key in said} == said
            continue
        assert sample.quantity == meant
        if told[0] is not None:
            nm = np.array(sample.wavelengths_nm)
            seen = (nm >= 400) & (nm <= 700)
            assert seen.sum() > 20
            assert as_share(sample)[seen] == pytest.approx(
                [share(told[0], one) for one in nm[seen]], abs=2e-3 * told[0] + 1e-4
            )
    assert tuple(dict.fromkeys(ask.about for sample in found for ask in sample.asks)) == case.asks
    if "other_name" in case.more:
        assert found[0].other_name == case.more["other_name"]
    assert all(sample.line > 0 for sample in found if "file, object" not in sample.source)


@pytest.mark.parametrize("case", [case for case in CASES if case.says], ids=lambda case: case.what)
def test_what_holds_no_reading_is_refused_by_its_line(case: Case) -> None:
    with pytest.raises(TintmixError, match=case.says) as refused:
        parse_samples(case.data, "file", STEM)
    assert len(str(refused.value)) < 300
    assert refused.value.remedy is not None


def test_the_examples_of_the_docs_are_read() -> None:
    page = Path(__file__).parents[3] / "docs" / "measure-with-an-instrument.md"
    part = page.read_text("utf-8").partition("These are understood")[2].partition("### Which chip is which")[0]
    found = [
        parse_samples(block.encode(), "file", STEM).samples for block in re.findall(r"```\n(.*?)```", part, re.DOTALL)
    ]
    two = ["azure-1", "azure-2"]
    assert [[one.name for one in each] for each in found] == [
        [STEM], two, ["azure-1", "azure-1"], two, two, [STEM], [STEM], ["azure-1"], ["azure-1"],
    ]  # fmt: skip
    meant = [each[-1].quantity for each in found]
    assert meant == [
        "transmittance",
        None,
        None,
        "absorbance",
        *["transmittance"] * 2,
        None,
        "transmittance",
        "absorbance",
    ]


def test_the_corpus_is_as_large_as_it_should_be() -> None:
    assert len(READ) >= 80
    assert len({case.what + str(case.content)[:50] for case in CASES}) == len(CASES)
