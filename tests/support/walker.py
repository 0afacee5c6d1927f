"""Walks a procedure as a technician would, towards one way on of one step, then to an ending."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Iterator
from decimal import Decimal

from fieldvoice.language import intents as i
from fieldvoice.procedure.derived_limits import OF_ANSWERS
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.step import Need, Step, When
from fieldvoice.procedure.verdicts import VERDICTS
from fieldvoice.quantity.facts import facts
from fieldvoice.quantity.quantities import quantity
from support.bench import Bench
from support.walked import Walked

Edge = tuple[str, str, str | None]  # step, name of the way on, where it leads
Known = frozenset[tuple[str, str]]  # answers by step; (quantity, "outside") of its limits
Node = tuple[str, Known]
Path = list[tuple[str, str]]  # steps and the ways out of them
# found once for all walks of a procedure, which does not change; by its sha256
_APPLIES: dict[str, dict[Node, bool | None]] = {}
_PATHS: dict[str, dict[tuple[Node, Edge | None], Path]] = {}  # to the edge; None: to an ending
_WALKED: dict[str, Walked] = {}

_DECAY = {  # microns at minutes of the hold, by verdict; the limit is above 290 at the start
    "tight": lambda minute: 260.0 + 10.0 * (1 - 0.8**minute),
    "leaking": lambda minute: 290.0 + 300.0 * minute,
    "wet": lambda minute: 290.0 + 1400.0 * (1 - 0.72**minute),
}
SITE = {"refrigerant": "R-410A"}
# Lennox 14ACX manual p. 26: 95 F outdoors, 70 F wet bulb, target superheat 18 F. R-410A at
# 118 psig: dew 40 F; at 355 psig: bubble 108 F (Johnson Controls CSV p. 63); target 10 F.
_CHECKED: dict[str, tuple[float, dict[str, float], str]] = {
    "outdoor-temperature": (95.0, {"outside outdoor-temperature": -75.0}, "degF"),
    "indoor-wet-bulb": (70.0, {"not-known": -20.0}, "degF"),
    "suction-pressure": (118.0, {"not-known": 700.0}, "psig"),
    "suction-temperature": (58.0, {"high": 20.0, "low": -16.0}, "degF"),
    "liquid-pressure": (355.0, {"not-known": 400.0}, "psig"),
    "liquid-temperature": (98.0, {"high": -8.0, "low": 7.0}, "degF"),
}
_NITROGEN = {"passed": 0.0, "failed": -25.0, "gaining": 25.0}  # psi over the whole hold


def edges(procedure: Procedure) -> Iterator[Edge]:
    """Every way on of every step."""
    for step in procedure.steps:
        for need in step.needs:
            if need.otherwise:
                yield step.name, f"outside {need.quantity}", need.otherwise
        for way in step.ways:
            yield step.name, way.name, procedure.destination(step, way.to)
        if step.repeat:
            yield step.name, "repeat", step.repeat.start
        if step.ending:
            yield step.name, "end", None
            if step.when:
                yield step.name, "passed over", procedure.destination(step, None)
        elif not (step.branches or step.choices):
            yield step.name, "done", procedure.destination(step, None)
        elif step.when:
            yield step.name, "passed over", procedure.destination(step, None)


class Walker:
    """One walk; `taken` collects the ways that were really taken."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.bench = Bench(procedure, SITE)
        self._found = _APPLIES.setdefault(procedure.sha256, {})
        self._paths = _PATHS.setdefault(procedure.sha256, {})
        self._walked = _WALKED.setdefault(procedure.sha256, Walked())
        self.ways: dict[str, list[tuple[str, str | None]]] = {s.name: [] for s in procedure.steps}
        for start, way, to in edges(procedure):
            self.ways[start].append((way, to))
        self.asked = {w.answer for s in procedure.steps for w in s.when}
        self.diverting = {(n.quantity, n.limits) for s in procedure.steps for n in s.needs
                          if n.otherwise}
        self.visited: list[str] = []
        self.verdict = ""  # what the next check is to come to
        self.wished: dict[str, str] = {}  # quantity -> the limit to read it at

    def walk(self, goal: Edge, most: int = 400) -> str | None:
        """Take the goal's way on, then go on to an ending; returns its name."""
        reached, by = False, set[Hashable]()
        if self.procedure.step(goal[0]).know:  # passed over where it is known
            self.bench = Bench(self.procedure)
        place = self._walked.beyond(0, self.bench.state.facts == SITE)
        self.wished = {w.answer: w.limits[0] for w in self.procedure.step(goal[0]).when
                       if w.limits and not self._diverts(w) and not self._moves(w)}
        for _ in range(most):
            if self.bench.state.finished:
                break
            step = self.bench.state.open_step
            assert step is not None
            self.visited.append(step.name)
            there = step.name == goal[0] and not reached
            if there:
                self.verdict = goal[1]
            way = goal[1] if there else self._towards(step, goal, reached)
            place = self._go(place, step, way, keep=not reached)
            reached = reached or there
            here = (place, *sorted(self.wished.items()))
            if reached and (end := self._walked.end_of(here)) is not None:
                self.bench, self.visited = end
                break
            if reached:
                by.add(here)
        assert reached, f"never came to {goal[0]}: {self.visited[-12:]}"
        self._walked.ended(by, self.bench, self.visited)
        return self.bench.state.ending

    def _go(self, place: int, step: Step, way: str, *, keep: bool) -> int:
        """Take a way out of the step, unless a walk that came here the same way has taken it."""
        read = {n.quantity for n in step.needs}
        deed = (way, self.verdict if read & _CHECKED.keys() else "",
                *((q, limit) for q, limit in sorted(self.wished.items()) if q in read))
        beyond = self._walked.beyond(place, deed)
        if self._walked.is_kept(beyond):
            self._walked.put(self.bench, beyond)
        else:
            self.take(step, way)
            if keep:
                self._walked.keep(beyond, self.bench)
        return beyond

    def _towards(self, step: Step, goal: Edge, reached: bool) -> str:
        path = self._path(step, goal, reached)
        ahead = [*path, *([] if reached else [(goal[0], goal[1])])]
        self.verdict = next((w for name, w in ahead if self.procedure.step(name).check), "")
        return path[0][1] if path else "end"

    def _path(self, step: Step, goal: Edge, reached: bool) -> Path:
        """From here to the goal, or to an ending; all that begins on a path found before is known.
        """
        here, to = (step.name, self._known()), None if reached else goal
        if (here, to) not in self._paths:
            nodes, path = self._search(here, to)
            for place, node in enumerate(nodes):
                if path[place:place + 1] != [(node[0], "passed over")]:  # it would not be open
                    self._paths.setdefault((node, to), path[place:])
        return self._paths[here, to]

    def _search(self, here: Node, goal: Edge | None) -> tuple[list[Node], Path]:
        """The shortest path, and what is known at each of its steps and where it ends.

        What is answered and read on the way decides which steps with conditions are passed over.
        """
        came: dict[Node, tuple[Node, str] | None] = {here: None}
        waiting = deque([here])
        while waiting:
            node = waiting.popleft()
            name, known = node
            fits = self._applies(name, known) is not False
            if fits and (name == goal[0] if goal else self.procedure.step(name).ending):
                return self._traced(came, node)
            for way, to in self.ways[name]:
                if to is None or (way == "passed over" and node == here) \
                        or not self._open(name, way, known):
                    continue
                beyond = (to, self._learnt(known, name, way))
                if beyond not in came:
                    came[beyond] = (node, way)
                    waiting.append(beyond)
        raise AssertionError(f"no way from {here[0]} to {goal}")

    @staticmethod
    def _traced(came: dict[Node, tuple[Node, str] | None], end: Node) -> tuple[list[Node], Path]:
        nodes, path = [end], Path()
        while (back := came[nodes[-1]]) is not None:
            node, way = back
            nodes.append(node)
            path.append((node[0], way))
        return nodes[::-1], path[::-1]

    def _open(self, name: str, way: str, known: Known) -> bool:
        """Whether a way out of a step can be taken; one that is passed over leads on as if done."""
        applies = self._applies(name, known)
        return way == "done" or applies is None or applies is (way != "passed over")

    def _applies(self, name: str, known: Known) -> bool | None:
        """Whether a step's conditions hold by what is known; None: the walk does not know."""
        when = self.procedure.step(name).when
        if not when:
            return True
        asked = (name, known)
        if asked not in self._found:  # a procedure does not change, and is walked hundreds of times
            found = [self._holds(one, dict(known)) for one in when]
            self._found[asked] = False if False in found else None if None in found else True
        return self._found[asked]

    def _holds(self, when: When, known: dict[str, str]) -> bool | None:
        if not when.limits:
            return known.get(when.answer, when.options[0]) in when.options
        return known.get(when.answer) != "outside" if self._diverts(when) else None

    def _diverts(self, when: When) -> bool:
        """Whether a reading outside of the condition's limits leads another way, too."""
        return (when.answer, when.limits) in self.diverting

    def _moves(self, when: When) -> bool:
        """Whether an answer sets the condition's limits: a usual reading lies beyond them then."""
        return any(self.procedure.limits[name].figure in OF_ANSWERS for name in when.limits)

    def _learnt(self, known: Known, step: str, way: str) -> Known:
        """What is known once a step was left by a way, of all that conditions ask for."""
        outside = way.startswith("outside ")
        what, value = (way.removeprefix("outside "), "outside") if outside else (step, way)
        if what not in self.asked or way == "passed over":
            return known
        return frozenset({*(k for k in known if k[0] != what), (what, value)})

    def _known(self) -> Known:
        """What the job knows already of all that conditions ask for."""
        state, found = self.bench.state, set[tuple[str, str]]()
        for when in (w for s in self.procedure.steps for w in s.when):
            last, answer = state.last(when.answer), state.answer(when.answer)
            if when.limits and last is not None and self._diverts(when) \
                    and state.within(when, last.si) is False:
                found.add((when.answer, "outside"))
            elif not when.limits and answer is not None:
                found.add((when.answer, answer))
        return frozenset(found)

    def take(self, step: Step, way: str) -> None:
        """Do what leads out of the step by this way."""
        bench = self.bench
        if bench.state.unacknowledged():
            bench.say(i.Understood())
        if any(w.name == way for w in step.exits):
            bench.say(i.Choose(way))
            return
        if step.know is not None:
            fact = step.know.fact
            bench.say(i.TellFact(fact, SITE.get(fact, facts()[fact].example)))
            return
        for need in step.needs:
            self._read(step, need, outside=way == f"outside {need.quantity}")
            if bench.state.step != step.name:
                return
        if step.hold is not None:
            self._hold(step, way)
        if bench.state.step == step.name and step.choices:
            bench.say({"yes": i.Yes(), "no": i.No()}.get(way, i.Choose(way)))
            if bench.state.question is not None:
                bench.say(i.Yes())
        elif bench.state.step == step.name and not step.branches and not bench.state.finished:
            bench.say(i.Next())
            if bench.state.question is not None:  # a fire watch that still runs: stay for it
                bench.say(i.No())
                bench.wait(minutes=120)

    def _read(self, step: Step, need: Need, outside: bool) -> None:
        for _ in range(need.times):
            if self.bench.state.step == step.name:
                value, unit = self._value(need, outside)
                self.bench.read(round(value, 1), unit, need.quantity)
                if self.bench.state.question is not None:
                    self.bench.say(i.Yes())

    def _value(self, need: Need, outside: bool) -> tuple[float, str]:
        low, high = (self.bench.state.limit(n) if n else None for n in (need.low, need.high))
        known = need.quantity in _CHECKED
        free = need.quantity == "outdoor-temperature" or not (need.low or need.high)
        wished = self.wished.get(need.quantity)
        if wished and not outside:
            limit = self.bench.state.limit(wished)
            return float(limit.value), limit.unit
        if known and free:
            middle, by_verdict, unit = _CHECKED[need.quantity]
            wanted = f"outside {need.quantity}" if outside else self.verdict
            return middle + by_verdict.get(wanted, 0.0), unit
        if low is None and high is None:
            about = quantity(need.quantity)
            middle = about.low + 0.3 * (about.high - about.low)
            return middle, about.table_unit.removeprefix("delta-")
        if outside:
            over = float(high.value) + max(5.0, 0.5 * abs(float(high.value))) if high else 0.0
            return (over, high.unit) if high else _under(low)
        if low and high:
            return float(low.value + high.value) / 2, high.unit
        return (float(high.value) * 0.9, high.unit) if high else (float(low.value) * 1.1, low.unit)

    def _hold(self, step: Step, way: str) -> None:
        """Run the hold so that its verdict is `way`; a verdict of its own step is got past."""
        hold, bench = step.hold, self.bench
        assert hold is not None
        bench.say(i.StartHold())
        verdict = way if hold.judge and way in VERDICTS[hold.judge] else "tight"
        for minute in range(1, 400):
            if bench.state.step != step.name or bench.state.finished:
                return
            if hold.quantity and self._reads_at(minute, verdict):
                self._hold_reading(step, verdict)
            over = bench.state.hold is not None and bench.state.hold.finished
            if over and (hold.judge is None or verdict == "not-yet-clear"):
                if hold.judge is None:
                    return
                self._hold_reading(step, verdict)
                return
            if bench.state.step == step.name:
                bench.wait(minutes=1)

    def _reads_at(self, minute: int, verdict: str) -> bool:
        if verdict != "not-yet-clear":
            return True
        hold = self.bench.state.hold
        return hold is not None and hold.finished

    def _hold_reading(self, step: Step, verdict: str) -> None:
        bench, hold = self.bench, step.hold
        assert hold is not None
        timer = bench.state.hold
        assert timer is not None
        minute = timer.minutes(bench.now)
        if hold.judge == "nitrogen":
            whole = bench.state.limit_si(hold.duration) / 60
            value = 120.0 + _NITROGEN.get(verdict, 0.0) * minute / whole
            bench.read(round(value, 1), "psig", "nitrogen-pressure")
            if timer.due <= bench.now and bench.state.step == step.name:
                last = bench.state.last("ambient-temperature")
                assert last is not None
                bench.read(str(last.now.value), last.now.unit, "ambient-temperature")
        else:
            value = _DECAY.get(verdict, _DECAY["tight"])(minute)
            bench.read(Decimal(round(value)), "microns", "vacuum")
        if bench.state.question is not None:
            bench.say(i.Yes())


def _under(limit: object) -> tuple[float, str]:
    value, unit = float(limit.value), limit.unit  # type: ignore[attr-defined]
    return value - abs(value) * 0.3, unit
