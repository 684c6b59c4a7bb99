"""The file of `unlit run --junit`: the XML that CI servers read, a suite a scenario, a case an assertion.

There is no standard behind this form; what is written here is what its readers share: `testsuites`,
`testsuite` with its counts, `testcase` with `failure` or `error`. Nothing is ever `skipped`, since readers
take that for well: what could not be judged is an error.
"""

from __future__ import annotations

from xml.etree import ElementTree

from harness.assertions.verdict import Outcome
from harness.report.account import ComparisonAccount, RunAccount, SessionAccount
from harness.report.decisive import outcome
from harness.report.plain import plain

#: A case beside the assertions: that there was a run, and that it can be believed.
WHOLE = "the run shows something"


def as_junit(session: SessionAccount) -> str:
    """The session as XML 1.0; what XML cannot hold is written out."""
    root = ElementTree.Element("testsuites", name="unlit")
    for run in session.runs:
        root.append(_suite(run))
    if not session.runs:
        root.append(_suite(RunAccount(scenario="unlit run", title="", status="not played")))
    if session.comparison is not None:
        root.append(_comparison(session.comparison))
    _count(root)
    root.set("time", f"{sum(run.wall_s for run in session.runs):.3f}")
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="unicode", xml_declaration=True) + "\n"


def _comparison(comparison: ComparisonAccount) -> ElementTree.Element:
    suite = ElementTree.Element("testsuite", name=plain(f"compared with {comparison.baseline}"))
    name = "nothing is worse than in the baseline"
    case = ElementTree.SubElement(suite, "testcase", classname=plain(comparison.baseline), name=name)
    kind = {"worse": "failure", "cannot be told": "error"}.get(comparison.standing)
    if kind is not None:
        child = ElementTree.SubElement(case, kind, message=comparison.standing, type=comparison.standing)
        child.text = "\n".join(comparison.told)
    _count(suite)
    return suite


def _suite(run: RunAccount) -> ElementTree.Element:
    suite = ElementTree.Element("testsuite", name=plain(run.title or run.scenario))
    suite.set("time", f"{run.wall_s:.3f}")
    if run.started_at:
        suite.set("timestamp", run.started_at.removesuffix("+00:00"))
    properties = ElementTree.SubElement(suite, "properties")
    about = {"status": run.status, "run": run.run, "device": run.device, "seed": run.seed}
    about |= {"digest": run.digest} | ({} if run.expected is None else {"expected": run.expected})
    for name, value in about.items():
        if value not in (None, ""):
            ElementTree.SubElement(properties, "property", name=name, value=plain(str(value)))
    if run.as_expected is None:
        _judge_each(suite, run)
    else:
        case = _case(suite, run, f"ends as the scenario expects: {run.expected or 'a run'}")
        if not run.as_expected:
            _add(case, "failure", f"it ended {run.status}", run)
    _count(suite)
    return suite


def _judge_each(suite: ElementTree.Element, run: RunAccount) -> None:
    whole = _case(suite, run, WHOLE)
    judged = [judged for judged in run.assertions if judged.outcome is not Outcome.MET]
    if run.reasons or (run.status != "pass" and not judged):
        _add(whole, "error", run.reasons[0] if run.reasons else run.status, run)
    for one in run.assertions:
        case = _case(suite, run, one.title)
        if one.outcome is not Outcome.MET:
            _add(case, "failure" if one.outcome is Outcome.BROKEN else "error", outcome(one), run)


def _case(suite: ElementTree.Element, run: RunAccount, name: str) -> ElementTree.Element:
    return ElementTree.SubElement(suite, "testcase", classname=plain(run.scenario), name=plain(name))


def _add(case: ElementTree.Element, kind: str, message: str, run: RunAccount) -> None:
    child = ElementTree.SubElement(case, kind, message=plain(message), type=run.status)
    child.text = "\n".join(run.told)


def _count(element: ElementTree.Element) -> None:
    element.set("tests", str(len(list(element.iter("testcase")))))
    element.set("failures", str(len(list(element.iter("failure")))))
    element.set("errors", str(len(list(element.iter("error")))))
    element.set("skipped", "0")
