"""A judge that is slow, scalar and exact: fractions, no grids, no numpy.

It samples each formula at every moment at which anything can change and once in between, and applies the
formulas of harness/assertions/README.md word by word.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from harness.assertions import Outcome

# A formula is a tuple; its text, truth, margin and straight lines follow from it.


def text(f):
    kind, *rest = f
    if kind in ("and", "or"):
        return f"({text(rest[0])} {kind} {text(rest[1])})"
    if kind == "not":
        return f"not {text(rest[0])}"
    if kind == "flag":
        return rest[0]
    return {
        "x<": "x < {} K",
        "y>": "y > {} K",
        "sum<": "x + y < {} K",
        "abs<": "abs(x - y) < {} K",
        "max<": "max(x, y) < {} K",
    }[kind].format(rest[0])


def lines(f):
    """Linear functions whose zeros are all that can change f, as (of x, of y, constant)."""
    kind, *rest = f
    if kind in ("and", "or"):
        return lines(rest[0]) | lines(rest[1])
    if kind == "not":
        return lines(rest[0])
    if kind == "flag":
        return set()
    k = Fraction(rest[0])
    return {
        "x<": {(1, 0, -k)},
        "y>": {(0, 1, -k)},
        "sum<": {(1, 1, -k)},
        "abs<": {(1, -1, -k), (-1, 1, -k), (1, -1, 0)},
        "max<": {(1, 0, -k), (0, 1, -k), (1, -1, 0)},
    }[kind]


def rho(f, at):
    """Margin: a number, None where unknown decides, and its sign the truth (levels are never touched)."""
    kind, *rest = f
    if kind == "not":
        inner = rho(rest[0], at)
        return None if inner is None else -inner
    if kind in ("and", "or"):
        left, right = rho(rest[0], at), rho(rest[1], at)
        sign = 1 if kind == "and" else -1
        if left is not None and right is not None:
            return sign * min(sign * left, sign * right)
        alone = right if left is None else left
        return alone if alone is not None and sign * alone <= 0 else None
    if kind == "flag":
        return math.inf if at[rest[0]] else -math.inf
    x, y, k = at["x"], at["y"], Fraction(rest[0])
    needs = {"x<": (x,), "y>": (y,)}.get(kind, (x, y))
    if None in needs:
        return None
    return {
        "x<": lambda: k - x,
        "y>": lambda: y - k,
        "sum<": lambda: k - x - y,
        "abs<": lambda: k - abs(x - y),
        "max<": lambda: k - max(x, y),
    }[kind]()


@dataclass
class Sample:
    """A moment (begin == end) or the open time between two; values there, and at its two ends."""

    begin: Fraction
    end: Fraction
    at: dict
    ends: tuple


def mix(a, b, share):
    if a is None or b is None:
        return None
    return a + (b - a) * share


def between(a, b, share):
    x, y = (mix(a[n], b[n], share) for n in "xy")
    if share == 0:
        x, y = a["x"], a["y"]
    return {"x": x, "y": y, "b": a["b"], "c": a["c"]}


def sampled(rows, formulas, extra):
    """All samples of a run; `extra` are further moments to cut at."""
    zeros = set().union(*(lines(f) for f in formulas))
    zeros |= {
        tuple(p - sign * q for p, q in zip(f, g, strict=True))
        for f in zeros for g in zeros for sign in (1, -1)
    }
    groups = {}
    for time, at in rows:
        groups.setdefault(time, []).append(at)
    times = sorted(groups)
    out = []
    for t0, t1 in pairwise(times):
        a, b = groups[t0][-1], groups[t1][0]
        shares = {Fraction(0), Fraction(1)}
        shares |= {(Fraction(e) - t0) / (t1 - t0) for e in extra if t0 < e < t1}
        for p, q, r in zeros:
            if None in (a["x"], b["x"], a["y"], b["y"]) and p and q:
                continue
            if (p and None in (a["x"], b["x"])) or (q and None in (a["y"], b["y"])):
                continue
            v0, v1 = ((p * (e["x"] or 0) + q * (e["y"] or 0) + r) for e in (a, b))
            if v0 * v1 < 0:
                shares.add(v0 / (v0 - v1))
        ordered = sorted(shares)
        for s0, s1 in pairwise(ordered):
            m0, m1 = t0 + (t1 - t0) * s0, t0 + (t1 - t0) * s1
            here = between(a, b, s0)
            out.append(Sample(m0, m0, here, (here,)))
            ends = (between(a, b, s0 or Fraction(1, 10**30)), between(a, b, s1))
            out.append(Sample(m0, m1, between(a, b, (s0 + s1) / 2), ends))
    last = groups[times[-1]][-1]
    out.append(Sample(Fraction(times[-1]), Fraction(times[-1]), last, (last,)))
    return out


def truth(f, at):
    """True, False or None, by Kleene's tables; at its level a comparison is false."""
    kind, *rest = f
    if kind == "not":
        inner = truth(rest[0], at)
        return None if inner is None else not inner
    if kind in ("and", "or"):
        both, decides = (truth(rest[0], at), truth(rest[1], at)), kind == "or"
        return decides if decides in both else None if None in both else not decides
    margin = rho(f, at)
    return None if margin is None else margin > 0


