"""The pose weights as `chordline doctor` tells of them."""

from chordline.adapters.pose.weights import LICENCE, read_status
from chordline.application.health import Finding


def examine_weights() -> tuple[Finding, ...]:
    """Return one finding a file; each installed file is hashed."""
    findings = []
    for one in read_status():
        what = f"pose weights {one.file.name}"
        if one.state == "installed":
            told = f"SHA-256 {one.file.sha256[:12]}… as published, {LICENCE}"
            findings.append(Finding(what, "well", told))
        elif one.state == "damaged":
            told = f"{one.path} is damaged; 'chordline weights' installs it anew"
            findings.append(Finding(what, "broken", told))
        elif one.file.needed:
            told = "missing: only hand marks work; 'chordline weights' installs it"
            findings.append(Finding(what, "limited", told))
        else:
            told = (
                "missing: a smaller network measures instead; "
                "'chordline weights' installs it where npm is there"
            )
            findings.append(Finding(what, "limited", told))
    return tuple(findings)
