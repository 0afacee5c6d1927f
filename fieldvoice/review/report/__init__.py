"""The job report: a page for the customer, the office or an inspector, on paper or on a phone."""

from fieldvoice.review.report.integrity import Integrity
from fieldvoice.review.report.page import PRECEDENCE, report_html
from fieldvoice.review.report.versions import PAPERS, VERSIONS

__all__ = ["PAPERS", "PRECEDENCE", "VERSIONS", "Integrity", "report_html"]
