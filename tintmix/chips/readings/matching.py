"""Which sample is which chip: by name, without regard to case and blanks, or as the maker says."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from tintmix.chips.instruments.errors import NoMatch, two_of_one_name, wrong_map
from tintmix.chips.instruments.sample import Sample
from tintmix.errors import ValueProblem
from tintmix.files.words import plain

_ENDING = re.compile(r"(.+)\.[A-Za-z][A-Za-z0-9]{1,6}")
"""Of a file's name, by which some programs head their columns."""
_PARTS = re.compile(r"[^\W\d_]+|\d+(?:[.,]\d+)?|[^\w\s\-]")
_MOST_STARS = 3
"""Of a pattern: a name, what follows it, and one to spare."""
_AGAIN = re.compile(r"(.+?)(?:\(\d{1,2}\)|#\d{1,2})")


def plain_name(name: str) -> str:
    """A name as it is compared: letter case and blanks do not count.

    >>> plain_name(" Azure 1 ") == plain_name("azure1")
    True
    """
    return "".join(name.split()).casefold()


def loose_name(name: str) -> str:
    """A name as it is compared where no chip is called just so: what joins words does not count, nor does "mm" behind a number.

    >>> loose_name("clear_20_mm"), loose_name("Clear 20mm"), loose_name("clear-20"), loose_name("b1-2"), loose_name("b12")
    ('clear 20', 'clear 20', 'clear 20', 'b 1 2', 'b 12')
    """
    parts = _PARTS.findall(name.casefold())
    return " ".join(part for at, part in enumerate(parts) if part != "mm" or not at or not parts[at - 1][0].isdigit())


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
    samples: Sequence[Sample],
    chips: Sequence[str],
    mapping: Mapping[str, str],
    others_ignored: bool = False,
    files: Sequence[str] = (),
) -> tuple[list[tuple[str, Sample]], list[str]]:
    """(chip, sample) pairs, and the names of samples passed over. files: of each sample, where there are several.

    Samples "b1 (2)" and "b1 #2" are repeats of b1 where no chip is called so; "clear_20_mm" is chip "clear 20 mm" where no other
    chip or sample may be. In the mapping a star stands for any letters, the same in sample and chip ("Sample *=b*"); of several
    stars, each for its own. What a map brings to one chip must be one sample: two files' are not averaged.
    Raises ValueProblem, NoMatch.
    """
    exact, patterns = ({k: v for k, v in mapping.items() if ("*" in k) == starred} for starred in (False, True))
    by_plain: dict[str, list[str]] = {}
    for chip in chips:
        by_plain.setdefault(plain_name(chip), []).append(chip)
    wanted = {plain_name(sample): (sample, chip) for sample, chip in exact.items()}
    told = {
        c for sample in samples for c in _by_name([n for n in (sample.name, sample.other_name) if n], chips, by_plain)
    }
    loose = _loosely(samples, chips)
    used: set[str] = set()
    brought: dict[str, str] = {}
    pairs: list[tuple[str, Sample]] = []
    strangers: list[str] = []
    unclear: list[str] = []
    passed: list[str] = []
    for at, sample in enumerate(samples):
        names = [n for n in (sample.name, sample.other_name) if n]
        said = next((plain_name(n) for n in names if plain_name(n) in wanted), None)
        by_star = None if said is not None else _by_pattern(names, patterns)
        if said is not None or by_star is not None:
            key, target = wanted[said] if said is not None else by_star or ("", "")
            used.add(plain_name(key))
            if not target:
                passed.append(sample.name)
                continue
            same = [c for c in chips if c == target] or by_plain.get(plain_name(target), [])
            same = same or [c for c in chips if loose_name(c) == loose_name(target)]
            if len(same) != 1:
                none = f"but the set has no chip called {plain(target)!r}"
                why = f"which could be {' or '.join(same)}" if same else none
                raise wrong_map(f"it says {plain(key)}={plain(target)}, {why}")
            file = files[at] if files else ""
            if brought.setdefault(same[0], file) != file:
                both = f"{plain(brought[same[0]], 80)} and {plain(file, 80)}"
                raise two_of_one_name(f"{plain(sample.name)} stands in {both}, and {plain(same[0])} is one chip")
            pairs.append((same[0], sample))
            continue
        found = _by_name(names, chips, by_plain) or [c for c in loose.get(sample.name, ()) if c not in told]
        if len(found) == 1:
            pairs.append((found[0], sample))
        elif found:
            unclear.append(f"{sample.name} ({' or '.join(found[:3])})")
        elif others_ignored:
            passed.append(sample.name)
        else:
            strangers.append(sample.name)
    idle = [sample for sample in mapping if plain_name(sample) not in used]
    if idle:
        raise wrong_map(f"it names the sample {plain(idle[0])!r}, which is not in what was read")
    if strangers or unclear:
        raise NoMatch(list(dict.fromkeys(strangers)), list(chips), list(dict.fromkeys(unclear)), none=not pairs)
    return pairs, list(dict.fromkeys(passed))


