"""An exact solver that is not the engine: the rules of sewing as a CP-SAT model (OR-Tools).

The rules, from the geometry alone: at every knot only sets of missing bars occur that a
stitch exists for. Runs follow, at each knot, the pair of bars that one pass of the twine joins:
both upper, both lower, or both on one side. A run begins and ends at a knot that misses one bar,
goes along a row or from a row to the one below, and there are no rings. With several runs there
is an order in which each loop hangs before it is tied. Least: bars, plus a cost for each run.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ortools.sat.python import cp_model

Knot = tuple[int, int]
Bar = tuple[int, int]

# Missing bars (upper left, upper right, lower left, lower right) for which a stitch exists.
SEWABLE = [
    (0, 0, 0, 0),
    (1, 0, 0, 0),
    (0, 1, 0, 0),
    (0, 0, 1, 0),
    (0, 0, 0, 1),
    (0, 0, 1, 1),
    (1, 1, 0, 0),
    (0, 1, 0, 1),
    (1, 0, 1, 0),
    (1, 1, 1, 1),
]


@dataclass(frozen=True)
class Exact:
    """What the solver found: cost, bars to sew, number of runs, and whether it is proved."""

    cost: int
    bars: frozenset[Bar]
    runs: int
    proved: bool


def ends(bar: Bar) -> tuple[Knot, Knot]:
    """The two knots of a bar (row, column), upper first."""
    row, column = bar
    if (row + column) % 2:
        return (column + 1, row), (column, row + 1)
    return (column, row), (column + 1, row + 1)


def around(knot: Knot) -> tuple[Bar, Bar, Bar, Bar]:
    """The bars of a knot: upper left, upper right, lower left, lower right."""
    x, y = knot
    return (y - 1, x - 1), (y - 1, x), (y, x - 1), (y, x)


def solve(
    broken: Iterable[Bar],
    *,
    most_runs: int = 1,
    run_cost: int = 0,
    pad: int = 2,
    pad_rows: int = 1,
    seconds: float = 60.0,
    start: str | None = None,
) -> Exact:
    """Find the trim of least bars + run_cost x runs with at most `most_runs` runs.

    `start` is the side on which the run sewn first starts; either where None.

    Bars may be cut up to `pad` columns and `pad_rows` rows beyond the broken ones.
    """
    broken = set(broken)
    top, bottom = min(r for r, _ in broken), max(r for r, _ in broken)
    left, right = min(c for _, c in broken), max(c for _, c in broken)
    bars = [
        (row, column)
        for row in range(top - pad_rows, bottom + pad_rows + 1)
        for column in range(left - pad, right + pad + 1)
    ]
    model = cp_model.CpModel()
    missing = {bar: model.new_bool_var(f"missing {bar}") for bar in bars}
    for bar in broken:
        model.add(missing[bar] == 1)
    node = {bar: number for number, bar in enumerate(bars, 1)}
    arcs = [(node[bar], node[bar], ~missing[bar]) for bar in bars]
    order = {bar: model.new_int_var(0, most_runs - 1, f"order {bar}") for bar in bars}
    at_end: dict[tuple[Bar, Knot], list[cp_model.IntVar]] = {
        (bar, knot): [] for bar in bars for knot in ends(bar)
    }
    knots = {knot for bar in bars for knot in ends(bar)}
    starts: list[cp_model.IntVar] = []
    finishes: list[cp_model.IntVar] = []

    def arc(a: Bar, b: Bar, knot: Knot) -> cp_model.IntVar:
        literal = model.new_bool_var(f"{a} to {b}")
        arcs.append((node[a], node[b], literal))
        at_end[a, knot].append(literal)
        at_end[b, knot].append(literal)
        model.add(order[a] == order[b]).only_enforce_if(literal)
        return literal

    for knot in knots:
        own = around(knot)
        state = [missing.get(bar, 0) for bar in own]
        model.add_allowed_assignments(
            [v if not isinstance(v, int) else model.new_constant(0) for v in state], SEWABLE
        )
        upper_left, upper_right, lower_left, lower_right = own
        for a, b in ((upper_left, upper_right), (lower_left, lower_right)):
            if a in missing and b in missing:
                arc(a, b, knot)
                arc(b, a, knot)
        for a, b, others in (
            (upper_left, lower_left, (upper_right, lower_right)),
            (upper_right, lower_right, (upper_left, lower_left)),
        ):
            if a in missing and b in missing:
                literal = arc(a, b, knot)
                for other in others:
                    if other in missing:
                        model.add_implication(literal, ~missing[other])
        if all(bar in missing for bar in own):
            lost = model.new_bool_var(f"lost {knot}")
            model.add(sum(state) == 4).only_enforce_if(lost)
            model.add(sum(state) <= 3).only_enforce_if(~lost)
            model.add(order[upper_left] <= order[lower_left]).only_enforce_if(lost)
    named: list[list[cp_model.IntVar]] = [[] for _ in range(most_runs)]
    first: list[cp_model.IntVar] = []
    for bar in bars:
        for knot in ends(bar):
            begin = model.new_bool_var(f"begin {bar} {knot}")
            finish = model.new_bool_var(f"finish {bar} {knot}")
            arcs += [(0, node[bar], begin), (node[bar], 0, finish)]
            starts.append(begin)
            finishes.append(finish)
            at_end[bar, knot] += [begin, finish]
            for other in around(knot):
                if other != bar and other in missing:
                    model.add_implication(begin, ~missing[other])
                    model.add_implication(finish, ~missing[other])
            parts = [model.new_bool_var("") for _ in range(most_runs)]
            model.add(sum(parts) == begin)
            for number, part in enumerate(parts):
                model.add(order[bar] == number).only_enforce_if(part)
                named[number].append(part)
            # The start stands at the left or the right end of its bar.
            if (knot[0] == bar[1]) == (start == "left"):
                first.append(parts[0])
    for parts in named:
        model.add(sum(parts) <= 1)
    if start is not None:
        model.add(sum(first) == 1)
    for (bar, _), literals in at_end.items():
        model.add(sum(literals) == missing[bar])
    if most_runs == 1:
        model.add_circuit(arcs)
    else:
        model.add_multiple_circuit(arcs)
    model.minimize(sum(missing.values()) + run_cost * sum(starts))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), solver.status_name(status)
    return Exact(
        cost=round(solver.objective_value),
        bars=frozenset(bar for bar in bars if solver.value(missing[bar])),
        runs=sum(solver.value(begin) for begin in starts),
        proved=status == cp_model.OPTIMAL,
    )
