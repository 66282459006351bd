"""The long form, `python -m tests.attack [--minutes 10] [--count N] [--seed S] [--only arguments|routes|models|readers]`: exit 1
where anything did not hold."""

from __future__ import annotations

import argparse
import faulthandler
import json
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.attack import arguments, inputs, models, readers, requests
from tests.faces.web.conftest import Client
from tintmix.desk.demo import demo
from tintmix.desk.fit import fit_sets
from tintmix.faces.web.app import state_of
from tintmix.page import demo as page_demo
from tintmix.page.work import Works
from tintmix.page.workspace import Workspace

AFRESH = 400
"""Requests after which the page's folder is made anew: each route twice or so, before what was changed is no longer sound."""
LEFT_FOR = 100
"""Command lines after which what was written to `out` goes: a file that is there already is most often refused."""
MOST_SECONDS = 60.0
"""Of the processor: a tour takes ten."""
LONGEST_WAIT = 600
"""Seconds by the clock, on a machine that does much else."""
MOST_KB = 1_500_000


def main() -> int:
    """Attack, and tell what did not hold."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--minutes", type=float, default=10.0)
    asked.add_argument("--count", type=int, default=10**9)
    asked.add_argument("--seed", type=int, default=time.time_ns() % 10**6)
    asked.add_argument("--only", default="")
    said = asked.parse_args()
    signal.signal(signal.SIGALRM, too_long)
    kinds = {"arguments": of_arguments, "routes": of_routes, "models": of_models, "readers": of_readers}
    chosen = {name: kind for name, kind in kinds.items() if said.only in ("", name)}
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        fit_sets([demo("deck-prism-colours")], place / "model.json")
        for name, kind in chosen.items():
            print(f"{name}: seed {said.seed}", flush=True)
            bad += kind(place, inputs.Chance(said.seed), said.count, time.monotonic() + 60 * said.minutes / len(chosen))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"{bad} did not hold; the most memory {peak / 1000:.0f} MB")
    return 1 if bad or peak > MOST_KB else 0


def of_arguments(place: Path, chance: inputs.Chance, count: int, until: float) -> int:
    """Command lines, every command as often as another."""
    made, used = place / "ground", place / "used"
    inputs.ground(made, place / "model.json")
    ground = inputs.Kept(made, used)
    commands = list(arguments.commands())
    tried: Counter[str] = Counter()
    bad: Counter[str] = Counter()
    for number in range(count):
        if time.monotonic() > until:
            break
        ground.restore()
        if number % LEFT_FOR == 0:
            shutil.rmtree(used / "out")
            (used / "out").mkdir()
        name, command = commands[number % len(commands)]
        line = arguments.line_of(chance, name, command)
        tried[name] += 1
        begun = time.process_time()
        signal.alarm(LONGEST_WAIT)
        fault = arguments.answer_at_fault(used, line)
        if time.process_time() - begun > MOST_SECONDS:
            fault = fault or f"{time.process_time() - begun:.0f} s"
        if fault:
            bad[name] += 1
            print(f"  {fault}: {line!r}"[:700], flush=True)
            if fault.startswith(("a fault", "not well", "unprintable")) or "letters" in fault:
                print("   ", inputs.called(used, line)[2][:600], flush=True)
        signal.alarm(0)
        tell(number)
    print(f"  {sum(tried.values())} tried, {dict(tried)}", flush=True)
    return sum(bad.values())


def too_long(*_: object) -> None:
    """Where something waits for what never comes, say where."""
    faulthandler.dump_traceback()
    raise KeyboardInterrupt


def tell(number: int) -> None:
    """Now and then, how far it is."""
    if number % 10_000 == 9_999:
        print(f"  … {number + 1}, {time.process_time():.0f} s of the processor", flush=True)


def of_routes(place: Path, chance: inputs.Chance, count: int, until: float) -> int:
    """Requests, every route as often as another."""
    made, used = place / "made", place / "page"
    work = Works().start("the demo", "/", lambda work: page_demo.fill(Workspace(made), work))
    assert work.wait(300.0)
    os.environ["TINTMIX_BOOK"] = str(place / "page-book.db")
    with Client(made) as client:
        forms, links = requests.seen(client)
    routes = list(requests.routes())
    tried = bad = 0
    while tried < count and time.monotonic() < until:
        shutil.rmtree(used, ignore_errors=True)
        # Work that was begun through the last client may end after it, and write its folder again.
        shutil.copytree(made, used, dirs_exist_ok=True)
        with Client(used) as client:
            for _ in range(min(AFRESH, count - tried)):
                method, path = routes[tried % len(routes)]
                asked = requests.request_of(client, chance, method, path, forms, links, spare=True)
                begun = time.monotonic()
                fault = requests.reply_at_fault(client, asked)
                tell(tried)
                tried += 1
                if time.monotonic() - begun > MOST_SECONDS:
                    fault = fault or f"{time.monotonic() - begun:.0f} s"
                if fault:
                    bad += 1
                    print(f"  {fault}: {asked!r}"[:900], flush=True)
            state_of(client.page_app).works.stop_all()
    print(f"  {tried} tried over {len(routes)} routes", flush=True)
    return bad


def of_readers(place: Path, chance: inputs.Chance, count: int, until: float) -> int:
    """Damaged files, count of them for each reader, one of each after another."""
    made, used = place / "reader-ground", place / "reader-used"
    inputs.ground(made, place / "model.json")
    used.mkdir()
    casting = ["shape", str(demo("castings", "deck-prism.obj")), "--unit=mm", "--out=mesh.shape.json"]
    assert inputs.called(made, casting)[0] == 0
    print(f"  one of {readers.DEARNESS} for {', '.join(readers.DEAR)}", flush=True)
    every, bad = list(readers.readers(made, used)), 0
    tried: Counter[str] = Counter()
    for number in range(count):
        for reader in every:
            if number % readers.DEARNESS and reader.name in readers.DEAR:
                continue
            begun = time.process_time()
            try:
                reader.tried(chance.draw)
                fault = ""
            except Exception as problem:
                fault = f"{type(problem).__name__}: {problem}"
            if time.process_time() - begun > MOST_SECONDS:
                fault = fault or f"{time.process_time() - begun:.0f} s"
            tried[reader.name] += 1
            if fault:
                bad += 1
                print(f"  {fault}: {reader.name}, number {number}"[:700], flush=True)
        if time.monotonic() > until:
            break
        tell(number)
    print(f"  {sum(tried.values())} tried, {dict(tried)}", flush=True)
    return bad


def of_models(place: Path, chance: inputs.Chance, count: int, until: float) -> int:
    """Model files with one value changed, in every command that reads one."""
    made, used = place / "model-ground", place / "model-used"
    inputs.ground(made, place / "model.json")
    inputs.copied(made, used)
    table = json.loads((made / "model.json").read_text(encoding="utf-8"))
    tried = bad = 0
    while tried < count and time.monotonic() < until:
        text, what = models.changed(table, chance)
        (used / "model.json").write_text(text, encoding="utf-8")
        line = models.LINES[tried % len(models.LINES)]
        shutil.rmtree(used / "out", ignore_errors=True)
        (used / "out").mkdir()
        fault = arguments.answer_at_fault(used, list(line))
        tried += 1
        if fault:
            bad += 1
            print(f"  {fault}: {what}: {line}: {inputs.called(used, list(line))[2]}"[:700], flush=True)
    print(f"  {tried} tried", flush=True)
    return bad


if __name__ == "__main__":
    sys.exit(main())
