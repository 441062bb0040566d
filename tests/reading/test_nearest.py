"""Names that are not known are answered with those that are."""

from optimizer.reading.nearest import choose_from


def test_a_name_nearly_right_is_told_the_right_one():
    assert choose_from("flods", ["floods", "beds"]) == "Did you mean 'floods'?"


def test_a_name_like_no_other_is_told_the_first_twelve_and_how_many_more_there_are():
    assert choose_from("x", ["b", "a"]) == "Choose from: a, b."
    letters = [letter * 3 for letter in "abcdefghijklmno"]
    assert choose_from("x", letters).endswith("kkk, lll and 3 more.")
    assert choose_from("x", letters[:12]).endswith("kkk, lll.")


def test_where_nothing_is_known_that_is_said():
    assert choose_from("x", []) == "There is none to choose from."
