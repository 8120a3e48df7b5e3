"""Standing texts: Markdown that the shop edits, with a few words of the job put in; raw HTML stays text.

A text is ``texts/NAME.LANGUAGE.md`` in the shop's templates folder, else our
own; in a language that nobody has written it in, it is the English one.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from . import places
from .language import Language

if TYPE_CHECKING:
    from markdown_it import MarkdownIt

NAMES = ("terms", "warranty", "cautions", "next-steps")


class TextProblem(ValueError):
    """A standing text that names something the job does not have; the message names file and word."""


def written(name: str, language: Language, values: Mapping[str, str], shop: Path | None = None) -> str:
    """One standing text as Markdown, its ``{words}`` replaced.

    A paragraph whose words are all empty goes.  Raises TextProblem for a word
    that is not among ``values``.
    """
    path = _path(name, language, shop)
    paragraphs = []
    for paragraph in re.split(r"\n\s*\n", path.read_text("utf-8").strip()):
        used = re.findall(r"\{(\w+)\}", paragraph)
        for word in used:
            if word not in values:
                raise TextProblem(
                    f"{path.name}: there is no {{{word}}}; there are {', '.join(sorted(values))}"
                )
        if used and not any(values[word].strip() for word in used):
            continue
        paragraphs.append(re.sub(r"\{(\w+)\}", lambda match: values[match.group(1)], paragraph))
    return "\n\n".join(paragraphs) + "\n"


def plain(typed: str) -> str:
    r"""What a person typed, to be put into a standing text: none of its signs is Markdown.

    >>> print(plain("*best* [oil](http://example.invalid)"))
    \*best\* \[oil\]\(http\:\/\/example\.invalid\)
    """
    return re.sub(r"([!-/:-@\[-`{-~])", r"\\\1", typed)


@lru_cache(maxsize=64)  # what the shop writes on every estimate
def rendered(markdown: str) -> str:
    """Markdown as HTML: CommonMark without raw HTML and without pictures.

    >>> rendered("**Look** <script>x</script>").strip()
    '<p><strong>Look</strong> &lt;script&gt;x&lt;/script&gt;</p>'
    """
    return str(_markdown().render(markdown))


def of_the_shop(language: Language, shop: Path | None) -> dict[str, str]:
    """The standing texts that the shop has written itself, by name: ours are no part of its record."""
    found = {name: _path(name, language, shop) for name in NAMES}
    return {
        name: path.read_text("utf-8")
        for name, path in found.items()
        if not path.is_relative_to(places.own_templates())
    }


def _path(name: str, language: Language, shop: Path | None) -> Path:
    short = language.tag.partition("_")[0]
    for tag in dict.fromkeys((language.tag, short, "en")):
        try:
            return places.find(f"texts/{name}.{tag}.md", shop)
        except FileNotFoundError:
            continue
    raise FileNotFoundError(f"no standing text is called {name}")


@lru_cache(maxsize=1)
def _markdown() -> MarkdownIt:
    from markdown_it import MarkdownIt

    # a picture would be fetched from somewhere: a document holds only pictures of its job
    return MarkdownIt("commonmark", {"html": False}).disable("image")
