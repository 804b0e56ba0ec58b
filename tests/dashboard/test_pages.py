"""The pages, called as the functions they are."""

from __future__ import annotations

import pytest
from dash import dcc, html

from dashboard.loading import Present
from dashboard.pages.filters import slice_of
from dashboard.pages.registry import PAGES
from dashboard.pages.shell import above, content, place_of
from dashboard.play import players_list
from tagger.season import Season
from tests.dashboard.herons import entry, tag, texts


def page(present, address):
    path, _, search = address.partition("?")
    return html.Div(content(present, place_of(path, f"?{search}" if search else "")))


def parts(component, kind=None):
    """A component and everything in it, in order; only those of a kind."""
    found = []
    if kind is None or isinstance(component, kind):
        found.append(component)
    children = getattr(component, "children", None)
    for child in children if isinstance(children, list | tuple) else [children]:
        if hasattr(child, "to_plotly_json"):
            found += parts(child, kind)
    return found


def words(component):
    """All that can be read in it."""
    if component is None:
        return ""
    if isinstance(component, str | int | float):
        return str(component)
    if isinstance(component, list | tuple):
        return " ".join(words(child) for child in component)
    return words(getattr(component, "children", None))


def playing(component):
    """What plays in it, in order: text, table, ids."""
    return [
        (words(part).strip(), getattr(part, "data-table"), getattr(part, "data-ids").split())
        for part in parts(component)
        if "plays" in str(getattr(part, "className", "")).split() and hasattr(part, "data-ids")
    ]


def row_of(component, name):
    return next(row for row in parts(component, html.Tr) if words(row).strip().startswith(name))


@pytest.fixture
def empty_present(tmp_path):
    season = Season.open(texts(tmp_path / "empty"), make=True)
    yield Present(season)
    season.close()


ADDRESSES = (
    *(one.address.format(game="g1", set="keel", player="14") for one in PAGES.values()),
    *("/games/g2", "/players/00"),
)


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_page_begins_with_its_heading(present, address):
    assert isinstance(page(present, address).children[0], html.H1)


@pytest.mark.parametrize("address", [one.address for one in PAGES.values() if not one.each])
def test_every_page_says_something_before_the_first_mark(empty_present, address):
    said = page(empty_present, address)
    assert isinstance(said.children[0], html.H1) and len(words(said)) > 40


@pytest.mark.parametrize("address", ["/nix", "/games/nix", "/players/99", "/players/x", "/games/g1/more", "/sets/x"])
def test_a_page_that_is_not_there_says_so_and_leads_back(present, address):
    said = page(present, address)
    assert "no such page" in words(said).lower() and parts(said, dcc.Link)[0].href == "/"


def test_a_game_without_marks_offers_tagging(present):
    present.season.games.add("g3", "2026-04-01", "Tannery Row", True)
    assert "Nothing tagged yet" in words(row_of(page(present, "/games"), "Tannery Row"))
    assert "Tannery Row, 1 April 2026, is not tagged yet." in words(page(present, "/"))
    assert parts(page(present, "/games/g3"), html.A)[0].href == "/tag/g3"


def test_the_games_say_the_score_and_each_number_plays_its_own_shots(present):
    row = row_of(page(present, "/games"), "Quarry Hill")
    assert words(row).split("at home")[1].split()[:3] == ["0", "–", "1"]
    assert playing(row)[:2] == [("1", "shots", ["g1-10"]), ("2", "shots", ["g1-6", "g1-7"])]


def test_a_number_without_film_is_plain_text(present):
    row = row_of(page(present, "/games"), "Millrace")
    assert "1 – 0" in " ".join(words(row).split()) and playing(row) == []


def test_sets_are_counted_as_marked_and_play_their_runs(present):
    said = page(present, "/sets")
    lantern = row_of(said, "Lantern")
    assert "2 of 3" in " ".join(words(lantern).split()) and "too few to say" in words(lantern)
    [(table, ids)] = [(table, ids) for text, table, ids in playing(lantern) if text == "2"]
    runs = present.now().rows("runs")
    assert table == "runs" and {(runs[id_]["game"], runs[id_]["set"]) for id_ in ids} == {
        ("g1", "lantern"),
        ("g2", "lantern"),
    }
    assert len(ids) == 2
    assert "2 of 4 runs have film" in words(said)


