"""YAML text to plain values, with the line of every one of them.

Theory of operation
-------------------
Whoever writes a building file reads it with line numbers in an editor, so every problem found
later has to find its way back to a line. The text is therefore parsed to nodes (which know their
lines) and the nodes are turned into plain lists, mappings and scalars here, while a table
remembers the line of every JSON pointer, and the literal text of every unquoted scalar: an
apartment called 12 or 1:30 is a name, whatever YAML makes of it.

A building file needs no anchors, tags, second documents or deep nesting. They are refused before
any node is built, which also disposes of files made to eat memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import yaml
from yaml.constructor import SafeConstructor
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from rules.plant.files.problem import Problem, Problems, below

__all__ = ["MOST_BYTES", "Written", "read_yaml", "too_large"]

MOST_BYTES = 2_000_000
MOST_DEPTH = 16
LONGEST_VALUE = 200  # longer scalars can only be text, and reading them as numbers would be slow

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_FORBIDDEN = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_PLAIN_TAGS = {
    f"tag:yaml.org,2002:{name}"
    for name in ("str", "int", "float", "bool", "null", "timestamp", "merge", "value", "map", "seq")
}


@dataclass(slots=True)
class Written:
    """A value from outside: where it has lines and literal texts, they are kept beside it."""

    value: Any
    lines: dict[str, int] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)
    problems: Problems = field(default_factory=Problems)


def too_large(text: str) -> Problem | None:
    """The refusal of a file over two million bytes."""
    # No character is less than one byte, so the cheap test comes first.
    if len(text) <= MOST_BYTES and len(text.encode("utf-8", "replace")) <= MOST_BYTES:
        return None
    return Problem(
        "",
        1,
        "The file is larger than 2 MB.",
        "A building or household file is far smaller; check that the right file was sent.",
    )


def read_yaml(text: str) -> Written | Problem:
    """The values of a YAML text, or the one reason why it is no YAML that can be taken."""
    text = text.removeprefix("\ufeff")
    refusal = too_large(text) or _forbidden_character(text)
    if refusal:
        return refusal
    try:
        refusal = _unwanted(text)
        node = None if refusal else yaml.compose(text, Loader=_LOADER)
    except yaml.YAMLError as error:
        return _not_yaml(text, error)
    if refusal:
        return refusal
    written = Written(None)
    written.problems = Problems(written.lines)
    written.lines[""] = 1
    if node is not None:
        written.lines[""] = _line(node)
        written.value = _Unfolding(written).value("", node)
    return written


def _forbidden_character(text: str) -> Problem | None:
    found = _FORBIDDEN.search(text)
    if found is None:
        return None
    line = text.count("\n", 0, found.start()) + 1
    detail = f"There is a character that no text has (U+{ord(found[0]):04X})."
    return Problem("", line, detail, "Save the file as plain text in UTF-8.")


def _unwanted(text: str) -> Problem | None:
    """What YAML allows and a building file does without."""
    depth = documents = 0
    for event in yaml.parse(text, Loader=_LOADER):
        line = _line(event)
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        elif isinstance(event, yaml.DocumentStartEvent):
            documents += 1
        if isinstance(event, yaml.AliasEvent):
            detail = "The file repeats a part by reference (*name)."
            return Problem("", line, detail, "Write the part out where it is needed.")
        if depth > MOST_DEPTH:
            detail = f"Lists or groups are nested more than {MOST_DEPTH} deep."
            return Problem("", line, detail, "Check the brackets and the indentation.")
        if documents > 1:
            detail = "A second document starts here (---)."
            return Problem("", line, detail, "Put each building into a file of its own.")
    return None


def _not_yaml(text: str, error: yaml.YAMLError) -> Problem:
    says = str(getattr(error, "problem", None) or "it cannot be read")
    marks: list[Any] = [getattr(error, "problem_mark", None), getattr(error, "context_mark", None)]
    mark = marks[0] or marks[1]
    # The end of the file says nothing about an open bracket or quote; where it was opened does.
    if mark and marks[1] and not text[_line_start(text, mark.line) :].strip():
        mark = marks[1]
    line = mark.line + 1 if mark else 1
    if _is_indented_by_tab(text, line):
        return Problem("", line, "A tab stands where YAML wants spaces.", "Use spaces only.")
    remedy = "Check indentation, colons, quotes and brackets on this line and the one above."
    return Problem("", line, f"This is not YAML: {says}.", remedy)


def _line_start(text: str, line: int) -> int:
    """Where a line (counted from 0) starts; past the end for a line that is not there."""
    return sum(len(each) + 1 for each in text.split("\n", line)[:line])


def _is_indented_by_tab(text: str, line: int) -> bool:
    lines = text.split("\n", line)
    here = lines[line - 1] if line <= len(lines) else ""
    return "\t" in here[: len(here) - len(here.lstrip())]


def _line(part: Node | yaml.Event) -> int:
    return part.start_mark.line + 1 if part.start_mark else 1


class _Unfolding:
    """Turns nodes into values and fills the tables of lines and texts."""

    def __init__(self, written: Written) -> None:
        self._written = written
        self._constructor = SafeConstructor()

    def value(self, pointer: str, node: Node) -> Any:
        if node.tag not in _PLAIN_TAGS:
            self._written.problems.add(
                pointer, f"The tag {node.tag[:60]} is not understood.", "Leave the tag out."
            )
        if isinstance(node, MappingNode):
            return self._mapping(pointer, node)
        if isinstance(node, SequenceNode):
            return self._sequence(pointer, node)
        return self._scalar(pointer, node)

    def _sequence(self, pointer: str, node: SequenceNode) -> list[Any]:
        values = []
        for number, entry in enumerate(node.value):
            here = below(pointer, number)
            self._written.lines[here] = _line(entry)
            values.append(self.value(here, entry))
        return values

    def _mapping(self, pointer: str, node: MappingNode) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for key, entry in node.value:
            if not isinstance(key, ScalarNode):
                self._written.problems.add(
                    pointer,
                    "A key has to be a single word.",
                    "Write 'key: value'.",
                    line=_line(key),
                )
                continue
            here = below(pointer, key.value)
            if key.value in values:
                detail = (
                    f"'{key.value[:60]}' is given twice, first on line {self._written.lines[here]}."
                )
                self._written.problems.add(here, detail, "Keep one of the two.", line=_line(key))
                continue
            self._written.lines[here] = _line(key)
            values[key.value] = self.value(here, entry)
        return values

    def _scalar(self, pointer: str, node: Node) -> Any:
        text = str(node.value)
        if getattr(node, "style", None) not in {None, ""} or len(text) > LONGEST_VALUE:
            return text
        self._written.texts[pointer] = text
        try:
            return self._constructor.construct_object(node)
        except (ValueError, TypeError, LookupError, AttributeError, yaml.YAMLError):
            return text  # such as 2012-13-45: the field's own check says what is wrong with it
