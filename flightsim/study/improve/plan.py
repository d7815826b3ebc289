"""A set of changes to a bay: guards that are added, and what is set otherwise."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from flightsim.scenario.reading.models import Starter
from flightsim.study.improve.space import Choice, Tier

ADJUSTED, RESIZED, ADDED, TIGHTENED = 1.0, 3.0, 9.0, 1.5  # what a change is worth avoiding, in adjustments (judgement)
LONG = 0.6  # m: by which a change counts once more


@dataclass(frozen=True)
class Added:
    """A guard that is added, or one that is had otherwise. changes: as for --set; path: where it then stands."""

    starter: Starter
    changes: tuple[str, ...]
    path: str

    @property
    def effort(self) -> float:
        """How much it is worth avoiding."""
        return {Tier.ADD: ADDED, Tier.RESIZE: RESIZED, Tier.ADJUST: TIGHTENED}[self.tier]

    @property
    def tier(self) -> Tier:
        """Whether anything is bought for it, and whether it hangs where nothing hung."""
        if self.starter.adds:
            return Tier.ADD
        return Tier.RESIZE if self.starter.bought else Tier.ADJUST

    @property
    def in_words(self) -> str:
        """In a builder's words."""
        return f"{'Add' if self.starter.adds else 'Have'} {self.starter.words}"


@dataclass(frozen=True)
class Changed:
    """Something set otherwise. choice: as the bay was found, or as a guard was added."""

    choice: Choice
    value: Any

    @property
    def path(self) -> str:
        """Names it."""
        return self.choice.path

    @property
    def effort(self) -> float:
        """How much it is worth avoiding: more, the further it goes."""
        once = ADJUSTED if self.choice.tier is Tier.ADJUST else RESIZED
        if isinstance(self.value, str):
            return once
        return float(once * (1.0 + abs(self.value - self.choice.present) / LONG))

    @property
    def tier(self) -> Tier:
        """Adjusted or resized."""
        return self.choice.tier

    @property
    def in_words(self) -> str:
        """In a builder's words."""
        return self.choice.in_words(self.value)


@dataclass(frozen=True)
class Plan:
    """What is to be done, in the order in which it was found."""

    added: tuple[Added, ...] = ()
    changed: tuple[Changed, ...] = ()

    @property
    def all(self) -> tuple[Added | Changed, ...]:
        """Every change, least work first."""
        return tuple(sorted((*self.changed, *self.added), key=lambda change: change.tier))

    @property
    def sets(self) -> tuple[str, ...]:
        """As for --set, in the order in which they have to be made."""
        added = (change for step in self.added for change in step.changes)
        return (*added, *(change for step in self.changed for change in step.choice.sets(step.value)))

    @property
    def effort(self) -> float:
        """How much it all is worth avoiding."""
        return sum(change.effort for change in self.all)

    def with_value(self, choice: Choice, value: Any) -> Plan:
        """The plan with one thing set; what is set back to where it stood is no change."""
        before = next((change for change in self.changed if change.path == choice.path), None)
        first = choice if before is None else before.choice
        unchanged = tuple(change for change in self.changed if change.path != choice.path)
        same = value == first.present if isinstance(value, str) else abs(value - first.present) < 1e-6
        return replace(self, changed=unchanged if same else (*unchanged, Changed(first, value)))

    def with_added(self, added: Added) -> Plan:
        """The plan with one guard more; what is had otherwise is not had in two ways."""
        same = None if added.starter.adds or added.starter.path.endswith(".+") else added.path
        return replace(self, added=(*(guard for guard in self.added if guard.path != same), added))

    def without(self, change: Added | Changed) -> Plan:
        """The plan without one change; of a guard that is added, without what was set of it."""
        if isinstance(change, Changed):
            return replace(self, changed=tuple(kept_change for kept_change in self.changed if kept_change != change))
        kept = tuple(
            kept_change for kept_change in self.changed if not f"{kept_change.path}.".startswith(f"{change.path}.")
        )
        added = tuple(kept_change for kept_change in self.added if kept_change != change)
        moved = [_moved(kept_change.path, change.path) for kept_change in added]
        places = tuple(replace(kept_change, path=path) for kept_change, path in zip(added, moved, strict=True))
        return Plan(places, tuple(_rebased(kept_change, change.path) for kept_change in kept))


def _moved(path: str, gone: str) -> str:
    """A path once an entry of a list is gone: those behind it in the list come one forward."""
    head, _, index = gone.rpartition(".")
    if not index.isdecimal() or not path.startswith(f"{head}."):
        return path
    own, _, rest = path[len(head) + 1 :].partition(".")
    if not own.isdecimal() or int(own) < int(index):
        return path
    return ".".join([head, str(int(own) - 1), *([rest] if rest else [])])


def _rebased(change: Changed, gone: str) -> Changed:
    places = tuple((_moved(path, gone), more) for path, more in change.choice.places)
    return replace(change, choice=replace(change.choice, path=_moved(change.path, gone), places=places))
