"""Reports: one page of HTML for each kind of reader, from results alone (floor 6)."""

from toolkit.report.content import Content, Picture, Section, gathered
from toolkit.report.for_consultant import consultant
from toolkit.report.for_port_authority import port_authority
from toolkit.report.for_researcher import researcher
from toolkit.report.page import USERS, report_page, write_report

__all__ = [
    "USERS",
    "Content",
    "Picture",
    "Section",
    "consultant",
    "gathered",
    "port_authority",
    "report_page",
    "researcher",
    "write_report",
]
