"""The bench's deeds that move stock, in words."""

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

from coop import registry


@registry.moving_deeds.register("batches")
def moving() -> dict[str, str | Promise]:
    return {
        "batches.weigh_in": gettext_lazy("weighed in"),
        "batches.correct_weighing": gettext_lazy("weighing set right"),
        "batches.add_mix": gettext_lazy("mix added"),
        "batches.enter_solution": gettext_lazy("solution entered"),
        "batches.split_off": gettext_lazy("split off"),
        "batches.lay_strips": gettext_lazy("strips laid in"),
        "batches.correct_strips": gettext_lazy("strips set right"),
        "batches.pour": gettext_lazy("poured"),
        "batches.lift": gettext_lazy("lifted out"),
        "batches.bag": gettext_lazy("bagged"),
        "batches.correct_bag": gettext_lazy("bag set right"),
        "batches.split_bag": gettext_lazy("bag split"),
        "batches.retain_sample": gettext_lazy("sample retained"),
        "batches.return_solution": gettext_lazy("solution returned"),
        "batches.declare_loss": gettext_lazy("loss declared"),
        "batches.close_bench": gettext_lazy("bench closed"),
        "batches.abandon_bench": gettext_lazy("bench abandoned"),
        "batches.reject_soak": gettext_lazy("soak rejected"),
        "batches.send_to_rework": gettext_lazy("sent to rework"),
    }
