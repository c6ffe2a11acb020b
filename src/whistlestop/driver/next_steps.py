"""Circuits as they are to be done now: with the next steps that were accepted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from whistlestop.driver.guard import COACH, DIARY, LIMITS, UNREAD

if TYPE_CHECKING:
    from whistlestop.domain.circuit.circuit import Circuit
    from whistlestop.driver.services import Services


def with_next_steps(services: Services, circuit: Circuit) -> Circuit:
    """A circuit with the steps that were accepted for it.

    Kit, limits and weeks have no say in it: what was accepted was accepted.

    Raises:
        StoreError: Decisions were made, and they or the log cannot be read.
    """
    if not _has_decisions(services):
        return circuit
    # Imported here: most homes have made no decision, and the coach is not light.
    from whistlestop.driver.coaching import Coaching

    return Coaching(services).session(circuit)


def for_session(services: Services, circuit: Circuit) -> Circuit:
    """A circuit as a session begins it; the guard says what was left out.

    As its file says it, where steps cannot be read; so too where the limits
    cannot, since an accepted step may be one that they stand against now.
    """
    if not _has_decisions(services):
        return circuit
    guard = services.guard
    problem = guard.call(LIMITS, services.kit.limits_problem, UNREAD)
    if problem:
        guard.show(problem)
        guard.show("Accepted steps are left out until the limits are read.")
        return circuit
    with_steps = guard.call(DIARY, lambda: with_next_steps(services, circuit), None)
    if with_steps is None:
        with_steps = guard.call(COACH, lambda: _without_log(services, circuit), None)
    if with_steps is None:
        guard.show("Accepted steps are left out of this session.")
    return with_steps or circuit


def _without_log(services: Services, circuit: Circuit) -> Circuit:
    from whistlestop.driver.coaching import Coaching

    return Coaching(services).session(circuit, with_log=False)


def _has_decisions(services: Services) -> bool:
    return any(services.places.log.glob("decisions*.jsonl"))
