"""The day of the pour: what is in the pot by then, what the other parts are for it, and the pour as it is recorded."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from tintmix.book.book import open_book
from tintmix.desk.book.pours import Weighed
from tintmix.numerals import listed, numeral
from tintmix.page.bench.book import record
from tintmix.page.bench.sheet import Kept, from_old, keep_in_book, pot_at_hand, taken_from_shelf
from tintmix.page.bench.trial import pot_now, rounds_of
from tintmix.page.bench.weights import INTO_POT, check_typed, free_name, named_weights, weights_of
from tintmix.page.errors import by_known_names
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.sheet.lines import Kind, Line
from tintmix.sheet.sheet import Sheet
from tintmix.weighing.scales import shown
from tintmix.weighing.weighed import part_label, part_named, tinted_label

OFF = 0.03
"""A pot that weighs this part more or less than what was weighed into it is remarked on: what clings to pots and sticks is less
(common practice: 1 to 2 %)."""


@dataclass(frozen=True, slots=True)
class Day:
    """made_g: the tinted part as it was made. took_g: what a trial took out of it; rounds: the top-ups. left_g: in the pot.
    others: grams of each other part for it, by its box; because: why that is not the sheet's. told: what to say beside a
    blank, by its box."""

    made_g: float
    took_g: float
    left_g: float
    rounds: Sequence[Mapping[str, Any]] = ()
    others: Mapping[str, float] = field(default_factory=dict)
    because: str = ""
    told: Mapping[str, str] = field(default_factory=dict)

    @property
    def changed(self) -> bool:
        """Whether the pot is no longer what the sheet made."""
        return bool(self.because)


def on_the_day(
    kept: Kept, area: Mapping[str, Any], trial: Mapping[str, Any], grams_of: Callable[[str], float | None]
) -> Day:
    """What the sheet asks for by now. area, trial: those of the page. grams_of: what a weight in a blank is in g; None for what
    is none. Raises ValueProblem for weights that make no pot."""
    rounds, lines = rounds_of(trial, area), weights_of(kept.sheet)
    made_g, took_g = pot_at_hand(kept, area).made_g, _taken_for_trial(kept, area)
    left_g = pot_now(kept, area, rounds).made_g if rounds else made_g - took_g
    notes, planned_g = area.get("notes", {}), kept.sheet.weighed.tinted_part_g
    told: dict[str, str] = {}
    because = ""
    if took_g or rounds:
        with_rounds = "the trial and the top-up" if took_g and rounds else "the trial" if took_g else "the top-up"
        because = f"for the {numeral(left_g, 4)} g in the pot after {with_rounds}"
    weighed_g = None
    for s, stage in enumerate(kept.sheet.stages):
        for t, step in enumerate(stage.steps):
            blanks = [f"{s}-{t}-b{n}" for n, blank in enumerate(step.blanks) if blank.unit == "g"]
            on_day = [line for line in step.lines if line.kind is Kind.OTHER]
            if on_day and blanks:
                # What is in the pot, then each other part for it, in the order of the lines.
                weighed_g = grams_of(notes.get(blanks[0], ""))
                in_pot = left_g if weighed_g is None else weighed_g
                told[blanks[0]] = _far(weighed_g, left_g) or (
                    f"by the weights: {numeral(left_g, 4)} g" if because else ""
                )
                for key, line in zip(blanks[1:], on_day, strict=False):
                    told[key] = shown(line.grams / planned_g * in_pot, line.scale)
            elif len(blanks) == 2 and not step.lines:
                # The empty pot, then what was made in it.
                told[blanks[1]] = _far(grams_of(notes.get(blanks[1], "")), made_g)
    others = {}
    if weighed_g is not None:
        because = f"for the {numeral(weighed_g, 4)} g that you weighed in the pot"
    if because:
        in_pot = left_g if weighed_g is None else weighed_g
        others = {key: one.grams / planned_g * in_pot for key, one in lines.items() if one.kind is Kind.OTHER}
    return Day(made_g, took_g, left_g if weighed_g is None else weighed_g, rounds, others, because, told)


def told_of_trial(kept: Kept, day: Day, answer: Mapping[str, Any] | None) -> tuple[str, ...]:
    """What became of the pot since the sheet was made, and what is still to be added to it; nothing where no trial was taken.

    answer: of a trial of this sheet of which nothing went into the pot yet, as `adjust` gives it.
    """
    told = []
    tinted = tinted_label(kept.sheet.weighed.tinted_part.name)
    if day.took_g or day.rounds or answer:
        left_g = answer["left_g"] if answer else day.left_g
        told.append(
            f"The {tinted} is made, and {numeral(left_g, 4)} g of it should be in the pot: do not weigh the batch again."
        )
    if put := [f"{name} {numeral(grams, 4)} g" for name, grams in _added(kept, day.rounds)]:
        told.append(
            f"Already added after the trial: {listed(put)}. The table and the colours below are the sheet's, without it."
        )
    if answer and answer["outcome"] in ("start again", "too late"):
        told.append("By the trial this pot cannot be put right. For a fresh batch make the sheet anew.")
    elif answer and (asked := _asked_by(answer)):
        told.append(f"The trial asks for this to be added first: {listed(asked)}. Note on Trial chip what went in.")
    elif day.changed:
        lines = weights_of(kept.sheet)
        still = [f"{lines[key].what} {shown(grams, lines[key].scale)}" for key, grams in day.others.items()]
        mixed_g = day.left_g + sum(day.others.values())
        told.append(f"Still to be added, {day.because}: {listed(still)}; {numeral(mixed_g, 4)} g are then mixed.")
    return tuple(told)


def _asked_by(answer: Mapping[str, Any]) -> list[str]:
    asked = [f"{one['letdown'] or one['pigment']} {numeral(one['weigh_g'], 4)} g" for one in answer["additions"]]
    plain = answer["untinted_part"]
    if plain["grams"]:
        asked.append(f"untinted {part_label(plain['name'])} {numeral(plain['grams'], 4)} g")
    return asked


def sheet_by_now(kept: Kept, day: Day, told: tuple[str, ...]) -> Sheet:
    """The sheet as it is to be printed after a trial: what became of the pot stands first, and the other parts are for what is in
    it. told: as `told_of_trial` has it; where it is empty, the sheet as it was made."""
    if not told:
        return kept.sheet

    def line(key: str, one: Line) -> Line:
        grams = day.others.get(key)
        return one if grams is None else replace(one, grams=grams, note=f"{day.because}; the whole batch: {one.shown}")

    stages = tuple(
        replace(stage, steps=tuple(
            replace(step, lines=tuple(line(f"{s}-{t}-{n}", one) for n, one in enumerate(step.lines)))
            for t, step in enumerate(stage.steps)
        ))
        for s, stage in enumerate(kept.sheet.stages)
    )  # fmt: skip
    return replace(kept.sheet, stages=stages, notes=(*told, *kept.sheet.notes))


def _taken_for_trial(kept: Kept, area: Mapping[str, Any]) -> float:
    """Grams of the tinted part that a trial took: as typed, or as asked where its line is ticked."""
    typed, ticks = area.get("weights", {}), set(area.get("ticks", []))
    samples = {key: line for key, line in weights_of(kept.sheet).items() if line.kind is Kind.SAMPLE}
    return sum(float(typed.get(key, line.grams if key in ticks else 0.0)) for key, line in samples.items())


def _far(weighed_g: float | None, made_g: float) -> str:
    """A remark where a pot weighs something else than what went into it."""
    if weighed_g is None or not made_g or abs(weighed_g - made_g) <= OFF * made_g:
        return ""
    more = "more" if weighed_g > made_g else "less"
    return (
        f"{numeral(abs(weighed_g - made_g), 3)} g {more} than the {numeral(made_g, 4)} g that the weights make: "
        "was the empty pot subtracted, is every weight right?"
    )


def record_pour(
    workspace: Workspace,
    now: Snapshot,
    kept: Kept,
    poured_on: str,
    cure: str,
    note: str,
    as_weighed: bool = False,
    again: bool = False,
    grams_of: Callable[[str], float | None] = lambda text: None,
) -> dict[str, Any]:
    """Record the pour of the sheet with the weights that were typed, keeping the recipe first where it is not in the book; as
    `record`, but held against the sheet, whose lines say what each weight is. Weights that are all larger by one factor are of a
    batch that is larger by as much; what a trial took out of the pot, and top-ups, count."""
    area = now.area("sheet")
    typed = area.get("weights", {})
    larger = 1.0 if as_weighed else check_typed(kept.sheet, typed)
    # Another pour of the same sheet had a pot of its own.
    day = on_the_day(kept, area, {} if area.get("pour") else now.area("trial"), grams_of)
    batch_g = kept.sheet.weighed.batch_g * larger
    if day.took_g or day.rounds:
        batch_g = kept.sheet.weighed.batch_g * day.left_g / kept.sheet.weighed.tinted_part_g
    in_book = keep_in_book(workspace, now)
    taken = taken_from_shelf(kept, area, day.rounds) if not area.get("pour") else from_old(kept, area)
    with by_known_names(), open_book(create=False) as book:
        shelf = {one.name for one in book.bottles()}
    weights = named_weights(kept.sheet, typed)
    for name, grams in (*_pigments_untyped(kept, area), *_taken_and_added(kept, day)):
        weights[free_name(name, name, weights)] = grams
    weighed = Weighed(
        float(f"{batch_g:.6g}"),
        weights,
        {bottle: grams for bottle, grams in taken.items() if bottle in shelf},
        {pigment: lot for pigment, lot in kept.sheet.lots.items() if lot},
        by_sheet=True,
    )
    return record(
        in_book["name"],
        int(in_book["revision"]),
        weighed,
        poured_on,
        cure,
        f"{note} {planned_only(kept, area)}".strip(),
        as_weighed=True,
        again=again,
    )


def planned_only(kept: Kept, area: Mapping[str, Any]) -> str:
    """Which weights of the pour nobody said were weighed, in a sentence; nothing where each was typed or ticked off."""
    lines = {key: one for key, one in weights_of(kept.sheet).items() if one.kind in (*INTO_POT, Kind.OTHER)}
    left = [one for key, one in lines.items() if not _is_weighed(area, key)]
    if not left:
        return ""
    if len(left) == len(lines):
        return "No weight was typed or ticked off: all are as planned, not weighed."
    named = listed(dict.fromkeys(f"{one.what} into {one.into}" if one.into else one.what for one in left))
    return f"As planned, neither typed nor ticked off: {named}."


def _is_weighed(area: Mapping[str, Any], key: str) -> bool:
    """Whether a line's weight was typed, or the line or its step ticked off."""
    return key in area.get("weights", {}) or bool({key, key.rpartition("-")[0]} & {*area.get("ticks", [])})


