"""What several pages' tests stand on."""

from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.test import Client
from pytest_django import Settings


@pytest.fixture
def media(settings: Settings, tmp_path: Path) -> Path:
    """A folder of its own for what is uploaded."""
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def network(settings: Settings, media: Path) -> None:
    """The shop is open to the workshop network."""
    settings.NETWORK = "192.168.1.20"
    settings.ALLOWED_HOSTS = ["192.168.1.20", "testserver"]


@pytest.fixture
def signed_in(client: Client) -> Client:
    client.force_login(User.objects.create_user("ines"))
    return client


@pytest.fixture
def phone() -> Client:
    return Client()
