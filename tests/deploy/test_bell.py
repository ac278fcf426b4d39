"""The bell: rung every minute, without payload, useless after that minute, and again as soon as a worker is up."""

import json
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from django.conf import settings

from coop.site import celery


@pytest.fixture
def queue() -> Iterator[Path]:
    folder = Path(settings.BELL_FOLDER)
    for name in ("queue", "control"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    yield folder / "queue"
    shutil.rmtree(folder)


def rung(queue: Path) -> list[dict[str, Any]]:
    return [json.loads(path.read_text()) for path in sorted(queue.iterdir()) if path.stat().st_size]


def test_the_schedule_rings_again_and_again(queue: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setitem(celery.app.conf.beat_schedule["tick"], "schedule", 0.1)
    step = celery.Schedule(SimpleNamespace(app=celery.app), with_schedule=True)
    step.start(SimpleNamespace(app=celery.app))
    try:
        end = time.monotonic() + 20
        while len(rung(queue)) < 3 and time.monotonic() < end:
            time.sleep(0.05)
    finally:
        step.stop(None)
        step.thread.join(10)
    ticks = rung(queue)
    assert len(ticks) >= 3
    assert not list(Path().glob("celerybeat-schedule*"))
    assert {tick["headers"]["task"] for tick in ticks} == {"coop.tasks.tick"}
    assert all(tick["headers"]["expires"] and not tick["headers"]["eta"] for tick in ticks)


def test_a_worker_that_comes_up_looks_at_once(queue: Path):
    celery.ring_once()
    (tick,) = rung(queue)
    assert tick["headers"]["task"] == celery.TICK


def test_only_a_worker_that_is_told_to_keeps_the_schedule():
    assert not celery.Schedule(SimpleNamespace(app=celery.app)).enabled
    assert celery.app.conf.beat_schedule["tick"]["schedule"] == 60


def test_every_task_answers_to_this_app():
    from coop import tasks

    assert tasks.tick.app.main == celery.app.main
    assert celery.TICK in celery.app.tasks


def test_tasks_have_limits_and_leave_no_results():
    conf = celery.app.conf
    assert conf.task_ignore_result
    assert conf.result_backend is None
    assert 0 < conf.task_soft_time_limit < conf.task_time_limit
    assert conf.worker_prefetch_multiplier == 1
