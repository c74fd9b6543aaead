"""Makes a page one file that needs nothing from the network.

Our own style, body and script files are read and their places filled; the figure behind a page is the map
holder of folium with these put in as they are; and each link of it gives way to the installed file.
"""

from __future__ import annotations

import base64
import hashlib
import re
from functools import cache
from importlib.resources import files
from typing import Any, Final

from combe.errors import PageError
from combe.publishing.cautions import CAUTIONS, SHORT_CAUTION
from combe.publishing.page_about import PageAbout
from combe.publishing.page_language import current_language, in_page_language, told_html
from combe.publishing.text import encode

_PLACE: Final = re.compile(r'\[\[(?:(\w+)|"([^"\]]+)")\]\]')
_NAME: Final = re.compile(r"\{(\w+)\}")


def page_part(name: str) -> str:
    """Return one of our own script, style or HTML files."""
    return (files("combe.publishing") / "page" / name).read_text(encoding="utf-8")


def page_script(*names: str) -> str:
    """Return our script files one behind the other, after their texts in the language of the page."""
    script = "\n".join(map(page_part, ("words.js", *names)))
    return current_language().script_head(script) + script


def filled(name: str, **places: str) -> str:
    """Return one of our HTML files with its ``[[places]]`` filled, its ``[["texts"]]`` told.

    The contents must be HTML already (see :func:`combe.publishing.text.encode`); each is put in once and not
    looked through again.

    Raises
    ------
    PageError
        The file has a place for which nothing is given.
    """

    def content(place: re.Match[str]) -> str:
        wanted, text = place.groups()
        if text:
            return told_html(text)
        if wanted not in places:
            raise PageError(f"page part {name} has a place {wanted!r} for which nothing is given")
        return places[wanted]

    return _PLACE.sub(content, page_part(name))


def tell_html(template: str, **parts: str) -> str:
    """Return a template in the language of the page as HTML, around parts that are HTML already.

    >>> tell_html("{people} more people served", people="<b>12</b>")
    '<b>12</b> more people served'
    """
    pieces = _NAME.split(in_page_language(template))
    return "".join(parts[piece] if at % 2 else encode(piece) for at, piece in enumerate(pieces))


def list_html(lines: tuple[str, ...]) -> str:
    """Return the texts as an HTML list."""
    return "<ul>" + "".join(f"<li>{told_html(line)}</li>" for line in lines) + "</ul>"


def foot_html(made: tuple[str, ...], *, folded: bool = False) -> str:
    """Return cautions and provenance, under one line that always shows where they are folded.

    Only a page that unfolds them for print by a script of its own may fold them.
    """
    return filled(
        "foot.html",
        state="" if folded else " open",
        short=told_html(SHORT_CAUTION),
        cautions=list_html(CAUTIONS),
        made=list_html(made),
    )


def wide_html(table: str, name: str) -> str:
    """Return a table in a frame that scrolls where the screen is narrow, also by the keyboard."""
    return f'<div class="wide" tabindex="0" role="group" aria-label="{told_html(name)}">{table}</div>'


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


_LEAFLET: Final = ("js_lib_leaflet", "static/js_lib_leaflet")
_JQUERY: Final = ("xstatic.pkg.jquery", "data")

KNOWN_LINKS: Final = (
    (re.compile(r"/leaflet@1\.9\.\d+/dist/leaflet\.js$"), *_LEAFLET, "leaflet.js"),
    (re.compile(r"/leaflet@1\.9\.\d+/dist/leaflet\.css$"), *_LEAFLET, "leaflet.css"),
    (re.compile(r"/jquery-3\.\d+\.\d+(\.slim)?\.min\.js$"), *_JQUERY, "jquery.slim.min.js"),
)
"""Links that figures may hold, and the installed package, folder and file that stand in for each."""

_SCRIPT_LINK: Final = re.compile(r"""<script\b[^>]*?\bsrc=["']([^"']*)["'][^>]*>\s*</script>""")
_STYLE_LINK: Final = re.compile(r"""<link\b[^>]*?\bhref=["']([^"']*)["'][^>]*>""")
_FETCHING: Final = re.compile(
    r"<(?:script|img|iframe|link|embed|object|source|video|audio|image|use)\b[^>]*?\b(?:src|srcset|href|data)\s*="
    r"""\s*(?:"([^"]*)"|'([^']*)'|([^\s>"']+))""",
    re.IGNORECASE,
)
_VIEWPORT: Final = re.compile(r"""<meta\s+name=["']viewport["'][^>]*>""")
_OUR_VIEWPORT: Final = '<meta name="viewport" content="width=device-width, initial-scale=1">'
"""A page is as wide as the screen that shows it, and may be enlarged."""

_SCRIPT: Final = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_STYLE: Final = re.compile(r"<style>(.*?)</style>", re.DOTALL)


