"""The command that lays out: a job, or a bare plan."""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path
from typing import Annotated, Any

import typer

from undercourse.cli.app import AsJson, Date, Line, app, print_json
from undercourse.cli.papers import Membrane, prepared
from undercourse.cli.sheet_options import SheetOptions, check_effort, read_sheet, read_start, time_budget


@app.command("layout")
def layout_command(
    context: typer.Context,
    source: Annotated[
        Path,
        typer.Argument(help="Job file, or a plan: DXF, IFC, GeoJSON, TOML, CSV.", show_default=False),
    ],
    line: Line = None,
    as_json: AsJson = False,
    membrane: Membrane = "",
    listed: Annotated[
        bool, typer.Option("--list", help="Show the areas of a plan and what was mended; lay nothing.")
    ] = False,
    area: Annotated[
        list[str] | None,
        typer.Option("--area", help="For a plan: lay only this area; a name or pattern, repeatable."),
    ] = None,
    storey: Annotated[str, typer.Option("--storey", help="For a plan: lay only this storey.")] = "",
    layer: Annotated[
        list[str] | None,
        typer.Option("--layer", help="For a DXF: layer of the outlines; a name or pattern, repeatable."),
    ] = None,
    unit: Annotated[
        str, typer.Option("--unit", help="For a plan: its unit if not as the file says: mm, cm, m, in, ft.")
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--out",
            help="Write the layout as .pdf, .svg, .xlsx, .dxf, .geojson or .json.",
            show_default=False,
        ),
    ] = None,
    paper: Annotated[
        str, typer.Option("--paper", help="For a PDF or SVG: us-letter, us-tabloid, a4, a3.")
    ] = "us-letter",
    scale: Annotated[
        str,
        typer.Option(
            "--scale", help="For a PDF or SVG: scale of the plans, as 1:50; else the largest that fits."
        ),
    ] = "",
    roll_width: Annotated[
        str,
        typer.Option(
            "--roll-width",
            help="For a plan: width of the roll, as 1 m; a plain number is meters, here and below.",
        ),
    ] = "1 m",
    roll_length: Annotated[
        list[str] | None, typer.Option("--roll-length", help="For a plan: length of a roll; repeatable.")
    ] = None,
    seam_gap: Annotated[
        str, typer.Option("--seam-gap", help="Gap between strips; a lap is written with a minus.")
    ] = "2 mm",
    edge_gap: Annotated[str, typer.Option("--edge-gap", help="Gap at walls and fixed parts.")] = "6 mm",
    smallest_piece: Annotated[
        str, typer.Option("--smallest-piece", help="No piece shorter than this.")
    ] = "300 mm",
    smallest_width: Annotated[
        str, typer.Option("--smallest-width", help="No piece narrower than this, if not the smallest piece.")
    ] = "",
    head_joints: Annotated[
        bool, typer.Option("--head-joints/--no-head-joints", help="Whether a strip may be of several pieces.")
    ] = True,
    stagger: Annotated[
        str, typer.Option("--stagger", help="Least offset of head joints of neighboring strips.")
    ] = "300 mm",
    one_way: Annotated[
        bool, typer.Option("--one-way", help="All pieces lie the same way round, as for a sheet with a nap.")
    ] = False,
    trim: Annotated[
        str, typer.Option("--trim", help="Extra at every wall, for walls out of square.")
    ] = "0 mm",
    line_clear: Annotated[
        str, typer.Option("--line-clear", help="Least distance of seams from panel joints and cracks.")
    ] = "50 mm",
    roll_price: Annotated[
        list[float] | None,
        typer.Option("--roll-price", help="Price of a roll, one for each --roll-length in their order."),
    ] = None,
    part_roll: Annotated[
        list[str] | None,
        typer.Option(
            "--part-roll", help="A part roll on site, as 3.2 m, or 3.2 m@12.50 with what using it costs."
        ),
    ] = None,
    keep_offcut: Annotated[
        str, typer.Option("--keep-offcut", help="List offcuts with both sides at least so long.")
    ] = "",
    seam_cost: Annotated[
        float | None, typer.Option("--seam-cost", help="Cost of a meter of seam, in the unit of the prices.")
    ] = None,
    cut_cost: Annotated[
        float | None,
        typer.Option("--cut-cost", help="Cost of a piece cut and laid, in the unit of the prices."),
    ] = None,
    direction: Annotated[
        float | None, typer.Option("--direction", help="Direction of the strips in degrees.")
    ] = None,
    start: Annotated[
        str,
        typer.Option(
            "--start",
            help="Start line: right edge of a full strip, so far to the left of the plan's origin.",
        ),
    ] = "",
    effort: Annotated[
        str, typer.Option("--effort", help="How much is tried: quick, normal or thorough.")
    ] = "normal",
    seconds: Annotated[
        float | None, typer.Option("--seconds", help="Stop after so long with the best so far.")
    ] = None,
    compare: Annotated[
        bool, typer.Option("--compare", help="For a plan: list other ways to lay, sheet against seams.")
    ] = False,
    seed: Annotated[int, typer.Option("--seed", help="The same seed gives the same layout.")] = 0,
    longest_field: Annotated[
        str,
        typer.Option(
            "--longest-field", help="For a plan: movement joints so that no field is longer, as 12 ft."
        ),
    ] = "",
    date: Date = "",
) -> None:
    """Lay the sheets and cut the rolls, of a job or of a bare plan."""
    sheets = None
    if out is not None:
        from undercourse.files.layout_out import check_target

        check_target(out)
        sheets = _paper(out, paper, scale)
    if _is_plan(source, line, membrane):
        from undercourse.files.plans import PlanOptions, read_plan

        plan = read_plan(source, PlanOptions(tuple(layer or ()), unit))
        if listed:
            _list(plan, area or [], storey, as_json)
            return
        sizes = {
            "--roll-width": roll_width,
            "--seam-gap": seam_gap,
            "--edge-gap": edge_gap,
            "--smallest-piece": smallest_piece,
            "--smallest-width": smallest_width,
            "--stagger": stagger,
            "--trim": trim,
            "--line-clear": line_clear,
            "--keep-offcut": keep_offcut,
        }
        check_effort(effort)
        sheet = read_sheet(
            SheetOptions(
                sizes,
                roll_length or ["30 m"],
                roll_price or [],
                part_roll or [],
                head_joints,
                one_way,
                seam_cost,
                cut_cost,
            )
        )
        how = {
            "direction": direction,
            "effort": effort,
            "seed": seed,
            "progress": time_budget(seconds),
        }
        document, rooms = _lay_plan(plan, area or [], storey, sheet, read_start(start), how, compare)
        _add_joints(document, rooms, longest_field)
        told, moved, named = plan.unit, plan.moved_m, source.stem
    else:
        _refuse_for_jobs(source, context)
        document, rooms, named = _lay_job(source, line, date, membrane)
        told, moved = "mm", (0.0, 0.0)
    if out is not None:
        from undercourse.files.layout_out import write_layout

        write_layout(out, document, rooms, unit=told, moved_m=moved, paper=sheets, job=named)
    if as_json:
        print_json(document)
        return
    from undercourse.cli.show_papers import show_layout

    for one in document.get("layouts", [document]):
        show_layout(one)
    for note in document.get("plan", {}).get("notes", ()):
        print(f"Plan: {note}.")
    if out is not None:
        print(f"Wrote {out}")


