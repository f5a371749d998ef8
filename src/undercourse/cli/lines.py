"""Commands that look at a line."""

from __future__ import annotations

from typing import Annotated

import typer

from undercourse.cli.app import AsJson, Line, line_app, print_json


@line_app.command("check")
def check_command(line: Line = None, as_json: AsJson = False) -> None:
    """List every fault of a line at once, and where each product wins and loses on sample areas."""
    from undercourse.advise.auditing import audit
    from undercourse.cli.show_line import show_audit
    from undercourse.files.shipped import rulebook
    from undercourse.files.samples import sample_areas

    book = rulebook(line)
    document = audit(book, sample_areas(book.vocabulary))
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
    from undercourse.base.problems import Problem, Problems
    from undercourse.cli.show_line import show_product, show_products
    from undercourse.files.shipped import rulebook

    book = rulebook(line)
    if not product:
        documents = [product_document(p, book) for p in book.line.products.values()]
        print_json(documents) if as_json else show_products(documents)
        return
    if product not in book.line.products:
        raise Problems([Problem("line show", f'"{product}" is no product of {book.line.name}', "list them with: undercourse line show")])
    document = product_document(book.line.products[product], book)
    print_json(document) if as_json else show_product(document)


@line_app.command("compare")
def compare_command(
    first: Annotated[str, typer.Argument(help="Product id.")],
    second: Annotated[str, typer.Argument(help="Product id.")],
    line: Line = None,
    as_json: AsJson = False,
) -> None:
    """Put two products' promises side by side."""
    from undercourse.advise.products import compare_products
    from undercourse.base.problems import Problem, Problems
    from undercourse.cli.show_line import show_comparison
    from undercourse.files.shipped import rulebook

    book = rulebook(line)
    for name in (first, second):
        if name not in book.line.products:
            raise Problems([Problem("line compare", f'"{name}" is no product of {book.line.name}', "list them with: undercourse line show")])
    document = compare_products(book.line.products[first], book.line.products[second], book)
    print_json(document) if as_json else show_comparison(document)
