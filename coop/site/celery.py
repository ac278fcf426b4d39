"""The bell: a tick every minute, without payload and without result. The database is the queue, not the broker.

A lost tick costs nothing, since the next one looks at the database again; a second scheduler does no harm, since work
is claimed by conditional update. What must run once a night is claimed on its Pulse row by the tick itself.
"""

import os
from typing import Any

import click
from celery import Celery, bootsteps
from celery.beat import EmbeddedService
from celery.signals import worker_ready

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.site.settings")

TICK = "coop.tasks.tick"
FILES = "inventory.tasks.judge_files"
TICK_SECONDS = 60

app = Celery("coop")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.conf.beat_schedule = {
    "tick": {"task": TICK, "schedule": float(TICK_SECONDS), "options": {"expires": TICK_SECONDS - 5}},
    "files": {"task": FILES, "schedule": float(TICK_SECONDS), "options": {"expires": TICK_SECONDS - 5}},
}


class Schedule(bootsteps.StartStopStep):  # type: ignore[misc]
    """The schedule as a thread of a worker started `--with-schedule`: a process of its own would cost 80 MB more."""

    def __init__(self, worker: Any, with_schedule: bool = False, **options: Any) -> None:
        super().__init__(worker, **options)
        self.enabled = with_schedule
        self.thread: Any = None

    def start(self, worker: Any) -> None:
        self.thread = EmbeddedService(worker.app, thread=True, scheduler_cls=worker.app.conf.beat_scheduler)
        self.thread.start()

    def stop(self, worker: Any) -> None:
        """Told, not waited for: it sleeps up to a minute, holds nothing, and ends with the process."""
        if self.thread is not None:
            self.thread.service.stop()

    terminate = stop


app.user_options["worker"].add(click.Option(["--with-schedule"], is_flag=True, help="ring the bell from this worker"))
app.steps["worker"].add(Schedule)


@worker_ready.connect
def ring_once(**kwargs: Any) -> None:
    """A worker that has just come up looks at once, rather than in a minute."""
    app.send_task(TICK, expires=TICK_SECONDS - 5)
