"""How these pages become the site under Help: Sphinx, a frame of our own, and the app's own style sheet."""

from pathlib import Path

from pygments.lexers.special import TextLexer
from sphinx.highlighting import lexers

STATIC = Path(__file__).parents[1] / "src/levelwind/web/static"

project = "Levelwind"
extensions = ["myst_parser"]
root_doc = "index"
exclude_patterns = ["theme", "examples"]
language = "en_GB"
locale_dirs: list[str] = []
highlight_language = "text"
smartquotes = False
myst_enable_extensions = ["html_image"]
myst_heading_anchors = 4
html_theme = "theme"
html_theme_path = ["."]
html_static_path = [str(STATIC)]
html_title = "Levelwind: help"
html_copy_source = False
html_show_sourcelink = False
html_permalinks = False
html_use_index = False
html_domain_indices = False

lexers["mermaid"] = TextLexer()  # drawn where the pages are read as Markdown; here its lines stand as they are