def test_a_set_never_run_is_said_to_be_so(present):
    said = page(present, "/sets")
    assert "Tidepool" in words(said).partition("Not run here: ")[2]
    assert not any(words(row).strip().startswith("Tidepool") for row in parts(said, html.Tr) if parts(row, html.Button))


def test_the_sentence_narrows_what_is_counted(present):
    assert "1 of 2" in " ".join(words(row_of(page(present, "/sets?games=g1"), "Lantern")).split())
    left = row_of(page(present, "/sets?side=left&games=g1"), "Lantern")
    assert "1 of 1" in " ".join(words(left).split())
    theirs = page(present, "/sets?team=theirs")
    assert "Two-man" in words(theirs) and "Keel" not in words(theirs)


def test_words_that_mean_nothing_leave_the_usual_choice(present):
    moment = present.now()
    assert slice_of(moment, {"team": "nobody", "games": "g9", "side": "up"}) == slice_of(moment, {})
    assert slice_of(moment, {}).strengths == ("even",)


def test_every_option_is_a_link_that_keeps_the_other_choices(present):
    head = html.Div(above(present.now(), place_of("/sets", "?side=left")))
    links = {link.children: link.href for link in parts(head, dcc.Link)}
    assert links["their"] == "/sets?side=left&team=theirs"
    assert links["both sides"] == "/sets" and links["to the right"] == "/sets?side=right"


def test_players_stand_by_number_with_what_they_did(present):
    said = page(present, "/players")
    line, row, *_ = (row for row in parts(said, html.Tr) if words(row).strip().startswith("14"))
    assert "Elias Brandvold" in words(row)
    plays = playing(row)
    assert ("1", "turnovers", ["g1-14"]) in plays and ("2", "shots", ["g1-6", "g2-5"]) in plays
    assert words(line.children[2]).split() == ["1", "of", "2", "too", "few", "to", "say"]
    assert [ids for text, _, ids in playing(line) if not text] == [["g1-6"]], "a mark with film, one without"


def test_a_column_in_which_nobody_has_anything_is_not_there(present):
    assert "won loose" not in words(page(present, "/players"))
    film = present.films("g1")[0].id
    present.season.journal.add(
        "g1", "coach", [entry("g1", 70, film, 23_000, "loose_ball", {"team": "ours", "player": "7"})]
    )
    assert "won loose" in words(page(present, "/players"))


def test_a_player_s_page_lists_his_film_and_how_to_take_it_along(present):
    said = page(present, "/players/14")
    assert "2 of 3 with film" in words(said)
    assert "--player 14" in words(said) and "Film of players is personal" in words(said)
    assert "no consent" in words(page(present, "/players/11")).lower() or "No mark names him yet" in words(
        page(present, "/players/11")
    )


def test_a_game_is_told_possession_by_possession(present):
    said = page(present, "/games/g1")
    assert ("14 shot: saved, recovered; fed by 22.", "shots", ["g1-6"]) in playing(said)
    assert "Score 0–1." in words(said) and "4 of 4 possessions have film" in words(said)


def test_the_way_to_the_page_shown_is_marked(present):
    head = html.Div(above(present.now(), place_of("/players/14", "")))
    on = [link.children for link in parts(head, dcc.Link) if link.className == "on"]
    assert on[:2] == ["People", "Players"]


def test_what_is_chosen_goes_along_and_narrows_only_pages_that_say_it(present):
    head = html.Div(above(present.now(), place_of("/sets", "?team=theirs&games=g1")))
    links = {link.children: link.href for link in parts(head, dcc.Link)}
    assert links["Defence"] == "/goals?team=theirs&games=g1"
    assert links["Screens"] == "/screens?team=theirs&games=g1"
    assert words(page(present, "/players/14?games=g2")) == words(page(present, "/players/14"))
    assert words(page(present, "/goals?team=theirs&side=left")) == words(page(present, "/goals"))
    assert words(page(present, "/face-offs?strength=up&team=theirs")) == words(page(present, "/face-offs"))
    assert links["our"] == "/sets?games=g1", "a word of the sentence drops its own choice alone"


def test_a_game_stands_between_its_neighbours(present):
    games = [game.id for game in present.now().games]
    head = html.Div(above(present.now(), place_of(f"/games/{games[1]}", "?team=theirs")))
    row = next(part for part in parts(head, html.Nav) if getattr(part, "className", "") == "within")
    hrefs = [link.href for link in parts(row, dcc.Link)]
    assert hrefs[:3] == [f"/games{rest}?team=theirs" for rest in ("", f"/{games[0]}", f"/{games[1]}")]
    assert [link.href.partition("?")[0] for link in parts(row, dcc.Link) if link.className == "on"] == [
        f"/games/{games[1]}"
    ]


