//! The look of map and work sheet. Signal words have the colours that ANSI Z535.4 gives them, and always
//! their word; untested ways are dashed and bear a flag, so that a grey printer shows them too.

/// Of the map.
pub(super) const MAP: &str = "
:root { color-scheme: light; }
body { margin: 1.2rem; background: #fff; color: #1b1f23; font: 15px/1.45 system-ui, sans-serif; }
h1 { font-size: 1.5rem; margin: 0; } h2 { font-size: 1.2rem; margin: 2rem 0 0.2rem; }
p { margin: 0.3rem 0; max-width: 60rem; }
.aside { color: #454d55; font-size: 0.9rem; }
.frame { overflow-x: auto; }
svg { display: block; } .picture { margin-top: 0.6rem; } .signs { position: absolute; }
svg text { font: 12.5px system-ui, sans-serif; fill: #1b1f23; }
.box > rect { fill: #f7f8f9; stroke: #59626b; stroke-width: 1.2; }
.signed > rect { stroke: #1b1f23; stroke-width: 2.4; }
.end > rect { fill: #e4e8ec; stroke: #1b1f23; }
.called > rect { fill: #eef3f8; } .side { stroke: #59626b; fill: none; }
svg .id { font-weight: 700; } svg .kind { text-anchor: end; fill: #454d55; font-size: 11px; }
svg .beside, svg .done { fill: #454d55; } svg .work { font-style: italic; } svg .vouched { fill: #20506e; font-size: 11.5px; }
svg .phase { font-size: 14px; font-weight: 700; fill: #454d55; text-transform: uppercase; letter-spacing: 0.05em; }
.line { fill: none; stroke: #59626b; stroke-width: 1.3; } marker path { fill: #59626b; }
svg .way { font-size: 11.5px; fill: #20303c; }
.ground { fill: #fff; }
svg .tag text { font-size: 12px; fill: #005a9e; text-decoration: underline; }
.line.untested { stroke: #a8321e; stroke-dasharray: 5 4; }
svg .way.untested, svg .tag.untested text { fill: #a8321e; font-weight: 600; }
.box.untested > rect { stroke: #a8321e; stroke-dasharray: 6 4; fill: #fff; }
.box:target > rect { stroke: #005a9e; stroke-width: 4; }
svg .danger rect { fill: #c8102e; } svg .danger text { fill: #fff; }
svg .warning rect { fill: #ff8200; } svg .caution rect { fill: #ffd100; }
svg .notice rect { fill: #005eb8; } svg .notice text { fill: #fff; }
svg .danger text, svg .warning text, svg .caution text, svg .notice text { font-size: 11px; font-weight: 700; text-anchor: middle; }
h3 { font-size: 1rem; margin: 1rem 0 0.2rem; break-after: avoid; }
.hazards { columns: 26rem; column-gap: 2rem; font-size: 0.9rem; margin: 0; padding-left: 2rem; }
.hazards li { break-inside: avoid; margin-bottom: 0.2rem; }
.hazards b { padding: 0 0.35em; border-radius: 2px; print-color-adjust: exact; }
b.danger { background: #c8102e; color: #fff; } b.warning { background: #ff8200; }
b.caution { background: #ffd100; } b.notice { background: #005eb8; color: #fff; }
.key span { white-space: nowrap; border: 1.2px solid #59626b; border-radius: 3px; padding: 0 0.4em; margin-right: 0.3em; }
.key .k-signed { border: 2.4px solid #1b1f23; } .key .k-untested { border: 1.4px dashed #a8321e; color: #a8321e; }
@media print { @page { margin: 10mm; } body { margin: 0; } .frame { overflow: visible; }
  .picture svg { width: 100%; height: auto; break-inside: avoid; } h1, h2, .aside { break-after: avoid; } }
";

/// Of the work sheet.
pub(super) const SHEET: &str = "
:root { color-scheme: light; }
@page { margin: 10mm 10mm 13mm; @bottom-right { content: counter(page) \" / \" counter(pages); font: 8pt sans-serif; } }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 196mm; background: #fff; color: #000; font: 8.5pt/1.22 system-ui, sans-serif; }
h1 { font-size: 14pt; margin: 0; } h2 { font-size: 11pt; margin: 0.8rem 0 0.2rem; break-after: avoid; }
h3 { font-size: 9pt; margin: 0.5rem 0 0.1rem; text-transform: uppercase; letter-spacing: 0.04em; border-bottom: 1.2pt solid #000; break-after: avoid; }
p { margin: 0.08rem 0; }
.aside { font-size: 7.5pt; }
.columns { columns: 2; column-gap: 5mm; column-rule: 0.4pt solid #999; padding-right: 1pt; }
.step { display: grid; grid-template-columns: 2.3rem minmax(0, 1fr); padding: 0.16rem 1pt 0.16rem 0; border-bottom: 0.4pt solid #999; break-inside: avoid; }
.number { font-weight: 700; font-size: 9pt; overflow-wrap: anywhere; padding-right: 3pt; }
.hazard { border: 0.8pt solid #000; padding: 0.05rem 0.25rem; margin: 0.08rem 0; }
.hazard b { background: #000; color: #fff; padding: 0 0.3em; margin-right: 0.35em; print-color-adjust: exact; }
.danger { border-width: 2pt; }
.do { font-weight: 600; }
.ways { display: flex; flex-wrap: wrap; gap: 0 1rem; margin: 0.05rem 0; padding: 0; list-style: none; }
.tick { display: inline-block; width: 0.95em; height: 0.95em; border: 1pt solid #000; vertical-align: -0.1em; margin-right: 0.35em; }
.blank { display: inline-block; border-bottom: 0.8pt solid #000; min-width: 6rem; height: 1.5em; }
.line { border-bottom: 0.8pt solid #000; height: 1.7em; margin-bottom: 0.15rem; }
.wide { min-width: 90%; }
.visits { margin: 0.05rem 0; padding-left: 1.4rem; } .visits .ways { display: inline-flex; margin-left: 0.6rem; }
.short:not(:has(.wide)) { display: grid; grid-template-columns: 1fr 1fr; column-gap: 1.4rem; }
.end { border: 1pt solid #000; padding: 0.15rem 0.3rem; }
table { border-collapse: collapse; width: 100%; } td, th { border: 0.5pt solid #777; text-align: left; padding: 0.1rem 0.3rem; vertical-align: top; }
tr { break-inside: avoid; } .sign td { height: 3em; }
@media screen { body { padding: 1rem; font-size: 11pt; max-width: 60rem; } .aside { font-size: 10pt; } .number { font-size: 12pt; } .columns { columns: auto; } }
";
