"""What the bell rings on the shelf: without payload, since the database is the queue, and harmless when rung twice."""

from celery import shared_task

from inventory.files import background, work


@shared_task(name=work.TASK, ignore_result=True)
def judge_files() -> None:
    """Files of opening stock that wait are read and judged, and written where somebody asked for it."""
    background.do_waiting()
