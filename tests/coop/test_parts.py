"""The shared parts of the look: what they say, to the eye and to a screen reader."""

import re

import pytest
from django import forms
from django.contrib.staticfiles import finders
from django.http import Http404
from django.template import Context, Template
from django.template.loader import render_to_string
from django.test import RequestFactory

from coop import parts
from coop.context import Place, everywhere
from coop.models.people import Person
from coop.pages.base import DeedForm
from coop.pages.fields import MassField
from coop.pages.theme import choose_theme
from coop.thread import ThreadStop, drawn


def render(source, **context):
    return Template("{% load coop %}" + source).render(Context(context))


class Weighing(DeedForm):
    mass = MassField(label="Net mass", help_text="From the label.")
    note = forms.CharField(label="Note", required=False)
    gift = forms.BooleanField(label="A gift", required=False)


class TestThread:
    def stops(self):
        return [
            ThreadStop("Calder Supplies", url="/s", begins=True),
            ThreadStop("PY7F H39P", is_self=True, held=True),
            ThreadStop("1 mix", code="6NY3T9DP", url="/m", lines=["direct"], held=True),
            ThreadStop("Out", ahead=True, soon=True),
        ]

    def test_a_hold_colours_the_line_from_where_it_begins(self):
        found = drawn(self.stops())
        assert [one.mark for one in found] == ["ring", "hold", "ring", "soon"]
        assert [(one.into, one.out) for one in found] == [
            ("", "plain"),
            ("plain", "held"),
            ("held", "ahead"),
            ("ahead", ""),
        ]

    def test_it_is_an_ordered_list_in_a_named_nav(self):
        html = render("{% thread stops %}", stops=self.stops())
        assert html.count("<li") == 4
        assert "<nav" in html
        assert "aria-label=" in html
        assert 'aria-current="true"' in html
        assert "on hold from here on" in html
        assert "reached by the hold" in html
        assert "6NY3\u00a0T9DP" in html

    def test_a_thing_without_past_or_future_stands_alone(self):
        assert [(one.into, one.out) for one in drawn([ThreadStop("alone", is_self=True)])] == [("", "")]


class TestForms:
    def test_a_deed_form_has_its_key_and_one_filled_button(self):
        html = render('{% deed_form form "Receive lot" %}', form=Weighing(), csrf_token="t")
        assert re.search(r'name="key" value="[^"]{8,}"', html)
        assert 'name="csrfmiddlewaretoken" value="t"' in html
        assert html.count("is-filled") == 1
        assert "Receive lot</button>" in html

    def test_an_error_is_tied_to_its_box(self):
        form = Weighing({"mass": "1,2,3", "key": "k"})
        form.is_valid()
        html = render("{% field form.mass %}", form=form)
        assert 'aria-invalid="true"' in html
        for suffix in ("error", "helptext"):
            assert f'id="id_mass_{suffix}"' in html
            assert re.search(rf'aria-describedby="[^"]*id_mass_{suffix}', html)
        assert 'inputmode="decimal"' in html
        assert '<span class="unit">g</span>' in html

    def test_what_may_stay_empty_says_so(self):
        html = render("{% field form.note %}{% field form.gift %}", form=Weighing())
        assert html.count("may stay empty") == 1
        assert '<label class="tick"' in html

    def test_a_refusal_stands_above_the_form(self):
        form = Weighing({"mass": "1", "key": "k"})
        form.is_valid()
        form.add_error(None, "12 strips short for 3 hives.")
        assert 'role="alert"' in render('{% deed_form form "Go" %}', form=form)

    def test_a_deed_button_carries_a_key_of_its_own(self):
        html = render('{% deed_button "Lift the hold" "/x" hold="7" %}', csrf_token="t")
        assert re.search(r'name="key" value="[^"]{8,}"', html)
        assert 'name="hold" value="7"' in html
        assert "is-filled" not in html

    def test_a_figure_to_reach_works_without_a_script(self):
        html = render("{% reach r form.mass %}", r=parts.Reach(1_950_000, 9_750, 39_000), form=Weighing())
        assert re.search(r'<input[^>]*name="mass"', html)
        assert "1\u202f950\u202fg" in html
        assert "1\u202f989<" in html
        assert "\u00b10.5\u202f%" in html
        assert "data-pad hidden" in html


