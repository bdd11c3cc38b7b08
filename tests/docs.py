"""The documentation as web pages: ``python -m tests.docs [FOLDER]``.

Renders README.md, DEVELOPERS.md and every docstring into a folder (a new temporary one when none is
named) and prints where the first page is. The pages need no network. Nothing of it is committed.
"""

from __future__ import annotations

import argparse
import re
import shutil
import sys
import tempfile
import warnings
from pathlib import Path
from typing import Final

import pdoc
from pdoc.render_helpers import to_html

ROOT: Final = Path(__file__).resolve().parents[1]
PAGES: Final = {"README.md": "index.html", "DEVELOPERS.md": "developers.html"}
TEMPLATE: Final = """{% extends "default/module.html.jinja2" %}
{% block module_list_link %}<a href="{{ "../" * module.modulename.count(".") }}index.html">\
README</a>{{ super() }}{% endblock %}
{% block attribution %}{% endblock %}
"""
FRAME: Final = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<style>body {{ font-family: sans-serif; line-height: 1.5; max-width: 50rem; margin: 2rem auto;
padding: 0 1rem }} img {{ max-width: 100% }} pre {{ overflow-x: auto; background: #f2f2f2;
padding: .5rem }} td, th {{ text-align: left; padding: .1rem .8rem .1rem 0 }}</style></head>
<body><p><a href="index.html">README</a> · <a href="developers.html">Developers' guide</a> ·
<a href="packsim.html">packsim</a> · <a href="viewer.html">viewer</a></p>
{body}</body></html>
"""


def _modules() -> list[str]:
    # named one by one: a package that lists its public names would hide its modules
    found = [*ROOT.glob("packsim/**/*.py"), *ROOT.glob("viewer/**/*.py")]
    names = [".".join(path.relative_to(ROOT).with_suffix("").parts) for path in sorted(found)]
    return [name.removesuffix(".__init__") for name in names if not name.endswith("__main__")]


def render(folder: Path) -> Path:
    """Write every page into a folder that is there and return the first one."""
    with tempfile.TemporaryDirectory() as templates, warnings.catch_warnings():
        (Path(templates) / "module.html.jinja2").write_text(TEMPLATE, encoding="utf-8")
        pdoc.render.configure(
            docformat="numpy",
            footer_text="",
            show_source=False,
            template_directory=Path(templates),
        )
        warnings.filterwarnings("ignore", "The module specification")  # met again in its package
        pdoc.pdoc(*_modules(), output_directory=folder)
    for source, page in PAGES.items():
        text = (ROOT / source).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#:]+)\)", text):
            if target not in PAGES:
                copy = folder / target
                copy.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(ROOT / target, copy)
        body = re.sub(r'href="([\w.]+\.md)"', lambda m: f'href="{PAGES[m[1]]}"', to_html(text))
        title = text.splitlines()[0].removeprefix("# ")
        (folder / page).write_text(FRAME.format(title=title, body=body), encoding="utf-8")
    return folder / PAGES["README.md"]


def main(arguments: list[str]) -> int:
    """Render into the folder named, which must be new or empty, or into a temporary one."""
    options = argparse.ArgumentParser(prog="python -m tests.docs", description=__doc__)
    options.add_argument("folder", nargs="?", type=Path, help="a new or empty folder")
    folder = options.parse_args(arguments).folder
    if folder is None:
        folder = Path(tempfile.mkdtemp(prefix="packsim-docs-"))
    elif folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        options.error(f"{folder}: not a new or empty folder")
    folder.mkdir(parents=True, exist_ok=True)
    print(render(folder))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
