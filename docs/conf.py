"""How Sphinx makes the site: ``python -m sphinx -W -b html docs out/site``."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

import class_lesson  # noqa: E402
import reference  # noqa: E402
from numpydoc.xref import DEFAULT_LINKS  # noqa: E402

from archerysim.version import VERSION  # noqa: E402

project = "archerysim"
author = "The archerysim authors"
version = release = VERSION

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.mathjax", "numpydoc"]
exclude_patterns = ["**/__pycache__", "made"]
default_role = "py:obj"  # a name in single backticks leads to its entry where it has one
nitpicky = True  # a name of the library that leads nowhere is told ...
nitpick_ignore_regex = [("py:obj", r"(?!archerysim\b)[a-z]\w*")]  # ... a field or an argument beside it is not

myst_enable_extensions = ["dollarmath"]
myst_fence_as_directive = ["math"]  # as the pages write it, so that they read well without the site
myst_heading_anchors = 3

autodoc_typehints = "none"  # the docstrings say the types
numpydoc_show_class_members = False
numpydoc_xref_param_type = True
numpydoc_xref_aliases = {word: word for word in DEFAULT_LINKS} | reference.types()  # none to other projects' sites
numpydoc_xref_ignore = "all"  # words beside the types

html_theme = "furo"  # plain, also on a phone; fetches nothing
html_title = f"archerysim {VERSION}"
html_show_copyright = False  # LICENSE says it
html_copy_source = False
html_show_sourcelink = False


def setup(app: object) -> None:
    """Called by Sphinx before it reads the pages."""
    reference.write(HERE / "reference")
    reference.connect(app)
    class_lesson.connect(app)
