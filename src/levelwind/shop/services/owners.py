"""Writing owners into the book."""

from django.db import transaction

from levelwind.shop.models import Owner


@transaction.atomic
def owner_add(*, owner: Owner) -> Owner:
    """Write an unsaved owner into the book. Raises django's ValidationError where the model refuses a value."""
    owner.full_clean()
    owner.save(force_insert=True)
    return owner
