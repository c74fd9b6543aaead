"""Builds the figure behind a page: the map holder of folium, and our own style, body and script."""

from __future__ import annotations

from typing import Any, Final

_LEAFLET_SCRIPT: Final = ("leaflet", "https://cdn.jsdelivr.net/npm/leaflet@1.9.4/dist/leaflet.js")
_LEAFLET_STYLE: Final = ("leaflet_css", "https://cdn.jsdelivr.net/npm/leaflet@1.9.4/dist/leaflet.css")
"""Names by which a figure asks for the map library; the installed file stands in, nothing is fetched."""

MAP_NAME: Final = "combe"
"""The map's variable in the page's script is ``map_combe``; a fixed name keeps the page's bytes the same."""


def make_figure(title: str, *, with_map: bool, style: str, body: str, script: str) -> Any:
    """Return a branca Figure of our own parts, put in as they are; no template language reads them.

    With a map, an empty folium map comes first. It asks for the map library and nothing else.
    """
    from branca.element import Figure

    figure = Figure(title=title)
    if with_map:
        figure.add_child(_empty_map())
    figure.add_child(_our_parts(style, body, script), name="combe_parts")
    return figure


def _empty_map() -> Any:
    """Return the empty folium map."""
    from folium import Map

    chart = Map(location=(0.0, 0.0), zoom_start=2, tiles=None, zoom_control="topleft", zoom_snap=0.25)
    chart._id = MAP_NAME
    chart.default_js = [_LEAFLET_SCRIPT]
    chart.default_css = [_LEAFLET_STYLE]
    return chart


def _our_parts(style: str, body: str, script: str) -> Any:
    """Return an element that puts our three parts behind those of the map."""
    from branca.element import MacroElement

    class Parts(MacroElement):
        """The three parts, added when the figure is rendered."""

        def render(self, **_: Any) -> str:
            """Put each part where it belongs."""
            root: Any = self.get_root()
            root.header.add_child(_verbatim(f"<style>{style}</style>"), name="combe_style")
            root.html.add_child(_verbatim(body), name="combe_body")
            root.script.add_child(_verbatim(script), name="combe_script")
            return ""

    make: Any = Parts
    return make()


def _verbatim(text: str) -> Any:
    """Return an element whose rendering is the text itself."""
    from branca.element import Element

    class Verbatim(Element):
        """A text that is put in as it is."""

        def render(self, **_: Any) -> str:
            """Return the text."""
            return text

    return Verbatim()
