"""What a file really is: a PDF that opens, a picture that can be drawn. By its content, never by its name."""

import io
import struct
import threading
import warnings
import zlib

import pypdfium2
from PIL import Image

MOST_BYTES = 1_000_000
#: a photograph of 30 megapixels takes some 120 MB of memory while it is looked at
MOST_PIXELS = 30_000_000
SUFFIXES = {"application/pdf": "pdf", "image/png": "png", "image/jpeg": "jpg"}
_PICTURES = {"PNG": "image/png", "JPEG": "image/jpeg"}
_TAIL = 2048  # the end mark of a PDF stands in its last bytes; a file that was cut off has lost it
#: what the reader of pictures raises over rubbish
_STUMBLES = (
    OSError, SyntaxError, ValueError, TypeError, EOFError, LookupError, ArithmeticError, MemoryError, zlib.error,
    struct.error,
)  # fmt: skip
_one_at_a_time = threading.Lock()  # the PDF library must not be entered by two threads


class NotAPaper(ValueError):
    """The file cannot be kept. `why`: "kind", "broken", "locked", "empty" or "pixels"."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


def kind_of(content: bytes) -> str:
    """The media type of a PDF, PNG or JPEG that can be opened to its end. Raises NotAPaper."""
    if content.startswith(b"%PDF-"):
        _open_pdf(content)
        return "application/pdf"
    if content.startswith((b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")):
        return _open_picture(content)
    raise NotAPaper("kind")


def _open_pdf(content: bytes) -> None:
    if b"%%EOF" not in content[-_TAIL:]:
        raise NotAPaper("broken")
    with _one_at_a_time:
        try:
            paper = pypdfium2.PdfDocument(content)
        except pypdfium2.PdfiumError as trouble:
            raise NotAPaper("locked" if "assword" in str(trouble) else "broken") from trouble
        try:
            if len(paper) < 1:
                raise NotAPaper("empty")
            paper[0].close()
        except pypdfium2.PdfiumError as trouble:
            raise NotAPaper("broken") from trouble
        finally:
            paper.close()


def _open_picture(content: bytes) -> str:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(content), formats=list(_PICTURES))
            kind = _PICTURES[str(picture.format)]
            if picture.width * picture.height > MOST_PIXELS:
                raise NotAPaper("pixels")
            picture.draft("L", (max(picture.width // 8, 1), max(picture.height // 8, 1)))  # a JPEG is drawn small
            picture.load()
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as trouble:
        raise NotAPaper("pixels") from trouble
    except NotAPaper:
        raise
    except _STUMBLES as trouble:
        raise NotAPaper("broken") from trouble
    return kind
