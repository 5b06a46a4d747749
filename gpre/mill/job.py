"""What is known of the job: the tools, the stock, which way to cut. Lengths mm."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import pi

from gpre.motion.controller import UNITS, Point, lengths_in, origins_in
from gpre.settings.keys import Conflict, Key, Numbered, Section, about, key
from gpre.settings.values import DEGREES, LENGTH, Amount, Amounts, Choice

CORNER = 0.25  # of the radius: the corner of a bull-nose tool of which the job tells none
POINTS = {"vee": pi / 2.0, "drill": pi * 118.0 / 180.0}  # rad; common practice, no source
OF_SHAPE = {"corner_radius": ("bull",), "point_angle": ("vee", "drill")}  # only these have them
DIAMETER = Amount(LENGTH, 0.001, 500)
PLACE = Amount(LENGTH)
CORNERS = Amounts(3, PLACE)
JOB_UNITS = Key(Choice(UNITS), "The unit of the lengths in this file.", '"mm"', name="units")


@dataclass(frozen=True)
class Tool:
    """A tool; lengths mm, angles rad."""

    diameter: float = field(metadata=about(DIAMETER, "The diameter of the cutter."))
    shape: str = key(
        "flat", Choice.of("flat", "ball", "bull", "vee", "drill"), "The shape of the cutter."
    )
    flutes: int | None = key(
        None, Amount("", 1, 100, whole=True), "The number of its flutes.", "not known"
    )
    max_ramp_angle: float | None = key(
        None,
        Amount(DEGREES, above=0, max=90),
        "How steeply the tool may go down into metal, along a ramp or a helix.",
        "not known",
        old="steepest_ramp",
    )
    corner_radius: float | None = key(
        None,
        Amount(LENGTH, above=0, max=250),
        "The radius of the corner of a bull-nose tool.",
        f"{CORNER:g} of the tool's radius",
        old="corner",
    )
    point_angle: float | None = key(
        None,
        Amount(DEGREES, above=0, max=179),
        "The whole angle of the point of a V tool or a drill.",
        "90 for a V tool, 118 for a drill",
        old="point",
    )

    @property
    def corner_in_use(self) -> float:
        """The radius of its corner, mm: a guess for a bull-nose tool of which none is told."""
        radius = self.diameter / 2.0
        bull = CORNER * radius if self.corner_radius is None else min(self.corner_radius, radius)
        return {"ball": radius, "bull": bull}.get(self.shape, 0.0)

    @property
    def point_in_use(self) -> float | None:
        """The whole angle of its point, rad: the usual one where none is told."""
        return POINTS.get(self.shape) if self.point_angle is None else self.point_angle

    def conflicts(self) -> Iterator[Conflict]:
        """Yield the keys that contradict each other."""
        for name, shapes in OF_SHAPE.items():
            if getattr(self, name) is not None and self.shape not in shapes:
                message = f"a {self.shape} tool has no {name}"
                advice = f"give it a shape of {' or '.join(shapes)}, or leave {name} out"
                yield Conflict("JOB605", name, message, advice=advice, at_key=True)
        if self.corner_radius is not None and self.corner_radius > self.diameter / 2.0:
            message = "the corner is greater than the radius of the tool"
            label = "at most half the diameter"
            yield Conflict("MIL504", "corner_radius", message, label)


@dataclass(frozen=True)
class Box:
    """A box in program coordinates, mm."""

    min: Point = field(
        metadata=about(CORNERS, "The lowest corner of the stock: X, Y, Z.", old="least")
    )
    max: Point = field(
        metadata=about(CORNERS, "The highest corner of the stock: X, Y, Z.", old="greatest")
    )

    @property
    def flat_axis(self) -> str:
        """The letter of an axis along which it has no room, "" where there is none."""
        sides = zip("XYZ", self.min, self.max, strict=True)
        return next((axis for axis, low, high in sides if low >= high), "")

    def conflicts(self) -> Iterator[Conflict]:
        """Yield that it has no room."""
        if self.flat_axis:
            message = f"the stock box has no room in {self.flat_axis}"
            yield Conflict("JOB602", "max", message, f"{self.flat_axis} of min is not below")


@dataclass(frozen=True)
class Job:
    """Tools by number, the stock box, the way to cut.

    origins: machine coordinates of work systems 1 to 9, mm. lengths: of tools by H number, mm.
    """

    tools: Mapping[int, Tool] = field(
        default_factory=dict,
        metadata=about(
            Numbered(
                Section(Tool),
                re.compile(r"(\d{1,7})", re.ASCII),
                "{}",
                "JOB601",
                "a tool is named by its number, and {} is not one",
                "write [tool.6] for T6",
            ),
            name="tool",
        ),
    )
    stock: Box | None = key(None, Section(Box))
    cut: str = key(
        "as-is", Choice.of("climb", "conventional", "as-is"), "How walls and passes are to be cut."
    )
    origins: Mapping[int, Point] = field(
        default_factory=dict,
        metadata=about(
            origins_in(LENGTH), "Machine coordinates of the work systems.", "as the profile has it"
        ),
    )
    lengths: Mapping[int, float] = field(
        default_factory=dict,
        metadata=about(
            lengths_in(LENGTH), "Tool lengths by H number: H3 = 82.5.", "as the profile has it"
        ),
    )
