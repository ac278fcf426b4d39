"""What a coordinator does about letters and calls."""

import datetime as dt
from collections.abc import Sequence

from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from coop import letters
from coop.command import Refused, command
from coop.models import Deed, Letter, Notice, Person


@command("notice.told_by_phone")
def told_by_phone(deed: Deed, *, person: Person, notices: Sequence[int], reached: bool) -> dict[str, object]:
    """Note a call about these notices: told, or rung in vain (then they stay). The deed keeps the attempt."""
    waiting = Notice.objects.filter(person=person, pk__in=notices, state=Notice.State.PHONE)
    told = sorted(waiting.values_list("pk", flat=True))
    if not told:
        raise Refused(_("There is nothing left to tell %(name)s.") % {"name": person.name}, code="nothing_left")
    if reached:
        waiting.update(state=Notice.State.TOLD, settled_at=deed.happened_at)
    else:
        waiting.update(calls=F("calls") + 1, last_call_at=deed.happened_at)
    return {"person": person, "notices": told, "reached": reached}


@command("letter.send_again")
def send_again(deed: Deed, *, letter: Letter) -> Letter:
    """Queue a letter once more, to where the person is reached now. One that was sent gets a new Message-ID.

    Refused for codes and links (ask for a new one), for letters still on their way, and without an e-mail.
    """
    letter.refresh_from_db()
    if letter.is_secret:
        raise Refused(_("Codes and links are not sent twice. A new one can be asked for."), code="secret")
    if letter.state not in (Letter.State.SENT, Letter.State.FAILED, Letter.State.EXPIRED):
        raise Refused(_("This letter is still on its way."), code="on_its_way")
    to = letter.person.email if letter.person else letter.to
    if not to:
        raise Refused(_("There is no e-mail to send it to. Tell them by phone."), code="no_email")
    letters.requeue(letter, to, timezone.now(), dt.timedelta(days=3))
    letters.ring()
    letter.refresh_from_db()
    return letter
