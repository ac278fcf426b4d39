"""The shared parts of the look, as template tags. In a template: {% load coop %}.

| write                                                       | get                                               |
|-------------------------------------------------------------|---------------------------------------------------|
| {% page_head title lead=l crumbs=c state="hold" word="…" %} | way here, h1, lead, state at the right            |
| … shape="hold" day=True                                     | a shape before the title; the large h1 of Today   |
| {% state "soon" "due in 2 days" %}                          | shape and word; the shapes are below              |
| {% thread stops %}                                          | list of coop.thread.ThreadStop                    |
| {% code_link code url %}                                    | the code in two groups, a link if there is a url  |
| {% limit_bar value low high warn_low warn_high u to=x %}    | the bar of one figure                             |
| {% limits rows %}                                           | list of coop.parts.LimitRow as a table of checks  |
| {% reach reach form.mass %}                                 | coop.parts.Reach: figure to reach, entry, pad     |
| {% picture p %} {% picture p level=3 %}                     | coop.drawing.picture.Picture, its table one tap off |
| {% table shown %}                                           | coop.tables.Shown: filter, sort, page, export     |
| {% field form.x %}                                          | label, help, box, unit, error                     |
| {% deed_form form "Receive lot" action=u tone=t cancel=u %} | whole form, key, one filled button; tone="rust": hold |
| {% deed_button "Lift the hold" url key=k tone="outline" %}  | a form of one button; tones: filled outline rust  |
| {% button "Open the three" url tone="filled" big=True %}    | a link that looks like a button                   |
| {% caution "Bold." "Rest." sheet=url call=url %}            | ochre bar with a triangle; first thing in main    |
| {% warned "soon" "Bold." "Rest." call=url %}                | one line with its shape; "stop" is the octagon    |
| {% margin deeds %}  {% quiet lines %}                       | Today: list of MarginDeed; list of QuietLine      |
| {% empty "What for." "Receive the first lot" url %}         | dashed ring, one sentence, one button             |
| {% print_link url "Print as PDF" %}                         | a link to a paper                                 |
| {{ mg|grams }} {{ mg|grams:1 }} {{ mc|celsius }} {{ ppb|w }} {{ ppb|percent }} | "1 944 g" "50.3 °C" "0.3601"   |
| {{ d|day }} {{ d|long_day }} {{ d|away }}                   | "Sat 6 Jun" "Mon 22 March" "in 5 days"            |
| {{ t|moment }} {{ t|clock }} {{ x|span }}                   | "today 09:12" "09:12" "2 days 4 h"                |
| {{ n|pieces }} {{ n|pieces:"hive" }} {{ n|spelled }}        | "102 strips" "3 hives" "Five"                     |
| {{ c|cents }} {{ m|cost }} {{ m|cost:4 }} {% money c "EUR" %} {{ x|figure:2 }} {{ code|spaced }} | "12.50 EUR" … |

Shapes: fine waits soon overdue stop hold info phone.
Classes for layout without a tag: <div class="with-side"><div>…</div><aside class="side">…</aside></div> (a column
behind the pine rule), "halves" (two pictures side by side), "buttons" (a row), "facts" (a dl of figures), "links",
"soft", "lead", "prose", "due" (the large date), "near" and "gap" (space above), "choice" (joined links, aria-current on
one), "only-read" (for screen readers).
Scripts read: <time data-clock data-zone="Europe/Paris">, <b data-countdown="ISO time" data-bar="id of a progress">,
<button data-print>, <button data-repeat="Keep"> (repeats the figure of a {% reach %}).
A page extends coop/base.html (blocks title, head, main; `place` in the context marks the room: today shelf bench
shareout hives trace) or coop/base_bench.html (blocks title, out_url, out, unsent, main, deed).
"""

import datetime as dt
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from django import forms, template
from django.forms import BoundField
from django.utils.html import format_html
from django.utils.safestring import SafeString

from coop import parts, wording
from coop.command import new_key
from coop.drawing import marks
from coop.drawing.picture import Picture
from coop.tables import Shown
from coop.thread import ThreadStop, drawn

register = template.Library()


