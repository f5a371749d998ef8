"""Commands that look at a line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from undercourse.cli.app import AsJson, Date, Line, line_app, print_json

if TYPE_CHECKING:
    from undercourse.judge.rulebook import Rulebook
    from undercourse.line.records import Product


@line_app.command("check")
def check_command(line: Line = None, as_json: AsJson = False, date: Date = "") -> None:
    """List every fault of a line at once, and where each product wins and loses on sample areas."""
    from undercourse.advise.auditing import audit
    from undercourse.cli.days import day
    from undercourse.cli.show_line import show_audit
    from undercourse.files.samples import sample_areas
    from undercourse.files.shipped import rulebook

    book = rulebook(line)
    document = audit(book, sample_areas(book.vocabulary), day(date))
    if as_json:
        print_json(document)
    else:
        show_audit(document)


@line_app.command("show")
def show_command(
    product: Annotated[str, typer.Argument(help="Product id; all products when left out.")] = "",
    line: Line = None,
    as_json: AsJson = False,
) -> None:
    """Show a product's properties, limits with their basis, needs and evidence."""
    from undercourse.advise.products import product_document
    from undercourse.cli.show_line import show_product, show_products
    from undercourse.files.shipped import rulebook

    book = rulebook(line)
    if not product:
        documents = [product_document(p, book) for p in book.line.products.values()]
        if as_json:
            print_json(documents)
        else:
            show_products(documents)
        return
    document = product_document(named("line show", product, book), book)
    if as_json:
        print_json(document)
    else:
        show_product(document)


def named(command: str, product: str, book: Rulebook) -> Product:
    """The product of an id."""
    from difflib import get_close_matches

    from undercourse.base.problems import Problem, Problems

    if product not in book.line.products:
        near = get_close_matches(product, list(book.line.products), 1)
        fix = f'did you mean "{near[0]}"?' if near else "list them with: undercourse line show"
        raise Problems([Problem(command, f'"{product}" is no product of {book.line.name}', fix)])
    return book.line.products[product]


@line_app.command("compare")
def compare_command(
    first: Annotated[str, typer.Argument(help="Product id.")],
    second: Annotated[str, typer.Argument(help="Product id.")],
    line: Line = None,
    as_json: AsJson = False,
) -> None:
    """Put two products' promises side by side."""
    from undercourse.advise.products import compare_products
    from undercourse.cli.show_line import show_comparison
    from undercourse.files.shipped import rulebook

    book = rulebook(line)
    document = compare_products(named("line compare", first, book), named("line compare", second, book), book)
    if as_json:
        print_json(document)
    else:
        show_comparison(document)
