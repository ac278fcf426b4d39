"""A file is what its content says: what opens is kept, what does not gets a sentence."""

import zlib

import pytest

from inventory import certificates
from inventory.certificates import NotAPaper, kind_of
from tests.makers import papers


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (papers.pdf(), "application/pdf"),
        (papers.pdf(3), "application/pdf"),
        (papers.picture("PNG"), "image/png"),
        (papers.picture("JPEG"), "image/jpeg"),
    ],
)
def test_what_opens_is_known_by_its_content(content: bytes, kind: str) -> None:
    assert kind_of(content) == kind


PNG, JPEG, PDF = papers.picture("PNG"), papers.picture("JPEG", 600, 400), papers.pdf()


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "kind"),
        (b"a certificate, honestly", "kind"),
        (b"<html><script>alert(1)</script>", "kind"),
        (papers.picture("GIF"), "kind"),
        (b"%PDF-1.7 and so on", "broken"),
        (b"%PDF-1.7\nnothing at all\n%%EOF\n", "broken"),
        (PDF[: len(PDF) // 2], "broken"),
        (PDF[:-8], "broken"),  # only its end mark was cut off; a reader would mend it in silence
        (PNG[:8] + b"rubbish" * 20, "broken"),
        (PNG[: len(PNG) // 2], "broken"),
        (PNG[:60] + bytes([PNG[60] ^ 255]) + PNG[61:], "broken"),
        (JPEG[: len(JPEG) // 2], "broken"),
        (b"\xff\xd8\xff" + b"rubbish" * 20, "broken"),
    ],
)
def test_what_does_not_open_is_said_why(content: bytes, why: str) -> None:
    with pytest.raises(NotAPaper) as trouble:
        kind_of(content)
    assert trouble.value.why == why


def test_a_pdf_without_a_page_is_empty() -> None:
    with pytest.raises(NotAPaper) as trouble:
        kind_of(papers.pdf(0))
    assert trouble.value.why in ("empty", "broken")


def _bomb(side: int) -> bytes:
    """A few bytes that claim to be a picture of side x side points."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return len(body).to_bytes(4) + name + body + zlib.crc32(name + body).to_bytes(4)

    head = side.to_bytes(4) * 2 + bytes([8, 0, 0, 0, 0])
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 9999)) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("side", [6_000, 12_000, 60_000])
def test_a_picture_of_too_many_points_is_not_unpacked(side: int) -> None:
    with pytest.raises(NotAPaper) as trouble:
        kind_of(_bomb(side))
    assert trouble.value.why == "pixels"


def test_a_photograph_of_a_phone_is_not_too_large() -> None:
    assert certificates.MOST_PIXELS > 4_000 * 3_000
    assert kind_of(papers.picture("JPEG", 4_000, 3_000)) == "image/jpeg"
