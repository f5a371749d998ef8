"""The page: a survey sheet beside its answer, served from this machine to this machine."""

from undercourse.web.app import make_app

__all__ = ["make_app"]
