"""An invented kind of document, whose outputs are looked at."""

from combe.publishing.document import Document, Form
from combe.publishing.fields import number, text

ASKED = number("asked_db", "asked")
MARGIN = number("margin_db", "margin", limit=ASKED, null="unknown")
LEVELS = (text("name", "name"), MARGIN, ASKED)


def document(fields, answer, *parts, **more):
    settings = {"title": "a trial", "headline": ("It holds.",), **more}
    return Document(Form("trial", tuple(fields)), answer, parts=parts, **settings)


def row(name="A", margin_db=1.0, asked_db=0.5):
    return {"name": name, "margin_db": margin_db, "asked_db": asked_db}
