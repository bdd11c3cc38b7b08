"""Values put into a TOML text in place: comments, blank lines and the order of keys stay."""

from typing import Any, Final

from packsim.scenario.complaints import key_path

Loc = tuple[int | str, ...]

NOBODY: Final = "nobody knows"
"""How a remark starts that a value is nobody's; it goes when the value comes."""

NOT_THERE: Final = object()
"""What stands at a place of a file that holds nothing."""


def value_at(data: Any, loc: Loc) -> Any:
    """Return what data hold at a place, or `NOT_THERE`."""
    for part in loc:
        inside = isinstance(data, dict) if isinstance(part, str) else isinstance(data, list)
        if not inside or (part not in data if isinstance(part, str) else part >= len(data)):
            return NOT_THERE
        data = data[part]
    return data


def put_values(text: str, values: dict[Loc, tuple[Any, str]]) -> str:
    """Return a TOML text with values at places, each with a remark behind it where there is none.

    Parameters
    ----------
    text : str
        TOML.
    values : dict
        Value and remark by place. Lists on the way are long enough; tables that lack are made.

    Returns
    -------
    str
        The same text but for these values, new ones behind the last key of their table, and but for
        the entries of ``[[assumed]]`` that said nobody had measured them.
    """
    import tomlkit

    document = tomlkit.parse(text)
    for loc, (value, remark) in values.items():
        _put(document, loc, value, remark)
    keys = {key_path(loc) for loc in values}
    for i, size in enumerate(document.get("sizes", ())):
        here = f"sizes[{i}]."
        own = {key.removeprefix(here) for key in keys if key.startswith(here)}
        named = {f"sizes[{size.get('name')}].{key}" for key in own}
        _drop_assumed(size, own | named | keys)
        keys |= named
    _drop_assumed(document, keys)
    return tomlkit.dumps(document)


def _put(document: Any, loc: Loc, value: Any, remark: str) -> None:
    import tomlkit

    table = document
    for part in loc[:-1]:
        if isinstance(part, str) and part not in table:
            table[part] = tomlkit.table()
        table = table[part]
    item = tomlkit.item(value)
    last = loc[-1]
    if not isinstance(last, str):
        table[last] = value
        return
    old = table.get(last)
    if old is not None and NOBODY in old.trivia.comment:
        kept = old.trivia.comment.partition(NOBODY)[0].rstrip(" ;")
        old.trivia.comment = kept = "" if kept == "#" else kept
        old.trivia.comment_ws = old.trivia.comment_ws if kept else ""
    if remark and not (old is not None and old.trivia.comment) and not _inline(table):
        item.comment(remark)
    before = _last_key(table)
    if last in table or before is None:
        table[last] = item
    else:  # behind the last key, not behind the comment that heads the next table
        table.value._insert_after(before, last, item)


def _inline(table: Any) -> bool:
    from tomlkit.items import InlineTable

    return isinstance(table, InlineTable)


def _last_key(table: Any) -> Any:
    """Return the last key with a plain value of a table that has one of its own lines."""
    from tomlkit.items import AoT, Table

    body = table.value.body if isinstance(table, Table) else ()
    plain = [key for key, item in body if key is not None and not isinstance(item, Table | AoT)]
    return plain[-1] if plain else None


def _drop_assumed(table: Any, keys: set[str]) -> None:
    """Take out the entries of a table's ``[[assumed]]`` that are about keys measured now."""
    entries = table.get("assumed", [])
    for i in reversed(range(len(entries))):
        about = entries[i].get("key")
        if isinstance(about, list):
            for k in reversed(range(len(about))):
                if about[k] in keys:
                    del about[k]
        if about in keys if isinstance(about, str) else not about:
            del entries[i]
    if "assumed" in table and not entries:
        del table["assumed"]
