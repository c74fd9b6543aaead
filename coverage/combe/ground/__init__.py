"""Open data for a study: which files there are, how they are fetched and kept, and what is made of them."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.ground.cache import Cache, default_folder
    from combe.ground.fetching import USUAL_AT_ONCE
    from combe.ground.finding import Places, with_bases
    from combe.ground.records import megabytes
    from combe.ground.run import (
        USUAL_LIMIT_MB, Ask, Fetched, GroundReport, carry_out, check_limit, plan, source_named,
    )
    from combe.ground.source_file import known_sources
    from combe.ground.sources import KINDS, Kind, Source
    from combe.ground.tilings import Box, DegreeTiles, RowTiles, Tile, checked_box, padded
    from combe.ground.web import Web
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
