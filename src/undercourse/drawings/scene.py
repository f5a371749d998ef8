"""What is drawn, in metres and y upwards: primitives that know nothing of paper.

Sizes that belong to paper (offsets of dimensions, sizes of lettering) are in millimetres and say so.
"""

from __future__ import annotations

from dataclasses import dataclass, field

Point = tuple[float, float]


@dataclass(frozen=True)
class Polyline:
    """A line through points, drawn with a named pen (see ``sheet.PENS``)."""

    points: tuple[Point, ...]
    pen: str = "narrow"
    dash: str = "solid"
    name: str = ""


@dataclass(frozen=True)
class Polygon:
    """A closed outline with holes, filled with a named hatch (see ``hatches.HATCHES``)."""

    outline: tuple[Point, ...]
    hatch: str = "none"
    pen: str = "narrow"
    holes: tuple[tuple[Point, ...], ...] = ()
    soft: bool = False
    name: str = ""


@dataclass(frozen=True)
class Text:
    """Words at a point of the scene, moved by ``shift_mm`` on paper (y upwards)."""

    at: Point
    words: str
    size_mm: float = 3.2
    anchor: str = "middle"
    bold: bool = False
    soft: bool = False
    turn_deg: float = 0.0
    shift_mm: Point = (0.0, 0.0)


@dataclass(frozen=True)
class Dimension:
    """A dimension between two points, its line ``offset_mm`` to the left of the way from start to end.

    ``true_to_scale=False`` underlines the value, as ISO 129-1 asks for features not drawn to scale.
    """

    start: Point
    end: Point
    words: str
    offset_mm: float = 8.0
    true_to_scale: bool = True


@dataclass(frozen=True)
class RunningDimension:
    """Superimposed running dimensions (ISO 129-1): one origin, a value at every station.

    ``along`` is the unit direction of measuring; values are written in one or two lines across it.
    """

    origin: Point
    along: Point
    stations: tuple[tuple[float, str], ...]
    offset_mm: float = 8.0


@dataclass(frozen=True)
class Leader:
    """A name beside the drawing, tied to a point by a thin line that ends in a dot on a surface."""

    at: Point
    words: str
    under: str = ""
    soft: bool = False
    underline: bool = False


Primitive = Polyline | Polygon | Text | Dimension | RunningDimension | Leader


@dataclass
class Scene:
    """Primitives in drawing order."""

    primitives: list[Primitive] = field(default_factory=list)

    def add(self, *primitives: Primitive) -> None:
        """Put primitives on top of what is there."""
        self.primitives.extend(primitives)

    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x, smallest y, largest x, largest y of the geometry (not of its annotation). [m]"""
        points = [p for item in self.primitives for p in _geometry(item)]
        if not points:
            return (0.0, 0.0, 0.0, 0.0)
        xs, ys = zip(*points, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))


def _geometry(item: Primitive) -> tuple[Point, ...]:
    if isinstance(item, Polyline):
        return item.points
    if isinstance(item, Polygon):
        return item.outline
    return ()
