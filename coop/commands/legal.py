"""The legal basis: what the club relies on, who checked it, until when. Recorded, never advised."""

import datetime as dt

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed, LegalBasis


@command("legal_basis.note", gate=True)
def note_legal_basis(
    deed: Deed,
    *,
    subject: str,
    rule: str,
    reference: str,
    checked_by: str,
    valid_from: dt.date,
    valid_until: dt.date,
) -> LegalBasis:
    """Record a basis for possession, own use or supply. Refused for an unknown subject or a backward span."""
    if subject not in LegalBasis.Subject.values:
        raise Refused(_("A legal basis is for possession, own use or supply."), code="unknown", field="subject")
    if valid_until < valid_from:
        raise Refused(
            _("It ends before it begins; nothing was written. Look at the two dates."), code="span", field="valid_until"
        )
    return LegalBasis.objects.create(
        subject=subject,
        rule=rule,
        reference=reference,
        checked_by=checked_by,
        valid_from=valid_from,
        valid_until=valid_until,
        deed=deed,
    )


@command("legal_basis.end", gate=True)
def end_legal_basis(deed: Deed, *, basis: LegalBasis) -> LegalBasis:
    """End a basis before its date: from now on nothing leans on it. Ending it twice is refused."""
    ended = LegalBasis.objects.filter(pk=basis.pk, ended_at=None).update(ended_at=deed.happened_at)
    if not ended:
        raise Refused(_("This basis has been ended already."), code="ended")
    basis.refresh_from_db()
    return basis
