"""What can be wrong with a mesh, a view or a point: what is so, and what to do about it."""

from __future__ import annotations

from tintmix.errors import FileProblem, LibraryMissing, Remedy, ValueProblem


def bad_mesh(where: object, what: str) -> FileProblem:
    """A mesh that is no casting: its maker mends it where it was drawn."""
    return FileProblem(where=where, what=what, remedy=Remedy.MEND_THE_MESH)


def bad_insert(where: object, what: str) -> FileProblem:
    """A sound mesh that is no insert of this casting."""
    return FileProblem(where=where, what=what, remedy=Remedy.FIT_THE_INSERT)


def bad_mesh_file(where: object, what: str) -> FileProblem:
    """A file that no mesh can be read from."""
    return FileProblem(where=where, what=what, remedy=Remedy.EXPORT_THE_MESH)


def unit_missing(where: object, kind: str) -> ValueProblem:
    """A mesh whose file does not say in which unit it is."""
    return ValueProblem(
        where=where, what=f"a file of kind {kind} does not say its unit", remedy=Remedy.SAY_THE_MESH_UNIT
    )


def unit_wrong(where: object, what: str) -> ValueProblem:
    """A unit that cannot be."""
    return ValueProblem(where=where, what=what, remedy=Remedy.SAY_THE_MESH_UNIT)


def bad_view(what: str) -> ValueProblem:
    """A direction that nothing can be seen along."""
    return ValueProblem(where="the view", what=what)


def bad_point(name: str, what: str) -> ValueProblem:
    """A named point that is not on the casting."""
    return ValueProblem(where=f"point {name!r}", what=what)


def bad_size(what: str, found: str, limit: str) -> ValueProblem:
    """A size of a body that cannot be."""
    return ValueProblem(what=what, found=found, limit=limit)


def no_tracer() -> LibraryMissing:
    """embreex is not there."""
    return LibraryMissing(
        what="light is traced through a casting by the library embreex, and it is not installed here",
        remedy=Remedy.INSTALL_EMBREEX,
    )


def no_mesh_library(name: str) -> LibraryMissing:
    """trimesh, or what it needs, is not there."""
    return LibraryMissing(
        what=f"a mesh is read by the library {name}, and it is not installed here", remedy=Remedy.INSTALL_AGAIN
    )
