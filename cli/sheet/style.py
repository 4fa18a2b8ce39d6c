"""The look of the sheet: dark ink on paper, one rail of clock times, no colour needed."""

from __future__ import annotations

PAPERS = {"a4": "210mm 297mm", "letter": "8.5in 11in"}

_CSS = """\
:root { --ink: #16211f; --soft: #4a5653; --line: #9aa5a2; --band: #20403b; --paper: #fbfaf6;
  --warn: #7a3d00; --tint: #eef1ee; }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; }
body { margin: 0; background: var(--paper); color: var(--ink);
  font: 16px/1.42 "Segoe UI", "Helvetica Neue", Arial, "Liberation Sans", sans-serif;
  overflow-wrap: break-word; }
main { max-width: 52rem; margin: 0 auto; padding: 1rem; }
header { border-bottom: 4px double var(--band); padding-bottom: .5rem; margin-bottom: 1rem; }
h1 { font-size: 1.55rem; line-height: 1.15; margin: 0 0 .2rem; letter-spacing: -.01em; }
h2 { font-size: 1.2rem; margin: 1.6rem 0 .6rem; border-bottom: 1px solid var(--line); }
h3 { font-size: 1rem; margin: 1.1rem 0 .4rem; }
p { margin: .35rem 0; }
.soft { color: var(--soft); font-size: .86rem; }
.round { border: 2px solid var(--band); border-radius: .2rem 1.1rem .2rem .2rem;
  margin: 0 0 1rem; background: #fff; break-inside: avoid; }
.round > h3 { margin: 0; padding: .3rem .8rem; background: var(--band); color: #fff;
  border-radius: 0 1rem 0 0; font-size: 1.15rem; display: flex; gap: .8rem;
  justify-content: space-between; align-items: baseline; }
.round > h3 small { font-weight: normal; font-size: .85rem; }
.in { padding: .5rem .8rem .7rem; }
time { font-variant-numeric: tabular-nums; white-space: nowrap; }
.brood { font-weight: 400; }
data, .round > h3 > span { white-space: nowrap; }
ol.rail { list-style: none; margin: 0 0 .5rem; padding: 0; }
ol.rail > li { display: grid; grid-template-columns: 3.1rem 1.5rem 1fr; align-items: start;
  border-left: 3px solid var(--line); margin: 0; padding: .18rem 0 .18rem .6rem; }
ol.rail > li > time { font-weight: 700; }
ol.rail input { width: 1.1rem; height: 1.1rem; margin: .15rem 0 0; accent-color: var(--band); }
ol.rail label { display: block; }
ol.rail .why { grid-column: 3; color: var(--soft); font-size: .86rem; }
.feedbox { display: flex; gap: .6rem; align-items: center; font-weight: 700;
  margin: .5rem 0 .2rem; }
.feedbox input { width: 1.1rem; height: 1.1rem; margin: 0; accent-color: var(--band); }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
#keeper table { margin-top: .6rem; }
caption { text-align: left; color: var(--soft); font-size: .86rem; padding: .1rem 0 .25rem; }
th, td { padding: .2rem .4rem; text-align: left; overflow-wrap: anywhere;
  border-bottom: 1px solid var(--line);
  vertical-align: top; }
thead th { border-bottom: 2px solid var(--band); font-size: .86rem; overflow-wrap: break-word; }
tbody tr:nth-child(even) { background: var(--tint); }
.n { text-align: right; }
td.n { white-space: nowrap; font-weight: 600; }
tfoot th, tfoot td { border-top: 2px solid var(--band); border-bottom: 0; font-weight: 600; }
.care { border: 1px solid var(--ink); border-left-width: 6px; padding: .4rem .7rem; margin: .8rem 0;
  background: #fff; break-inside: avoid; }
.care ul { margin: .2rem 0; padding-left: 1.1rem; }
.short { border: 2px dashed var(--warn); padding: .4rem .7rem; margin: .6rem 0; background: #fff;
  break-inside: avoid; }
.short h3 { margin: 0 0 .2rem; color: var(--warn); }
.short ul { margin: .2rem 0; padding-left: 1.1rem; }
figure { margin: .4rem 0 1rem; break-inside: avoid; }
figcaption { font-weight: 600; margin-bottom: .15rem; }
svg { display: block; width: 100%; height: auto; }
svg text { font: 11px "Segoe UI", "Helvetica Neue", Arial, "Liberation Sans", sans-serif;
  fill: var(--ink); }
svg text.on { fill: #fff; }
.narrow { display: none; }
.charts { display: grid; grid-template-columns: 1fr 1fr; gap: .2rem 1.4rem; }
.pair { display: grid; grid-template-columns: minmax(0, 3fr) minmax(0, 2fr); gap: .5rem 1.4rem; }
details { margin: .3rem 0 .6rem; font-size: .86rem; }
summary { cursor: pointer; color: #0b4a6f; text-decoration: underline; }
.blank { display: block; border-bottom: 1px solid var(--ink); height: 2.1rem; }
footer { margin-top: 1.5rem; border-top: 1px solid var(--line); font-size: .82rem;
  color: var(--soft); }
@media (max-width: 40rem) {
  main { padding: .6rem; }
  .wide { display: none; }
  .narrow { display: block; }
  .charts, .pair { grid-template-columns: minmax(0, 1fr); }
  .in { padding: .4rem .5rem .6rem; }
  th, td { padding: .2rem .25rem; font-size: .86rem; }
  .brood { display: block; font-size: .78rem; }
  .feeding thead th { font-size: .76rem; }
  .many, .many caption, .many tbody, .many tfoot, .many tr, .many th, .many td { display: block; }
  .many thead { position: absolute; clip-path: inset(50%); height: 1px; width: 1px;
    overflow: hidden; }
  .many tr { display: flex; flex-wrap: wrap; gap: .1rem .9rem; padding: .2rem .25rem;
    border-bottom: 1px solid var(--line); }
  .many th, .many td { border: 0; padding: 0; text-align: left; }
  .many tbody th, .many tfoot th { flex-basis: 100%; }
  .many td::before { content: attr(data-label) " "; font-weight: 400; }
  ol.rail > li { grid-template-columns: 2.9rem 1.5rem 1fr; padding-left: .35rem; }
}
@media (max-width: 23rem) {
  main { padding: .35rem; }
  .in { padding: .3rem; }
  th, td { padding: .15rem .12rem; font-size: .78rem; }
  .feeding thead th { font-size: .7rem; hyphens: auto; }
  td.n, data { white-space: normal; }
  .narrow text { font-size: 13px; }
}
@page { size: %(paper)s; margin: 11mm; }
@media print {
  html { font-size: 12px; }
  body { background: #fff; font-size: 12px; line-height: 1.25; }
  h2 { margin-bottom: .35rem; }
  figure { margin: .2rem 0 .4rem; }
  .care, .short { margin: .4rem 0; padding: .25rem .6rem; }
  .feeding caption { display: none; }
  .round { margin-bottom: .6rem; }
  .in { padding: .3rem .8rem .4rem; }
  th, td { padding: .1rem .4rem; }
  ol.rail > li { padding-top: .06rem; padding-bottom: .06rem; }
  svg text { font-size: 12px; }
  main { max-width: none; padding: 0; }
  .sheetpage + .sheetpage { break-before: page; }
  h2 { margin-top: .4rem; }
  h2, h3 { break-after: avoid; }
  details { display: none; }
  .wide { display: block; }
  .narrow { display: none; }
  .charts { grid-template-columns: 1fr 1fr; }
  .pair { grid-template-columns: minmax(0, 3fr) minmax(0, 2fr); }
  .round > h3 { background: #fff; color: var(--ink); border-bottom: 2px solid var(--band); }
  tr { break-inside: avoid; }
  thead { display: table-header-group; }
}
"""


def css(paper: str) -> str:
    """The style sheet for one size of paper (a key of ``PAPERS``)."""
    return _CSS.replace("%(paper)s", PAPERS[paper])
