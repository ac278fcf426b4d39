"""Pen and ink: SVG elements as safe strings. Everything passed in is escaped; only SafeString content is not."""

from collections.abc import Iterable, Sequence

from django.utils.html import conditional_escape, escape
from django.utils.safestring import SafeString, mark_safe

#: the day colours, for where the stylesheet does not reach; the classes of the same name follow the theme
COLOURS = {
    "paper": "#fbfaf6",
    "ink": "#1e2930",
    "soft": "#56626a",
    "rule": "#d9d5c9",
    "key": "#f2efe6",
    "pine": "#2e5e4e",
    "mid": "#9db8aa",
    "pale": "#c6d3c9",
    "wash-pine": "#e3eae2",
    "ochre": "#b5790f",
    "wash-ochre": "#f4e9d2",
    "rust": "#a63d1c",
    "mid-rust": "#dea48f",
    "wash-rust": "#f5e3db",
    "slate": "#48697f",
}
Point = tuple[float, float]
BLANK = SafeString("")


def el(name: str, content: str = "", **attributes: object) -> SafeString:
    """One element. `fill` and `stroke` may be names from COLOURS; an attribute that is None is left out."""
    classes = [str(attributes.pop("cls"))] if attributes.get("cls") else []
    attributes.pop("cls", None)
    for paint in ("fill", "stroke"):
        colour = attributes.get(paint)
        if isinstance(colour, str) and colour in COLOURS:
            classes.append(f"{paint[0]}-{colour}")
            attributes[paint] = COLOURS[colour]
    if classes:
        attributes["class"] = " ".join(classes)
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(_plain(value))}"'
        for key, value in attributes.items()
        if value is not None
    )
    return mark_safe(f"<{name}{written}>{conditional_escape(content)}</{name}>")  # noqa: S308 - escaped above


def joined(parts: Iterable[str]) -> SafeString:
    """Elements one after the other; plain strings among them are escaped."""
    return mark_safe("".join(conditional_escape(part) for part in parts))  # noqa: S308 - escaped one by one


def svg(
    width: float, height: float, parts: Iterable[str], *, title: str = "", desc: str = "", cls: str = ""
) -> SafeString:
    """A whole picture. With a title it is an image with a name; without one it is an ornament, hidden from readers."""
    said = {"role": "img"} if title else {"aria_hidden": "true"}
    named = [el("title", title), el("desc", desc)] if title else []
    return el(
        "svg",
        joined([*named, *parts]),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {_plain(width)} {_plain(height)}",
        width=width,
        height=height,
        focusable="false",
        cls=cls,
        **said,
    )


def line(points: Sequence[Point], stroke: str = "pine", width: float = 2, dash: str | None = None) -> SafeString:
    """A line through points, rounded at its corners."""
    return el(
        "polyline",
        points=" ".join(f"{_plain(x)},{_plain(y)}" for x, y in points),
        fill="none",
        stroke=stroke,
        stroke_width=width,
        stroke_dasharray=dash,
        stroke_linejoin="round",
    )


def step_line(points: Sequence[Point], stroke: str = "pine", width: float = 2.5) -> SafeString:
    """A line that keeps its height until the next point, then goes straight up or down to it."""
    corners: list[Point] = []
    for x, y in points:
        if corners:
            corners.append((x, corners[-1][1]))
        corners.append((x, y))
    return line(corners, stroke, width)


def band(left: float, right: float, top: float, bottom: float, fill: str = "wash-pine") -> SafeString:
    """A rectangle from edge to edge, in either order."""
    return el(
        "rect",
        x=min(left, right),
        y=min(top, bottom),
        width=abs(right - left),
        height=abs(bottom - top),
        fill=fill,
    )


def between(low: Sequence[Point], high: Sequence[Point], fill: str = "wash-pine") -> SafeString:
    """The area between two lines."""
    return el("polygon", points=" ".join(f"{_plain(x)},{_plain(y)}" for x, y in [*low, *reversed(high)]), fill=fill)


def dot(x: float, y: float, fill: str = "pine", radius: float = 4) -> SafeString:
    return el("circle", cx=x, cy=y, r=radius, fill=fill)


def ring(x: float, y: float, stroke: str = "slate", radius: float = 6) -> SafeString:
    """A ring on paper with a dot in it: known to this phone only."""
    return joined(
        [el("circle", cx=x, cy=y, r=radius, fill="paper", stroke=stroke, stroke_width=2), dot(x, y, stroke, radius / 3)]
    )


def diamond(x: float, y: float, fill: str = "rust", radius: float = 8) -> SafeString:
    return el(
        "path",
        d=f"M{_plain(x)} {_plain(y - radius)}l{radius} {radius}l{-radius} {radius}l{-radius} {-radius}z",
        fill=fill,
    )


def triangle(x: float, y: float, fill: str = "ochre", size: float = 8, down: bool = False) -> SafeString:
    """A triangle round (x, y), its tip up, or down."""
    tip = size if down else -size
    return el(
        "path", d=f"M{_plain(x)} {_plain(y + tip)}L{_plain(x + size)} {_plain(y - tip)}H{_plain(x - size)}z", fill=fill
    )


def text(
    x: float,
    y: float,
    words: str,
    fill: str = "ink",
    anchor: str = "start",
    *,
    bold: bool = False,
    halo: bool = False,
    ground: str = "",
) -> SafeString:
    """A label, 17 px. `halo` keeps it readable across lines; `ground` is what it stands on, if that is not paper."""
    named = (("t-bold", bold), ("t-halo", halo), (f"t-on-{ground}", halo and ground))
    classes = " ".join(name for name, wanted in named if wanted)
    return el(
        "text",
        words,
        x=x,
        y=y,
        fill=fill,
        font_size=17,
        text_anchor=None if anchor == "start" else anchor,
        cls=classes or None,
    )


def _plain(value: object) -> str:
    """Numbers to a tenth of a pixel, without a trailing zero."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    return f"{value:.1f}".rstrip("0").rstrip(".")
