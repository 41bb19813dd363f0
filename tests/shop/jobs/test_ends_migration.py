"""What an older version sent home has long been in the carrier's hand."""

import pytest
from django.utils import timezone

from levelwind.shop.models import Sending
from tests.jobs import a_job
from tests.shop.migrating import migrate_to


@pytest.mark.django_db(transaction=True)
def test_what_was_sent_is_handed_over() -> None:
    went, here = a_job("26-0001", stage="home"), a_job("26-0002")
    sent = Sending.objects.create(job=went, sent_at=timezone.now())
    Sending.objects.create(job=here)
    migrate_to("0013_tippet_of_a_fly_reel")
    migrate_to(None)
    assert list(Sending.objects.order_by("job__tag").values_list("handed_over_at", flat=True)) == [sent.sent_at, None]
