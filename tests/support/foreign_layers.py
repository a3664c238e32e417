"""Drawings of offices that never heard of our layer names, each with the rules they ask for.

The rules and counts were written by hand from what is drawn, before any of them was read.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import ezdxf

from support.pen import Pen

W, D = 2400.0, 620.0


@dataclass(frozen=True)
class Wanted:
    """What a drawing asks for: rules by layer, and what there is with them."""

    rules: dict[str, str]
    parts: int
    cutouts: int
    holes: int


def _exploded_dimension(pen: Pen, layer: str) -> None:
    """Draw a dimension below the part as a line and two ticks."""
    pen.line(layer, (200, 60), (2600, 60))
    pen.line(layer, (200, 40), (200, 180))
    pen.line(layer, (2600, 40), (2600, 180))


def _top(pen: Pen, layer: str) -> None:
    pen.rectangle(layer, 200, 200, W, D)


def everything_on_zero() -> tuple[Pen, Wanted]:
    pen = Pen()
    _top(pen, "0")
    pen.rounded("0", 700, 280, 500, 400, 60)
    pen.circle("0", 950, 740, 35)
    pen.text("0", "Kitchen 7", 1800, 500)
    return pen, Wanted({"0": "0=outline"}, 1, 1, 1)


def german() -> tuple[Pen, Wanted]:
    pen = Pen()
    _top(pen, "AUSSENKONTUR")
    pen.rounded("AUSSCHNITT SPUELE", 700, 280, 500, 400, 60)
    pen.line("WANDSEITE", (200, 820), (2600, 820))
    pen.line("Sichtkante", (200, 200), (2600, 200))
    _exploded_dimension(pen, "BEMASSUNG")
    rules = {
        "AUSSENKONTUR": "AUSSENKONTUR=outline",
        "AUSSCHNITT SPUELE": "AUSSCHNITT SPUELE=cutout:flat-polish",
        "WANDSEITE": "WANDSEITE=unfinished",
        "Sichtkante": "Sichtkante=edge:flat-polish",
        "BEMASSUNG": "BEMASSUNG=ignore",
    }
    return pen, Wanted(rules, 1, 1, 0)


def french() -> tuple[Pen, Wanted]:
    pen = Pen()
    _top(pen, "CONTOUR")
    pen.rounded("DÉCOUPE_PLAQUE", 700, 280, 500, 400, 60)
    pen.line("CÔTÉ MUR", (200, 820), (2600, 820))
    pen.line("CHANT POLI", (200, 200), (2600, 200))
    pen.circle("PERÇAGE", 1500, 740, 35)
    rules = {
        "CONTOUR": "CONTOUR=outline",
        "DÉCOUPE_PLAQUE": "DÉCOUPE_PLAQUE=cutout:unfinished",
        "CÔTÉ MUR": "CÔTÉ MUR=unfinished",
        "CHANT POLI": "CHANT POLI=edge:flat-polish",
        "PERÇAGE": "PERÇAGE=hole",
    }
    return pen, Wanted(rules, 1, 1, 1)


def spanish() -> tuple[Pen, Wanted]:
    pen = Pen()
    _top(pen, "ENCIMERA")
    pen.rounded("HUECO FREGADERO", 700, 280, 500, 400, 60)
    pen.line("PARED", (200, 820), (2600, 820))
    pen.line("CANTO PULIDO", (200, 200), (2600, 200))
    _exploded_dimension(pen, "COTAS")
    rules = {
        "ENCIMERA": "ENCIMERA=outline",
        "HUECO FREGADERO": "HUECO FREGADERO=cutout:flat-polish",
        "PARED": "PARED=unfinished",
        "CANTO PULIDO": "CANTO PULIDO=edge:flat-polish",
        "COTAS": "COTAS=ignore",
    }
    return pen, Wanted(rules, 1, 1, 0)


def italian() -> tuple[Pen, Wanted]:
    pen = Pen()
    _top(pen, "PIANO")
    pen.rounded("FORO LAVELLO", 700, 280, 500, 400, 60)
    pen.circle("FORO RUBINETTO", 950, 740, 35)
    pen.line("LATO MURO", (200, 820), (2600, 820))
    pen.line("COSTA LUCIDA", (200, 200), (2600, 200))
    rules = {
        "PIANO": "PIANO=outline",
        "FORO LAVELLO": "FORO LAVELLO=cutout:flat-polish",
        "FORO RUBINETTO": "FORO RUBINETTO=hole",
        "LATO MURO": "LATO MURO=unfinished",
        "COSTA LUCIDA": "COSTA LUCIDA=edge:flat-polish",
    }
    return pen, Wanted(rules, 1, 1, 1)


def colours() -> tuple[Pen, Wanted]:
    pen = Pen()
    pen.rectangle("0", 200, 200, W, D, color=7)
    pen.rectangle("0", 700, 280, 500, 400, color=1)
    pen.circle("0", 1500, 700, 35, color=5)
    return pen, Wanted({"0": "0=outline"}, 1, 1, 1)


def numbers() -> tuple[Pen, Wanted]:
    pen = Pen()
    _top(pen, "1-OUT")
    pen.rounded("2-IN", 700, 280, 500, 400, 60)
    pen.circle("3-HOLES", 1500, 740, 35)
    pen.line("4-POL", (200, 200), (2600, 200))
    rules = {
        "1-OUT": "1-OUT=outline",
        "2-IN": "2-IN=cutout",
        "3-HOLES": "3-HOLES=hole",
        "4-POL": "4-POL=edge:flat-polish",
    }
    return pen, Wanted(rules, 1, 1, 1)


def frame() -> tuple[Pen, Wanted]:
    """Draw two parts on one layer, inside a sheet's frame with a title block on a nameless one."""
    pen = Pen()
    _top(pen, "GEO")
    pen.rounded("GEO", 700, 280, 500, 400, 60)
    pen.rectangle("GEO", 200, 1100, 1200, D)
    pen.rectangle("F", 0, 0, 4200, 2970)
    pen.rectangle("F", 3000, 0, 1200, 400)
    pen.line("F", (3000, 200), (4200, 200))
    pen.text("F", "Drawn by", 3050, 250)
    return pen, Wanted({"GEO": "GEO=outline", "F": "F=ignore"}, 2, 1, 0)


