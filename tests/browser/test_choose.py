"""Choosing a design in a real browser: all that is shown follows, by mouse, touch and keyboard."""

from __future__ import annotations

from tests.browser.agree import demand_agreement
from tests.browser.open_page import Opened


def test_a_study_has_designs_that_differ_in_beds_and_cost(stored):
    # Without this the tests below would prove nothing.
    assert len(stored) >= 3
    assert len({frozenset(each.beds) for each in stored}) == len(stored)
    assert len({each.cents() for each in stored}) == len(stored)


def test_the_page_opens_on_its_first_design(opened, stored):
    assert opened.chosen == [0]
    demand_agreement(opened, stored[0])


def test_a_click_on_any_mark_shows_that_design(opened, stored):
    for place in (*range(1, len(stored)), 0):
        opened.page.mouse.click(*opened.middle_of(place))
        assert opened.chosen == [place]
        demand_agreement(opened, stored[place])


def test_a_click_beside_a_mark_takes_the_nearest(opened):
    x, y = opened.middle_of(2)
    opened.page.mouse.click(x + 12, y - 12)
    assert opened.chosen == [2]


def test_a_click_far_from_every_mark_changes_nothing(opened):
    box = opened.page.locator("#points svg").bounding_box()
    opened.page.mouse.click(box["x"] + box["width"] - 20, box["y"] + box["height"] - 70)
    assert opened.chosen == [0]


def test_a_tap_on_any_mark_shows_that_design(phone, stored):
    for place in range(1, len(stored)):
        phone.page.touchscreen.tap(*phone.middle_of(place))
        assert phone.chosen == [place]
        demand_agreement(phone, stored[place])


def test_a_tap_on_the_steps_goes_to_the_next_design_and_back(phone, stored):
    phone.page.locator("#after").tap()
    demand_agreement(phone, stored[1])
    phone.page.locator("#before").tap()
    demand_agreement(phone, stored[0])


def test_arrow_keys_home_and_end_move_between_designs_and_stop_at_the_ends(opened, stored):
    last = len(stored) - 1
    opened.mark(0).focus()
    for key, place in (
        ("ArrowRight", 1),
        ("ArrowDown", 2),
        ("ArrowLeft", 1),
        ("ArrowUp", 0),
        ("ArrowLeft", 0),
        ("End", last),
        ("ArrowRight", last),
        ("Home", 0),
    ):
        opened.page.keyboard.press(key)
        assert opened.chosen == [place]
        demand_agreement(opened, stored[place])
        opened.mark(place).focus()


def test_the_keyboard_reaches_the_chosen_mark_by_tab_and_the_focus_follows_and_is_seen(opened):
    opened.page.locator("#across").focus()
    opened.page.keyboard.press("Tab")
    opened.page.keyboard.press("ArrowRight")
    focused = "document.activeElement.getAttribute('data-place')"
    assert opened.page.evaluate(focused) == "1"
    ring = opened.mark(1).locator(".halo")
    assert ring.evaluate("ring => getComputedStyle(ring).strokeWidth") == "3px"
    assert opened.mark(0).get_attribute("tabindex") == "-1"


def test_the_table_of_all_designs_chooses_as_the_chart_does(opened, stored):
    for place in (2, 1):
        opened.page.locator(f"#list button[data-place='{place}']").click()
        assert opened.chosen == [place]
        pressed = opened.page.locator("#list button[aria-pressed='true']")
        assert [each.get_attribute("data-place") for each in pressed.all()] == [str(place)]
        demand_agreement(opened, stored[place])


def test_the_list_box_chooses_too(opened, stored):
    opened.page.locator("#choose").select_option("2")
    demand_agreement(opened, stored[2])


def test_a_screen_reader_is_told_the_chosen_design_in_one_sentence(opened, stored):
    opened.mark(0).focus()
    opened.page.keyboard.press("End")
    spoken = opened.page.locator("#spoken")
    assert spoken.get_attribute("aria-live") == "polite"
    said, last = opened.text("spoken"), stored[-1].design
    assert said.startswith(f"Design {len(stored)} of {len(stored)}: ")
    assert f"{len(last.beds)} x tub" in said and last.pump.label in said


def test_the_marks_lie_in_the_order_of_cost_and_area(opened, stored):
    # A front: more area costs more, so that further right is further up.
    middles = [opened.middle_of(place) for place in range(len(stored))]
    assert [x for x, _ in middles] == sorted(x for x, _ in middles)
    assert [y for _, y in middles] == sorted((y for _, y in middles), reverse=True)


def test_another_measure_along_the_axis_moves_the_marks_and_keeps_the_choice(opened, stored):
    opened.page.mouse.click(*opened.middle_of(1))
    before = opened.middle_of(1)
    opened.page.locator("#across").select_option(label="cost to buy, EUR")
    assert opened.chosen == [1]
    assert opened.middle_of(1) != before
    demand_agreement(opened, stored[1])


def test_the_choice_is_in_the_address_and_comes_back_with_it(chromium, study, opened, stored):
    opened.page.mouse.click(*opened.middle_of(2))
    opened.page.locator("#us").click()
    address = "#" + opened.page.url.split("#")[1]
    assert f"design={stored[2].name}" in address
    with Opened(
        chromium, study / "front_area.html", width=800, height=700, address=address
    ) as again:
        assert again.chosen == [2]
        demand_agreement(again, stored[2], "us")
        again.demand_quiet()


def test_an_address_of_no_design_opens_the_first(chromium, study):
    with Opened(
        chromium, study / "front_area.html", width=800, height=700, address="#design=x&units=y"
    ) as page:
        assert page.chosen == [0]
        page.demand_quiet()
