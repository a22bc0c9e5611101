//! How the page looks.
//!
//! Pictures carry their own colours for a light ground; the classes of `draw::scene::Role`
//! are recoloured for a dark one.

/// The style sheet of the page.
pub(crate) const STYLE: &str = r#"
:root { --ink: #1c242c; --quiet: #5b6670; --rule: #d9dfe4; --paper: #ffffff; --ground: #f5f7f8; --accent: #0f5f73; --warn: #9a3d00; }
@media (prefers-color-scheme: dark) {
  :root { --ink: #e6eaee; --quiet: #a3aeb8; --rule: #3a444d; --paper: #1b2127; --ground: #12171b; --accent: #6cc3d8; --warn: #f2a36b; }
  svg.picture .ink { fill: #e6eaee; }
  svg.picture .quiet { fill: #a3aeb8; }
  svg.picture .rule { stroke: #4a555f; }
  svg.picture .ring { stroke: #e6eaee; }
  svg.picture .paper { fill: #232b32; }
}
* { box-sizing: border-box; }
html { background: var(--ground); color: var(--ink); font: 15px/1.5 "DejaVu Sans", system-ui, sans-serif; }
body { margin: 0 auto; max-width: 1120px; padding: 2.5rem 1.5rem 4rem; }
header h1 { font-size: 1.75rem; line-height: 1.25; margin: 0 0 .4rem; overflow-wrap: anywhere; }
header .kind { color: var(--accent); font-size: .8rem; font-weight: bold; letter-spacing: .08em; margin: 0 0 .5rem; text-transform: uppercase; }
header .outcome { font-size: 1.05rem; margin: 0 0 .3rem; }
header .how { color: var(--quiet); font-size: .87rem; margin: 0; }
dl.figures { display: grid; gap: .75rem; grid-template-columns: repeat(auto-fit, minmax(138px, 1fr)); margin: 1.75rem 0 0; }
dl.figures div { background: var(--paper); border: 1px solid var(--rule); border-radius: 8px; padding: .8rem .9rem .7rem; }
dl.figures dt { color: var(--quiet); font-size: .78rem; }
dl.figures dd { font-size: 1.45rem; font-variant-numeric: tabular-nums; font-weight: bold; line-height: 1.3; margin: 0; white-space: nowrap; }
dl.figures dd.long { font-size: 1.05rem; line-height: 1.87; }
dl.figures small { color: var(--quiet); display: block; font-size: .74rem; font-weight: normal; line-height: 1.35; white-space: normal; }
dl.figures .warn dd { color: var(--warn); }
nav { border-bottom: 1px solid var(--rule); font-size: .87rem; margin: 1.75rem 0 0; padding: 0 0 .8rem; }
nav a { display: inline-block; margin: 0 1.1rem .2rem 0; }
a { color: var(--accent); }
section { margin: 2.5rem 0 0; }
h2 { font-size: 1.3rem; margin: 0 0 .75rem; overflow-wrap: anywhere; }
h3 { color: var(--accent); font-size: 1rem; margin: 1.75rem 0 .5rem; overflow-wrap: anywhere; }
p { margin: .3rem 0 .8rem; }
p.quiet { color: var(--quiet); font-size: .87rem; }
figure { background: var(--paper); border: 1px solid var(--rule); border-radius: 8px; margin: .75rem 0; overflow-x: auto; padding: 1rem; }
svg.picture { display: block; height: auto; margin: 0 auto; max-width: 100%; min-width: 620px; }
.wide { overflow-x: auto; }
table { background: var(--paper); border-collapse: collapse; font-size: .84rem; width: 100%; }
th, td { border-bottom: 1px solid var(--rule); min-width: 4.5em; overflow-wrap: anywhere; padding: .38rem .6rem; text-align: left; vertical-align: top; }
th { border-bottom: 2px solid var(--rule); color: var(--quiet); font-size: .78rem; overflow-wrap: normal; vertical-align: bottom; }
td.right, th.right { font-variant-numeric: tabular-nums; text-align: right; white-space: nowrap; }
tr.total td { border-top: 2px solid var(--rule); font-weight: bold; }
td.code { padding: .3rem .6rem; }
td.code svg { display: block; height: 52px; width: auto; }
details > summary { color: var(--accent); cursor: pointer; font-weight: bold; margin: 1rem 0 .4rem; }
footer { border-top: 1px solid var(--rule); color: var(--quiet); font-size: .8rem; margin: 3rem 0 0; padding: 1rem 0 0; }
@media print {
  @page { margin: 14mm; }
  :root { --ink: #000000; --quiet: #444444; --rule: #bbbbbb; --paper: #ffffff; --ground: #ffffff; --accent: #0f5f73; --warn: #9a3d00; }
  svg.picture .ink { fill: #1c242c; } svg.picture .quiet { fill: #5b6670; } svg.picture .rule { stroke: #d5dadf; }
  svg.picture .ring { stroke: #1c242c; } svg.picture .paper { fill: #ffffff; }
  html { font-size: 10pt; }
  body { max-width: none; padding: 0; }
  nav { display: none; }
  .wide, figure { overflow: visible; }
  svg.picture, th, td { min-width: 0; }
  figure, tr, dl.figures div { break-inside: avoid; }
  h2, h3, summary { break-after: avoid; }
  section.station { break-before: page; }
  thead { display: table-header-group; }
}
"#;
