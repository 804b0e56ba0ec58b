"""A game in sentences."""

from dashboard.story import film_time, label, tell, when


def told_of(season, game):
    return tell(season.tagged.folded(game), season.texts.language())


def test_possessions_are_told_in_order_with_their_runs(season):
    told = told_of(season, "g1")
    assert [one.team for one in told] == ["ours", "theirs", "ours", "theirs"]
    first = told[0]
    assert (first.period, first.start_ms, first.ended) == (1, 1000, "missed_shot")
    sentences = [[said.text for said in run] for run in first.runs]
    assert sentences == [
        ["Lantern, left", "22 set a screen for 14; the user came free", "14 shot: saved, recovered; fed by 22"],
        ["Second chance", "7 shot: wide, lost"],
    ]


def test_a_set_plays_its_run_and_every_other_sentence_its_own_row(season):
    run = told_of(season, "g1")[0].runs[0]
    assert [(said.table, said.ids) for said in run[1:]] == [("screens", ("g1-5",)), ("shots", ("g1-6",))]
    [run_id] = run[0].ids
    assert run[0].table == "runs" and run_id in {row["id"] for row in season.tagged.folded("g1").rows["runs"]}


def test_how_a_possession_was_gained_follows_from_the_one_before(season):
    told = told_of(season, "g1")
    assert told[1].opening == "Theirs, from a missed shot"
    assert told[3].opening == "Theirs, from a lost ball"


def test_the_score_is_said_after_a_goal(season):
    assert [one.score for one in told_of(season, "g1")] == ["", "0–1", "", ""]


def test_grades_of_a_run_are_one_sentence_and_the_ungradable_is_left_out(season):
    from tests.dashboard.herons import entry

    film = season.shelf.films("g1")[0].id
    grades = [("plus", "14"), ("minus", "22"), ("not_gradable", "7")]
    season.journal.add(
        "g1",
        "coach",
        [
            entry("g1", 60 + n, film, 8000, "grade", {"player": who, "grade": what})
            for n, (what, who) in enumerate(grades)
        ],
    )
    said = told_of(season, "g1")[0].runs[0][-1]
    assert said.text == "Graded plus 1 of 2" and said.table == "grades" and len(said.ids) == 3


def test_what_is_removed_is_not_told(season):
    removed = {"v": 1, "id": "g1-r", "n": 90, "by": "coach", "wall": "", "does": "remove", "of": "g1-5"}
    season.journal.add("g1", "coach", [removed])
    assert "screen" not in " ".join(said.text for run in told_of(season, "g1")[0].runs for said in run)


def test_a_row_in_one_line_says_where_when_and_what(present):
    moment = present.now()
    sentence = moment.sentences["g2-5"]
    assert sentence.startswith("14 shot: goal")
    assert label(moment, "shots", moment.rows("shots")["g2-5"]) == f"Millrace, 1st, film 0:09. {sentence}"
    assert (
        label(moment, "possessions", moment.rows("possessions")["g1-8"]) == "Quarry Hill, 1st, film 0:12. Theirs: goal"
    )


def test_times_are_said_with_hours_only_where_there_are_some():
    assert (film_time(81_400), film_time(3_725_000)) == ("1:21", "1:02:05")


def test_a_line_says_which_clock_it_means_and_both_where_both_are_known(present):
    moment = present.now()
    row = moment.rows("shots")["g2-5"]
    assert label(moment, "shots", {**row, "clock_s": 702}).startswith("Millrace, 1st, clock 11:42, film 0:09. ")


def test_the_game_clock_goes_before_the_film_s_time():
    assert when({"clock_s": 702, "at_ms": 5}) == "11:42"
    assert when({"clock_s": None, "start_ms": 61_000}) == "film 1:01"
