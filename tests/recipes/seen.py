"""Places as they are seen, made by hand."""

from tintmix.optics.paths import LightPaths, PathLength, Seen
from tintmix.optics.plate import face_reflectance

NO_INSERT = (0.0, 0.0)


def slab_paths(thickness_mm, n, terms=12):
    """A slab by its paths: (1 − ρ)² ρ^(2 j) at (2 j + 1) t, j pairs of inter-reflections. Hecht, Optics, ch. 9."""
    rho = float(face_reflectance(n))
    weights = tuple((1 - rho) ** 2 * rho ** (2 * j) for j in range(terms))
    nothing = (0.0,) * terms
    return LightPaths(
        lengths_mm=tuple((2 * j + 1) * thickness_mm for j in range(terms)), weights=(weights, nothing, nothing)
    )


def seen_place(paths, place="deepest", straight_mm=17.0, of_clear=None, **more):
    """A place of these paths in a shape."""
    mean = paths.mean_mm
    told = PathLength(p5=mean, median=mean, mean=mean, p95=mean)
    clear = float(paths.clear[20]) if of_clear is None else of_clear
    return Seen(
        shape="prism.shape.json",
        place=place,
        paths=paths,
        straight_mm=straight_mm,
        path_mm=told,
        of_clear=clear,
        **more,
    )


def prism_paths(length_mm=60.0):
    """Most of the light by one length, some by longer ways, as in a prism whose faces reflect totally."""
    parts = ((1.0, 0.55), (1.02, 0.12), (1.7, 0.1), (2.3, 0.06))
    nothing = (0.0,) * len(parts)
    return LightPaths(
        lengths_mm=tuple(length_mm * times for times, _ in parts),
        weights=(tuple(w for _, w in parts), nothing, nothing),
    )
