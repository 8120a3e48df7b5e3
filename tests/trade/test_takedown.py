"""The order of taking apart, against the standard library's topological sort."""

from graphlib import CycleError, TopologicalSorter

from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.trade.access.takedown import first_off, takedown

NAMES = "abcdefgh"
GRAPHS = st.dictionaries(
    st.sampled_from(NAMES), st.frozensets(st.sampled_from(NAMES), max_size=3), max_size=8
)


@given(GRAPHS)
def test_with_one_way_each_it_is_a_topological_order(graph: dict[str, frozenset[str]]) -> None:
    order, never = takedown(graph, {thing: [way] for thing, way in graph.items()})
    for place, thing in enumerate(order):  # whatever comes off has its way free
        assert graph.get(thing, frozenset()) <= {*order[:place]}
    try:
        every = set(TopologicalSorter(graph).static_order())
    except CycleError:
        assert never
    else:
        assert not never
        assert {*order} == every


@given(GRAPHS, GRAPHS)
def test_a_second_way_never_makes_it_harder(
    graph: dict[str, frozenset[str]], other: dict[str, frozenset[str]]
) -> None:
    one = {thing: [way] for thing, way in graph.items()}
    two = {thing: [way, *([other[thing]] if thing in other else [])] for thing, way in graph.items()}
    assert {*takedown(NAMES, one)[0]} <= {*takedown(NAMES, two)[0]}


def test_an_inline_engine_by_hand() -> None:
    """Worked out on paper from the table, as anybody would at the bench (common practice)."""
    ways = {
        "head": [["cover", "manifolds"]],
        "rod caps": [["sump"]],
        "pistons": [["head", "rod caps"]],
        "oil pump": [["sump"]],
        "main caps": [["sump", "oil pump"]],
        "crank": [["pistons", "main caps"], ["rod caps", "main caps"]],
    }
    things = ["cover", "manifolds", "head", "sump", "rod caps", "main caps", "oil pump", "pistons", "crank"]
    order, never = takedown(things, ways)
    assert order == (
        *("cover", "manifolds", "head", "sump", "rod caps", "oil pump", "pistons", "main caps", "crank"),
    )
    assert not never
    # with the head left on the crank comes out past the rods
    assert first_off("crank", ways, {"sump", "rod caps", "oil pump"}) == ("rod caps", "main caps")
