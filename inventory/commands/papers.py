"""Papers of a lot, kept as bytes beside the book."""

import hashlib

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed, Document
from inventory.models import Item, Lot, Material

MOST_BYTES = 1_000_000
SIGNS = {b"%PDF-": "application/pdf", b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
SUFFIXES = {"application/pdf": "pdf", "image/png": "png", "image/jpeg": "jpg"}


@command("inventory.attach_certificate")
def attach_certificate(deed: Deed, *, item: Item, name: str, content: bytes, names_form: bool = False) -> Document:
    """Keep a lot's certificate: PDF, PNG or JPEG by its content, at most 1 MB. A newer one takes the place of the old.

    With `names_form` the certificate names the dihydrate, and a lot of unknown form becomes dihydrate.
    Refused: "document" for another kind of file or one too large.
    """
    if len(content) > MOST_BYTES:
        raise Refused(
            _("The file is larger than 1 MB. Photograph it smaller, or scan it in grey."), "document", field="file"
        )
    kind = next((kind for sign, kind in SIGNS.items() if content.startswith(sign)), None)
    if kind is None:
        raise Refused(_("Only a PDF, a PNG or a JPEG can be kept."), "document", field="file")
    paper = Document.objects.create(
        name=name[-120:], media_type=kind, content=content, sha256=hashlib.sha256(content).hexdigest(), deed=deed
    )
    lot = Lot.objects.select_related("item__material").get(pk=item.pk)
    lot.certificate = paper
    is_acid = lot.item.material is not None and lot.item.material.kind == Material.Kind.ACID
    lot.certificate_names_form = names_form and is_acid
    if lot.certificate_names_form and lot.form == Lot.Form.UNKNOWN:
        lot.form = Lot.Form.DIHYDRATE
    lot.save(update_fields=["certificate", "certificate_names_form", "form"])
    return paper
