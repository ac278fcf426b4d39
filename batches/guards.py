"""What the database itself refuses at the bench, whoever asks: laid on both engines by coop.triggers."""

from coop import triggers

for _table in ("batches_recipe", "batches_instructions"):
    triggers.append_only(_table, writable_once=("retired_at",))
triggers.append_only("batches_instructionsdose")
triggers.append_only("batches_titration")

_RECORDED_IT = (
    "NEW.\"verdict\" = 'released' AND EXISTS (SELECT 1 FROM batches_soak s JOIN batches_bench b ON b.id = s.bench_id "
    'WHERE s.id = NEW."soak_id" AND b.recorder_id = NEW."person_id")'
)
for _event in ("INSERT", "UPDATE"):
    triggers.register(
        triggers.Trigger(
            f"batches_release_not_recorder_{_event.lower()}",
            "batches_release",
            _event,
            "the recorder of a bench releases nothing of it",
            sqlite_when=_RECORDED_IT,
            postgresql_when=_RECORDED_IT,
        )
    )
