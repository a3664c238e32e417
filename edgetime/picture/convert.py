"""A picture as PDF or PNG.

SVG is written by this package. The other two forms are made of it by libraries that are an
extra of the installation: WeasyPrint sets it on a page, PDFium draws that page as pixels.
"""

from __future__ import annotations

import io
import re
from typing import Final

from edgetime.errors import UsageError, Where

PAGE_MM: Final = 420.0
"""Width of the page, that of A3 on its side; its height is the picture's own [mm]."""

PIXELS: Final = 2400
"""Width of a PNG."""

_BOX = re.compile(r'viewBox="\S+ \S+ (\S+) (\S+)"')


def _missing(form: str) -> UsageError:
    return UsageError(
        f"A {form} needs libraries that are not installed.",
        where=Where(key="--output"),
        remedy="Install them: pip install 'edgetime[pictures]'; or write an .svg, which every "
        "browser opens and prints.",
    )


def page_pdf(html: str, form: str = "PDF") -> bytes:
    """Set a page without script on paper.

    Raises
    ------
    UsageError
        The library is not installed.
    """
    try:
        import weasyprint  # noqa: PLC0415  an extra, and heavy
    except (ImportError, OSError) as error:  # OSError: its own library of fonts is missing
        raise _missing(form) from error
    return bytes(weasyprint.HTML(string=html).write_pdf())


def as_pdf(svg: str, form: str = "PDF") -> bytes:
    """Set a picture on a separate page.

    Parameters
    ----------
    svg : str
        As :func:`edgetime.picture.draw_plan` makes it.
    form : str
        What it is for, for the message.

    Raises
    ------
    UsageError
        The library is not installed.
    """
    match = _BOX.search(svg)
    wide, high = (float(match[1]), float(match[2])) if match else (4.0, 3.0)
    height = PAGE_MM * high / wide
    style = f"@page{{size:{PAGE_MM}mm {height:.2f}mm;margin:0}}svg{{width:{PAGE_MM}mm}}"
    return page_pdf(f"<style>{style}body{{margin:0}}</style>{svg}", form)


def as_png(svg: str) -> bytes:
    """Draw a picture as pixels.

    Parameters
    ----------
    svg : str
        As :func:`edgetime.picture.draw_plan` makes it.

    Raises
    ------
    UsageError
        The libraries are not installed.
    """
    pdf = as_pdf(svg, "PNG")
    try:
        import pypdfium2  # noqa: PLC0415  an extra

        page = pypdfium2.PdfDocument(pdf)[0]
        image = page.render(scale=PIXELS / page.get_width()).to_pil()
    except ImportError as error:
        raise _missing("PNG") from error
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()