def inches() -> tuple[Pen, Wanted]:
    pen = Pen(ezdxf.units.IN, 25.4)
    _top(pen, "Perimeter")
    pen.rounded("Bowl", 700, 280, 500, 400, 60)
    pen.circle("Drilling", 950, 740, 35)
    pen.line("Exposed", (200, 200), (2600, 200))
    rules = {
        "Perimeter": "Perimeter=outline",
        "Bowl": "Bowl=cutout:flat-polish",
        "Drilling": "Drilling=hole",
        "Exposed": "Exposed=edge:flat-polish",
    }
    return pen, Wanted(rules, 1, 1, 1)


def bound() -> tuple[Pen, Wanted]:
    """Draw a bound reference; the shipped rules know EASED by its own name."""
    pen = Pen()
    _top(pen, "K$0$UMRISS")
    pen.circle("K$0$HAHNLOCH", 950, 740, 35)
    pen.line("K$0$EASED", (200, 200), (2600, 200))
    pen.line("K$0$HILFSLINIEN", (0, 510), (3000, 510))
    rules = {
        "UMRISS": "UMRISS=outline",
        "HAHNLOCH": "HAHNLOCH=hole",
        "HILFSLINIEN": "HILFSLINIEN=ignore",
    }
    return pen, Wanted(rules, 1, 0, 1)


def dimensions_and_hatches() -> tuple[Pen, Wanted]:
    """Draw the hatch's boundary as a second outline, and dimensions exploded or not."""
    pen = Pen()
    _top(pen, "PLATTE")
    pen.rectangle("SCHRAFFUR", 200, 200, W, D)
    hatch = pen.space.add_hatch(dxfattribs={"layer": "SCHRAFFUR"})
    hatch.paths.add_polyline_path([(200, 200), (2600, 200), (2600, 820), (200, 820)])
    _exploded_dimension(pen, "MASSE")
    pen.space.add_linear_dim(
        base=(200, 900), p1=(200, 820), p2=(2600, 820), dxfattribs={"layer": "MASSE"}
    ).render()
    rules = {
        "PLATTE": "PLATTE=outline",
        "SCHRAFFUR": "SCHRAFFUR=ignore",
        "MASSE": "MASSE=ignore",
    }
    return pen, Wanted(rules, 1, 0, 0)


def no_names() -> tuple[Pen, Wanted]:
    """Draw on layers whose names say nothing; the seam makes two parts, its sink lies in one."""
    pen = Pen()
    _top(pen, "Layer1")
    pen.rounded("Layer2", 700, 280, 500, 400, 60)
    pen.circle("Layer3", 950, 740, 35)
    pen.line("Layer4", (1600, 200), (1600, 820))
    pen.line("Layer5", (200, 200), (2600, 200))
    rules = {
        "Layer1": "Layer1=outline",
        "Layer2": "Layer2=cutout",
        "Layer3": "Layer3=hole",
        "Layer4": "Layer4=seam",
        "Layer5": "Layer5=edge:eased",
    }
    return pen, Wanted(rules, 2, 1, 1)


HABITS: tuple[Callable[[], tuple[Pen, Wanted]], ...] = (
    everything_on_zero,
    german,
    french,
    spanish,
    italian,
    colours,
    numbers,
    frame,
    inches,
    bound,
    dimensions_and_hatches,
    no_names,
)


def drawn(habit: Callable[[], tuple[Pen, Wanted]], folder: Path) -> tuple[Path, Wanted]:
    """Write a drawing and return it with what it asks for."""
    pen, wanted = habit()
    return pen.save(folder / f"{habit.__name__}.dxf"), wanted
