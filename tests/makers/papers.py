"""Papers as they come with a lot: a PDF of one page, a photograph."""

import io

import pypdfium2
from PIL import Image


def pdf(pages: int = 1) -> bytes:
    paper = pypdfium2.PdfDocument.new()
    for _number in range(pages):
        paper.new_page(200, 200)
    out = io.BytesIO()
    paper.save(out)
    paper.close()
    return out.getvalue()


def picture(kind: str = "PNG", width: int = 60, height: int = 40) -> bytes:
    out = io.BytesIO()
    Image.linear_gradient("L").resize((width, height)).save(out, kind)
    return out.getvalue()
