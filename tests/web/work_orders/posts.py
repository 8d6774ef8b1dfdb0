"""What must hold for every address that changes something."""

from django.test import Client

from tests.web.shared.hostile import row_counts

MISSING = 999_999


def answer_to_get(client: Client, address: str) -> tuple[int, bool]:
    """The status of a GET, and whether it left every table as it was."""
    before = row_counts()
    status = client.get(address).status_code
    return status, row_counts() == before


def looks_missing(
    client: Client, address: str, *, pk: int, data: dict[str, object]
) -> tuple[int, bool, bool]:
    """For somebody else's record: the status of a POST, whether it looks like a missing one, and whether
    every table stayed as it was."""
    before = row_counts()
    other = client.post(address, data)
    missing = client.post(address.replace(f"/{pk}/", f"/{MISSING}/"), data)
    is_same = (missing.status_code, missing.content) == (other.status_code, other.content)
    return other.status_code, is_same, row_counts() == before


def sent_twice(client: Client, address: str, data: dict[str, object]) -> list[tuple[int, str]]:
    """Status and target of the same form sent two times."""
    answers = [client.post(address, data) for _ in range(2)]
    return [(answer.status_code, answer.headers.get("Location", "")) for answer in answers]
