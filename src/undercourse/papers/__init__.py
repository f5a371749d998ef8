"""Papers: what is handed over, as bytes."""

from undercourse.papers.job_report import answer_hash, job_report
from undercourse.papers.typesetting import PAGES, Page, PaperAssets, set_pdf

__all__ = ["PAGES", "Page", "PaperAssets", "answer_hash", "job_report", "set_pdf"]
