"""Tubs filled by share."""

from coop.drawing.tubs import Tub, tubs


def test_each_tub_says_its_share_and_what_came_of_it():
    one = Tub("Sat 10 Oct", "direct", 0.25, "1 200 g", "2 bags, 80 strips", "3.75 g a strip")
    narrow, wide = tubs("How far it reaches", [one, Tub("Sat 7 Nov", "by returned solution", 0.127, "625 g")])
    for drawn in (narrow, wide):
        assert "25.0" in drawn
        assert "2 bags, 80 strips" in drawn
        assert "by returned solution" in drawn
        assert "style=" not in drawn
    assert 'viewBox="0 0 320 500"' in narrow
    assert 'viewBox="0 0 960 250"' in wide


def test_what_is_written_in_a_tub_is_escaped():
    narrow, _wide = tubs("x", [Tub("<b>", "direct", 0, "0 g")])
    assert "<b>" not in narrow


def test_no_tub_draws_nothing():
    assert tubs("x", []) == ("", "")
