"""Sites without a design: each explanation names the reason, and the change it tells gives one."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from optimizer.errors import BadInput, Infeasible
from optimizer.milp.explain import LONGEST_S
from optimizer.ways_out import TRIES_S
from tests.whole.refusal_sites import REFUSED, SOUND, site
from tests.whole.site_file import designed, refused

WRITE = re.compile(r'(\w+) = (\[[^]]*\]|"[^"]*"|[\w.]+) under (?:the )?\[+(\w+)\]+')
"""What an instruction says to write into the site file: key, value and table."""


def refusal_of(reason: str) -> Infeasible:
    return refused(site(**REFUSED[reason]))


def changes(refusal: Infeasible) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for remedy in refusal.remedies:
        found.setdefault(remedy.requirement, []).append(remedy.change)
    return found


def figure(words: str, unit: str) -> float:
    """The figure that stands before a unit or word."""
    return float(re.search(rf"([\d.]+?)\.?{unit}", words)[1])


def written(text: str, change: str) -> str:
    """The site file with what an instruction says to write."""
    found = WRITE.findall(change)
    assert found, change
    for key, value, table in found:
        text = _with_key(text, table, key, value)
    return text


def _with_key(text: str, table: str, key: str, value: str) -> str:
    """The text with a key of its (first) table set, in place of an earlier value."""
    mark = re.search(rf"\[+{table}\]+", text)[0]
    head, _, body = text.partition(mark)
    end = re.search(r"^\[", body, re.MULTILINE)
    inside, rest = (body[: end.start()], body[end.start() :]) if end else (body, "")
    inside = re.sub(rf"^{key} = .*$", "", inside, flags=re.MULTILINE)
    return f"{head}{mark}\n{key} = {value}{inside}\n{rest}"


def test_the_sound_site_has_a_design_that_passes():
    # Each refused site differs from it in what is named, and in nothing else.
    assert designed(site()).check.passed


TRIED = {  # reason, requirement whose change is written into the site file as it is told
    "too little head": "pumps that may be bought",
    "no siphon window": "siphon kits that may be used",
    "sump too small": "sumps that may be bought",
    "power cut": "water that runs back in a power cut",
    "return pipe too narrow": "return pipe that may be bought",
    "velocity": "the speed of the water",
    "noise": "the limit on noise",
}


@pytest.mark.parametrize("reason", TRIED)
def test_a_change_told_for_the_site_file_gives_a_design_when_it_is_written_there(reason):
    told = changes(refusal_of(reason))[TRIED[reason]]
    answer = designed(written(site(**REFUSED[reason]), told[-1]))
    assert answer.check.passed


def test_too_few_sumps_are_told_by_how_many_would_do():
    told = changes(refusal_of("sump too small"))["how many sumps may be joined"]
    assert designed(written(site(**REFUSED["sump too small"]), told[0])).check.passed


Amend = Callable[[dict[str, list[str]]], dict[str, str]]

MEASURED: dict[str, tuple[str, Amend]] = {  # reason, requirement, the change applied by its figure
    "no siphon window": (
        "bed type tub",
        lambda told: {"floods": f"{figure(told['bed type tub'][0], ' floods')} per hour"},
    ),
    "budget": (
        "the money to buy with",
        lambda told: {"goal": f"budget = {figure(told['the money to buy with'][0], '$'):.2f}"},
    ),
    "no fall": (
        "return pipe must fall to the sump",
        lambda told: {"floor": f"-{figure(told['return pipe must fall to the sump'][0], ' m')} m"},
    ),
    "too few pipe sizes": (
        "the sizes of pipe to keep",
        lambda told: {
            "buy": REFUSED["too few pipe sizes"]["buy"].replace(
                "most = 1",
                f"most = {figure(told['the sizes of pipe to keep'][0], ' sizes'):.0f}",
            )
        },
    ),
}


@pytest.mark.parametrize("reason", MEASURED)
def test_a_change_told_as_a_figure_gives_a_design_at_that_figure(reason):
    requirement, amended = MEASURED[reason]
    told = changes(refusal_of(reason))
    assert requirement in told
    assert designed(site(**{**REFUSED[reason], **amended(told)})).check.passed


def test_fish_turnovers_too_high_are_refused_with_turnovers_and_a_tank_that_would_do():
    # Two wide beds take 34.8 L/min together, told in the refusal: 2088 L an hour.
    refusal = refusal_of("fish turnovers")
    assert figure(refusal.clash.split("all beds")[1], " L/min") == 34.8
    told, more = changes(refusal), REFUSED["fish turnovers"]["more"]
    turnovers = figure(told["turnovers of the fish tank"][0], " per hour")
    fewer = more.replace("1 per hour", f"{turnovers} per hour")
    assert designed(site(more=fewer)).check.passed
    litres = figure(told["water in the fish tank"][0], " L")
    assert designed(site(more=more.replace("9000 L", f"{litres:.0f} L"))).check.passed
    assert refused(site(more=more.replace("9000 L", f"{litres + 2:.0f} L")))


def test_no_room_for_the_beds_is_told_with_how_many_fit():
    with pytest.raises(BadInput) as fault:
        designed(site(**REFUSED["no room"]))
    (problem,) = fault.value.problems
    assert "goal.beds" in problem.where
    room = int(figure(problem.what, r"\.?$"))
    assert designed(site(goal=f"beds = {room}")).check.passed


def test_a_stand_too_weak_is_told_with_the_mass_it_must_bear():
    with pytest.raises(BadInput) as fault:
        designed(site(**REFUSED["stand too weak"]))
    (problem,) = fault.value.problems
    assert "bed_type[1].stand" in problem.where
    assert figure(problem.what, " kg on") > figure(problem.what, r" kg\.")
    assert designed(site(stand=SOUND["stand"])).check.passed  # it bears 2400 kg


WORDS = {  # what the first sentence of each refusal must speak of
    "too little head": "pump must lift water",
    "no siphon window": "3 floods an hour cannot be had",
    "sump too small": "the sump must hold all beds at once",
    "budget": "the money to buy with",
    "return pipe too narrow": "return pipe must carry the siphons' bursts",
    "no fall": "return pipe must fall to the sump",
    "power cut": "a power cut must not overflow the sump",
    "fish turnovers": "fish water",
    "too few pipe sizes": "the sizes of pipe to keep",
    "velocity": "slowly enough",
}


@pytest.mark.parametrize("reason", WORDS)
def test_a_refusal_speaks_of_its_own_reason(reason):
    assert WORDS[reason] in refusal_of(reason).clash


def test_a_siphon_that_floods_too_seldom_is_told_by_what_each_standpipe_reaches():
    # Wider pipe drains faster, so a wider standpipe keeps more floods an hour; the sizes are told
    # up to the first that reaches the three floods asked for.
    clash = refusal_of("no siphon window").clash
    assert "a 2.88 m2 bed" in clash
    reached = [float(x) for x in re.findall(r"at most about (\d+\.\d)", clash)]
    assert reached == sorted(reached)
    assert reached[-2] < 3.0 <= reached[-1]
    size = re.findall(r"([\d/-]+ in) at most", clash)[-1].replace("/", "_").replace("-", "_")
    kit = f"kit_sch40_{size.removesuffix('_in').removesuffix(' in')}_rim_funnel"
    assert designed(site(floods="3 per hour", kits=f'["{kit}"]')).check.passed


def test_an_explanation_takes_at_most_half_a_minute():
    assert LONGEST_S + TRIES_S < 30.0