def _paper(out: Path, paper: str, scale: str) -> Any:
    """Paper and scale of a PDF or SVG, checked before any work is done."""
    if out.suffix.lower() not in (".pdf", ".svg"):
        return None
    from undercourse.base.problems import Problem, Problems
    from undercourse.papers.layout_sheets import PAPERS, LayoutPaper, read_scale

    if paper not in PAPERS:
        fix = f"use one of {', '.join(PAPERS)}"
        raise Problems([Problem("--paper", f'"{paper}" is not a size of paper known here', fix)])
    return LayoutPaper(paper, read_scale(scale) if scale else None)


def _is_plan(source: Path, line: Path | None, membrane: str) -> bool:
    """Whether a file is a bare plan: by its ending, or as TOML or JSON with outlines and nothing else."""
    from undercourse.files.plans import INSTEAD, KINDS

    kind = source.suffix.lower()
    if kind not in (".toml", ".json"):
        return kind in KINDS or kind in INSTEAD
    from undercourse.files.plan_outlines import is_outlines
    from undercourse.files.reading import parse_json, parse_toml, read_text

    text = read_text(source, 50_000_000)
    if kind == ".toml" and not text.lstrip().startswith("{"):
        return line is None and not membrane and is_outlines(parse_toml(text, str(source)))
    data = parse_json(text, str(source))
    if isinstance(data, dict) and "type" in data and not {"areas", "facts"} & set(data):
        return True
    return line is None and not membrane and is_outlines(data)