def self_contained_html(
    figure: Any,
    *,
    image_hosts: tuple[str, ...] = (),
    asks_its_server: bool = False,
    about: PageAbout | None = None,
) -> str:
    """Return the page of a branca Figure with each script and style in place of its link.

    Scripts and styles of the figure's header and script part are ours: a content security policy lists the
    hash of each, and the browser refuses all others. So a text in the body that holds a script, should it
    ever escape the encoder, stays dead. Nothing may be fetched, except images from ``image_hosts``
    (``https://host``), and what a page that ``asks_its_server`` gets from there. The page has our own
    viewport, in place of one that would forbid to enlarge it. ``about`` is what it tells of itself.

    Raises
    ------
    PageError
        The figure holds a link that no installed file stands in for.
    """
    for child in list(figure._children.values()):
        # Only rendering puts the parts of a figure where they belong.
        child.render()
    header, body, code = (part.render() for part in (figure.header, figure.html, figure.script))
    head = _STYLE_LINK.sub(_style_block, _SCRIPT_LINK.sub(_script_block, _VIEWPORT.sub("", header)))
    for part in (head, body):
        _refuse_links(part)
    _refuse_script_end("the page's script", code)
    script = f"<script>{code}</script>"
    policy = content_policy(head + script, image_hosts=image_hosts, asks_its_server=asks_its_server)
    title = f"<title>{encode(figure.title or '')}</title>"
    return (
        f'<!DOCTYPE html>\n<html lang="{current_language().code}">\n<head>\n<meta charset="utf-8">\n'
        f"{_OUR_VIEWPORT}\n{_told(about)}"
        f"{policy}\n{title}\n{head}\n</head>\n<body>\n{body}\n{script}\n</body>\n</html>\n"
    )


def page_of(
    title: str,
    style: str,
    body: str,
    *,
    script: str = "",
    asks_its_server: bool = False,
    about: PageAbout | None = None,
) -> str:
    """Return a page of our own style, body and script, under the same policy.

    Raises
    ------
    PageError
        The body holds a link to something that would be fetched.
    """
    head = f"<style>{style}</style>"
    code = f"<script>{script}</script>\n" if script else ""
    _refuse_script_end("the page's script", script)
    _refuse_links(body)
    policy = content_policy(head + code, asks_its_server=asks_its_server)
    return (
        f'<!DOCTYPE html>\n<html lang="{current_language().code}">\n<head>\n<meta charset="utf-8">\n'
        f"{_OUR_VIEWPORT}\n{_told(about)}{policy}\n<title>{encode(title)}</title>\n{head}\n</head>\n"
        f"<body>\n{body}\n{code}</body>\n</html>\n"
    )


def _told(about: PageAbout | None) -> str:
    """Return what a page tells of itself in its head."""
    return "" if about is None else about.element()


def content_policy(code: str, *, image_hosts: tuple[str, ...] = (), asks_its_server: bool = False) -> str:
    """Return the policy element that allows just the script and style blocks found in ``code``."""
    scripts = " ".join(_hash(block) for block in _SCRIPT.findall(code)) or "'none'"
    styles = " ".join(_hash(block) for block in _STYLE.findall(code)) or "'none'"
    images = " ".join(("data:", "blob:", *image_hosts))
    rules = (
        "default-src 'none'",
        f"script-src {scripts}",
        f"style-src {styles}",
        f"img-src {images}",
        *(("connect-src 'self'",) if asks_its_server else ()),
        "base-uri 'none'",
        "form-action 'none'",
    )
    return f'<meta http-equiv="Content-Security-Policy" content="{"; ".join(rules)}">'


_POLICY_ELEMENT: Final = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">\n?')


def policy_as_header(page: str, *more: str) -> tuple[str, str]:
    """Return a page without its policy element, and the policy as a server sends it, with more rules.

    A header can forbid what an element cannot, to be shown in a frame for example. A rule takes the place of
    one of its kind.

    Raises
    ------
    PageError
        The page has no policy.
    """
    found = _POLICY_ELEMENT.search(page)
    if found is None:
        raise PageError("page has no content security policy; make it with self_contained_html or page_of")
    rules = {rule.split()[0]: rule for rule in (*found.group(1).split("; "), *more)}
    return page[: found.start()] + page[found.end() :], "; ".join(rules.values())


def _script_block(link: re.Match[str]) -> str:
    """Return the script block in place of a link."""
    # A browser with its tools open would ask the network for that map.
    text = re.sub(r"\n//# sourceMappingURL=.*", "", _installed_file(link.group(1)))
    _refuse_script_end(link.group(1), text)
    return f"<script>{text}</script>"


def _style_block(link: re.Match[str]) -> str:
    """Return the style block in place of a link."""
    return f"<style>{_installed_file(link.group(1))}</style>"


@cache
def _installed_file(link: str) -> str:
    """Return the text of the installed file that stands in for a link, its pictures inside."""
    for pattern, package, folder, name in KNOWN_LINKS:
        if pattern.search(link):
            root = files(package).joinpath(*folder.split("/"))
            return _with_pictures((root / name).read_text(encoding="utf-8"), root)
    raise PageError(f"page asks for {link}, which no installed file stands in for; remove what asks for it")


def _with_pictures(style: str, root: Any) -> str:
    """Return the style with each picture's file name replaced by the picture."""

    def picture(found: re.Match[str]) -> str:
        data = base64.b64encode(root.joinpath(*found.group(1).split("/")).read_bytes()).decode("ascii")
        return f"url(data:image/png;base64,{data})"

    return re.sub(r"url\((images/[\w.-]+\.png)\)", picture, style)


def _refuse_links(part: str) -> None:
    """Raise PageError when something in the page would be fetched."""
    # Scripts and styles hold such words as text, and are answered for by their hashes.
    for found in _FETCHING.finditer(_STYLE.sub("", _SCRIPT.sub("", part))):
        link = "".join(group or "" for group in found.groups())
        if not link.startswith(("data:", "#")):
            raise PageError(f"page holds the link {link}, which would be fetched; put the content itself in")


def _refuse_script_end(name: str, code: str) -> None:
    """Raise PageError when code would end its own script element."""
    if "</script" in code.lower():
        raise PageError(f"{name} holds the end of a script element; write it in two pieces")


def _hash(block: str) -> str:
    """Return the policy's word for a block."""
    digest = base64.b64encode(hashlib.sha256(block.encode("utf-8")).digest()).decode("ascii")
    return f"'sha256-{digest}'"
