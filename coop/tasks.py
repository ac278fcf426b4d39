"""The tasks the bell rings: without payload, since the database is the queue, and harmless when rung twice."""

from celery import shared_task
from django.utils import timezone

from coop import letters, notices, proof, pulse, tidy


@shared_task(name="coop.tasks.tick", ignore_result=True)
def tick() -> None:
    """What is due: notices, letters, and once a night the proof of the books and the tidying up."""
    now = timezone.now()
    with pulse.beat(pulse.SENDER, now) as claim:
        if claim.is_mine:
            notices.tick(now)
            claim.note = str(letters.send_due(now))
    with pulse.nightly(pulse.PROVE, now) as claim:
        if claim.is_mine:
            claim.note = proof.summary()
            tidy.tidy(now)


@shared_task(name="coop.tasks.post", ignore_result=True)
def post() -> None:
    """Letters that cannot wait for the next tick, such as a code to sign in."""
    letters.send_due(timezone.now(), only_urgent=True)
