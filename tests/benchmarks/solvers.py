"""A plant's equations between two events, for solvers of others: LSODA of scipy and CVODE of scikit-sundae.

They are set up as a careful person would: the right-hand side is one compiled function with the plant's own
rates written out in it, as in the plant's step, and makes one product in numpy; the inputs and what flows
through pipes at the start of the step are folded into one column, and what pipes bring is linear over it,
with its history kept as the plant keeps it. CVODE is given the Jacobian. Each step of 100 ms begins afresh,
since outputs may change at every exchange.
"""

from __future__ import annotations

from math import exp
from struct import Struct

import numpy as np
from scipy.integrate import odeint
from sksundae.cvode import CVODE

from plants.kernel.compiled import Names
from tests.plants.delay_oracle import DelayOracle


class Problem:
    """The equations of `plant`, a copy that nobody else uses, as they are now; `y` are its states."""

    def __init__(self, plant):
        self.oracle, net, now = DelayOracle(plant), plant._net, plant._stepper.now
        self.pipes, self.changes = net.delays, plant._stepper._changes
        states, inputs = len(net.states), len(net.inputs)
        self.matrix, self.y = net.matrix(), np.array(now[:states])
        self.kelvins = np.array([net.kelvins(slot, kind) for slot, _, kind in net.states])
        count = sum(len(one.slots) for one in net.rates)
        driven, delays = states + inputs, states + inputs + count
        self.inputs, self.delayed = now[states:driven], np.array(now[delays:])
        self.from_pipes = np.ascontiguousarray(self.matrix[:, delays:])
        self.steady = self.matrix[:, states:driven] @ self.inputs
        columns = (self.matrix[:, :states], self.matrix[:, driven:delays], np.zeros((states, 1)))
        self.product = np.hstack([*columns, self.steady[:, None] + self.from_pipes @ self.delayed[:, None]])
        self.slope, self.slope_into = self.compiled(net, states, count)

    def compiled(self, net, states, count):
        """f(t, y), and the same that fills an array; the rates have a `t` of their own."""
        z = np.zeros(states + count + 2)
        z[-1] = 1.0
        names = Names()
        rates, results = net.rate_lines(names, lambda index: f"p{index}")
        space = {"z": z, "dot": self.product.dot, "raw": memoryview(z.data).cast("B"), "exp": exp}
        space |= names.bound | {"pack": Struct(f"{count + 1}d").pack_into}
        body = [f"z[:{states}] = y", "item = y.item"]
        body += [f"p{index} = item({index})" for index in net.needed()]
        values = "".join(f"{one}, " for one in results)
        body += [*rates, f"pack(raw, {8 * states}, {values}now)"]
        text = "\n ".join(["def slope(now, y):", *body, "return dot(z)"])
        text += "\n" + "\n ".join(["def slope_into(now, y, out):", *body, "dot(z, out)"])
        exec(text, space)
        return space["slope"], space["slope_into"]

    def begin(self, seconds):
        """What the pipes will bring over a step."""
        if self.pipes:
            ends = np.array([pipe.move(seconds) for pipe in self.pipes])
            self.product[:, -2] = self.from_pipes @ ((ends - self.delayed) / seconds)
            self.product[:, -1] = self.steady + self.from_pipes @ self.delayed
            self.delayed = ends

    def end(self, y):
        """Take over the states at the end of a step and remember what enters the pipes."""
        self.y = y
        if self.pipes:
            rates = [0.0] * (self.matrix.shape[1] - len(y) - len(self.inputs) - len(self.pipes))
            now = [*y.tolist(), *self.inputs, *rates, *self.delayed.tolist()]
            for pipe, change in zip(self.pipes, self.changes, strict=True):
                if pipe.rate:
                    pipe._entries.append((pipe._entered, pipe._clock, change(now)))


def lsoda(problem, tolerance):
    """step(seconds) of LSODA."""
    bounds = {"rtol": tolerance, "atol": absolute(problem, tolerance)}

    def step(seconds):
        problem.begin(seconds)
        problem.end(odeint(problem.slope, problem.y, (0.0, seconds), tfirst=True, **bounds)[1])

    return step


def cvode(method):
    """CVODE by a method: Adams or BDF."""

    def made(problem, tolerance):
        def jacobian(t, y, _, filled):
            filled[:] = problem.oracle.jacobian(problem.matrix, y)

        bounds = {"rtol": tolerance, "atol": absolute(problem, tolerance)}
        solver = CVODE(problem.slope_into, method=method, jacfn=jacobian, **bounds)

        def step(seconds):
            problem.begin(seconds)
            solver.init_step(0.0, problem.y)
            problem.end(solver.step(seconds).y.copy())

        return step

    return made


def absolute(problem, tolerance):
    """The tolerance as kelvins, in the unit of each state."""
    return tolerance / np.where(problem.kelvins > 0.0, problem.kelvins, 1.0)
