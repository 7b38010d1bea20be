"""Pages that are made from the program say what the program does."""

import importlib.util

import pytest


@pytest.mark.parametrize(("made", "page"), [("make_job_file.py", "job-file.md"),
                                            ("make_published.py", "published.md"),
                                            ("make_rules.py", "rules.md")])  # fmt: skip
def test_a_page_is_what_the_program_says(root, made, page):
    """It is made, not written; run its script after a change."""
    script = root / "docs" / made
    spec = importlib.util.spec_from_file_location(script.stem, script)
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)

    assert maker.page() == (root / "docs" / page).read_text(encoding="utf-8")
