"""What every page that does a deed shares: a form with a key, one command, one answer."""

import dataclasses
import datetime as dt
from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpRequest

from coop.command import Refused, new_key
from coop.models import Deed


class DeedForm(forms.Form):
    """A form that carries the key of one deed from when it was drawn, so that a double tap does it once."""

    key = forms.CharField(widget=forms.HiddenInput, initial=new_key, max_length=64)

    def arguments(self) -> dict[str, Any]:
        """What goes to the command: everything entered but the key and `happened_at`."""
        return {name: value for name, value in self.cleaned_data.items() if name not in ("key", "happened_at")}

    def entered_time(self) -> dt.datetime | None:
        moment: dt.datetime | None = self.cleaned_data.get("happened_at")
        return moment


@dataclasses.dataclass(frozen=True)
class Outcome:
    done: bool
    result: Any = None
    code: str = ""

    @property
    def status(self) -> int:
        """The status of the page that shows the form again."""
        return 200 if self.done else 422


NOT_DONE = Outcome(False)


def carry_out(request: HttpRequest, form: DeedForm, command: Callable[..., Any], **arguments: Any) -> Outcome:
    """Run one command with what the form holds plus `arguments`. A refusal becomes a sentence on the form.

    An unlikely amount ("did_you_mean") brings the tick `confirmed` of the form in sight.
    """
    if not form.is_valid():
        return NOT_DONE
    try:
        result = command(
            actor=request.user,
            key=form.cleaned_data["key"],
            happened_at=form.entered_time(),
            door=Deed.Door.PAGE,
            **{**form.arguments(), **arguments},
        )
    except Refused as refusal:
        form.add_error(
            refusal.facts.get("field") if refusal.facts.get("field") in form.fields else None, refusal.sentence
        )
        if refusal.code == "did_you_mean" and "confirmed" in form.fields:
            form.fields["confirmed"].widget = forms.CheckboxInput()
        return Outcome(False, code=refusal.code)
    return Outcome(True, result)
