"""Reports: one page of HTML for each kind of reader, from results alone (floor 6)."""

from toolkit.report.consultant import consultant
from toolkit.report.content import Content, Picture, Section, gathered
from toolkit.report.page import USERS, report_page, write_report
from toolkit.report.port_authority import port_authority
from toolkit.report.researcher import researcher

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