CHOOSING = ("listed", "area", "storey", "layer", "unit")
FOR_BOTH = ("source", "line", "as_json", "membrane", "out", "paper", "scale", "date")


def _refuse_for_jobs(source: Path, context: typer.Context) -> None:
    """Refuse options that say what a job or its product says."""
    from undercourse.base.problems import Problem, Problems

    given: dict[str, str] = {}
    for parameter in context.command.params:
        name = parameter.name or ""
        how = context.get_parameter_source(name)
        if how is not None and how.name == "COMMANDLINE":
            off = context.params[name] is False and parameter.secondary_opts
            given[name] = max(parameter.secondary_opts if off else parameter.opts, key=len)
    choosing = [text for name, text in given.items() if name in CHOOSING]
    if choosing:
        what = f"{', '.join(choosing)} choose in a plan, and this is a job"
        fix = "write plan, room_name, storey, plan_layer and plan_unit into the job's areas"
        raise Problems([Problem(str(source), what, fix)])
    laying = [text for name, text in given.items() if name not in FOR_BOTH]
    if laying:
        what = f"{', '.join(laying)} lay a bare plan, and this is a job"
        fix = (
            "rolls and gaps come from the product; in the job's areas strip_direction and strip_start hold "
            "strips, seams_off keeps seams off lines, and movement_joint_spacing says how long a field may be"
        )
        raise Problems([Problem(str(source), what, fix)])


def _list(plan: Any, names: list[str], storey: str, as_json: bool) -> None:
    from undercourse.files.plan_telling import plan_document

    chosen = None
    if names or storey:
        from undercourse.files.plans import choose_areas

        chosen = choose_areas(plan, names, storey)
    document = plan_document(plan, chosen)
    if as_json:
        print_json(document)
        return
    from undercourse.cli.show_plan import show_plan

    show_plan(document)


def _lay_plan(
    plan: Any,
    names: list[str],
    storey: str,
    sheet: Any,
    start: float | None,
    how: dict[str, Any],
    compare: bool,
) -> tuple[dict[str, Any], dict[str, Any]]:
    from undercourse.files.areas import add_notes
    from undercourse.files.layout_out import plan_rooms
    from undercourse.files.plan_telling import layout_notes, plan_document
    from undercourse.files.plans import choose_areas
    from undercourse.layout import AreaPlan, compare_layouts, lay_out, layout_document

    chosen = choose_areas(plan, names, storey)
    plans = [AreaPlan(area.name, area.polygon, start_m=start) for area in chosen]
    document = layout_document(lay_out(plans, sheet, **how))
    document["plan"] = plan_document(plan, chosen)
    if compare:
        held = how.pop("direction")
        plans = [replace(area, direction_deg=held) for area in plans]
        document["alternatives"] = [asdict(one) for one in compare_layouts(plans, sheet, **how)]
    add_notes(document, layout_notes(chosen))
    return document, plan_rooms(chosen)


def _add_joints(document: dict[str, Any], rooms: dict[str, Any], longest: str) -> None:
    """Movement joints of every area of a plan, where a longest field is given."""
    if not longest:
        return
    from shapely import LineString

    from undercourse.base.problems import Problem, Problems
    from undercourse.base.units import UNITS, read_quantity
    from undercourse.layout import make_outline
    from undercourse.takeoff import plan_joints

    try:
        longest_m = read_quantity(longest.strip(), "length", UNITS["m"])
    except ValueError as error:
        raise Problems([Problem("--longest-field", str(error), 'write it as "12 ft" or "3.6 m"')]) from None
    for area in document["areas"]:
        room = rooms[area["name"]]
        outline = make_outline(room["outline"], room["obstacles"], area["name"])
        area["movement_joints"] = plan_joints(outline, longest_m, [LineString(one) for one in room["doors"]])


def _lay_job(
    source: Path, line: Path | None, date: str, membrane: str
) -> tuple[dict[str, Any], dict[str, Any], str]:
    from undercourse.takeoff import join_layouts

    papers = prepared(source, line, date, membrane, advise=False)
    if not papers.layouts:
        from undercourse.base.problems import Problem, Problems

        fix = "no sheet is recommended (see answer) or no area has an outline; name --membrane ID"
        raise Problems(papers.problems or [Problem(str(source), "there is nothing to lay", fix)])
    return join_layouts(papers.layouts), papers.rooms, str(papers.answer["job"])