class TestSigns:
    def test_a_state_is_a_shape_and_a_word(self):
        html = render('{% state "hold" "on hold" %}')
        assert "<svg" in html
        assert "on hold" in html

    def test_words_from_people_are_escaped(self):
        html = render("{% state 'info' word %}{% code_link word word %}", word="<b>")
        assert "<b>" not in html

    def test_margin_deeds_have_one_filled_button(self):
        deeds = [parts.MarginDeed("soon", "in 2 days", f"Deed {n}", button="Do", url="/") for n in range(3)]
        html = render("{% margin deeds %}", deeds=deeds)
        assert html.count("is-filled") == 1
        assert html.count("<li>") == 3

    def test_a_check_shows_its_reason_in_a_row_of_its_own(self):
        rows = [parts.LimitRow("Room", "16.5 °C", "18-27 °C", "soon", "reason", said="Frost", after="accepted")]
        html = render("{% limits rows %}", rows=rows)
        assert "<q>Frost</q>" in html

    def test_an_empty_page_teaches(self):
        html = render('{% empty "What for." "Receive the first lot" "/r" %}')
        assert "stroke-dasharray" in html
        assert html.count("is-filled") == 1

    def test_a_caution_links_the_sheet_and_whom_to_call(self):
        html = render('{% caution "Mask on." "H318." sheet="/s" call="/c" %}')
        assert html.index("/s") < html.index("/c")


class TestBase:
    def page(self, **context):
        return render_to_string("404.html", context)

    def test_a_page_has_no_inline_style_or_script(self):
        html = self.page(places=[Place("Today", "/", True, "today")], theme="night", night_url="/n", day_url="/d")
        assert "style=" not in html
        assert not re.search(r"<script(?![^>]*src=)", html)
        assert not re.search(r"\son\w+=", html)
        assert 'data-theme="night"' in html
        assert 'aria-current="page"' in html

    @pytest.mark.parametrize("name", ["400", "403", "404", "429", "500"])
    def test_an_error_page_stands_without_a_club(self, name):
        html = render_to_string(f"{name}.html")
        assert html.count("is-filled") == 1
        assert "<h1>" in html

    def test_a_stranger_has_no_places(self, db):
        request = RequestFactory().get("/")
        found = everywhere(request)
        assert found["places"] == []
        assert found["theme"] == ""

    def test_an_unknown_theme_is_passed_over(self, db):
        request = RequestFactory().get("/")
        request.COOKIES["theme"] = '"><script>'
        assert everywhere(request)["theme"] == ""

    @pytest.mark.parametrize(("role", "most"), [("member", 3), ("volunteer", 6), ("coordinator", 6)])
    def test_each_role_has_its_places(self, db, monkeypatch, role, most):
        monkeypatch.setattr("coop.context._address", lambda name, *arguments: f"/{name}")
        request = RequestFactory().get("/hives")
        request.user = Person(name="Greta", role=role)
        places = everywhere(request)["places"]
        assert len(places) == most
        assert [place.key for place in places if place.current] == ["hives"]


class TestTheme:
    def test_it_is_kept_and_leads_back(self):
        answer = choose_theme(RequestFactory().get("/theme/night?next=/shelf/"), "night")
        assert answer.cookies["theme"].value == "night"
        assert answer["Location"] == "/shelf/"

    def test_it_leads_nowhere_else(self):
        answer = choose_theme(RequestFactory().get("/theme/day?next=//evil.example/"), "day")
        assert answer["Location"] == "/"

    def test_another_theme_is_not_found(self):
        with pytest.raises(Http404):
            choose_theme(RequestFactory().get("/theme/pink"), "pink")


def test_text_contrast_is_at_least_four_and_a_half_in_both_themes():
    with open(finders.find("coop/notebook.css"), encoding="utf-8") as sheet:
        css = sheet.read()
    day = dict(re.findall(r"--([\w-]+): (#\w{6})", css[css.index(":root {") : css.index("@media")]))
    night_at = css.index(':root[data-theme="night"] {')
    night = dict(re.findall(r"--([\w-]+): (#\w{6})", css[night_at : css.index("}", night_at)]))
    for theme in (day, night):
        for text in ("ink", "soft", "pine", "rust"):
            assert contrast(theme[text], theme["paper"]) >= 4.5, text
        for wash in ("wash-pine", "wash-ochre", "wash-rust", "key"):
            assert contrast(theme["ink"], theme[wash]) >= 4.5, wash
        assert contrast(theme["on-pine"], theme["pine"]) >= 4.5
        assert contrast(theme["rust"], theme["wash-rust"]) >= 4.5
        assert contrast(theme["soft"], theme["wash-pine"]) >= 4.5
        for shape in ("ochre", "slate"):
            assert contrast(theme[shape], theme["paper"]) >= 3, shape


def contrast(one, other):
    """WCAG 2.2, contrast ratio of two sRGB colours."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour):
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in channels]
    return sum(weight * one for weight, one in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
