"""A PDF comes in; what an independent judge (page-validation) finds against PDF/UA-1 and PDF/A-2a in it goes out."""

from __future__ import annotations

import page

PROFILES = ("ua1", "2a")


def faults(pdf: bytes) -> list[str]:
    """What breaks a rule of PDF/UA-1 or of PDF/A-2a, rule by rule; none in a file that conforms to both."""
    found: list[str] = []
    for profile in PROFILES:
        judged = page.validate_pdf_bytes(pdf, profile=profile)
        found += [f"{each.rule_id}: {each.message}" for each in judged.failures]
        assert judged.is_compliant == (not judged.failures)
    return found
