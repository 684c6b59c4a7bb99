"""The slow, exact judge of what is counted and measured: samples and fractions of `exact_judge`.

Each function gives the figure of each opening of the scope as (figure, whether it counts), or of
precedence the slack of each opening in which the event came. Runs without missing figures only.
"""

from fractions import Fraction

from tests.assertions.exact_judge import judged, openings, rho, truth


def opened(rows, scope, grace, formulas):
    """The openings as lists of samples, each with the moment at which it closed."""
    samples, inside = judged(rows, scope, grace, formulas)
    return [(opening, opening[-1].end) for opening in openings(samples, inside)]


def occurrences(opening, f):
    """[since, until, whether it began and ended inside] of each time that f is true."""
    found, before = [], None
    for s in opening:
        now = truth(f, s.at)
        if now and before:
            found[-1][1] = s.end
        elif now:
            found.append([s.begin, s.end, before is False])
        before = now
    if before:
        found[-1][2] = False
    return found


def count(rows, f, scope, grace):
    return [(len(occurrences(o, f)), True) for o, _ in opened(rows, scope, grace, [f])]


def longest(rows, f, scope, grace, each=False):
    out = []
    for o, _ in opened(rows, scope, grace, [f]):
        lasted = [until - since for since, until, _ in occurrences(o, f)]
        out.append((max(lasted, default=Fraction(0)) / 1000, bool(lasted) or not each))
    return out


def shortest(rows, f, scope, grace):
    out = []
    for o, _ in opened(rows, scope, grace, [f]):
        lasted = [until - since for since, until, whole in occurrences(o, f) if whole]
        out.append((min(lasted, default=Fraction(0)) / 1000, bool(lasted)))
    return out


def absent(rows, f, scope, grace, within):
    out = []
    for o, end in opened(rows, scope, grace, [f]):
        gaps = [until - since for since, until, _ in occurrences(o, ("not", f))]
        out.append((max(gaps, default=Fraction(0)) / 1000, end - o[0].begin >= within))
    return out


def precedence(rows, event, leave, scope, grace):
    out = []
    for o, end in opened(rows, scope, grace, [event, leave]):
        events = [s.begin for s in o if truth(event, s.at)]
        leaves = [s.begin for s in o if truth(leave, s.at)]
        if events:
            out.append((events[0] - min([*leaves, end])) / Fraction(1000))
    return out


def _error(at, target):
    return at["x"] - Fraction(target)


def _reached(opening, target):
    """The samples from the first moment on at which x has been at the target or on both sides of it."""
    sides, out = set(), []
    for s in opening:
        e = _error(s.at, target)
        sides |= {1, -1} if e == 0 else {1} if e > 0 else {-1}
        if len(sides) == 2:
            out.append(s)
    return out


def peak(rows, kind, target, scope, grace):
    sign = {"overshoot": 1, "undershoot": -1}.get(kind, 0)
    out = []
    for o, _ in opened(rows, scope, grace, [("x<", target)]):
        samples = _reached(o, target) if sign else o
        errors = [_error(e, target) for s in samples for e in s.ends]
        sizes = [sign * e if sign else abs(e) for e in errors]
        out.append((max([Fraction(0), *sizes]), bool(samples)))
    return out


def integral(rows, target, scope, grace, weighed):
    out = []
    for o, _ in opened(rows, scope, grace, [("x<", target)]):
        total = Fraction(0)
        for s in o:
            if s.end == s.begin:
                continue
            # Simpson's rule is exact for the product of two straight lines.
            span = (s.end - s.begin) / 1000
            ends = [abs(_error(e, target)) for e in s.ends]
            sizes = [ends[0], (ends[0] + ends[1]) / 2, ends[1]]
            if weighed:
                start = (s.begin - o[0].begin) / 1000
                sizes = [size * (start + span * k / 2) for k, size in enumerate(sizes)]
            total += span * (sizes[0] + 4 * sizes[1] + sizes[2]) / 6
        out.append((total, True))
    return out


def settling(rows, band, scope, grace):
    """Of y about 0.5: None where it is outside when the scope closes."""
    within = ("and", ("y>", 0.5 - band), ("not", ("y>", 0.5 + band)))
    out = []
    for o, _ in opened(rows, scope, grace, [within]):
        outside = [s for s in o if rho(within, s.at) < 0]
        at_end = bool(outside) and outside[-1] is o[-1]
        last = outside[-1].end if outside else o[0].begin
        out.append((None if at_end else (last - o[0].begin) / 1000, True))
    return out
