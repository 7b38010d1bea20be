"""A pack of the invented house, written once, and its text page by page."""

import io

import pypdf
import pytest

from islewright.papers import pack
from tests.papers import house


@pytest.fixture(scope="session")
def study():
    return house.study()


@pytest.fixture(scope="session")
def content(study):
    return pack.pages(study)


@pytest.fixture(scope="session")
def written(study, tmp_path_factory):
    return pack.write_pack(study, tmp_path_factory.mktemp("pack") / "new folder" / "pack.pdf")


@pytest.fixture(scope="session")
def reader(written):
    return pypdf.PdfReader(io.BytesIO(written.read_bytes()))


@pytest.fixture(scope="session")
def texts(reader):
    """Give the words of each page, blanks evened out."""
    return [" ".join(page.extract_text().split()) for page in reader.pages]