def chip_of(sample: Sample, chips: Sequence[str], mapping: Mapping[str, str]) -> str | None:
    """The one chip that a sample is, by the mapping or by name; None where it is none's, or could be two's."""
    try:
        pairs, _ = match([sample], chips, {k: v for k, v in mapping.items() if _is_for(sample, k)}, others_ignored=True)
    except ValueProblem:
        return None
    return pairs[0][0] if pairs else None


def _is_for(sample: Sample, key: str) -> bool:
    names = [n for n in (sample.name, sample.other_name) if n]
    return plain_name(key) in map(plain_name, names) or _by_pattern(names, {key: "*"} if "*" in key else {}) is not None


def _by_pattern(names: Sequence[str], patterns: Mapping[str, str]) -> tuple[str, str] | None:
    """The pattern that one of a sample's names has, and the chip that it makes of it.

    >>> _by_pattern(["azure-1 (T)"], {"* (*": "*"}), _by_pattern(["3 of B"], {"* of *": "* *"})
    (('* (*', 'azure-1'), ('* of *', '3 B'))
    """
    for pattern, chip in patterns.items():
        # One run of letters for each star: few, for each more may take so many times as long.
        if pattern.count("*") > _MOST_STARS:
            raise wrong_map(f"{plain(pattern)!r} has more than {_MOST_STARS} stars")
        parts = re.compile(re.escape(pattern.strip()).replace(r"\*", "(.*)"), re.IGNORECASE)
        found = next((hit for name in names if (hit := parts.fullmatch(name.strip()))), None)
        if found:
            for letters in found.groups():
                chip = chip.replace("*", letters.strip().replace("*", "\0"), 1)
            return pattern, chip.replace("\0", "*")
    return None


def _loosely(samples: Sequence[Sample], chips: Sequence[str]) -> dict[str, list[str]]:
    """Sample's name → the chips that it loosely is; without those that several names could be."""
    by_loose: dict[str, list[str]] = {}
    for chip in chips:
        by_loose.setdefault(loose_name(chip), []).append(chip)
    found: dict[str, list[str]] = {}
    for name in dict.fromkeys(sample.name for sample in samples):
        if mine := by_loose.get(loose_name(name)):
            found[name] = mine
    every = [chip for mine in found.values() for chip in mine]
    return {name: mine for name, mine in found.items() if not any(every.count(chip) > 1 for chip in mine)}


def _by_name(names: Sequence[str], chips: Sequence[str], by_plain: Mapping[str, list[str]]) -> list[str]:
    for name in (*names, *(ending.group(1) for name in names if (ending := _ENDING.fullmatch(name)))):
        if name in chips:
            return [name]
        found = by_plain.get(plain_name(name), [])
        if not found and (again := _AGAIN.fullmatch(plain_name(name))):
            found = by_plain.get(again.group(1), [])
        if found:
            return found
    return []