def test_a_set_for_the_power_play_can_be_asked_for_at_even_strength(present):
    code = next(play.code for play in present.now().playbook.sets if play.strength == "5v4")
    head = html.Div(above(present.now(), place_of(f"/sets/{code}", "")))
    said = " ".join(words(head).split())
    links = {link.children: link.href for link in parts(head, dcc.Link)}
    assert links["even strength"] == f"/sets/{code}?strength=first" and "power play" in said


def test_long_names_and_markup_in_names_are_only_text(present):
    present.season.games.add("g4", "2026-05-01", "<b>The Very Long Name of a Club of the Upper Valley</b>", True)
    assert "<b>The Very Long" in words(page(present, "/"))


def test_marks_made_meanwhile_are_there_at_once(present):
    before = words(row_of(page(present, "/sets"), "Keel"))
    film = present.films("g1")[0].id
    tag_more = ((35_000, "possession", {"team": "ours"}), (36_000, "settled", {}), (37_000, "set", {"set": "keel"}))
    raw = [entry("g1", 80 + n, film, *mark) for n, mark in enumerate(tag_more)]
    present.season.journal.add("g1", "coach", raw)
    assert words(row_of(page(present, "/sets"), "Keel")) != before


def test_who_was_erased_is_one_line_without_film_or_reel(present):
    tag_more = ((5_000, "shot", {"shooter": "somebody", "result": "goal", "feeder": "7"}), (6_000, "note", {}))
    raw = [entry("g1", 80 + n, present.films("g1")[0].id, *mark) for n, mark in enumerate(tag_more)]
    present.season.journal.add("g1", "coach", raw)
    assert "somebody (erased) 1 1 1" in " ".join(words(row_of(page(present, "/players"), "somebody")).split())
    his = page(present, "/players/somebody")
    assert "erased from this season" in words(his) and "reel" not in words(his) and playing(his) == []
    assert playing(row_of(page(present, "/players"), "somebody")) == []
    assert players_list(present, "somebody")["clips"] == []
    assert not any("roster" in problem.text for problem in present.season.tagged.folded("g1").problems)


def test_one_moment_serves_until_something_changes(present):
    assert present.now() is present.now() and present.filmed() is present.filmed()


def test_every_run_has_one_tick_and_what_has_no_film_plays_nothing(present):
    said = page(present, "/sets?phase=all")
    figure = next(part for part in parts(said, html.Table) if part.className == "on-axis")
    drawn = [part for part in parts(figure) if str(getattr(part, "className", "")).startswith(("tick ", "plays tick "))]
    runs = [row for row in present.now().rows("runs").values() if row["team"] == "ours" and row["strength"] == "5v5"]
    shown = [part for part in drawn if getattr(part, "title", None)]
    assert len(shown) == len(runs)
    has_film = present.filmed().ids("runs")
    plays = [getattr(part, "data-ids") for part in shown if isinstance(part, html.Button)]
    assert sorted(plays) == sorted(row["id"] for row in runs if row["id"] in has_film)
    assert all("(no film)" in part.title for part in shown if not isinstance(part, html.Button))


def test_sets_stand_in_the_order_asked_for(present):
    def named(address):
        table = next(part for part in parts(page(present, address), html.Table) if part.className == "on-axis")
        return [words(row.children[0]).split()[0] for row in parts(table, html.Tr)[1:]]

    assert named("/sets?order=name")[:2] == sorted(named("/sets?order=name")[:2])
    assert sorted(named("/sets")) == sorted(named("/sets?order=rate"))


def test_a_season_of_one_game_and_no_roster_has_its_pages(tmp_path):
    folder = texts(tmp_path / "small")
    (folder / "roster.csv").unlink()
    season = Season.open(folder, make=True)
    try:
        season.games.add("g1", "2026-03-14", "Quarry Hill", True)
        tag(season, "g1", "nowhere", ((5, "shot", {"shooter": "00"}),))
        made = Present(season)
        for address in ("/", "/sets", "/players", "/games/g1"):
            assert isinstance(page(made, address).children[0], html.H1)
    finally:
        season.close()
