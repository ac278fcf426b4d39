"""What is printed: a typst page of an app, filled with data, as tagged PDF. Nothing here reads or writes a row.

    printing.pdf("inventory", "count_sheet", {"title": _("Count sheet"), "rows": [...]})

An app's pages stand in `<app>/print/<name>.typ` and begin with

    #import "base.typ": page-of, rows-of
    #let data = json("data.json")
    #show: page-of.with(data)

Data travels as JSON, so nothing that anybody typed is ever code. Figures, units and dates are words already, made with
coop/wording.py. Pictures are bytes under the name the page gives to `image`.
"""

import io
import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import font_source_sans_pro
import segno
import typst
from django.apps import apps
from django.http import HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _

from coop import wording
from coop.models import the_club

FONTS = Path(font_source_sans_pro.__file__).parent / "files"
#: PDF/UA: every picture needs a text of its own, headings and tables are tagged
STANDARD = "ua-1"


def pdf(app: str, name: str, data: Mapping[str, Any], pictures: Mapping[str, bytes] | None = None) -> bytes:
    """The page `<app>/print/<name>.typ` as PDF bytes. `data` needs a "title"; club and moment of printing are added.

    Raises typst.TypstError for a page that is wrong in itself; no data can cause that.
    """
    now = timezone.now()  # paper outlives its day: never "today"
    day = wording.full_day(the_club().day_of(now))
    printed = _("printed %(day)s, %(clock)s") % {"day": day, "clock": wording.clock(now)}
    known = {"club": the_club().name, "printed": printed, **data}
    files = {
        "main.typ": _source(app, name),
        "base.typ": _source("coop", "base"),
        "data.json": json.dumps(known).encode(),
        **(pictures or {}),
    }
    compile_: Any = typst.compile  # its types do not know that it takes a dict of files
    made: bytes = compile_(
        files, font_paths=[str(FONTS)], ignore_system_fonts=True, format="pdf", pdf_standards=[STANDARD]
    )
    return made


def qr(text: str) -> bytes:
    """A QR code as SVG without a border; error correction M, so that a smear is survived."""
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", border=0)
    return out.getvalue()


def answer(content: bytes, name: str) -> HttpResponse:
    """The PDF as a page that opens in the browser and saves under `name`.pdf."""
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response


@cache
def _source(app: str, name: str) -> bytes:
    return (Path(apps.get_app_config(app).path) / "print" / f"{name}.typ").read_bytes()
