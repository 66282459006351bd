"""schema.py: a value is used as it should be, and all that is wrong is told with its place."""

from __future__ import annotations

import pytest

from tintmix.files.errors import BadTable
from tintmix.files.schema import NEEDED, Named, Rows, Table, checked, list_of, number, one_of, table_of, text, whole

LAMP = Table(
    {
        "watt": (number(above=0, most=100), NEEDED),
        "kind": (one_of("bulb", "tube", 2), "bulb"),
        "at": (list_of(number(), count=2), None),
    }
)
ROOM = Table(
    {
        "lamp": (Rows(LAMP), []),
        "switches": (Named(Table({"poles": (whole(least=1), 1)})), {}),
        "door": (Table({"name": (text(), "front")}), {}),
        "doses": (table_of(number(least=0)), {}),
    }
)


def test_values_and_defaults() -> None:
    made = checked(ROOM, {"lamp": [{"watt": 5, "at": [1, 2.5]}], "switches": {"by the door": {}}}, "room.toml")
    assert (made.lamp[0].watt, made.lamp[0].kind, made.lamp[0].at) == (5.0, "bulb", [1.0, 2.5])
    assert made.switches["by the door"].poles == 1
    assert made.door.name == "front"
    assert made.doses == {}


def test_all_that_is_wrong_is_told_with_its_place() -> None:
    table = {
        "lamp": [{"name": 3, "wat": 1}, {"watt": 0, "kind": 2.0}, {"watt": 10**400, "at": [1]}],
        "switches": {"hall": {"poles": True}, "cellar": 4},
        "door": [],
        "doses": {"azure": 1, "rose": -1},
        "windows": 2,
    }
    with pytest.raises(BadTable) as caught:
        checked(ROOM, table, "room.toml")
    assert set(map(str, caught.value.problems)) == {
        "the file has no key windows; known are lamp, switches, door, doses",
        "lamp 1 has no key name; known are watt, kind, at",
        "lamp 1 has no key wat; did you mean watt?",
        "lamp 1 has no watt; add it",
        "lamp 2 has watt = 0; it must be above 0",
        'lamp 2 has kind = 2; it must be "bulb", "tube" or 2',
        f"lamp 3 has watt = 1{'0' * 59}…, which is larger than any number here can be",
        "lamp 3 has at = [1]; it must hold 2 numbers",
        "[switches.hall] has poles = true, which is not a whole number",
        "[switches] has cellar = 4; it must be a table, headed [switches.cellar]",
        "the file has door = []; it must be a table, headed [door]",
        "the file has doses = a table, in which rose is -1; it must be at least 0",
    }


@pytest.mark.parametrize("found", [float("nan"), float("inf"), True, "1", None, [1]])
def test_what_is_no_number(found: object) -> None:
    with pytest.raises(BadTable, match="not a finite number"):
        checked(LAMP, {"watt": found}, "lamp.toml")
