"""The bell: a tick every minute, without payload and without result. The database is the queue, not the broker.

A lost tick costs nothing, since the next one looks at the database again; a second scheduler does no harm, since work
is claimed by conditional update. What must run once a night is claimed on its Pulse row by the tick itself.
"""

import os
from typing import Any

from celery import Celery
from celery.signals import worker_ready

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.site.settings")

TICK = "coop.tasks.tick"
TICK_SECONDS = 60

app = Celery("coop")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.conf.beat_schedule = {
    "tick": {"task": TICK, "schedule": float(TICK_SECONDS), "options": {"expires": TICK_SECONDS - 5}},
}


@worker_ready.connect
def ring_once(**kwargs: Any) -> None:
    """A worker that has just come up looks at once, rather than in a minute."""
    app.send_task(TICK, expires=TICK_SECONDS - 5)