def scope_truths(scope, samples):
    """The scope at each sample, before any grace."""
    kind, *rest = scope
    out, opened, last = [], False, False
    for s in samples:
        if kind == "all":
            out.append(True)
        elif kind == "times":
            out.append(rest[0] <= s.begin < rest[1])
        elif kind == "while":
            out.append(truth(rest[0], s.at))
        elif kind in ("after", "before"):
            opened = opened or truth(rest[0], s.at)
            out.append(opened if kind == "after" else not opened)
        else:
            a, b = truth(rest[0], s.at), truth(rest[1], s.at)
            opened = False if b else (opened or (a and not last))
            last = a
            out.append(opened)
    return out


def held(samples, values, length):
    """True where `values` has been true throughout the last `length`."""
    out, since = [], None
    for s, value in zip(samples, values, strict=True):
        since = None if not value else s.begin if since is None else since
        out.append(since is not None and s.begin >= since + length)
    return out


def starts(samples, values):
    before = [False, *values[:-1]]
    return [s.begin for s, b, v in zip(samples, before, values, strict=True) if v is True and b is not True]


def scope_text(scope):
    kind, *rest = scope
    if kind == "all":
        return None
    if kind == "times":
        return f"between {rest[0]} ms and {rest[1]} ms"
    if kind == "while":
        return text(rest[0])
    if kind == "between":
        return f"between ({text(rest[0])}) and ({text(rest[1])})"
    return f"{kind} {text(rest[0])}"


def judged(rows, scope, grace, formulas, extra=()):
    """Samples cut at all that matters, and the scope at each."""
    scoped = [f for f in scope[1:] if isinstance(f, tuple)]
    extra = {*extra, *(t for t in scope[1:] if isinstance(t, int))}
    samples = sampled(rows, [*formulas, *scoped], extra)
    if grace:
        extra |= {t + grace for t in starts(samples, scope_truths(scope, samples))}
        samples = sampled(rows, [*formulas, *scoped], extra)
    inside = scope_truths(scope, samples)
    return samples, held(samples, inside, grace) if grace else inside


def openings(samples, inside):
    out, going = [], False
    for s, now in zip(samples, inside, strict=True):
        if now:
            out.append([]) if not going else None
            out[-1].append(s)
        going = bool(now)
    return out


def invariant(rows, f, scope, grace):
    samples, inside = judged(rows, scope, grace, [f])
    bad = [s for s, i in zip(samples, inside, strict=True) if i is True and truth(f, s.at) is False]
    doubt = any(i is not False and truth(f, s.at) is not True for s, i in zip(samples, inside, strict=True))
    known = [
        r for s, i in zip(samples, inside, strict=True) if i is True for e in s.ends
        if truth(f, s.at) is not None and (r := rho(f, e)) is not None
    ]
    if bad:
        return Outcome.BROKEN, min(known), bad[0].begin
    if doubt:
        return Outcome.NOT_JUDGED, None, None
    return (Outcome.MET, min(known), None) if any(inside) else (Outcome.NOT_EXERCISED, None, None)


def existence(rows, f, scope, grace):
    samples, inside = judged(rows, scope, grace, [f])
    results, doubt = [], any(i is None for i in inside)
    for opening in openings(samples, inside):
        known = [r for s in opening for e in s.ends if (r := rho(f, e)) is not None]
        seen = any(truth(f, s.at) for s in opening)
        unknown = any(truth(f, s.at) is None for s in opening)
        doubt |= unknown and not seen
        if seen or not unknown:
            results.append((seen, max(known)))
    missed = [margin for seen, margin in results if not seen]
    if missed:
        return Outcome.BROKEN, min(missed), None
    if doubt:
        return Outcome.NOT_JUDGED, None, None
    found = [margin for _, margin in results]
    return (Outcome.MET, min(found), None) if found else (Outcome.NOT_EXERCISED, None, None)


def response(rows, trigger, expect, scope, within, lasting):
    samples, inside = judged(rows, scope, 0, [trigger, expect])
    fired = [i and truth(trigger, s.at) for s, i in zip(samples, inside, strict=True)]
    end = samples[-1].begin
    slacks, cut, missed = [], False, False
    for t in starts(samples, fired):
        answer = first_answer(samples, expect, t, lasting, end)
        due = t + within
        if answer is not None and answer[1]:
            slacks.append(due - answer[0])
            missed |= answer[0] > due
        elif due > end or (answer is not None and answer[0] <= due):
            cut = True
        else:
            slacks.append(due - (end if answer is None else answer[0]))
            missed = True
    if missed:
        return Outcome.BROKEN, min(slacks) / 1000, None
    if cut:
        return Outcome.NOT_JUDGED, None, None
    return (Outcome.MET, min(slacks) / 1000, None) if slacks else (Outcome.NOT_EXERCISED, None, None)


def first_answer(samples, expect, t, lasting, end):
    """(moment, whether it lasted) of the first answer from t on; not lasted only when the run cut it."""
    since = None
    for s in samples:
        if s.end < t or (s.end == t and s.begin < t):
            continue
        if truth(expect, s.at):
            since = max(t, s.begin) if since is None else since
            if s.end - since >= lasting:
                return since, True
        else:
            since = None
    return None if since is None else (since, False)
