"""Where the page, its settings and the demo lie: in the checkout, or in the installed wheel."""

from pathlib import Path

__all__ = ["home"]


def home() -> Path:
    """The folder that holds ``app.py``, ``.streamlit`` and ``data/demo``.

    A wheel carries them in ``routeprep/bundle``, laid out as in a checkout.
    """
    package = Path(__file__).resolve().parent
    bundle = package / "bundle"
    return bundle if bundle.is_dir() else package.parent
