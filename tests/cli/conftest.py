"""What tests of the command share."""

from pathlib import Path

import pytest

from tests.cli.site_texts import ONE_BED


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A site file of one tub."""
    path = tmp_path / "tubs.toml"
    path.write_text(ONE_BED)
    return path
