"""Papers of a lot, kept as bytes beside the book."""

import hashlib

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused, command
from coop.models import Deed, Document
from inventory import certificates
from inventory.models import Item, Lot, Material

MOST_BYTES = certificates.MOST_BYTES


@command("inventory.attach_certificate")
def attach_certificate(deed: Deed, *, item: Item, name: str, content: bytes, names_form: bool = False) -> Document:
    """Keep a lot's certificate: PDF, PNG or JPEG by its content, at most 1 MB. A newer one takes the place of the old.

    With `names_form` the certificate names the dihydrate, and a lot of unknown form becomes dihydrate.
    Refused: "document" for another kind of file, one too large, or one that does not open.
    """
    paper = keep(deed, name, content)
    lot = Lot.objects.select_related("item__material").get(pk=item.pk)
    lot.certificate = paper
    is_acid = lot.item.material is not None and lot.item.material.kind == Material.Kind.ACID
    lot.certificate_names_form = names_form and is_acid
    if lot.certificate_names_form and lot.form == Lot.Form.UNKNOWN:
        lot.form = Lot.Form.DIHYDRATE
    lot.save(update_fields=["certificate", "certificate_names_form", "form"])
    return paper


def keep(deed: Deed, name: str, content: bytes, field: str = "file") -> Document:
    """The file as a row, once its content was looked at. Refused: "document", with the form's `field`."""
    if len(content) > MOST_BYTES:
        raise Refused(too_large(), code="document", field=field)
    try:
        kind = certificates.kind_of(content)
    except certificates.NotAPaper as trouble:
        raise Refused(_sentence(trouble.why), code="document", field=field) from trouble
    plain = " ".join(name.replace("\x00", "").split()) or _("certificate")
    return Document.objects.create(
        name=plain[-120:],
        media_type=kind,
        content=content,
        sha256=hashlib.sha256(content).hexdigest(),
        deed=deed,
    )


def too_large() -> str:
    return _("The file is larger than 1 MB. Photograph it smaller, or scan it in grey.")


def _sentence(why: str) -> str:
    return {
        "kind": _("Only a PDF, a PNG or a JPEG can be kept, and this is none of them, whatever its name says."),
        "broken": _(
            "The file does not open: it is damaged or was cut off on its way. Save it again, or photograph it."
        ),
        "locked": _("The PDF asks for a password. Save it without one, or photograph the paper."),
        "empty": _("The PDF has no page in it."),
        "pixels": _("The picture has more than %(most)s million points. Photograph it smaller.")
        % {"most": wording.figure(certificates.MOST_PIXELS // 10**6)},
    }[why]
