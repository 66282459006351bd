"""Which sample is which chip: by name, without regard to case and blanks, or as the maker says."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from tintmix.chips.instruments.errors import NoMatch, wrong_map
from tintmix.chips.instruments.sample import Sample
from tintmix.files.words import plain

_AGAIN = re.compile(r"(.+?)(?:\(\d{1,2}\)|#\d{1,2})")


def plain_name(name: str) -> str:
    """A name as it is compared: letter case and blanks do not count.

    >>> plain_name(" Azure 1 ") == plain_name("azure1")
    True
    """
    return "".join(name.split()).casefold()


def read_map(texts: Sequence[str]) -> dict[str, str]:
    """The pairs of "SAMPLE=CHIP" texts; an empty chip leaves the sample out. Raises ValueProblem.

    >>> read_map(["White tile=", "1=b1"])
    {'White tile': '', '1': 'b1'}
    """
    pairs: dict[str, str] = {}
    for text in texts:
        sample, equals, chip = text.rpartition("=")
        if not equals or not sample.strip():
            raise wrong_map(f"{plain(text)!r} is not SAMPLE=CHIP")
        if sample.strip() in pairs:
            raise wrong_map(f"it names the sample {plain(sample.strip())!r} twice; a sample is one chip")
        pairs[sample.strip()] = chip.strip()
    return pairs


def match(
    samples: Sequence[Sample], chips: Sequence[str], mapping: Mapping[str, str], others_ignored: bool = False
) -> tuple[list[tuple[str, Sample]], list[str]]:
    """(chip, sample) pairs, and the names of samples passed over.

    Samples "b1 (2)" and "b1 #2" are repeats of b1 where no chip is called so. Raises ValueProblem, NoMatch.
    """
    by_plain: dict[str, list[str]] = {}
    for chip in chips:
        by_plain.setdefault(plain_name(chip), []).append(chip)
    wanted = {plain_name(sample): (sample, chip) for sample, chip in mapping.items()}
    used: set[str] = set()
    pairs: list[tuple[str, Sample]] = []
    strangers: list[str] = []
    unclear: list[str] = []
    passed: list[str] = []
    for sample in samples:
        names = [n for n in (sample.name, sample.other_name) if n]
        said = next((plain_name(n) for n in names if plain_name(n) in wanted), None)
        if said is not None:
            used.add(said)
            target = wanted[said][1]
            if not target:
                passed.append(sample.name)
                continue
            exact = [c for c in chips if c == target] or by_plain.get(plain_name(target), [])
            if len(exact) != 1:
                none = f"but the set has no chip called {plain(target)!r}"
                why = f"which could be {' or '.join(exact)}" if exact else none
                raise wrong_map(f"it says {plain(wanted[said][0])}={plain(target)}, {why}")
            pairs.append((exact[0], sample))
            continue
        found = _by_name(names, chips, by_plain)
        if len(found) == 1:
            pairs.append((found[0], sample))
        elif found:
            unclear.append(f"{sample.name} ({' or '.join(found[:3])})")
        elif others_ignored:
            passed.append(sample.name)
        else:
            strangers.append(sample.name)
    idle = [sample for name, (sample, _) in wanted.items() if name not in used]
    if idle:
        raise wrong_map(f"it names the sample {plain(idle[0])!r}, which is not in what was read")
    if strangers or unclear:
        raise NoMatch(list(dict.fromkeys(strangers)), list(chips), list(dict.fromkeys(unclear)))
    return pairs, list(dict.fromkeys(passed))


def _by_name(names: Sequence[str], chips: Sequence[str], by_plain: Mapping[str, list[str]]) -> list[str]:
    for name in names:
        if name in chips:
            return [name]
        found = by_plain.get(plain_name(name), [])
        if not found and (again := _AGAIN.fullmatch(plain_name(name))):
            found = by_plain.get(again.group(1), [])
        if found:
            return found
    return []
