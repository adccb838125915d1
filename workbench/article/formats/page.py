"""The style sheet of the article's page: for screens wide and narrow, and for paper."""

from __future__ import annotations

STYLE = """\
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 56rem; padding: 1rem 1.25rem 3rem; color: #1a1a1a;
  background-color: #ffffff; font: 1.05rem/1.55 Charter, "Bitstream Charter", Georgia, serif;
  overflow-wrap: anywhere; }
h1, h2, h3, caption, figcaption, th, nav { font-family: system-ui, "Liberation Sans", sans-serif; }
h1 { font-size: 1.8rem; line-height: 1.2; margin: 1.2rem 0; }
h2 { font-size: 1.3rem; margin: 2.4rem 0 0.6rem; }
h3 { font-size: 1.08rem; margin: 2rem 0 0.4rem; }
a { color: #0b3d91; background-color: #ffffff; }
a:focus-visible, .wide:focus-visible { outline: 3px solid #0b3d91; outline-offset: 2px; }
.skip { position: absolute; left: -100vw; }
.skip:focus { position: static; }
nav ul { columns: 2; font-size: 0.92rem; padding-left: 1.1rem; }
.pair { display: grid; grid-template-columns: 3fr 2fr; gap: 0 1.6rem; }
.pair p { margin: 0.4rem 0; }
.pair p + p { font-size: 0.92rem; border-left: 1px solid #8a8a8a; padding-left: 1rem; }
.caution { border-left: 0.35rem solid #1a1a1a; padding: 0.2rem 0 0.2rem 0.9rem; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; margin: 1rem 0 0.4rem; font-size: 0.9rem; line-height: 1.4;
  font-variant-numeric: tabular-nums; border-top: 1.5px solid #1a1a1a;
  border-bottom: 1.5px solid #1a1a1a; }
caption { text-align: left; font-weight: 600; padding: 0.3rem 0; font-size: 0.95rem; }
th, td { padding: 0.28rem 0.8rem 0.28rem 0; text-align: left; vertical-align: top;
  overflow-wrap: break-word; }
thead th { border-bottom: 1px solid #1a1a1a; }
tbody th { font-weight: 600; min-width: 5rem; }
th.number, td.number { text-align: right; }
td.short { white-space: nowrap; }
.note, figcaption { font-size: 0.88rem; color: #404040; background-color: #ffffff; }
.note { margin-top: 0; }
figure { margin: 1.4rem 0; }
img { width: 175mm; max-width: 100%; height: auto; }
code { font-family: ui-monospace, "Liberation Mono", monospace; font-size: 0.88em; }
@media (max-width: 40rem) { .pair { grid-template-columns: 1fr; } nav ul { columns: 1; }
  .pair p + p { border-left: 0; padding-left: 0; } }
@media print { body { max-width: none; padding: 0; font-size: 10.5pt; }
  .skip, nav { display: none; }
  .wide { overflow: visible; } figure, tr, .caution { break-inside: avoid; }
  h2, h3 { break-after: avoid; } a { color: #1a1a1a; text-decoration: none; } }
"""