# ---- figures -------------------------------------------------------------------------------------------------------
@register.filter
def grams(mass_mg: int | None, places: int | None = None) -> str:
    return wording.mass_g(mass_mg, places)


@register.filter
def celsius(temp_mc: int | None, places: int | None = 1) -> str:
    return wording.temp(temp_mc, places)


@register.filter
def w(w_ppb: int | None, places: int = 4) -> str:
    return wording.fraction(w_ppb, places)


@register.filter
def percent(share_ppb: int | None, places: int = 1) -> str:
    return wording.percent(share_ppb, 10**9, places)


@register.filter
def pieces(count: int | None, noun: str = "strip") -> str:
    return wording.counted(count, noun)


@register.filter
def figure(value: wording.Number | None, places: int | None = None) -> str:
    return wording.NOTHING if value is None else wording.figure(value, places)


@register.filter
def cents(value: int | None) -> str:
    return wording.money(value)


@register.filter
def cost(micro_cents: int | Fraction | None, places: int = 2) -> str:
    return wording.cost(micro_cents, places=places)


@register.filter
def day(value: dt.date | None) -> str:
    return wording.day(value)


@register.filter
def long_day(value: dt.date) -> str:
    return wording.long_day(value)


@register.filter
def moment(value: dt.datetime | None) -> str:
    return wording.moment(value)


@register.filter
def clock(value: dt.datetime | None) -> str:
    return wording.clock(value)


@register.filter
def span(value: dt.timedelta | float | None) -> str:
    return wording.span(value)


@register.filter
def away(value: dt.date) -> str:
    return wording.away(value)


@register.filter
def spaced(code: str) -> str:
    return wording.code(code)


@register.filter
def spelled(count: int) -> str:
    return wording.spelled(count)


@register.simple_tag
def money(value: int | None, currency: str | None = None) -> str:
    return wording.money(value, currency)


# ---- signs ---------------------------------------------------------------------------------------------------------
@register.simple_tag
def state(shape: str, word: str = "") -> SafeString:
    """Shape and word. Without a word only the shape, for beside a word that stands there already."""
    if not word:
        return marks.state_mark(shape)
    return format_html('<span class="state">{}<span>{}</span></span>', marks.state_mark(shape), word)


@register.simple_tag
def code_link(code: str, url: str = "") -> SafeString:
    if not code:
        return SafeString("")
    if not url:
        return format_html('<span class="code">{}</span>', wording.code(code))
    return format_html('<a class="code" href="{}">{}</a>', url, wording.code(code))


@register.simple_tag
def limit_bar(
    value: float | None,
    low: float | None = None,
    high: float | None = None,
    warn_low: float | None = None,
    warn_high: float | None = None,
    uncertainty: float = 0,
    to: float | None = None,
) -> SafeString:
    return marks.limit_bar(value, low, high, warn_low, warn_high, uncertainty, to)


@register.simple_tag
def empty_thread() -> SafeString:
    return marks.empty_thread()


# ---- parts ---------------------------------------------------------------------------------------------------------
@register.inclusion_tag("coop/parts/page_head.html")
def page_head(
    title: str,
    lead: str = "",
    crumbs: Sequence[parts.Crumb] = (),
    state: str = "",
    word: str = "",
    shape: str = "",
    day: bool = False,
) -> dict[str, Any]:
    """`shape` puts a state's shape before the title itself, as for a thing on hold."""
    return {"title": title, "lead": lead, "crumbs": crumbs, "state": state, "word": word, "shape": shape, "day": day}


@register.inclusion_tag("coop/parts/thread.html")
def thread(stops: Sequence[ThreadStop]) -> dict[str, Any]:
    return {"stops": drawn(stops)}


@register.inclusion_tag("coop/parts/limits.html")
def limits(rows: Sequence[parts.LimitRow]) -> dict[str, Any]:
    return {"rows": rows, "bars": any(row.bar for row in rows)}


@register.inclusion_tag("coop/parts/picture.html")
def picture(picture: Picture, level: int = 2) -> dict[str, Any]:
    return {"picture": picture, "level": level}


@register.inclusion_tag("coop/parts/table.html")
def table(table: Shown) -> dict[str, Any]:
    return {"table": table}


