"""Turns a folium or branca figure into one HTML text that needs nothing from the network."""

from __future__ import annotations

import base64
import hashlib
import re
from functools import cache
from importlib.resources import files
from typing import Any, Final

from combe.errors import PageError
from combe.publishing.text import encode

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


def self_contained_html(figure: Any, *, image_hosts: tuple[str, ...] = ()) -> str:
    """Return the page of a branca Figure with each script and style in place of its link.

    Scripts and styles of the figure's header and script part are ours: a content security policy lists the
    hash of each, and the browser refuses all others. So a text in the body that holds a script, should it
    ever escape the encoder, stays dead. Nothing may be fetched, except images from ``image_hosts``
    (``https://host``). The page has our own viewport, in place of one that would forbid to enlarge it.

    Raises
    ------
    PageError
        The figure holds a link that no installed file stands in for.
    """
    for child in list(figure._children.values()):
        child.render()
    header, body, code = (part.render() for part in (figure.header, figure.html, figure.script))
    head = _STYLE_LINK.sub(_style_block, _SCRIPT_LINK.sub(_script_block, _VIEWPORT.sub("", header)))
    for part in (head, body):
        _refuse_links(part)
    _refuse_script_end("the page's script", code)
    script = f"<script>{code}</script>"
    policy = content_policy(head + script, image_hosts=image_hosts)
    title = f"<title>{encode(figure.title or '')}</title>"
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"{_OUR_VIEWPORT}\n"
        f"{policy}\n{title}\n{head}\n</head>\n<body>\n{body}\n{script}\n</body>\n</html>\n"
    )


def page_of(title: str, style: str, body: str) -> str:
    """Return a page of our own style and body, without scripts, under the same policy.

    Raises
    ------
    PageError
        The body holds a link to something that would be fetched.
    """
    head = f"<style>{style}</style>"
    _refuse_links(body)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"{_OUR_VIEWPORT}\n{content_policy(head)}\n<title>{encode(title)}</title>\n{head}\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def content_policy(code: str, *, image_hosts: tuple[str, ...] = ()) -> str:
    """Return the policy element that allows just the script and style blocks found in ``code``."""
    scripts = " ".join(_hash(block) for block in _SCRIPT.findall(code)) or "'none'"
    styles = " ".join(_hash(block) for block in _STYLE.findall(code)) or "'none'"
    images = " ".join(("data:", "blob:", *image_hosts))
    rules = (
        "default-src 'none'",
        f"script-src {scripts}",
        f"style-src {styles}",
        f"img-src {images}",
        "base-uri 'none'",
        "form-action 'none'",
    )
    return f'<meta http-equiv="Content-Security-Policy" content="{"; ".join(rules)}">'


def _script_block(link: re.Match[str]) -> str:
    """Return the script block in place of a link."""
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
