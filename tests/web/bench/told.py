"""What a page of the bench tells."""

from django.test import Client


def words_of(client: Client, path: str) -> str:
    """The page at this address, which has to be there."""
    answer = client.get(path)
    assert answer.status_code == 200, (path, answer.status_code)
    return answer.content.decode()