@register.inclusion_tag("coop/parts/margin.html")
def margin(deeds: Sequence[parts.MarginDeed]) -> dict[str, Any]:
    return {"deeds": deeds}


@register.inclusion_tag("coop/parts/quiet.html")
def quiet(lines: Sequence[parts.QuietLine]) -> dict[str, Any]:
    return {"lines": lines}


@register.inclusion_tag("coop/parts/empty.html")
def empty(sentence: str, word: str = "", url: str = "") -> dict[str, Any]:
    return {"sentence": sentence, "word": word, "url": url}


@register.inclusion_tag("coop/parts/caution.html")
def caution(bold: str, rest: str = "", sheet: str = "", call: str = "") -> dict[str, Any]:
    return {"bold": bold, "rest": rest, "sheet": sheet, "call": call}


@register.inclusion_tag("coop/parts/warned.html")
def warned(shape: str, bold: str = "", rest: str = "", sheet: str = "", call: str = "") -> dict[str, Any]:
    return {"shape": shape, "bold": bold, "rest": rest, "sheet": sheet, "call": call}


@register.inclusion_tag("coop/parts/print_link.html")
def print_link(url: str, word: str = "") -> dict[str, Any]:
    return {"url": url, "word": word}


@register.inclusion_tag("coop/parts/button.html")
def button(word: str, url: str, tone: str = "outline", big: bool = False) -> dict[str, Any]:
    return {"word": word, "url": url, "tone": tone, "big": big}


# ---- forms ---------------------------------------------------------------------------------------------------------
@register.inclusion_tag("coop/parts/field.html")
def field(field: BoundField) -> dict[str, Any]:
    widget = field.field.widget
    if isinstance(widget, forms.CheckboxInput):
        kind = "tick"
    elif isinstance(widget, forms.RadioSelect | forms.CheckboxSelectMultiple):
        kind = "group"
    else:
        kind = "box"
    return {"field": field, "kind": kind, "unit": getattr(field.field, "unit", "")}


@register.inclusion_tag("coop/parts/deed_form.html", takes_context=True)
def deed_form(
    context: template.Context, form: forms.BaseForm, word: str, action: str = "", tone: str = "filled", cancel: str = ""
) -> dict[str, Any]:
    return {
        "form": form,
        "word": word,
        "action": action,
        "tone": tone,
        "cancel": cancel,
        "csrf_token": context.get("csrf_token"),
    }


@register.inclusion_tag("coop/parts/deed_button.html", takes_context=True)
def deed_button(
    context: template.Context, word: str, action: str, key: str = "", tone: str = "outline", **hidden: Any
) -> dict[str, Any]:
    """A deed of one press. Without a key a fresh one is drawn; other keywords travel as hidden fields."""
    return {
        "word": word,
        "action": action,
        "key": key or new_key(),
        "tone": tone,
        "hidden": hidden.items(),
        "csrf_token": context.get("csrf_token"),
    }


@register.inclusion_tag("coop/parts/reach.html")
def reach(reach: parts.Reach, field: BoundField) -> dict[str, Any]:
    """A plain box without a script; with one, the entry is echoed large over its bar and the pad types into it."""
    low, high = reach.target_mg - reach.fine_mg, reach.target_mg + reach.fine_mg
    ends = [reach.target_mg - reach.warn_mg, low, high, reach.target_mg + reach.warn_mg]
    places = 0 if reach.fine_mg >= 2000 else reach.places  # four figures share the width of a phone
    return {
        "reach": reach,
        "field": field,
        "unit": "g",
        "target": wording.mass_g(reach.target_mg, reach.places),
        "fine_text": reach.fine_text
        or f"\u00b1{wording.percent(reach.fine_mg, reach.target_mg)}".removesuffix(f".0{wording.NARROW}%"),
        "bar": marks.reach_bar(
            reach.target_mg,
            reach.fine_mg,
            reach.warn_mg,
            reach.value_mg,
            [wording.mass_g(end, places).removesuffix(f"{wording.NARROW}g") for end in ends],
        ),
        "keys": "123456789",
    }
