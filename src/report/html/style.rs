//! The look of the page: sober, for screen and paper. Blue, vermilion and grey are told apart by
//! people with any colour vision and on a grey printer, and each stands beside a word that says the
//! same.

/// The style sheet; on a practice page every printed sheet says so at its head.
pub(super) fn sheet(practice: bool) -> String {
    let head = if practice {
        "@page { @top-center { content: \"PRACTICE\"; font: bold 10pt sans-serif; } }\n"
    } else {
        ""
    };
    format!("{SCREEN}{FIGURES}{PAPER}{head}")
}

const SCREEN: &str = "
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.5rem; max-width: 52rem; background: #fff; color: #1b1f23;
  font: 1rem/1.5 system-ui, sans-serif; overflow-wrap: anywhere; }
header { border-bottom: 3px solid #1b1f23; margin-bottom: 1rem; }
header p { margin: 0.2rem 0; }
.shop { font-weight: 600; letter-spacing: 0.02em; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: 0.2rem 0; }
h2 { font-size: 1.3rem; line-height: 1.3; margin: 1.6rem 0 0.5rem; }
h3 { font-size: 1.08rem; line-height: 1.3; margin: 1.5rem 0 0.4rem; padding-top: 0.5rem;
  border-top: 1px solid #b8bec4; }
h4 { font-size: 1rem; margin: 1rem 0 0.3rem; }
p, ul, ol { margin: 0.4rem 0; }
.answer { display: grid; grid-template-columns: 9.5rem 1fr; gap: 0.6rem 1rem; margin: 1rem 0; }
.answer dt { font-weight: 600; }
.answer dd { margin: 0; }
.answer p { margin: 0 0 0.4rem; }
.answer .found { font-size: 1.2rem; font-weight: 600; line-height: 1.35; }
.practice { border: 4px double #8a3800; background: #fff6ec; padding: 0.4rem 1rem 0.6rem; margin: 1rem 0; }
.practice h2 { color: #8a3800; letter-spacing: 0.25em; margin: 0.2rem 0; }
.open { border-left: 4px solid #8a3800; padding-left: 0.7rem; font-weight: 600; }
table { border-collapse: collapse; width: 100%; margin: 0.5rem 0; font-size: 0.9rem; }
caption { text-align: left; font-weight: 600; padding: 0.3rem 0; }
th, td { text-align: left; vertical-align: top; padding: 0.28rem 1rem 0.28rem 0;
  border-bottom: 1px solid #d5d9dd; }
thead th { border-bottom: 2px solid #59626b; }
thead th, .word { overflow-wrap: normal; }
tbody th { font-weight: 600; min-width: 7.5rem; }
.narrow tbody th { min-width: 0; }
.waived th, .waived .step { overflow-wrap: break-word; }
.narrow { width: auto; }
.narrow th, .narrow td { padding-right: 2rem; }
.number { text-align: right; font-variant-numeric: tabular-nums; min-width: 5rem; }
.narrow .number { min-width: 9.5rem; }
.compared tbody th { min-width: 0; }
.compared .number { white-space: nowrap; }
.time { font-variant-numeric: tabular-nums; }
span.time { white-space: nowrap; }
td.time { min-width: 7.2rem; }
.facts { columns: 22rem; column-gap: 2rem; margin: 0.4rem 0; font-size: 0.92rem; }
.facts div { break-inside: avoid; padding: 0.12rem 0; }
.facts dt { display: inline; font-weight: 600; }
.facts dt::after { content: \": \"; }
.facts dd { display: inline; margin: 0; }
.columns { columns: 22rem; column-gap: 2rem; padding-left: 1.1rem; font-size: 0.9rem; }
.path { columns: 22rem; column-gap: 1.6rem; list-style: none; padding: 0; margin: 0.2rem 0; font-size: 0.86rem; line-height: 1.4; }
.path li { break-inside: avoid; padding: 0.1rem 0; }
.path .time, .path code { color: #454d55; }
.path .word, .hazard b { border: 1px solid currentColor; padding: 0 0.25em; font-size: 0.85em; white-space: nowrap; }
.phase h4::first-letter { text-transform: uppercase; }
.phase h4 { margin: 0.5rem 0 0.1rem; }
.pair { display: flex; flex-wrap: wrap; gap: 0 2rem; align-items: flex-start; }
.pair > * { flex: 1 1 20rem; width: auto; }
.files code { overflow-wrap: normal; word-break: break-all; }
summary { cursor: pointer; font-size: 0.92rem; padding: 0.3rem 0; }
td p:first-child { margin-top: 0; }
td p:last-child { margin-bottom: 0; }
.superseded { color: #59626b; background: #f4f5f6; }
.hazard { margin: 0.15rem 0; }
.beside { display: grid; grid-template-columns: 1fr 1fr; gap: 1.5rem; }
.aside { color: #454d55; font-size: 0.92rem; }
code, pre { font-family: ui-monospace, monospace; font-size: 0.86em; }
pre { background: #f4f5f6; border: 1px solid #d5d9dd; padding: 0.5rem 0.7rem; white-space: pre-wrap;
  overflow-wrap: anywhere; margin: 0.4rem 0; }
footer { border-top: 1px solid #b8bec4; margin-top: 1rem; font-size: 0.88rem; color: #454d55; }
@media (max-width: 34rem) { .answer { grid-template-columns: 1fr; gap: 0.1rem; }
  .answer dd { margin-bottom: 0.7rem; } body { padding: 0.8rem; } }
";

const FIGURES: &str = "
figure { margin: 0.8rem 0; }
figcaption { font-size: 0.88rem; color: #454d55; margin-top: 0.2rem; }
.pictures { display: flex; flex-wrap: wrap; gap: 0 1.5rem; }
.pictures figure { max-width: 100%; }
.pictures img { display: block; max-width: 100%; max-height: 28rem; }
svg { display: block; width: 100%; height: auto; }
svg text { font: 12px system-ui, sans-serif; fill: #1b1f23; }
svg .small { font-size: 11px; }
svg .strong { font-weight: 700; }
svg .middle { text-anchor: middle; }
svg .right { text-anchor: end; }
.frame { fill: none; stroke: #59626b; }
.grid { stroke: #d5d9dd; fill: none; }
.window { fill: #eaf1f7; }
.lowband { fill: #fbe3d3; }
.trace { fill: none; stroke: #1b1f23; stroke-width: 1.2; stroke-linejoin: round; }
.firing { stroke: #59626b; stroke-dasharray: 2 3; }
.reference { fill: #1b1f23; }
.bar-even { fill: #56a0d3; }
.bar-low { fill: #d55e00; }
.bar-uncertain { fill: #b4bac0; }
.hatch { stroke: #fff; stroke-width: 2; }
.whisker { stroke: #1b1f23; stroke-width: 1.6; fill: none; }
.limit { stroke: #1b1f23; stroke-width: 1.4; stroke-dasharray: 6 3; }
";

/// A4 and Letter alike: no paper size is named, so the printer's counts.
const PAPER: &str = "
@page { margin: 16mm 14mm; @bottom-right { content: counter(page) \" / \" counter(pages); font: 9pt sans-serif; } }
@media print {
  html { font-size: 10pt; }
  body { max-width: none; padding: 0; font-size: 10pt; line-height: 1.4; }
  h2 { margin-top: 0.8rem; }
  th, td { padding: 0.16rem 1rem 0.16rem 0; }
  .answer { gap: 0.25rem 1rem; margin: 0.5rem 0; }
  .summary figure { margin: 0.4rem 0; }
  .summary svg { max-height: 62mm; }
  .technician { break-before: page; font-size: 8.2pt; line-height: 1.3; }
  .technician h2 { font-size: 13pt; }
  .technician h3 { font-size: 10pt; margin: 2.6mm 0 1mm; padding-top: 1mm; }
  .technician h4 { font-size: 8.6pt; margin: 1.4mm 0 0.4mm; }
  .technician p, .technician ul { margin: 0.6mm 0; }
  .technician table, .technician dl, .technician pre { margin: 0.8mm 0; }
  .technician th, .technician td { padding: 0.35mm 3mm 0.35mm 0; }
  .technician .number { min-width: 0; }
  .technician .narrow .number { min-width: 0; }
  .technician tbody th { min-width: 0; }
  .technician table, .technician .aside, .technician figcaption, .technician .facts, .technician .columns,
  .technician summary { font-size: 7.6pt; line-height: 1.25; }
  .technician code, .technician pre { font-size: 6.8pt; }
  .technician .files code { white-space: nowrap; font-size: 6.4pt; }
  .files th:last-child { width: 1%; }
  .technician .files tbody th { white-space: normal; overflow-wrap: anywhere; width: 42mm; }
  .pictures { display: block; }
  .technician .pictures figure { display: inline-block; margin: 1mm 4mm 1mm 0; vertical-align: top; }
  .technician tbody th, .technician td.time { overflow-wrap: normal; white-space: nowrap; }
  .technician .pair tbody th { white-space: normal; overflow-wrap: normal; min-width: 24mm; }
  .technician .pair .narrow tbody th { min-width: 0; }
  .technician .pair .narrow td, .technician .pair .narrow th { white-space: nowrap; }
  .technician .pair .narrow th, .technician .pair .narrow td { padding-right: 2mm; }
  .phase { break-inside: auto; }
  .phase h4 { margin: 0.8mm 0 0; }
  .technician figure { margin: 1mm 0; }
  .technician svg { max-height: 40mm; }
  .pictures img { max-height: 80mm; max-width: 86mm; }
  .technician pre { padding: 1mm 1.5mm; }
  .facts, .columns, .path { columns: 2; column-gap: 6mm; }
  .path { columns: 2; font-size: 7.4pt; line-height: 1.25; }
  .path li { padding: 0; }
  .pair { flex-wrap: nowrap; gap: 0 6mm; }
  .pair > * { flex: 1 1 auto; }
  .pair > .narrow { flex: none; }
  footer { font-size: 7.6pt; margin-top: 2mm; }
  details:not([open]) { display: none; }
  h2, h3, h4, caption { break-after: avoid; }
  .beside { gap: 6mm; }
  .beside h3 { margin-top: 2mm; }
  .beside, .beside figcaption, .beside .aside { font-size: 8.6pt; line-height: 1.25; }
  .beside figure, .beside p { margin: 1mm 0; }
  .beside .facts { columns: 1; }
  figure, tr, .practice, .keep, .pair { break-inside: avoid; }
  thead { display: table-header-group; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
";
