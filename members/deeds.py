"""The members' deeds that move stock, in words."""

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

from coop import registry


@registry.moving_deeds.register("members")
def moving() -> dict[str, str | Promise]:
    return {
        "members.hand_over": gettext_lazy("handed over"),
        "members.pass_on": gettext_lazy("passed on"),
        "members.pass_no_show": gettext_lazy("passed on, not fetched"),
        "members.bring_back": gettext_lazy("brought back"),
        "members.strips_in": gettext_lazy("strips put in"),
        "members.strips_out": gettext_lazy("strips taken out"),
    }
