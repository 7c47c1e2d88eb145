"""The pages that the server shows, each a script of its own."""

__all__: list[str] = []
