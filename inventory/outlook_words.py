"""The outlook in words and as a picture, for pages, Today and letters."""

import datetime as dt

from django.utils import dateformat
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop import wording
from coop.codes import spaced
from coop.drawing.outlook import BalanceStep, balance_spark, projected_balance
from coop.drawing.picture import Picture
from inventory.amounts import amount
from inventory.outlook import SEASON, Outlook
from inventory.science.outlook import ARRIVAL, EXPIRED, Step

#: which label stays on the picture where two would meet
RUN_OUT, BREACH, LOST = 10**18, 10**17, 10**16


def day_of(day: dt.date, today: dt.date) -> str:
    """ "Sat 8 May", with the year when it is not this one."""
    return dateformat.format(day, "D j F" if day.year == today.year else "D j F Y")


def end_of(found: Outlook) -> str:
    """ "31 August": where an outlook ends."""
    return dateformat.format(found.until, "j F" if found.until.year == found.today.year else "j F Y")


def answer(found: Outlook) -> str:
    """The outlook in one line."""
    figures, today = found.projection, found.today
    if figures.runs_out_on == today:
        return _("Runs out today")
    if figures.runs_out_on is not None:
        return _("Runs out on %(day)s") % {"day": day_of(figures.runs_out_on, today)}
    if figures.breached_on == today:
        return _("Under its safety stock")
    if figures.breached_on is not None:
        return _("Under its safety stock from %(day)s") % {"day": day_of(figures.breached_on, today)}
    if not figures.start and not figures.steps:
        return _("Nothing of it on the shelf")
    return _("Enough to %(day)s") % {"day": end_of(found)}


def state(found: Outlook) -> tuple[str, str]:
    """Shape and word for a table: what is to be done about it."""
    by = found.order_by
    if by is not None and by <= found.today:
        return ("overdue", _("order now"))
    if by is not None:
        shape = "soon" if found.is_due_soon(found.today) else "waits"
        return (shape, _("order %(away)s") % {"away": wording.away(by, found.today)})
    if found.projection.buy:
        return ("soon", _("order, no supplier chosen"))
    if found.comes_late:
        return ("soon", _("the order comes late"))
    if not found.projection.start and not found.projection.steps:
        return ("info", _("nothing of it"))
    return ("fine", _("enough"))


def to_buy(found: Outlook) -> str:
    """ "7 packs of 1 000 g", or the bare amount where no pack size is entered; nothing where nothing is short."""
    figures, pack = found.projection, found.terms.pack
    if not figures.buy:
        return ""
    if not figures.packs or pack is None:
        return amount(figures.buy, found.material)
    return _("%(packs)s of %(size)s") % {
        "packs": wording.counted(figures.packs, "pack"),
        "size": amount(pack, found.material),
    }


def after_buying(found: Outlook) -> str:
    """Where the outlook ends once that much was bought."""
    figures = found.projection
    above = figures.end + figures.buy - found.terms.safety
    if not above:
        return _("Then %(day)s ends at the safety stock.") % {"day": end_of(found)}
    return _("Then %(day)s ends %(amount)s above the safety stock.") % {
        "day": end_of(found),
        "amount": amount(above, found.material),
    }


def balance_steps(found: Outlook) -> list[BalanceStep]:
    """What the picture draws: what is counted today, then every step that changes it."""
    figures = found.projection
    steps = [BalanceStep(found.today, figures.start)]
    before, is_breached, is_out = figures.start, figures.start < found.terms.safety, False
    for step in figures.steps:
        if not step.change:
            continue
        breaches, runs_out = step.balance < found.terms.safety, step.balance < 0
        words, weight = _on_the_picture(step, found), abs(step.change)
        if runs_out and not is_out:
            words = _("run out, %(amount)s short") % {"amount": amount(-step.balance, found.material)}
            weight = RUN_OUT
        elif breaches and not is_breached:
            words = _("%(amount)s left, safety breached") % {"amount": amount(step.balance, found.material)}
            weight = BREACH
        elif step.kind == EXPIRED:
            weight = LOST
        is_breached, is_out = is_breached or breaches, is_out or runs_out
        if step.balance != before:
            steps.append(BalanceStep(step.day, step.balance, words, step.kind, weight))
        before = step.balance
    return steps


def picture(found: Outlook) -> Picture:
    """The projected balance; the same figures stand in a table beside it."""
    kinds = _kinds(found)
    lead = _("Drawn by %(kinds)s.") % {"kinds": wording.listed(kinds)} if kinds else ""
    unit = _("grams") if found.material.unit == "mass" else _("pieces")
    drawn = projected_balance(
        balance_steps(found),
        title=_("Projected balance to %(day)s, %(unit)s") % {"day": end_of(found), "unit": unit},
        until=found.until,
        safety=found.terms.safety,
        order_by=found.order_by,
        unit=found.material.unit,
        lead=lead,
    )
    return Picture(drawn.title, narrow=drawn.narrow, wide=drawn.wide, lead=drawn.lead)


def spark(found: Outlook) -> SafeString:
    """The balance, small, for beside a deed."""
    return balance_spark(balance_steps(found), found.until, found.terms.safety)


def step_words(step: Step, found: Outlook) -> str:
    """One row of the table: what happens."""
    if step.kind == EXPIRED:
        code = next(lot.code for lot in found.lots if step.key == f"lot:{lot.item_id}")
        if not step.change:
            return _("%(lot)s expires, nothing left of it") % {"lot": spaced(code)}
        return _("%(lot)s expires, %(amount)s lost") % {
            "lot": spaced(code),
            "amount": amount(-step.change, found.material),
        }
    return step.what


def _on_the_picture(step: Step, found: Outlook) -> str:
    said = {"amount": amount(abs(step.change), found.material)}
    if step.kind == EXPIRED:
        return _("%(amount)s have expired") % said
    if step.kind == ARRIVAL:
        return _("%(amount)s arrive") % said
    if step.key == SEASON:
        return _("last year’s season, %(amount)s") % said
    if step.key.startswith("round:"):
        return _("%(amount)s more asked for") % said
    return _("bench draws %(amount)s") % said


def _kinds(found: Outlook) -> list[str]:
    """What is wanted, by kind."""
    keys = {demand.key.partition(":")[0] for demand in found.demands if demand.quantity}
    named = (
        ("bench", _("planned benches")),
        ("round", _("open asks they do not cover")),
        (SEASON, _("last year’s season")),
    )
    return [words for key, words in named if key in keys]
