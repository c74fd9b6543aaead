"""The guide: one Markdown page a subject, and the reader that finds them.

A page begins with its title and a first sentence that says what it is for; pages link to one another by file
name, and to nothing else of the project. What shows them is elsewhere.
"""

from combe.guide.pages import CHAPTERS, GuidePage, guide_page, guide_picture, topics

__all__ = ["CHAPTERS", "GuidePage", "guide_page", "guide_picture", "topics"]
