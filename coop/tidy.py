"""What is of no more use is not kept: sessions that ended, codes and links that are over, letters of last season.

Notices stay: their keys are what keeps a thing from being told twice.
"""

import datetime as dt

from django.contrib.sessions.models import Session

from coop.models import FreshCode, Invitation, Letter

LETTER_DAYS = 180
LINK_DAYS = 30


def tidy(now: dt.datetime) -> int:
    """Delete what is over; returns how many rows went. Harmless when run twice."""
    settled = [Letter.State.SENT, Letter.State.FAILED, Letter.State.EXPIRED]
    over = (
        Session.objects.filter(expire_date__lt=now),
        FreshCode.objects.filter(valid_until__lt=now),
        Invitation.objects.filter(valid_until__lt=now - dt.timedelta(days=LINK_DAYS)),
        Letter.objects.filter(state__in=settled, made_at__lt=now - dt.timedelta(days=LETTER_DAYS)),
    )
    return sum(rows.delete()[0] for rows in over)
