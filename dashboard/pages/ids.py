"""Ids of the pages' parts, each said once."""

URL = "url"
HEADER = "header"
PAGE = "page"
DOCK = "dock"
TITLE_SINK = "title-sink"
MEANT = "meant"
VIEWS = "views"
