"""One area wished before another: granted where nothing but lightness speaks against it, else refused with the rule."""

from dataclasses import replace

from figures import area, edge, order_of, scheme, shelf

from finishplan.order.model import PaintingOrder

SHELF = shelf()
COLOURS = {1: SHELF["white"], 2: SHELF["teal"], 3: SHELF["black"], 4: SHELF["orange"]}


def order(wishes: dict[int, tuple[int, ...]], touching: tuple[tuple[int, int], ...] = ()) -> PaintingOrder:
    """Four areas apart from each other but for those named as touching."""
    rows = [area(i, "body", f"n{i}", mix) for i, mix in COLOURS.items()]
    rows = [replace(a, before=wishes.get(a.id, ())) for a in rows]
    return order_of(scheme(rows, [edge(a, b) for a, b in touching]), COLOURS)


def sequence(found: PaintingOrder) -> list[int]:
    return [i for p in found.passes for i in p.areas]


def test_light_before_dark_gives_way_to_a_wish() -> None:
    """Light before dark (common practice), and the same passes with black where its maker wants it."""
    assert sequence(order({})) == [1, 4, 2, 3]
    found = order({3: (1, 4, 2)})
    assert sequence(found) == [3, 1, 4, 2]
    assert all(not w.refused for w in found.wished) and len(found.wished) == 3


def test_a_rule_stands_against_a_wish_and_is_told() -> None:
    found = order({3: (1,)}, touching=((1, 2), (2, 3)))
    assert sequence(found) == sequence(order({}, touching=((1, 2), (2, 3))))
    assert "1 n1 is lighter than 2 n2" in found.wished[0].refused
    assert "2 n2 is lighter than 3 n3" in found.wished[0].refused
    assert any("you asked for 3 n3 before 1 n1; not granted" in note for note in found.notes)


def test_no_pass_is_spent_on_a_wish() -> None:
    """Two whites, one of which has to wait for the teal: the wish would part the other from it."""
    colours = COLOURS | {4: SHELF["white"]}
    rows = [area(1, "body", "n1", colours[1]), area(2, "body", "n2", colours[2])]
    rows.append(replace(area(4, "body", "n4", colours[4], wide=1.0, flags=("dot",), within=2), before=()))
    rows[0] = replace(rows[0], before=(2,))
    found = order_of(scheme(rows, [edge(2, 4)]), {i: colours[i] for i in (1, 2, 4)})
    assert len(found.passes) == 2 and "another pass" in found.wished[0].refused


def test_a_wish_goes_before_a_tie_at_its_edge() -> None:
    """Two colours as light as each other: either may go first."""
    rows = {i: replace(area(i, "body", f"n{i}", SHELF["teal"], cm2=9.0 / i), before=()) for i in (1, 2)}
    colours = {1: SHELF["teal"], 2: replace(SHELF["teal"], id="Z", name="other teal")}
    plain = order_of(scheme([*rows.values()], [edge(1, 2)]), colours)
    later = sequence(plain)[1]
    rows[later] = replace(rows[later], before=(3 - later,))
    wished = order_of(scheme([*rows.values()], [edge(1, 2)]), colours)
    assert sequence(wished) == sequence(plain)[::-1] and not wished.wished[0].refused
    assert wished.edges[0].rule == "before"