def _pigments_untyped(kept: Kept, area: Mapping[str, Any]) -> Iterator[tuple[str, float]]:
    """What colours the batch, of which no weight was typed: as asked where it was ticked off, else as planned; and grams."""
    for key, line in weights_of(kept.sheet).items():
        if line.kind is Kind.PIGMENT and key not in area.get("weights", {}):
            name = line.out_of or line.of
            yield name if _is_weighed(area, key) else f"as planned: {name}", line.grams


def _taken_and_added(kept: Kept, day: Day) -> Iterator[tuple[str, float]]:
    """What left the pot for a trial, and what was added to it, in words, and grams."""
    part = kept.sheet.weighed.tinted_part.name
    if day.took_g:
        yield f"taken out for a trial: {tinted_label(part)}", day.took_g
    for number, one in enumerate(day.rounds, 1):
        what = "top-up" if len(day.rounds) == 1 else f"top-up {number}"
        for name, grams in _added(kept, [one]):
            yield f"{what}: {name}", grams


def _added(kept: Kept, rounds: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, float]]:
    """What top-ups brought, and grams."""
    for one in rounds:
        yield from ((name, float(grams)) for name, grams in one["added"] if grams)
        if one["plain_g"]:
            yield f"untinted {part_named(kept.sheet.weighed.tinted_part.name)}", float(one["plain_g"])
