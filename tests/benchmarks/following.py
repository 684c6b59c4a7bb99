"""A plant that a solver of others carries through its exchanges, with the events where the plant has them."""

from __future__ import annotations

import time

from plants.kernel.events import NEVER
from tests.benchmarks.solvers import Problem

STEP_MS = 100


class Follower:
    """`plant` with its states carried by `method` (see solvers.py) at a tolerance.

    The solver begins afresh at each exchange and event. Events themselves, and what their new equations cost
    to set up, are the plant's own doing: `aside` counts the processor time that they took [s].
    """

    def __init__(self, plant, method, tolerance):
        self.plant, self.method, self.tolerance = plant, method, tolerance
        self.problem = self.step = None
        self.aside, settle = 0.0, plant._settle
        plant._look_ahead, plant._look_ms = lambda: None, NEVER

        def settled(**asked):
            settle(**asked)
            self.problem = None

        plant._settle = settled
        plant._settle(look=True)

    def advance(self, until_ms):
        """Carry on in one exchange; `hand_back` must follow before anything else is asked of the plant."""
        plant = self.plant
        while True:
            now = plant.time_ms
            if plant._next_ms <= now or plant._net.stale:
                self.happens()
            elif now >= until_ms:
                return
            else:
                if self.problem is None:
                    self.set_up()
                length = min(until_ms, plant._next_ms, now + plant._cap_ms) - now
                self.step(length * 0.001)
                plant.time_ms = now + length

    def happens(self):
        """What is due, or a renewal that a rate has asked for."""
        begun, plant = time.process_time(), self.plant
        self.hand_back()
        (plant._renew if plant._net.stale else plant._happen)()
        self.aside += time.process_time() - begun

    def set_up(self):
        """The equations from here on."""
        begun = time.process_time()
        self.problem = Problem(self.plant)
        self.step = self.method(self.problem, self.tolerance)
        self.aside += time.process_time() - begun

    def hand_back(self):
        """Give the states to the plant."""
        stepper, problem = self.plant._stepper, self.problem
        self.plant._net.queue.now_ms = self.plant.time_ms
        if problem is not None:
            stepper._to_left()
            stepper._first[: len(problem.y)] = problem.y
            stepper._now = None
            stepper._start[:] = [*stepper.rates_now(), *problem.delayed]
            stepper._now = None


def following(method, tolerance):
    """advance(plant, time_ms) of a plant in exchanges of 100 ms, carried by a solver."""
    followers = {}

    def advance(plant, time_ms):
        if plant not in followers:
            followers[plant] = Follower(plant, method, tolerance)
        while plant.time_ms < time_ms:
            followers[plant].advance(min(plant.time_ms + STEP_MS, time_ms))
        followers[plant].hand_back()

    return advance


def played(follower, commands, until_ms):
    """Processor time [s] that the solver takes for what the plant is commanded until then."""
    plant, begun = follower.plant, time.process_time()
    follower.aside = 0.0
    for now in range(plant.time_ms, until_ms, STEP_MS):
        values = commands.get(now)
        if values:
            events = time.process_time()
            follower.hand_back()
            plant.command(values)
            follower.aside += time.process_time() - events
        follower.advance(now + STEP_MS)
    spent = time.process_time() - begun - follower.aside
    follower.hand_back()
    return spent
