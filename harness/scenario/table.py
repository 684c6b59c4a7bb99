"""A table of a file as a record of its values; a class names the keys, `title = key(LINE)`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, ClassVar, Generic, NamedTuple, TypeVar, overload

from harness.scenario.shapes import Shape

T = TypeVar("T")
D = TypeVar("D")

_NO_DEFAULT: Any = object()


class Form(Generic[T]):
    """What a key takes.

    Attributes
    ----------
    read : makes the value of what TOML gives; a ValueError says what is wrong with it.
    shape : its JSON Schema.
    """

    def __init__(self, read: Callable[[object], T], shape: Shape) -> None:
        self.read = read
        self.shape = shape


class Key(NamedTuple):
    """A key of a table.

    Attributes
    ----------
    form : what it takes.
    default : its value where the file has none.
    name : how the file names it; empty where that is the attribute's name.
    example : how it may look, for the message that it is missing.
    """

    form: Form[Any]
    default: Any
    name: str
    example: str

    @property
    def required(self) -> bool:
        """Whether the file must have it."""
        return self.default is _NO_DEFAULT


@overload
def key(form: Form[T], *, example: str = "") -> T: ...
@overload
def key(form: Form[T], default: D, *, name: str = "") -> T | D: ...
def key(form: Form[Any], default: Any = _NO_DEFAULT, *, name: str = "", example: str = "") -> Any:
    """A key of a table; a record has its value in the attribute. Without a default it is required."""
    return Key(form, default, name, example)


class Table:
    """A table whose keys are all known; one that is `open` takes further ones, which are not read."""

    keys: ClassVar[Mapping[str, Key]] = {}
    """By their names in the file."""
    open: ClassVar[bool] = False
    _attributes: ClassVar[Mapping[str, str]] = {}

    def __init_subclass__(cls, *, open: bool = False) -> None:
        found = {name: one for name, one in vars(cls).items() if isinstance(one, Key)}
        cls.keys = {one.name or name: one for name, one in found.items()}
        cls._attributes = {one.name or name: name for name, one in found.items()}
        cls.open = open

    def __init__(self, values: Mapping[str, Any]) -> None:
        """Of values that have been read, by their names in the file; the others have their defaults."""
        for name, one in self.keys.items():
            setattr(self, self._attributes[name], values.get(name, one.default))
