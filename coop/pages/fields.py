"""Form fields that speak people's units and hand over integers."""

import datetime as dt
from collections.abc import Callable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coop import codes, units
from coop.command import Refused
from coop.models import the_club


class NumberField(forms.CharField):
    """Text on the number pad, read by a function of coop.units. `unit` stands beside the box."""

    read: Callable[[object], int] = staticmethod(units.pieces)
    unit: Any = ""

    def __init__(self, *, least: int | None = None, most: int | None = None, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        self.least, self.most = least, most
        super().__init__(**kwargs)
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text in ("", None):
            return None
        try:
            number = type(self).read(text)
        except units.BadUnit as trouble:
            raise ValidationError(str(trouble)) from trouble
        if self.least is not None and number < self.least:
            raise ValidationError(_("“%(text)s” is too small here.") % {"text": text})
        if number > (self.most if self.most is not None else units.BIGGEST):
            raise ValidationError(_("“%(text)s” is too large here. Is the unit right?") % {"text": text})
        return number


class MassField(NumberField):
    """Grams (or what is written behind the figure) to milligrams."""

    read = staticmethod(units.mass_mg)
    unit = "g"

    def __init__(self, *, least: int | None = 1, most: int | None = 10**12, **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)


class PiecesField(NumberField):
    read = staticmethod(units.pieces)

    def __init__(self, *, least: int | None = 1, most: int | None = 10**9, unit: Any = "", **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)
        self.unit = unit
        self.widget.attrs["inputmode"] = "numeric"


class TempField(NumberField):
    read = staticmethod(units.temp_mc)
    unit = "°C"

    def __init__(self, *, least: int | None = -30_000, most: int | None = 150_000, **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)


class FractionField(NumberField):
    """“0,375” or “37.5 %” to parts per 10^9."""

    read = staticmethod(units.fraction_ppb)

    def __init__(self, *, least: int | None = 0, most: int | None = units.PPB, **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)


class MoneyField(NumberField):
    read = staticmethod(units.cents)

    def __init__(self, *, least: int | None = 0, most: int | None = 10**11, **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)


class CodeField(forms.CharField):
    """A code typed, pasted or scanned; the canonical eight characters."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self.widget.attrs.update({"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"})

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text in ("", None):
            return None
        try:
            return codes.check(text)
        except Refused as refusal:
            raise ValidationError(refusal.sentence) from refusal


class DayField(forms.DateField):
    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        super().__init__(**kwargs)


class MomentField(forms.DateTimeField):
    """When it happened, in the club's zone; empty means now. A clock time that occurs twice is the earlier one."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("label", gettext_lazy("When, if not just now"))
        kwargs.setdefault("widget", forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"))
        kwargs.setdefault("input_formats", ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"])
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> Any:
        if value in self.empty_values:
            return None
        if isinstance(value, str):
            with timezone.override(the_club().tz):
                moment = super().to_python(value)
        else:
            moment = super().to_python(value)
        if moment is not None and not units.FIRST_YEAR <= moment.year <= units.LAST_YEAR:
            raise ValidationError(_("“%(text)s” is not a moment that fits here. Look at the year.") % {"text": value})
        return moment

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, dt.datetime) and timezone.is_aware(value):
            return value.astimezone(the_club().tz).replace(tzinfo=None)
        return super().prepare_value(value)
