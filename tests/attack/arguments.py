"""Command lines of every command and every option together, right and wrong, as click itself knows them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click

from tests.attack.inputs import FOREIGN, Chance, at_fault, called, strict
from tintmix.faces.cli.main import tintmix

FILES = {
    "model": "model.json", "model_path": "model.json", "target_path": "target.toml", "recipe": "recipe.json",
    "recipe_path": "recipe.json", "resin": "resin.toml", "resin_path": "resin.toml", "book": "book.db",
    "mesh_path": "mesh.obj", "insert_mesh": "mesh.obj", "chip_set": "set", "sets": "cup", "like": "set", "from_plan": "set",
    "photos": "photo.jpg", "taken": "photo.jpg", "panels": "photo.jpg", "fingerprint_only": "photo.jpg",
    "files": "instrument.csv", "spectrum": "instrument.csv", "curve": "photo.jpg", "on": "mesh.shape.json",
    "into": "out/tour", "folder": "out/plan", "picture": "out/p.png", "residuals": "out/r.png", "keep": "out/kept.json",
    "out": "out/o.pdf", "holder": "out/holder.pdf", "print_holder": "out/holder.pdf", "write_curve": "out/curve.csv",
}  # fmt: skip
OF_COMMAND = {
    ("fit", "model_path"): "out/m.json", ("shape", "out"): "out/s.shape.json", ("book backup", "file"): "out/b.db",
    ("book lot", "on"): "2026-11-02", ("book export", "file"): "out/e.json", ("book import", "file"): "export.json",
    ("book bottle", "name"): "azure 1+50", ("book lot", "name"): "A-18", ("book check-chip", "lot"): "A-18",
    ("book check", "rescue"): "out/rescue.json", ("book bottle", "pigment"): "azure", ("book rescale", "out"): "out/r.json",
    ("book show", "out"): "out/r.json", ("read", "at"): "b1=10,10,50,50", ("shape", "view"): "0,0,-1",
    ("shape", "unit"): "mm", ("book check-chip", "dose"): "azure=0.05", ("book bottle", "lot"): "A-17",
    ("convert", "value"): "0.02", ("convert", "to"): "part B", ("convert", "basis"): "phr", ("read", "colours"): "-",
}  # fmt: skip
SOUND = {
    "doses_phr": "azure=0.02", "dose": "azure=0.05", "at": "8", "sections_mm": "8", "thicknesses_mm": "12",
    "thickness_mm": "12", "cast_mm": "6", "cast_to_mm": "12", "pigments": "azure=0.02", "lab": "61.3,-22.4,-18",
    "labs": "88.2,-11.6,-3.8", "xyzs": "60,70,75", "channels": "0.6,0.7,0.8", "readings": "flange=91.2,-7.5,-2.1",
    "beside": "12=88.2,-11.6,-3.8", "chips_mm": "point=12",
    "tile": "95.2,-0.4,1.1", "scales": "0.01", "batch_g": "450", "left_g": "195", "pot_g": "400", "part_g": "208",
    "need_g": "100", "volume_cm3": "400", "water_g": "400", "waste_percent": "10", "weighed": "azure 1+50=4.8",
    "weights_g": "A=236.8", "from_bottles": "azure 1+50=4.8", "lots": "azure=A-18", "strengths": "azure=1.08:3",
    "prices": "azure=0.12", "lot_spread": "15", "strength": "1.08", "spread": "0.02", "weigh_spread": "2",
    "mixed_minutes_ago": "2", "light": "D65", "observer": "10", "insert": "#b08d3c", "insert_should_look": "#b08d3c",
    "insert_width_mm": "6", "points_mm": "tip=1,1,1", "stack": "A4=1", "stack_density": "0.3", "mapping": "clear 3 mm=clear",
    "opened": "60,60,40,40", "dark": "100,60,20,20", "samples": "clear 3 mm", "cup_g": "50", "chip_mm": "30", "cups": "5",
    "chips_per_cup": "2", "number": "1", "revision": "1", "most": "10", "first": "1", "second": "1",
    "poured_on": "2026-11-02", "read_on": "2026-11-02", "made_on": "2026-11-02", "name": "sea", "names": "sea",
    "words": "sea", "pigment": "azure", "carrier": "B", "pigment_g": "0.4", "carrier_g": "20", "used": "4.8", "left": "12",
    "note": "a note", "cure": "24 h", "set_aside": "spilt", "place": "flange", "bottle": "azure 1+50", "also": "rose",
    "lot": "A-17", "drop_g": "0.025", "pigment_density_g_per_cm3": "1.1", "port": "0", "space": "Lab",
    "windows": "flange=2.3", "thicknesses": "glass=6",
}  # fmt: skip
STARTS_NOTHING = ("serve",)
"""What would go on for ever: only with what it refuses."""
ANSWERS_WITH_1 = ("checkup",)
"""Where something is not well; all of it is on standard output."""
SLOW = ("tour", "shape", "plan", "fit")
"""What may take seconds."""
AS_MEANT = {"tour": 0.0003, "shape": 0.01, "plan": 0.01, "fit": 0.01, "solve": 0.03, "look": 0.05, "sheet": 0.05}
"""How often these are called as they are meant, others half the time: each takes a tenth of a second or more."""


def commands(of: click.Command = tintmix, path: tuple[str, ...] = ()) -> Iterator[tuple[str, click.Command]]:
    """Every command that does something, by its whole name."""
    if isinstance(of, click.Group):
        context = click.Context(of)
        for name in of.list_commands(context):
            found = of.get_command(context, name)
            assert found is not None
            yield from commands(found, (*path, name))
    else:
        yield " ".join(path), of


def line_of(chance: Chance, name: str, command: click.Command) -> list[str]:
    """A command line with one thing wrong or more, seldom none."""
    if name == "tour" and not chance.happens(AS_MEANT[name]):
        # Nearly any name is a new folder, in which it would go on for long.
        return [name, f"--into={chance.one('model.json', 'loop', 'nowhere/at/all', '/proc/tour', 'n' * 300)}"]
    given = [one for one in command.params if one.required or chance.happens(0.15)]
    if name == "look" and chance.happens(0.8):
        given += [one for one in command.params if one.name == "at"]
    wrong = [chance.happens(0.9 / max(len(given), 1)) for _ in given]
    if not any(wrong) and given and (name in STARTS_NOTHING or not chance.happens(AS_MEANT.get(name, 0.5))):
        wrong[chance.draw.randrange(len(given))] = True
    if name in STARTS_NOTHING:
        return [name, "--no-open", "--port", "-1", *([] if chance.happens(0.5) else ["--folder", chance.one(*FOREIGN)])]
    options, arguments = [], []
    for one, is_wrong in zip(given, wrong, strict=True):
        if isinstance(one, click.Option) and one.is_flag:
            options.append(one.opts[0])
            continue
        for _ in range(chance.draw.randrange(1, 4) if one.multiple or one.nargs == -1 else 1):
            value = value_of(chance, name, one, is_wrong)
            if isinstance(one, click.Option):
                options += [one.opts[0], value] if chance.happens(0.5) else [f"{one.opts[0]}={value}"]
            else:
                arguments.append(value)
    if chance.happens(0.02):
        options.append(chance.one("--nte", "--", "--josn", "-x", "--weighted", "extra"))
    return [*name.split(), *arguments, *options]


def value_of(chance: Chance, name: str, one: click.Parameter, is_wrong: bool) -> str:
    """A value of an option or argument."""
    called_so = str(one.name)
    sound = OF_COMMAND.get((name, called_so)) or FILES.get(called_so) or SOUND.get(called_so, "")
    if isinstance(one.type, click.Choice):
        sound = str(chance.draw.choice(list(one.type.choices)))
    if not is_wrong:
        return sound
    if isinstance(one.type, click.Path):
        return chance.one(*FOREIGN, *FILES.values())
    return chance.wrong(sound)


def answer_at_fault(folder: Path, line: list[str]) -> str:
    """What is wrong with the answer to a command line; empty where nothing is."""
    status, out, err = called(folder, line, typed="clear 96.5 -0.1 0.3\n")
    if status == 0 or (status == 1 and not err and line[0] in ANSWERS_WITH_1):
        if "--json" in line and not {"--", "--help"} & {*line}:
            try:
                strict(out)
            except ValueError as problem:
                return f"no JSON ({problem})"
        return at_fault(err) if err else ""
    if status != 2:
        return f"status {status}"
    if out or not err.startswith("tintmix: ") or err.count("\n") != 1:
        return "not one line on standard error"
    return at_fault(err)
