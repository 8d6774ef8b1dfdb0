"""Run as a process of its own: issues the drafts it is told and says each number once it stands."""

import sys


def main(keys: list[str]) -> None:
    import django

    django.setup()
    from django.utils import timezone

    from shopapp.actions.actor import Actor, Scope
    from shopapp.actions.invoices import issue_invoice
    from shopapp.models import Person

    person = Person.objects.get(username="ilse")
    for key in keys:
        invoice = issue_invoice(int(key), by=Actor(scope=Scope.DESK, person=person, at=timezone.now()))
        sys.stdout.write(f"{invoice.pk} {invoice.number}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1:])
