"""A site file is written, and read or refused."""

import pytest

from mixlab.ward.site.faults import SiteError
from mixlab.ward.site.in_force import load_site


@pytest.fixture
def load(tmp_path):
    """Return the site of a text that stands below the name of the ward; bytes are the whole file."""

    def load(text):
        path = tmp_path / "site.toml"
        path.write_bytes(text if isinstance(text, bytes) else f'name = "ward 3"\n{text}'.encode())
        return load_site(path)

    return load


@pytest.fixture
def refused(load):
    """Return the faults of a file that cannot be used."""

    def faults_of(text):
        with pytest.raises(SiteError) as caught:
            load(text)
        assert str(caught.value).split("\n") == [str(fault) for fault in caught.value.faults]
        assert all(fault.wrong and fault.allowed for fault in caught.value.faults)
        return caught.value.faults

    return faults_of
