"""Blocks of options that several commands share, each declared once as a record."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any, get_type_hints

from edgetime.cli.output import Result, check_workbook

Command = Callable[..., Result]


def takes(**blocks: type) -> Callable[[Command], Command]:
    """Give a command the fields of records as options, one parameter for each record.

    The command line sees one option for every field; the command gets the records. An option
    that two records have is asked for once and given to both.
    """

    def wrap(command: Command) -> Command:
        own = get_type_hints(command, include_extras=True)
        parameters: dict[str, inspect.Parameter] = {}
        for parameter in inspect.signature(command).parameters.values():
            block: Any = blocks.get(parameter.name)
            if block is None:
                kind = own[parameter.name]
                parameters[parameter.name] = parameter.replace(annotation=kind)
                continue
            kinds = get_type_hints(block, include_extras=True)
            for f in fields(block):
                parameters.setdefault(
                    f.name,
                    inspect.Parameter(
                        f.name, parameter.kind, default=f.default, annotation=kinds[f.name]
                    ),
                )
        names = {name: [f.name for f in fields(block)] for name, block in blocks.items()}
        shared = {field for listed in names.values() for field in listed}

        @functools.wraps(command)
        def run(**given: Any) -> Result:
            records = {
                name: block(**{field: given[field] for field in names[name]})
                for name, block in blocks.items()
            }
            rest = {name: value for name, value in given.items() if name not in shared}
            # One tail for every command: the form of its answer is that of the options.
            form = {name: given[name] for name in ("output", "xlsx", "strict") if name in given}
            if form.get("xlsx") is not None:
                check_workbook(form["xlsx"])  # before the command writes a file of its own
            return replace(command(**records, **rest), **form)

        # Only what is seen from outside changes: the framework reads these two.
        listed = list(parameters.values())
        vars(run)["__signature__"] = inspect.Signature(listed, return_annotation=Result)
        run.__annotations__ = {p.name: p.annotation for p in listed}
        return run

    return wrap
