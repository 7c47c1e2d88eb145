"""The page's server: ``streamlit run app.py``.

Streamlit reads this file's text and takes it for an application only while the literal
``app = st.App(...)`` stands in it; the path is relative to this file.
"""

import streamlit as st

from routeprep.field import routes

app = st.App("routeprep/pages/main.py", routes=routes())
