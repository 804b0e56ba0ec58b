"""Plain parts of pages as text: nothing that people wrote becomes markup, nothing that lives is frozen."""

from html.parser import HTMLParser

import pytest
from dash import dcc, html

from dashboard.pages.markup import is_plain, markup, settled
from dashboard.pages.registry import PAGES
from dashboard.pages.shell import content, place_of


class Seen(HTMLParser):
    """Tags with their attributes, and text, as a browser would take them."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.text = [], ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text += data


def test_text_and_values_are_escaped():
    data = {"data-what": '"><script>alert(1)</script>'}
    seen = Seen(markup(html.Button("<img src=x onerror=alert(1)>", title="a\"b'c&<", className="plays", **data)))
    assert seen.tags == [("button", {"title": "a\"b'c&<", "class": "plays", **data})]
    assert seen.text == "<img src=x onerror=alert(1)>"


def test_names_and_styles_are_those_of_html():
    cell = html.Td("x", colSpan=2, tabIndex=0, style={"--lo": "5%", "marginLeft": "1px"}, hidden=True)
    [(tag, attributes)] = Seen(markup(cell)).tags
    assert tag == "td"
    assert attributes == {"colspan": "2", "tabindex": "0", "style": "--lo:5%;margin-left:1px", "hidden": None}


def test_a_link_of_the_pages_is_a_link_that_the_page_takes_over():
    assert Seen(markup(dcc.Link("Sets", href="/sets?a=1&b=2"))).tags == [
        ("a", {"href": "/sets?a=1&b=2", "data-way": ""})
    ]


def test_nothing_is_written_for_what_is_missing():
    assert markup([None, "", html.P(None), html.P([None, 0])]) == "<p></p><p>0</p>"


def test_what_lives_is_kept_and_neighbours_are_one():
    graph = dcc.Graph(id="x")
    made = settled([html.H1("a"), html.P("b"), graph, html.P(["c", html.B("d")])])
    assert [type(part) for part in made] == [html.Div, dcc.Graph, html.Div]
    assert getattr(made[0], "data-html") == "<h1>a</h1><p>b</p>"
    assert not is_plain(html.Div([html.Div(graph)]))


@pytest.mark.parametrize("address", [one.address.format(set="keel", game="g1", player="14") for one in PAGES.values()])
def test_every_page_comes_out_whole(present, address):
    parts = content(present, place_of(address, ""))
    text = "".join(getattr(part, "data-html", "") for part in settled(parts))
    opened = [tag for tag, _ in Seen(text).tags]
    assert opened[0] == "h1" and all(text.count(f"<{tag}") >= text.count(f"</{tag}>") for tag in set(opened))
