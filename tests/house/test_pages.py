"""Pages that are made from the program say what the program does."""

import importlib.util


def test_the_page_on_the_job_file_is_what_the_model_says(root):
    """docs/job-file.md is made, not written; run docs/make_job_file.py after a change."""
    script = root / "docs" / "make_job_file.py"
    spec = importlib.util.spec_from_file_location("make_job_file", script)
    assert spec is not None
    assert spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)

    assert made.page() == (root / "docs" / "job-file.md").read_text(encoding="utf-8")
