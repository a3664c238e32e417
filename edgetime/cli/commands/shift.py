"""``edgetime shift``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions, takes_load_options
from edgetime.cli.options import (
    FormatOption,
    StrictOption,
    UnitsOption,
)
from edgetime.cli.output import Format, Result, one_table, table_units
from edgetime.cli.shift_options import (
    LastLoad,
    not_drawn,
    not_proved,
    of_job,
    own_places,
    read_day,
    read_job_options,
    read_rules,
    read_used,
)
from edgetime.records import as_json

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.shift import Job, ShiftLoad


@takes_load_options
def shift_command(
    drawings: Annotated[
        list[str] | None,
        typer.Argument(metavar="DRAWING", help="DXF files; each is a load.", show_default=False),
    ] = None,
    jobs: Annotated[
        str | None,
        typer.Option(
            "--jobs",
            metavar="FILE",
            help="CSV or TOML file of waiting jobs, instead of drawings: name, drawing, quantity, "
            "due, ready, stone, thickness, stack, cycle, area, parts.",
        ),
    ] = None,
    repeat: Annotated[
        int | None,
        typer.Option(
            "--repeat",
            metavar="TIMES",
            min=1,
            max=1000,
            help="Run the drawings so many times in turn; until the shift is full if omitted.",
        ),
    ] = None,
    together: Annotated[  # noqa: FBT002
        bool, typer.Option("--together", help="All drawings are one load.")
    ] = False,
    fit: Annotated[  # noqa: FBT002
        bool, typer.Option("--fit", help="Choose the waiting jobs that fill the shift best.")
    ] = False,
    pocket_plan: Annotated[  # noqa: FBT002
        bool, typer.Option("--pocket-plan", help="Order the loads for the fewest tool swaps.")
    ] = False,
    table_filling: Annotated[  # noqa: FBT002
        bool,
        typer.Option(
            "--table-filling", help="Which parts go together in a load by area: an upper estimate."
        ),
    ] = False,
    hours: Annotated[
        str | None,
        typer.Option(
            "--hours",
            metavar="TIME",
            help="Length of the shift: 8, '8 h 30 min', 8:30 (h:min); breaks of the shop that do not "
            "end within it fall away.",
        ),
    ] = None,
    breaks: Annotated[
        list[str] | None,
        typer.Option(
            "--break",
            metavar="AFTER+LENGTH",
            help="A break, instead of the shop's: '4 h+30 min', 4:00+0:30 (h:min); may be repeated.",
        ),
    ] = None,
    no_breaks: Annotated[  # noqa: FBT002
        bool, typer.Option("--no-breaks", help="No break at all.")
    ] = False,
    zones: Annotated[
        int | None,
        typer.Option("--zones", metavar="NUMBER", help="Zones of the table, loaded in turn."),
    ] = None,
    zone_length: Annotated[
        str | None,
        typer.Option(
            "--zone-length",
            metavar="LENGTH",
            help="Length of a zone; the table's by the zones if omitted.",
        ),
    ] = None,
    last_load: Annotated[
        LastLoad | None,
        typer.Option(
            "--last-load",
            help="runs-on: a cycle that begins within the shift and then needs nobody goes on "
            "after it, and is unloaded on the next day. [default: the shop's, in-shift]",
            show_default=False,
        ),
    ] = None,
    pockets: Annotated[
        int | None,
        typer.Option("--pockets", metavar="NUMBER", help="Of the rack, instead of the machine's."),
    ] = None,
    cycle_time: Annotated[
        str | None,
        typer.Option(
            "--cycle-time",
            metavar="TIME",
            help="Machine cycle of each drawing, by watch: 108 (minutes), '1 h 48 min', 108:00 "
            "(min:s, as the tables print cycles); estimated if omitted.",
        ),
    ] = None,
    used: Annotated[
        list[str] | None,
        typer.Option(
            "--used",
            metavar="PIECE=SHARE",
            help="Life a tool piece has behind it: polish-1=80%; may be repeated.",
        ),
    ] = None,
    day: Annotated[
        str | None,
        typer.Option("--day", metavar="DAY", help="Of the shift, for --fit. [default: today]"),
    ] = None,
    time_limit: Annotated[
        float,
        typer.Option(
            "--time-limit",
            metavar="SECONDS",
            min=0.1,
            max=3600.0,
            help="For --fit and --pocket-plan each.",
            show_default=True,
        ),
    ] = 10.0,
    replications: Annotated[
        int | None,
        typer.Option(
            "--replications",
            metavar="NUMBER",
            min=0,
            max=100_000,
            help="Shifts simulated with variation; 0 for the plan alone.",
        ),
    ] = None,
    seed: Annotated[
        int | None,
        typer.Option("--seed", metavar="NUMBER", min=0, help="Of the random numbers."),
    ] = None,
    explain: Annotated[  # noqa: FBT002
        bool, typer.Option("--explain", help="Say how the yield comes about, factor by factor.")
    ] = False,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Say how many loads a shift makes, and how much of it needs a person.

    The drawings run in turn until the shift is full, or the jobs of a list in its order:
    loading, cycle with its attended stops, measuring, unloading; tools are swapped when worn
    or when the rack lacks them. First the plan, where nothing goes wrong; then many shifts
    in which times vary, machines stop and parts are spoiled. Hours, breaks, zones and rates
    stand in shop.toml under [shift].

    CSV holds one table: the loads that run; with --fit the waiting loads, with --pocket-plan
    the order, with --table-filling the parts. Two of these ask for two calls.

    \b
    Examples:
      edgetime shift edgetime-demo/cafe-counters.dxf
      edgetime shift LOAD.dxf --zones 2 --hours 10
      edgetime shift LOAD.dxf --cycle-time "108 min" --repeat 3 --explain
      edgetime shift --jobs edgetime-demo/waiting.csv --fit --day 2027-01-18
      edgetime shift --jobs edgetime-demo/waiting.csv --pocket-plan --pockets 20
      edgetime shift --jobs edgetime-demo/waiting.csv --table-filling

    Exit codes: 0 done; 1 findings of warning or worse, with --strict; 2 wrong use;
    3 a list, a drawing or a shop file cannot be used; 4 a load does not fit the shift, or
    cannot be cut.
    """
    from edgetime import shift as stage  # noqa: PLC0415  of no use to --help
    from edgetime.jobs import naming_the_row  # noqa: PLC0415  as above
    from edgetime.shift.workday import check_rules  # noqa: PLC0415  as above

    catalogue = choices.catalogue()
    the_machine = stage.machine_of(catalogue, choices.machine)
    rules, changed = read_rules(
        check_rules(stage.rules_of(catalogue), catalogue.shop.file),
        hours,
        breaks,
        no_breaks,
        zones,
        zone_length,
        replications,
        seed,
        last_load,
    )
    places = the_machine.pockets if pockets is None else pockets
    listed = read_job_options(
        drawings or [], jobs, catalogue, repeat, together=together, cycle_time=cycle_time
    )
    the_day = read_day(day, fit=fit)
    if output is Format.CSV:
        one_table({"--fit": fit, "--pocket-plan": pocket_plan, "--table-filling": table_filling})
    cache: dict[tuple[object, ...], Estimate] = {}

    def estimated(job: Job) -> Estimate:
        key = (job.drawings, job.stone, job.stack, job.thickness_mm)
        if key not in cache:
            place = own_places(choices.place or [], job.drawings, len(listed))
            with naming_the_row(job):
                cache[key] = of_job(choices, job, place).estimate(list(job.drawings))
        return cache[key]

    loads: list[ShiftLoad] = []
    findings: list[Any] = []
    for job in listed:
        if job.drawings:
            load, told = stage.shift_load(
                estimated(job),
                rules,
                pockets=max(places, 0),
                name=job.name,
                cycle_s=job.cycle_s,
                due=job.due,
                ready_s=job.ready_s,
                where=job.where if jobs else None,
                cycle_at=job.places.get("cycle"),
            )
            findings += [*estimated(job).findings, *told]
        else:
            with naming_the_row(job):
                load, told = stage.undrawn_load(job, the_machine, catalogue, rules)
            findings += told
            findings.append(not_drawn(job, pocket_plan=pocket_plan, table_filling=table_filling))
        loads += [load] * job.quantity
    known = read_used(used or [], loads)
    fill = not jobs and repeat is None and not fit

    waiting = list(loads)
    choice = plan = filling = None
    if fit:
        choice = stage.fit_shift(
            loads,
            rules,
            pockets=max(1, places),
            day=the_day,
            time_limit_s=time_limit,
            used=known,
        )
        loads = [waiting[i] for i in choice.chosen]
        if not choice.optimal:
            findings.append(not_proved(choice))
    before_plan = list(loads)
    named = [x.name for x in loads]
    if pocket_plan:
        plan = stage.plan_pockets(
            [[p for p, _ in x.pieces] for x in loads], places, names=named, time_limit_s=time_limit
        )
        loads = [loads[i] for i in plan.order]
    if table_filling:
        drawn = [job for job in listed if job.drawings]
        gap = max((stage.gap_mm(estimated(j)) for j in drawn), default=0.0)
        waiting_parts = [
            p
            for job in drawn
            for _ in range(job.quantity)
            for p in stage.table_parts(estimated(job), gap, job=job.name, due=job.due)
        ]
        filling = stage.fill_table(
            waiting_parts,
            (
                min(stage.zone_length_mm(the_machine, rules), the_machine.table_mm[0]),
                the_machine.table_mm[1],
            ),
            gap,
        )
        findings += filling.findings
    shift = stage.simulate_shift(
        loads,
        rules,
        pockets=places,
        fill=fill,
        variation=replications != 0,
        used=known,
        findings=dict.fromkeys(findings),
        all_given=len(loads) == len(waiting),
    )
    from edgetime.report import shift as paper  # noqa: PLC0415  of no use to --help
    from edgetime.report import shift_plans as plans  # noqa: PLC0415  as above

    system = table_units(units, catalogue.shop.units)
    factors = None
    if explain:
        factors = stage.explain_shift(
            shift,
            rules,
            the_machine,
            catalogue,
            options=changed,
            pockets=pockets,
            used=known,
            plans=[
                *(
                    stage.explain_fit(choice, waiting, the_day, limit_s=time_limit)
                    if choice is not None
                    else ()
                ),
                *(stage.explain_pockets(plan) if plan is not None else ()),
                *(stage.explain_filling(filling, the_machine) if filling is not None else ()),
                *(stage.explain_variation(shift.variation) if shift.variation is not None else ()),
            ],
        )

    def document() -> dict[str, Any]:
        out = {
            "schema": "edgetime.shift/1",
            "machine": the_machine.name,
            "pockets": places,
            "starts_s": rules.starts_s,
            "breaks": [{"after_s": a, "length_s": n} for a, n in rules.breaks],
            "zones": rules.zones,
            "last_load": rules.last_load,
            "loads": [x.as_dict() for x in dict.fromkeys(waiting)],
            **shift.as_dict(),
        }
        if choice is not None:
            names = [x.name for x in waiting]
            out["fit"] = {**choice.as_dict(), "waiting": names}
        if plan is not None:
            out["pocket_plan"] = {**plan.as_dict(), "names": named}
        if filling is not None:
            out["table_filling"] = filling.as_dict()
        if factors is not None:
            out["explain"] = as_json(factors)
        out["findings"] = as_json(shift.findings)
        return out

    def blocks() -> list[Any]:
        extra: list[Any] = []
        if choice is not None:
            extra += plans.fit_parts(choice, waiting, system)
        if plan is not None:
            extra += plans.pocket_parts(plan, before_plan)
        if filling is not None:
            extra += plans.filling_parts(filling, system)
        if factors is not None:
            from edgetime.report.extras import explain_parts  # noqa: PLC0415  when asked for

            extra += explain_parts("the shift", factors, system, as_tables=True)
        return paper.shift_parts(
            shift,
            machine=the_machine.title,
            starts_s=rules.starts_s,
            system=system,
            findings=shift.findings,
            extra=extra,
        )

    def rows() -> list[list[object]]:
        if choice is not None:
            return plans.fit_rows(choice, waiting)
        if plan is not None:
            return plans.pocket_rows(plan, before_plan)
        if filling is not None:
            return plans.filling_rows(filling)
        return paper.shift_rows(shift)

    headers = (
        (fit, plans.FIT_HEADER),
        (pocket_plan, plans.POCKET_HEADER),
        (table_filling, plans.FILLING_HEADER),
    )
    return Result(
        output=output,
        document=document,
        header=next((h for asked, h in headers if asked), paper.SHIFT_HEADER),
        rows=rows,
        system=system,
        blocks=blocks,
        findings=shift.findings,
        strict=strict,
    )
